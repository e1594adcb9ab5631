"""Presses and laps by hand: which moments a person set, and how they are read alone."""

from itertools import pairwise

import pytest
from ownmark.ingest.recording import Mark
from ownmark.metrics.phase_finding.from_marks import as_long_as, moments, pair_of


def laps(*edges):
    return [Mark(a, "lap", "", b) for a, b in pairwise(edges)]


def press(*times):
    return [Mark(each, "button") for each in times]


def test_presses_are_moments_in_order_and_other_marks_are_none():
    marks = [*press(300.0, 100.0), Mark(200.0, "start"), Mark(200.0, "annotation"), Mark(200.0, "segment")]
    assert moments(marks, 0.0, 900.0) == ((100.0, 300.0), "button")
    assert moments([], 0.0, 900.0) == ((), "button")


def test_laps_are_moments_but_for_the_recordings_own_ends():
    assert moments(laps(0.0, 240.0, 600.0, 900.0), 0.0, 900.0) == ((240.0, 600.0), "lap")
    assert moments(laps(0.0, 900.0), 0.0, 900.0) == ((), "lap")
    assert moments([Mark(240.0, "lap")], 0.0, 900.0) == ((240.0,), "lap")


@pytest.mark.parametrize(("time", "inside"), [(13.0, False), (13.1, True), (896.9, True), (897.0, False)])
def test_what_lies_within_three_seconds_of_an_end_is_the_end(time, inside):
    assert bool(moments(press(time), 10.0, 900.0)[0]) is inside


@pytest.mark.parametrize(("second", "kept"), [(103.0, (100.0,)), (103.1, (100.0, 103.1))])
def test_a_second_press_within_three_seconds_is_the_same(second, kept):
    assert moments(press(100.0, second), 0.0, 900.0)[0] == kept


def test_a_lap_and_its_press_are_one():
    assert moments([*laps(0.0, 240.0, 600.0, 900.0), *press(240.0, 600.0)], 0.0, 900.0) == ((240.0, 600.0), "lap")


def test_laps_that_a_device_sets_are_no_moments_nor_are_their_presses():
    even = laps(0.0, 60.0, 120.0, 180.0, 240.0)
    assert moments(even, 0.0, 900.0) == ((), "button")
    assert moments([*even, *press(61.0, 100.0, 123.0, 183.1)], 0.0, 900.0) == ((100.0, 183.1), "button")


@pytest.mark.parametrize(("last", "automatic"), [(182.0, True), (182.1, False), (178.0, True), (177.9, False)])
def test_laps_are_even_to_two_seconds(last, automatic):
    found = moments(laps(0.0, 60.0, 120.0, last, 400.0), 0.0, 900.0)[0]
    assert (found == ()) is automatic


def test_two_even_laps_prove_nothing():
    assert moments(laps(0.0, 60.0, 120.0, 500.0), 0.0, 900.0)[0] == (60.0, 120.0, 500.0)


@pytest.mark.parametrize(
    ("length", "expected", "same"),
    [(330, 300, True), (360, 300, True), (360.1, 300, False), (240, 300, True), (239.9, 300, False)]
    + [(90, 120, True), (89.9, 120, False), (150, 120, True), (150.1, 120, False)],
)
def test_a_length_is_the_expected_one_to_a_fifth_and_half_a_minute(length, expected, same):
    # 300 s: a fifth is 60 s; 120 s: half a minute is more than a fifth
    assert as_long_as(length, expected) is same


def test_two_moments_are_the_work_and_more_are_not_clear():
    assert pair_of((100.0, 400.0), None, 900.0) == (100.0, 400.0)
    assert pair_of((100.0, 130.0), None, 900.0) == (100.0, 130.0)
    assert pair_of((100.0, 129.9), None, 900.0) is None
    assert pair_of((100.0,), None, 900.0) is None
    assert pair_of((), None, 900.0) is None
    assert pair_of((100.0, 200.0, 400.0), None, 900.0) is None


def test_the_length_of_the_protocol_chooses_the_only_pair_that_fits():
    assert pair_of((100.0, 240.0, 600.0, 720.0), 360.0, 900.0) == (240.0, 600.0)
    assert pair_of((100.0, 240.0, 600.0, 720.0), 480.0, 900.0) is None  # 500 s from the first, 480 s from the second
    assert pair_of((100.0, 240.0), 600.0, 900.0) is None
    assert pair_of((100.0, 125.0), 30.0, 900.0) is None  # as long as expected, and too short to be work


def test_a_single_press_begins_work_of_the_expected_length_that_fits_in():
    assert pair_of((240.0,), 360.0, 900.0) == (240.0, 600.0)
    assert pair_of((240.0,), 660.0, 900.0) == (240.0, 900.0)
    assert pair_of((240.0,), 660.1, 900.0) is None
    assert pair_of((), 360.0, 900.0) is None
