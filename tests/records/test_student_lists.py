"""An entry is taken away as somebody saw it, and no other one in its place."""

from datetime import date

import pytest
from ownmark.errors import NotAStudent
from ownmark.records.student import Answers, Ceiling, MeasuredRate, Student
from ownmark.records.student_lists import LISTS, mark_of, taken_away

ONE = Ceiling(bpm=150, set_by="therapist", set_on=date(2026, 9, 1))
OTHER = Ceiling(bpm=140, set_by="therapist", set_on=date(2026, 10, 1))
WHO = Student(
    code="TH-11",
    ceilings=(ONE, OTHER),
    rests=(MeasuredRate(bpm=70), MeasuredRate(bpm=70), MeasuredRate(bpm=71)),
    conditions=("epilepsy", "shunt"),
    answers=(Answers(can=("arms",)),),
)


def test_the_entry_of_the_mark_goes_and_the_others_stay_in_order():
    assert taken_away(WHO, "ceilings", mark_of(ONE)) == {"ceilings": (OTHER,)}
    assert taken_away(WHO, "ceilings", mark_of(OTHER)) == {"ceilings": (ONE,)}
    assert taken_away(WHO, "conditions", "shunt") == {"conditions": ("epilepsy",)}
    assert taken_away(WHO, "answers", mark_of(WHO.answers[0])) == {"answers": ()}


def test_of_two_that_are_the_same_one_goes():
    assert taken_away(WHO, "rests", mark_of(MeasuredRate(bpm=70))) == {"rests": (WHO.rests[0], WHO.rests[2])}


@pytest.mark.parametrize(("name", "mark"), [("maxima", mark_of(ONE)), ("ceilings", "x"), ("code", "TH-11"), ("", "")])
def test_what_is_not_there_any_more_is_told(name, mark):
    with pytest.raises(NotAStudent) as refusal:
        taken_away(WHO, name, mark)
    assert refusal.value.what.code == "refusal.entry_gone"


def test_the_lists_are_those_of_a_student():
    assert all(isinstance(getattr(WHO, name), tuple) for name in LISTS)
