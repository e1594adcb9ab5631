"""Left and right, each judged by itself, by hand."""

import pytest
from ownmark.records.change.borrowed import Borrowed
from ownmark.records.change.sentence import repeats
from ownmark.records.change.sides import judge_sides, together
from ownmark.records.change.verdict import DECREASE, INCREASE, NOT_GIVEN, WITHIN, Judged
from pydantic import ValidationError

from tests.records.makers import REACH, reached

NAME = REACH.primary_figure
BASELINES = [reached(0, 30, 24), reached(7, 31, 25), reached(14, 30, 24)]
LENT = Borrowed(1.0, 4.0, 9)


def test_each_side_is_held_against_itself_at_a_level_that_both_share():
    judged, changes, gaps, notes = judge_sides(BASELINES, [reached(60, 40, 23), reached(67, 42, 25)], NAME, None)
    assert [each.side for each in changes] == list(judged) == ["left", "right"]
    left, right = changes
    # Means 91 / 3 and 41; 73 / 3 and 24.
    assert (left.figure, left.baseline, left.retest) == (NAME, pytest.approx(91 / 3), 41.0)
    assert (right.baseline, right.retest) == (pytest.approx(73 / 3), 24.0)
    assert (left.change, right.change) == (pytest.approx(32 / 3), pytest.approx(-1 / 3))
    # Squares 2/3 and 2 over three degrees; t of 3 degrees at 97.5 % is 4.1765 in a printed table.
    assert left.typical_error == pytest.approx((8 / 9) ** 0.5)
    assert left.degrees_of_freedom == 3
    assert left.detectable_change == pytest.approx(4.1765 * (8 / 9) ** 0.5 * (5 / 6) ** 0.5, abs=1e-3)
    assert (left.percent, left.verdict, right.verdict) == (97.5, INCREASE, WITHIN)
    assert (left.baseline_drift, left.withheld) == (None, None)
    assert left.repeats == repeats(judged["left"], 2)
    (gap,) = gaps
    assert gap.model_dump() == pytest.approx({"figure": NAME, "baseline": 6.0, "retest": 17.0, "change": 11.0})
    assert notes == []


def test_one_side_alone_is_judged_at_the_usual_level_and_has_no_gap():
    for retest, side in ((reached(60, 40), "left"), (reached(60, None, 40), "right")):
        judged, changes, gaps, _ = judge_sides(BASELINES, [retest], NAME, None)
        assert (list(judged), [each.side for each in changes], gaps) == ([side], [side], ())
        assert changes[0].percent == 95
    judged, changes, gaps, _ = judge_sides([reached(0, 30)], [reached(60, None, 40)], NAME, None)
    assert (judged, changes, gaps) == ({}, (), ())


def test_a_side_takes_the_borrowed_error_and_the_step_in_which_it_is_read():
    _, (left,), _, _ = judge_sides([reached(0, 30)], [reached(60, 31)], NAME, LENT)
    assert (left.typical_error, left.degrees_of_freedom, left.percent) == (1.0, 4.0, 98)
    assert left.error_from
    # Equal repeats: half a centimetre over √12.
    _, (left,), _, _ = judge_sides([reached(0, 30), reached(7, 30)], [reached(60, 31)], NAME, None)
    assert left.typical_error == pytest.approx(0.5 / 12**0.5)
    _, (left,), _, _ = judge_sides([reached(0, 30)], [reached(60, 31)], NAME, None)
    assert (left.typical_error, left.error_from) == (None, None)


def test_baselines_that_rise_take_a_sides_verdict_away():
    rising = [reached(7 * place, 20 + place, 30) for place in range(4)]
    _, (left, right), _, _ = judge_sides(rising, [reached(60, 60, 30)], NAME, None)
    assert (left.baseline_drift, left.withheld) == (1.0, "rising baselines")
    assert (right.baseline_drift, right.withheld) == (0.0, None)


def test_what_was_left_out_is_told_once_of_baselines_and_of_retests():
    # Both sides are tried twice on the first day and the last: one note for each day, not for each side.
    baselines = [reached(0, 30, 24), reached(0, 32, 26), reached(7, 31, 25)]
    _, changes, _, notes = judge_sides(baselines, [reached(60, 40, 36), reached(60, 42, 38)], NAME, None)
    assert [(each.baseline, each.retest) for each in changes] == [(31.0, 41.0), (25.0, 37.0)]
    assert len(notes) == len(set(notes)) == 2


def judged(*verdicts):
    return dict(zip(("left", "right"), (Judged(verdict, 1.0, 1.0, 1.0) for verdict in verdicts), strict=False))


@pytest.mark.parametrize(
    ("verdicts", "both"),
    [
        ((INCREASE, INCREASE), INCREASE),
        ((WITHIN, WITHIN), WITHIN),
        ((INCREASE,), INCREASE),
        ((INCREASE, DECREASE), NOT_GIVEN),
        ((INCREASE, WITHIN), NOT_GIVEN),
        ((), NOT_GIVEN),
    ],
)
def test_one_verdict_for_both_is_the_one_that_they_share(verdicts, both):
    assert together(judged(*verdicts)) == both


def test_changes_and_gaps_are_frozen_and_closed():
    _, (left, _), (gap,), _ = judge_sides(BASELINES, [reached(60, 40, 23)], NAME, None)
    for each in (left, gap):
        with pytest.raises(ValidationError, match="frozen"):
            each.change = 1.0
        with pytest.raises(ValidationError, match="extra"):
            type(each).model_validate({**each.model_dump(), "rank": 1})
