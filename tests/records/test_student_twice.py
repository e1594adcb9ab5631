"""Rows of one list that contradict each other about a student, and rows that only add to one another."""

from datetime import date

import pytest
from ownmark.records.student import Ceiling, MeasuredRate
from ownmark.records.student_texts import Said
from ownmark.records.student_twice import contradictions

ONE, TWO = date(2026, 9, 1), date(2026, 10, 1)


def rate(bpm, **how):
    return MeasuredRate(bpm=bpm, **how)


def ceiling(bpm, role="nurse", on=None):
    return Ceiling(bpm=bpm, set_by=role, set_on=on)


AGAINST = [
    ({"born": "2014-03"}, {"born": "2014-04"}, ("born",)),
    ({"sex": "female"}, {"sex": "male"}, ("sex",)),
    ({"notes": "new chair"}, {"notes": "old chair"}, ("notes",)),
    ({"rest": rate(80)}, {"rest": rate(81)}, ("rest",)),
    ({"rest": rate(80, on=ONE)}, {"rest": rate(81, on=ONE)}, ("rest",)),
    ({"rest": rate(80, posture="sitting")}, {"rest": rate(80, posture="lying")}, ("posture",)),
    ({"maximum": rate(180, exercise="Arms")}, {"maximum": rate(181, exercise=" arms")}, ("max",)),
    ({"maximum": rate(180)}, {"maximum": rate(181)}, ("max",)),
    ({"ceiling": ceiling(150)}, {"ceiling": ceiling(151)}, ("ceiling",)),
    ({"ceiling": ceiling(150)}, {"ceiling": ceiling(150, "physician")}, ("set_by",)),
    ({"ceiling": ceiling(150, on=ONE)}, {"ceiling": ceiling(140, on=ONE)}, ("ceiling",)),
    ({"can": ("arms",)}, {"can": ("arms", "legs")}, ("can",)),
    ({"needs": ()}, {"needs": ("reminders",)}, ("needs",)),
    ({"born": "2014-03", "rest": rate(80)}, {"born": "2014-04", "rest": rate(81)}, ("born", "rest")),
]
BESIDE = [
    ({"born": "2014-03"}, {"born": "2014-03"}),
    ({"born": "2014-03"}, {"sex": "male"}),
    ({"notes": "new chair"}, {}),
    ({"conditions": ("epilepsy",)}, {"conditions": ("shunt",)}),
    ({"rest": rate(80)}, {"rest": rate(80, posture="sitting")}),
    ({"rest": rate(80, posture="Sitting")}, {"rest": rate(80, posture="sitting ")}),
    ({"rest": rate(80, on=ONE)}, {"rest": rate(81, on=TWO)}),
    ({"rest": rate(80)}, {"rest": rate(81, on=TWO)}),
    ({"rest": rate(80)}, {"maximum": rate(180)}),
    ({"maximum": rate(180, exercise="arms")}, {"maximum": rate(181, exercise="legs")}),
    ({"maximum": rate(180, on=ONE)}, {"maximum": rate(181, on=TWO)}),
    ({"ceiling": ceiling(150, on=ONE)}, {"ceiling": ceiling(140, on=TWO)}),
    ({"can": ("arms", "legs")}, {"can": ("legs", "arms")}),
    ({"can": ("arms",)}, {"needs": ("reminders",)}),
]


@pytest.mark.parametrize(("one", "other", "columns"), AGAINST)
def test_rows_that_contradict_each_other_are_told_by_their_places_and_columns(one, other, columns):
    rows = [None, Said("TH-11", **one), Said("TH-12", **other), Said("TH-11", **other)]
    assert contradictions(rows) == dict.fromkeys((1, 3), ((1, 3), columns))


@pytest.mark.parametrize(("one", "other"), BESIDE)
def test_rows_that_say_the_same_or_something_else_contradict_nothing(one, other):
    assert contradictions([Said("TH-11", **one), Said("TH-11", **other)]) == {}


def test_a_row_that_contradicts_nothing_is_not_held_up_by_two_that_do():
    """It says the one thing of which nobody says otherwise."""
    rows = [Said("TH-11", born="2014-03"), Said("TH-11", sex="male"), Said("TH-11", born="2014-04")]
    assert contradictions(rows) == dict.fromkeys((0, 2), ((0, 2), ("born",)))
