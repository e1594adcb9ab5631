"""Whoever subtracts the values of a change that are printed finds the difference that is printed."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark.records.change import messages
from ownmark.records.change.quantities import subject_of
from ownmark.records.change.sentence import Told, sentences
from ownmark.records.change.shown_numbers import ShownChange, places_of, shown_change, shown_gap, shown_sides
from ownmark.records.change.sides import SideChange, SideGap
from ownmark.records.change.verdict import CANNOT_BE_TOLD, INCREASE, WITHIN, Judged
from ownmark.words.render import english


@pytest.mark.parametrize(
    ("values", "places"), [((9.99,), 2), ((10.0,), 1), ((-10.0,), 1), ((-9.99,), 2), ((3.0, 10.0), 1), ((0.0,), 2)]
)
def test_two_decimals_below_ten_and_one_above(values, places):
    assert places_of(*values) == places


@pytest.mark.parametrize(
    ("before", "after", "detectable", "shown"),
    [
        (63.7419, 55.1821, None, (63.7, 55.2, -8.5, 1)),  # −8.5598: by itself it would read 8.56
        (63.7419, 55.1821, 12.0, (63.7, 55.2, -8.5, 1)),
        (5.004, 6.006, None, (5.0, 6.01, 1.01, 2)),
        (9.996, 10.004, None, (9.996, 10.004, 0.008, 3)),  # one decimal and two would hide it
        (60.0, 60.0, None, (60.0, 60.0, 0.0, 1)),
        (60.0, 60.0, 0.0, (60.0, 60.0, 0.0, 1)),
        (60.25, 60.35, None, (60.3, 60.4, 0.1, 1)),
        (60.04, 60.05, None, (60.0, 60.1, 0.1, 1)),
        # More than the detectable, and 8.5 would not be more than 8.5; and the other way round.
        (63.7419, 55.1821, 8.52, (63.74, 55.18, -8.56, 2)),
        (60.04, 68.55, 8.54, (60.04, 68.55, 8.51, 2)),
        (60.0, 68.5, 8.5, (60.0, 68.5, 8.5, 1)),
        (60.0, 68.5, math.inf, (60.0, 68.5, 8.5, 1)),
        (60.0, 60.0 + 1e-12, None, (60.0, 60.0, 0.0, 1)),  # what summing leaves is no change
        (60.00001, 60.00006, None, (60.0, 60.0001, 0.0001, 4)),
        (60.000001, 60.000006, None, (60.0, 60.0, 0.0, 1)),
        (-0.2, 0.3, None, (-0.2, 0.3, 0.5, 2)),
    ],
)
def test_the_difference_is_that_of_the_values_shown(before, after, detectable, shown):
    assert shown_change(before, after, detectable) == ShownChange(*shown)


@given(st.floats(-500, 500, allow_subnormal=False), st.floats(-500, 500), st.none() | st.floats(0, 600, width=32))
def test_what_is_shown_adds_up_and_never_turns(before, after, detectable):
    shown = shown_change(before, after, detectable)
    assert shown.difference == pytest.approx(shown.after - shown.before, abs=1e-9)
    assert shown.places <= places_of(before, after) + 3
    assert shown.difference * (after - before) >= 0


def side(which, baseline, retest, figure="laps", detectable=None):
    return SideChange(
        figure=figure,
        side=which,
        baseline=baseline,
        retest=retest,
        change=retest - baseline,
        detectable_change=detectable,
        typical_error=None,
        degrees_of_freedom=None,
        percent=95.0,
        verdict=WITHIN,
    )


def test_both_sides_have_the_same_decimals():
    assert shown_sides(()) == {}
    assert shown_sides([side("left", 12.34, 13.28)]) == {"left": ShownChange(12.3, 13.3, 1.0, 1)}
    both = [side("left", 12.34, 13.28), side("right", 9.444, 9.526)]
    assert shown_sides(both) == {"left": ShownChange(12.34, 13.28, 0.94, 2), "right": ShownChange(9.44, 9.53, 0.09, 2)}
    close = [side("left", 12.34, 13.23, detectable=0.87), side("right", 12.0, 13.0)]
    assert shown_sides(close)["right"].places == 2  # 0.9 is not more than the 0.9 that would be shown for 0.87


def test_left_minus_right_is_the_difference_of_the_two_above_it():
    gap = SideGap(figure="laps", baseline=12.34 - 11.66, retest=13.25 - 11.04, change=1.53)
    both = [side("left", 12.34, 13.25), side("right", 11.66, 11.04)]
    assert shown_gap(gap, both) == ShownChange(0.6, 2.3, 1.7, 1)  # 12.3 − 11.7 and 13.3 − 11.0
    assert shown_gap(gap, ()) == ShownChange(0.68, 2.21, 1.53, 2)
    assert shown_gap(gap, both[:1]) == ShownChange(0.68, 2.21, 1.53, 2)
    assert shown_gap(gap, [side("left", 1, 2, "turns"), side("right", 1, 3, "turns")]).places == 2


def said(before, after, found):
    subject = subject_of("laps_done")
    made = Told(subject, "laps_done", "", before, after, found, messages.REPEATS_OWN, "no direction")
    return " ".join(map(english, sentences(made)))


def test_the_sentence_says_what_adds_up():
    found = Judged(INCREASE, 8.5598, 8.5598, 8.5598, error=2.0, df=3.0, detectable=8.52)
    text = said(55.1821, 63.7419, found)
    assert text.startswith("Laps done rose by 8.56, from 55.18 to 63.74. That is more")
    assert "which explains up to 8.52 (95 %, own baselines)" in text
    found = Judged(CANNOT_BE_TOLD, -8.5598, -8.5598, -8.5598)
    text = said(63.7419, 55.1821, found)
    assert text.startswith("Laps done fell by 8.5, from 63.7 to 55.2. A single baseline")
    text = said(63.0, 63.0 + 1e-12, found)
    assert text.startswith("Laps done was 63 both times.")
