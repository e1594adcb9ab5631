"""What is held of the logbook is never older than the logbook, whoever wrote."""

import subprocess
import sys

import pytest
from ownmark.errors import NoLogbook
from ownmark.records import open_logbook
from ownmark.records.store.held import Held

from tests.records.store import made


class Counted:
    """Says how often it was made, and what it was handed."""

    def __init__(self):
        self.before = []

    def __call__(self, before):
        self.before.append(before)
        return len(self.before)


def test_a_thing_is_made_once_while_the_mark_stays_and_anew_when_it_moves():
    mark = ["a"]
    held, make = Held(lambda: mark[0]), Counted()
    assert (held.anew("k", make), held.anew("k", make)) == (1, 1)
    mark[0] = "b"
    assert (held.anew("k", make), held.anew("k", make)) == (2, 2)
    assert make.before == [None, 1]  # what was held before the change is handed over
    assert held.of("other", lambda: "x") == "x"
    held.clear()
    assert held.anew("k", make) == 3
    assert make.before[-1] is None


def test_a_write_while_it_is_made_makes_the_next_one_ask_anew():
    marks = iter([1, 2, 2])
    held, make = Held(lambda: next(marks)), Counted()
    assert [held.anew("k", make) for _ in range(3)] == [1, 2, 2]


def test_the_thing_that_was_asked_for_longest_ago_makes_room():
    held = Held(lambda: 0, most=2)
    made_keys = []
    for key in "abacab":  # b makes room for c, then c for b
        held.of(key, lambda key=key: made_keys.append(key))
    assert made_keys == list("abcb")


def test_nothing_is_held_without_a_mark():
    held, make = Held(None), Counted()
    assert (held.anew("k", make), held.anew("k", make)) == (1, 2)
    assert make.before == [None, None]


def test_every_write_of_this_program_is_seen(logbook):
    seen = []

    def codes():
        return logbook.held.of("codes", lambda: seen.append(1) or tuple(each.code for each in logbook.students()))

    assert codes() == ()
    logbook.add_student(made.student("TH-11"))
    assert codes() == ("TH-11",)
    logbook.add_student(made.student("BF-07"))
    assert codes() == ("BF-07", "TH-11")
    before = len(seen)
    assert codes() == ("BF-07", "TH-11")
    assert len(seen) == before


def test_a_write_of_another_program_is_seen(logbook, place):
    count = lambda: logbook.held.of("count", lambda: logbook.count()["students"])  # noqa: E731
    assert count() == 0
    with open_logbook(place) as other:
        other.add_student(made.student("TH-11"))
    assert count() == 1


def test_a_write_of_another_process_is_seen(tmp_path):
    place = tmp_path / "logbook.db"
    with open_logbook(place) as logbook:
        assert logbook.held.of("count", logbook.count)["students"] == 0
        words = [sys.executable, "-m", "ownmark.cli", "student", "add", "TH-11", "--logbook", str(place)]
        subprocess.run(words, check=True, capture_output=True)
        assert logbook.held.of("count", logbook.count)["students"] == 1


def test_inside_a_transaction_nothing_is_held(logbook):
    with logbook.within() as inside:
        inside.held.of("codes", lambda: 1)
        assert inside.held.of("codes", lambda: 2) == 2
    assert logbook.held.of("codes", lambda: 3) == 3


def test_the_watching_connection_never_holds_up_a_writer(logbook):
    for number in range(3):
        logbook.held.of("count", logbook.count)
        logbook.add_student(made.student(f"TH-{number}"))
    assert logbook.held.of("count", logbook.count)["students"] == 3


def test_a_logbook_that_is_gone_is_told(tmp_path):
    place = tmp_path / "logbook.db"
    with open_logbook(place) as logbook:
        place.unlink()
        with pytest.raises(NoLogbook):
            logbook.held.of("count", logbook.count)
