"""Work in this process: in order, one job ahead, and a job that raises costs itself alone."""

from ownmark.executors import Lost
from ownmark.executors.serial import Serial
from ownmark.words.message import Quoted


def half(number):
    return 100 // number


def test_results_come_in_the_order_of_the_jobs():
    assert list(Serial().map(half, [1, 2, 5])) == [100, 50, 20]


def test_a_job_that_raises_is_lost_and_the_others_go_on():
    first, lost, last = Serial().map(half, [1, 0, 5])
    assert (first, last) == (100, 20)
    assert isinstance(lost, Lost)
    assert isinstance(lost.fault, ZeroDivisionError)
    assert lost.reason.code == "executor.raised"
    assert dict(lost.reason.values) == {"kind": Quoted("ZeroDivisionError")}


def test_jobs_are_taken_only_when_a_result_is_wanted():
    taken = []
    results = Serial().map(half, (taken.append(number) or number for number in (1, 2, 5)))
    assert next(results) == 100
    assert taken == [1]
