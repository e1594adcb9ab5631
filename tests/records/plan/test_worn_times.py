"""When a strap was worn against a file's clock, at the very edges."""

import pytest
from ownmark.records.plan.worn_times import hours_off, hours_outside, left_by, may_hold, seconds_of, window_of, within
from ownmark.records.wearing import Worn

NINE = 9 * 3600.0


def worn(since="", until=""):
    return Worn("S3", "TH-11", since, until)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("9:05", NINE + 300),
        ("09:05:30", NINE + 330),
        (" @9:05 ", NINE + 300),
        ("1:15 PM", 13 * 3600 + 900),
        ("23:59:59", 86399),
        ("24:00", None),
        ("9:60", None),
        ("9", None),
        ("soon", None),
        ("", None),
    ],
)
def test_times_of_day(text, seconds):
    assert seconds_of(text) == seconds


def test_a_window_has_its_ends_in_order_and_one_that_is_not_written_is_open():
    assert window_of(worn("9:00", "9:10")) == (NINE, NINE + 600)
    assert window_of(worn("9:00")) == (NINE, 2 * 86400.0)
    assert window_of(worn("", "9:10")) == (0.0, NINE + 600)
    assert window_of(worn()) is None
    assert window_of(worn("soon", "9:10")) is None
    assert window_of(worn("9:00", "late")) is None
    assert window_of(worn("9:10", "9:10")) is None
    assert window_of(worn("9:10", "9:00")) is None


def test_a_file_may_begin_and_end_two_minutes_outside():
    window = (NINE, NINE + 600)
    assert within((NINE - 120, NINE + 720), window)
    assert not within((NINE - 121, NINE + 600), window)
    assert not within((NINE, NINE + 721), window)


def test_less_than_a_minute_of_a_wearer_is_none():
    assert may_hold(worn("9:00", "9:10"), (NINE + 540, NINE + 900))
    assert not may_hold(worn("9:00", "9:10"), (NINE + 541, NINE + 900))
    assert may_hold(worn("9:00", "9:10"), (NINE - 300, NINE + 60))
    assert not may_hold(worn("9:00", "9:10"), (NINE - 300, NINE + 59))


def test_a_short_file_must_lie_in_all_of_it():
    assert may_hold(worn("9:00", "9:10"), (NINE, NINE + 30))
    assert not may_hold(worn("9:00", "9:10"), (NINE - 1, NINE + 29))


def test_an_open_end_is_open_and_what_is_no_time_shuts_nothing_out():
    assert may_hold(worn("", "9:10"), (0.0, 600.0))
    assert may_hold(worn("", "0:01"), (0.0, 60.0))
    assert not may_hold(worn("", "0:01"), (-1.0, 59.0))
    assert may_hold(worn("23:00"), (2 * 86400.0 - 60, 2 * 86400.0))
    assert not may_hold(worn("23:00"), (2 * 86400.0 - 59, 2 * 86400.0 + 1))
    assert not may_hold(worn("", "9:10"), (NINE + 600, NINE + 900))
    assert may_hold(worn("9:00"), (NINE + 36000, NINE + 36600))
    assert may_hold(worn("23:00"), (86400.0 + 3600, 86400.0 + 4200))
    assert not may_hold(worn("9:00"), (0.0, 600.0))
    assert may_hold(worn("soon", "9:10"), (0.0, 600.0))
    assert may_hold(worn("9:00", "later"), (0.0, 600.0))
    assert may_hold(worn("9:00", "9:10"), None)


def test_whole_hours_between_a_start_and_a_recording():
    span = (NINE + 3600, NINE + 4200)
    assert hours_off(NINE + 100, span) == -1
    assert hours_off(NINE - 120, span) == -1
    assert hours_off(NINE - 121, span) is None
    assert hours_off(NINE + 600, span) == -1
    assert hours_off(NINE + 601, span) is None
    assert hours_off(NINE + 3700, span) is None
    assert hours_off(NINE + 3600 + 100, (NINE, NINE + 600)) == 1


def test_no_clock_is_off_by_more_than_fourteen_hours():
    assert hours_off(15 * 3600.0, (3600.0, 4200.0)) == 14
    assert hours_off(16 * 3600.0, (3600.0, 4200.0)) is None


def test_whole_hours_between_a_file_and_when_its_strap_was_worn():
    window = (NINE, NINE + 600)
    assert hours_outside(window, (NINE + 7200, NINE + 7800)) == -2
    assert hours_outside(window, (NINE - 3600 - 120, NINE - 3600 + 480)) == 1
    assert hours_outside(window, (NINE - 3600 - 121, NINE - 3600 + 479)) is None
    assert hours_outside(window, (NINE + 1800, NINE + 2400)) is None
    assert hours_outside(window, (NINE, NINE + 600)) is None
    assert hours_outside((15 * 3600.0, 15 * 3600 + 600), (3600.0, 4200.0)) == 14
    assert hours_outside((16 * 3600.0, 16 * 3600 + 600), (3600.0, 4200.0)) is None


@pytest.mark.parametrize(
    ("others", "left"),
    [
        ([], (1000.0, 4000.0)),
        ([(0.0, 2000.0)], (2000.0, 4000.0)),
        ([(3000.0, 9000.0)], (1000.0, 3000.0)),
        ([(1500.0, 2000.0), (3000.0, 4000.0)], (2000.0, 3000.0)),
        ([(3000.0, 4000.0), (1500.0, 2000.0)], (2000.0, 3000.0)),
        ([(0.0, 3940.0)], (3940.0, 4000.0)),
        ([(0.0, 3941.0)], None),
        ([(0.0, 9000.0)], None),
        ([(5000.0, 6000.0)], (1000.0, 4000.0)),
        ([(0.0, 500.0)], (1000.0, 4000.0)),
    ],
)
def test_what_others_leave_of_a_file_is_its_longest_stretch_of_a_minute_or_more(others, left):
    assert left_by(others, (1000.0, 4000.0)) == left
