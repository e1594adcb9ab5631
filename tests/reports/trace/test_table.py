"""Rows of the trace's table, worked out by hand."""

import numpy as np
import pytest
from ownmark.reports.pictures.series import Series, tiled
from ownmark.reports.trace.lines import empty, line
from ownmark.reports.trace.table import edges_of, rows_of
from ownmark.reports.trace.trace import Trace, View, flagged_of


def test_a_row_a_minute_between_round_minutes_and_the_ends_of_the_view():
    assert edges_of(View(10, 150)) == [10, 60, 120, 150]
    assert edges_of(View(60, 180)) == [60, 120, 180]
    assert edges_of(View(0, 1800)) == [60.0 * each for each in range(31)]


def test_a_long_view_has_thirty_rows_at_the_most_and_a_short_one_rows_of_seconds():
    assert edges_of(View(0, 1801))[:3] == [0, 120, 240]
    assert len(edges_of(View(0, 8 * 3600))) == 33 - 16
    assert edges_of(View(0, 30)) == list(range(31))
    assert edges_of(View(0, 59))[:3] == [0, 2, 4]


def traced(**more):
    rows = tiled([0, 10, 40], [10, 10, 20], [60, 90, 120], from_s=0.0, until_s=60.0)
    series = Series(time_s=rows[0], until_s=rows[1], bpm=rows[2], end_s=60.0, phases={"work": (30.0, 60.0)}, **more)
    return Trace(series=series, movement=line([0, 1, 61], [1, 2, 9]), flagged=flagged_of(None))


def test_mean_by_time_least_most_and_share_of_what_was_measured():
    row = rows_of(traced(), View(5, 65))[0]
    assert (row.from_s, row.until_s) == (5, 60)
    assert row.mean == pytest.approx((5 * 60 + 10 * 90 + 20 * 120) / 35)
    assert (row.low, row.high) == (60, 120)
    assert row.share == pytest.approx(100 * 35 / 55)


def test_a_stretch_without_a_value_has_no_mean():
    row = rows_of(traced(), View(20, 40))[0]
    assert (row.mean, row.low, row.high, row.share) == (None, None, None, 0)


def test_a_row_belongs_to_the_phase_of_its_middle():
    assert [row.phase for row in rows_of(traced(), View(0, 60))] == ["work"]
    assert [row.phase for row in rows_of(traced(), View(25, 55))] == [None] * 5 + ["work"] * 25


def test_strength_is_the_mean_of_the_samples_of_a_row():
    assert rows_of(traced(), View(0, 59))[0].strength == pytest.approx(1.5)
    assert rows_of(traced(), View(10, 69))[0].strength is None


def test_moving_is_told_where_all_of_a_row_was_measured():
    seen = traced(moving=((0.0, 30.0),), movement_unmeasured=((50.0, 52.0),))
    rows = rows_of(seen, View(0, 60))
    assert len(rows) == 1
    assert rows[0].moving is None
    assert rows_of(seen, View(20, 50))[0].moving == 100
    assert rows_of(seen, View(20, 50))[-1].moving == 0
    assert rows_of(traced(), View(0, 60))[0].moving is None


def test_a_trace_without_heart_rate_has_rows_of_movement():
    series = Series(time_s=np.empty(0), until_s=np.empty(0), bpm=np.empty(0), end_s=60.0)
    (row,) = rows_of(Trace(series=series, movement=empty(), flagged=flagged_of(None)), View(0, 60))
    assert (row.mean, row.share, row.strength) == (None, 0, None)


def test_a_phase_that_ends_in_the_middle_of_a_row_does_not_hold_it():
    rows = tiled([0], [120], [60], from_s=0.0, until_s=120.0)
    for phase, name in (((0.0, 30.0), None), ((30.0, 60.0), "work"), ((0.0, 30.1), "work")):
        series = Series(time_s=rows[0], until_s=rows[1], bpm=rows[2], end_s=120.0, phases={"work": phase})
        trace = Trace(series=series, movement=empty(), flagged=flagged_of(None))
        assert rows_of(trace, View(0, 120))[0].phase == name


def test_values_that_stand_for_half_a_second_count():
    rows = tiled([0, 0.5, 1], [0.5, 0.5, 0.5], [60, 90, 150], from_s=0.0, until_s=60.0)
    series = Series(time_s=rows[0], until_s=rows[1], bpm=rows[2], end_s=60.0)
    (row,) = rows_of(Trace(series=series, movement=empty(), flagged=flagged_of(None)), View(0, 60))
    assert (row.mean, row.low, row.high, row.share) == (100, 60, 150, 2.5)


def test_a_row_knows_nothing_of_the_ones_beside_it():
    first, last = rows_of(traced(moving=((0.0, 90.0),)), View(0, 61))
    assert (first.moving, last.moving) == (100, 100)
    assert (last.from_s, last.until_s, last.mean) == (60, 61, None)


@pytest.mark.parametrize(
    ("length", "step"),
    [
        *((31, 2), (45, 2), (59, 2), (61, 60), (1801, 120), (3601, 300), (9001, 600), (18_001, 900)),
        *((27_001, 1800), (54_001, 3600), (86_400, 3600), (108_001, 7200), (216_001, 14_400)),
    ],
)
def test_rows_are_as_long_as_the_first_round_step_of_which_thirty_do(length, step):
    edges = edges_of(View(0, length))
    assert (edges[1], edges[2]) == (step, min(2 * step, length))
    assert len(edges) <= 32
