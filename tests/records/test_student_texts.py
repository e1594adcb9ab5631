"""A row of a list of students: each guard, to its edge."""

from datetime import date

import pytest
from ownmark.errors import NotACode, NotAStudent, NotConfirmed, OwnmarkError
from ownmark.records.student import Ceiling, MeasuredRate
from ownmark.records.student_texts import Said, free_texts, said_in

TODAY = date(2026, 11, 28)


def said(days=None, answers=(), **texts):
    return said_in({"code": "th-11", **texts}, days or {}, answers, TODAY)


def refused(code, days=None, answers=(), **texts):
    with pytest.raises(OwnmarkError) as found:
        said(days, answers, **texts)
    assert found.value.what.code == code
    return found.value


def test_a_whole_row_says_what_student_add_takes():
    day = date(2026, 9, 1)
    found = said(
        {"measured_on": (day,), "set_on": (date(2026, 10, 2),)},
        born="Mar-14",
        sex="Female",
        conditions="Cerebral palsy; epilepsy, cerebral-palsy",
        rest="78,5",
        posture="seated",
        max="190",
        exercise="arms",
        ceiling="150",
        set_by="School Nurse",
        can="See; push chair",
        needs="short_bouts",
        notes="new chair",
    )
    assert found == Said(
        "TH-11",
        born="2014-03",
        sex="female",
        conditions=("cerebral-palsy", "epilepsy"),
        rest=MeasuredRate(bpm=78.5, on=day, posture="seated"),
        maximum=MeasuredRate(bpm=190, on=day, exercise="arms"),
        ceiling=Ceiling(bpm=150, set_by="school nurse", set_on=date(2026, 10, 2)),
        can=("push-chair", "see"),
        needs=("short-bouts",),
        notes="new chair",
    )
    assert free_texts(found) == {"rest_posture": "seated", "movement": "arms", "notes": "new chair"}


def test_a_row_with_a_code_alone_says_nothing_else():
    assert said() == Said("TH-11")
    assert free_texts(said()) == {}
    assert free_texts(said(rest="70", max="190")) == {}


@pytest.mark.parametrize("code", ["", "Maria Lopez", "maria@school.org", "2014-03-12", "303-555-0199", "Lopez7"])
def test_a_name_an_address_or_a_number_of_a_person_is_no_code_and_is_not_repeated(code):
    with pytest.raises(NotACode) as found:
        said_in({"code": code} if code else {}, {}, (), TODAY)
    assert not code or code not in str(found.value)


@pytest.mark.parametrize(
    ("code", "texts"),
    [
        ("student_row.born", {"born": "Maria"}),
        ("student_row.birthday", {"born": "2014-03-12"}),
        ("student_row.birthday", {"born": "3/12/2014"}),
        ("student_row.born_ahead", {"born": "2026-12"}),
        ("student_row.sex", {"sex": "f"}),
        ("student_row.number", {"rest": "Maria"}),
        ("student_row.two_numbers", {"rest": "1,234"}),
        ("student_row.rate", {"rest": "29.9"}),
        ("student_row.rate", {"max": "230.1"}),
        ("student_row.rate", {"ceiling": "12", "set_by": "therapist"}),
        ("student_row.ceiling", {"ceiling": "150"}),
        ("student_row.ceiling", {"set_by": "therapist"}),
        ("student.role_ceiling", {"ceiling": "150", "set_by": "Maria Lopez"}),
        ("student_row.alone", {"posture": "seated"}),
        ("student_row.alone", {"posture": "seated", "max": "190"}),
        ("student_row.alone", {"exercise": "arms", "rest": "70"}),
        ("student_row.alone", {"measured_on": "2026-09-01"}),
        ("student_row.alone", {"set_on": "2026-09-01"}),
        ("student_row.word", {"conditions": "epilepsy; epilepsi"}),
        ("student_row.word", {"can": "fly"}),
        ("student_row.word", {"needs": "none, guide"}),
        ("student_row.none", {"conditions": "none"}),
        ("student_row.none", {"rest": "None"}),
        ("student_row.none", {"can": "none"}),
    ],
)
def test_what_does_not_fit_its_column_is_refused(code, texts):
    reason = refused(code, **texts)
    assert reason.mend
    assert isinstance(reason, NotAStudent)
    assert not any(text in str(reason) for text in texts.values() if text in ("Maria", "Maria Lopez", "epilepsi"))


def test_a_cell_that_misses_another_says_which_of_both_to_fill_in_or_to_empty():
    reason = refused("student_row.alone", exercise="arms")
    assert reason.mend.code == "student_row.alone_mend"
    assert (reason.mend["column"].text, reason.mend["needs"].text) == ("exercise", "max")


def test_the_edges_of_what_fits():
    assert (said(sex="FEMALE").sex, said(sex="Male").sex) == ("female", "male")
    assert said(born="2026-11").born == "2026-11"
    assert (said(rest="30").rest.bpm, said(max="230").maximum.bpm) == (30, 230)
    assert said(needs="None").needs == ()
    assert (said(notes="none").notes, said(confirm="none")) == ("none", Said("TH-11"))
    both = said({"measured_on": (TODAY,)}, max="190", measured_on="x")
    assert (both.rest, both.maximum.on) == (None, TODAY)


def test_a_word_that_is_none_is_told_by_its_place_with_the_nearest():
    reason = refused("student_row.word", conditions="epilepsy; epilepsi")
    assert reason.what["column"].text == "conditions"
    assert (reason.what["number"], [each.text for each in reason.mend["near"]]) == (2, ["epilepsy"])
    reason = refused("student_row.word", can="see;qqqq")
    assert reason.mend.code == "student_row.words"
    assert [each.text for each in reason.mend["known"]][:2] == ["arms", "legs"]


@pytest.mark.parametrize(
    ("code", "day"),
    [
        ("student_row.date", ()),
        ("student_row.ahead", (date(2026, 11, 29),)),
        ("student_row.ahead", (date(2026, 12, 1), date(2027, 1, 12))),
        ("student_row.early", (date(1949, 12, 31),)),
    ],
)
def test_a_day_that_cannot_be_is_refused(code, day):
    refused(code, {"set_on": day}, ceiling="150", set_by="therapist", set_on="x")


@pytest.mark.parametrize("day", [date(1950, 1, 1), TODAY])
def test_the_first_and_the_last_day_that_can_be(day):
    assert said({"set_on": (day,)}, ceiling="150", set_by="therapist", set_on="x").ceiling.set_on == day


def test_a_date_that_can_be_two_days_is_asked_unless_one_lies_ahead_or_was_confirmed():
    first, second = date(2026, 1, 9), date(2026, 9, 1)
    texts = {"ceiling": "150", "set_by": "therapist", "set_on": "9/1/2026"}
    with pytest.raises(NotConfirmed) as found:
        said({"set_on": (first, second)}, **texts)
    assert [each.answers for each in found.value.questions] == [("2026-01-09", "2026-09-01")]
    assert said({"set_on": (first, second)}, {"2026-09-01"}, **texts).ceiling.set_on == second
    assert said({"set_on": (first, date(2026, 12, 1))}, **texts).ceiling.set_on == first
