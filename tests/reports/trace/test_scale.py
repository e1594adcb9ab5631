"""Where things lie on a trace, and the paths of its lines."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark.reports.pictures.series import Series
from ownmark.reports.trace.lines import empty, line
from ownmark.reports.trace.scale import Panel, cut, layout_of, movement_range, path_of, share
from ownmark.reports.trace.trace import Trace, flagged_of

from tests.reports.pictures.pictures_made import MOVING, made

PANEL = Panel("pulse", 50.0, 100.0, 60.0, 160.0)


def test_values_go_up_from_the_lower_edge():
    assert [PANEL.y(each) for each in (60, 110, 160)] == [150, 100, 50]
    assert PANEL.bottom == 150


def traced(series, movement=None):
    return Trace(series=series, movement=movement or empty(), flagged=flagged_of(None))


def test_panels_lie_under_each_other_as_the_recording_has_them():
    found = layout_of(traced(made(**MOVING), line([0, 1], [1, 1])))
    assert [each.name for each in found.panels] == ["pulse", "ribbon", "movement", "cadence"]
    assert [each.top for each in found.panels] == [52, 314, 362, 454]
    assert found.height == 454 + 60 + 10 + 45
    assert found.get("ribbon") == found.panels[1]
    assert found.get("nothing") is None
    assert [each.name for each in layout_of(traced(made())).panels] == ["pulse"]


def test_a_recording_of_nothing_has_a_place_for_its_time():
    none = np.empty(0)
    (panel,) = layout_of(traced(Series(time_s=none, until_s=none, bpm=none, end_s=9.0))).panels
    assert (panel.name, panel.height) == ("ribbon", 1)


@pytest.mark.parametrize(
    ("values", "ends"),
    [
        ([1, 1], (1, 1.2)),
        ([0.4, 1.6], (0, 2)),
        ([1.2, 2.5], (1, 2.5)),
        ([0.9, 1.01], (0.9, 1.1)),
        ([0.5, 1.5], (0.5, 1.5)),
        ([0.48, 1.5], (0, 1.5)),
    ],
)
def test_stillness_is_always_on_the_axis_of_movement(values, ends):
    assert movement_range(line([0, 1], values)) == ends


def test_shares_of_the_view():
    assert [share(each, (10, 30)) for each in (10, 15, 30, 40)] == [0, 0.25, 1, 1.5]


def test_stretches_are_cut_at_the_view_and_none_is_narrower_than_a_column():
    assert cut(((-5, 20), (50, 60), (99, 300), (400, 500)), (0, 100)) == [(0, 0.2), (0.5, 0.6), (0.99, 1)]
    assert cut(((50, 50.01),), (0, 100)) == [(0.5, pytest.approx(0.501))]
    assert cut(((99.99, 120),), (0, 100)) == [(pytest.approx(0.999), 1)]
    assert cut(((100, 120), (-9, 0)), (0, 100)) == []


def test_stretches_closer_than_half_a_column_are_one():
    assert cut(((10, 20), (20.04, 30)), (0, 100)) == [(0.1, 0.3)]
    assert cut(((10, 20), (20.06, 30)), (0, 100)) == [(0.1, 0.2), (0.2006, 0.3)]
    assert cut(((40, 50), (10, 20), (15, 30)), (0, 100)) == [(0.1, 0.3), (0.4, 0.5)]


def test_a_path_in_thousandths_of_the_width():
    assert path_of(line([0, 5, 10], [60, 110, 160]), (0, 10), PANEL) == "M0 100L500 50L1000 0"
    assert path_of(line([2, 5], [60.5, 110]), (0, 10), PANEL) == "M200 99.5L500 50"


def test_a_gap_begins_a_new_piece_and_a_piece_of_one_point_is_a_dot():
    found = path_of(line([0, 2, 4, 6], [60, 60, 60, 60], [1, 1, 1, 0]), (0, 10), PANEL)
    assert found == "M0 100h0M200 100h0M400 100L600 100"


def test_values_beyond_the_axis_lie_on_its_edge():
    assert path_of(line([0, 5], [10, 300]), (0, 10), PANEL) == "M0 100L500 0"


def test_nothing_is_drawn_of_an_empty_line():
    assert path_of(empty(), (0, 10), PANEL) == ""


@given(st.lists(st.tuples(st.integers(60, 160), st.booleans()), min_size=2, max_size=400), st.integers(0, 90))
def test_each_column_of_a_path_shows_its_lowest_and_highest_value(samples, begin):
    time = np.linspace(0, 100, len(samples))
    whole = line(time, [each[0] for each in samples], [each[1] for each in samples])
    view = (float(begin), begin + 10.0)
    numbers = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path_of(whole, view, PANEL))
    shown = [(float(x), float(y)) for x, y in numbers]
    inside = (time >= view[0]) & (time <= view[1])
    for at in np.flatnonzero(inside):
        x = (time[at] - view[0]) * 100
        near = [y for place, y in shown if abs(place - x) <= 1.1]
        value = 160 - samples[at][0]
        assert near
        assert min(near) <= value + 0.051
        assert max(near) >= value - 0.051


@given(st.lists(st.booleans(), min_size=2, max_size=60))
def test_a_path_has_a_piece_for_every_gap_that_is_wider_than_a_column(begins):
    whole = line(np.arange(len(begins)) * 10.0, [100] * len(begins), begins)
    found = path_of(whole, (0, 10.0 * len(begins)), PANEL)
    assert found.count("M") == int(whole.begins.sum())
