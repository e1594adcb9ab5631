"""Dips amid the work by hand: how deep, how long, how far from the ends, and what is left out around them."""

import numpy as np
import pytest
from ownmark.metrics.phase_finding.effort_model import Series
from ownmark.metrics.phase_finding.pauses import dips

COUNT, STEP_S = 200, 3.0
CURVE = np.full(COUNT, 120.0)


def series(*dipped, scatter=1.0):
    """One value a mean, now above and now below the curve; (first, until, depth) lie under it."""
    bpm = CURVE + scatter * (-1.0) ** np.arange(COUNT)
    for first, until, depth in dipped:
        bpm[first:until] = 120.0 - depth
    return Series(0.0, STEP_S, bpm)


def found(made, start_s=90.0, end_s=500.0):
    where = np.flatnonzero(dips(made, CURVE, start_s, end_s))
    return None if not len(where) else (int(where[0]), int(where[-1]) + 1)


def test_a_dip_is_left_out_with_a_quarter_of_a_minute_around_it():
    # Running means of five: 20 for 10 means from the 98th, the last two partly; deep ones from the 98th to the 111th.
    assert found(series((100, 110, 20.0))) == (98 - 5, 112 + 5)


@pytest.mark.parametrize(("depth", "is_one"), [(3.6, False), (3.8, True)])
def test_a_dip_lies_two_and_a_half_deviations_under_the_curve(depth, is_one):
    # The median absolute distance is 1, a deviation 1.4826: the limit is 3.7065.
    assert (found(series((100, 130, depth))) is not None) is is_one


@pytest.mark.parametrize(("depth", "is_one"), [(2.9, False), (3.1, True)])
def test_a_dip_is_three_beats_deep_at_least(depth, is_one):
    assert (found(series((100, 130, depth), scatter=0.1)) is not None) is is_one


@pytest.mark.parametrize(("until", "is_one"), [(108, True), (107, False)])
def test_a_dip_of_under_twelve_seconds_is_none(until, is_one):
    # A running mean of five lies wholly in the dip for four of eight means, and for three of seven.
    assert (found(series((100, until, 3.3), scatter=0.1)) is not None) is is_one


def test_what_lies_beside_the_start_or_the_end_is_no_pause():
    assert found(series((100, 130, 20.0)), start_s=390.0) is None
    assert found(series((100, 130, 20.0)), end_s=300.0) is None
    # the work begins at 270 s: left out from 290 s on, whose mean is the 97th; it ends at 340 s: until 330 s, the 110th
    assert found(series((90, 130, 20.0)), start_s=270.0) == (97, 137)
    assert found(series((100, 130, 20.0)), end_s=340.0) == (93, 110)


@pytest.mark.parametrize(
    ("start_s", "end_s", "inside"),
    [
        (272.5, 900.0, (98, 137)),  # behind 292.5 s, which is the middle of the 97th mean
        (272.4, 900.0, (97, 137)),
        (90.0, 341.5, (93, 110)),  # before 331.5 s, the middle of the 110th
        (90.0, 341.6, (93, 111)),
    ],
)
def test_twenty_seconds_from_the_start_and_ten_to_the_end_hold_no_pause(start_s, end_s, inside):
    first = 90 if start_s > 100 else 100
    made = series((first, 130, 20.0))
    got = np.flatnonzero(dips(made, CURVE, start_s, end_s))
    assert (int(got[0]), int(got[-1]) + 1) == inside


@pytest.mark.parametrize(("until", "is_one"), [(104, True), (103, False)])
def test_four_means_are_twelve_seconds(until, is_one):
    # Deep enough that each running mean that touches the dip for one of its five lies under the limit.
    start_s = (99.5 * STEP_S) - 20.0  # only means from the 100th on are inside
    end_s = until * STEP_S + 10.0
    assert (found(series((95, 110, 100.0)), start_s=start_s, end_s=end_s) is not None) is is_one


def test_what_was_not_measured_is_no_dip():
    made = series()
    bpm = made.bpm.copy()
    bpm[100:130] = np.nan
    assert found(Series(0.0, STEP_S, bpm)) is None
    # two deep means beside a gap: 2 of 5 at -10 and the gap as 0 give -4 in four running means, under the limit of 3.7
    bpm = CURVE + (-1.0) ** np.arange(COUNT)
    bpm[100:102], bpm[102:108] = 110.0, np.nan
    assert found(Series(0.0, STEP_S, bpm)) is not None
