"""A student is a code; what tells who it is stays out."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark.errors import BasisError, NotACode, NotAStudent
from ownmark.records.student import Ceiling, MeasuredRate, Student, check_code, check_role, check_tester
from ownmark.records.student_messages import STUDENT_ROLE_CEILING
from ownmark.words.render import english


@pytest.mark.parametrize("code", ["TH-11", "7B-04", "S014", "K3", "NHS-12", "48213", "A1", "12-04"])
def test_a_short_code_with_a_digit_is_kept_as_it_is(code):
    assert check_code(code) == code


def test_a_code_is_the_same_in_small_letters_and_with_spaces_around():
    assert check_code(" th-11 ") == "TH-11"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("Maria", "name"),
        ("maria", "name"),
        ("J. Smith", "name"),
        ("van Dijk", "name"),
        ("Li", "name"),
        ("JS", "name"),
        ("Мария", "name"),
        ("محمد", "name"),
        ("李明", "name"),
        ("李明1", "name"),
        ("José1", "name"),
        ("Maria 3", "name"),
        ("TOM-1", "name"),
        ("ann2", "name"),
        ("J-Smith-7", "name"),
        ("3APR12", "name"),
        ("AN-NA-M-1", "name"),
        ("m.smith@school.example", "e-mail"),
        ("2012-04-03", "date"),
        ("2012-04", "date"),
        ("03.04.12", "date"),
        ("3/4/2012", "date"),
        ("4 3 12", "date"),
        ("20120403", "date"),
        ("030412", "date"),
        ("S2012", "date"),
        ("123456789", "number"),
        ("A123456789", "number"),
        ("555-0142-77", "number"),
        ("+1 555 0142", "number"),
        ("", "empty"),
        ("T--1", "something else"),
        ("T_1", "something else"),
        ("T1/2", "something else"),
        ("T٣", "something else"),
        ("T1\n2", "something else"),
        ("B1-B2-B3-B4-5", "longer"),
    ],
)
def test_what_looks_like_a_person_is_refused_with_the_reason_and_without_repeating_it(text, reason):
    with pytest.raises(NotACode) as refused:
        check_code(text)
    assert reason in str(refused.value)
    assert not text or text not in english(refused.value.what)


def test_a_school_of_three_letters_is_told_what_looks_like_a_name():
    with pytest.raises(NotACode, match="more than four letters, three in a row with a vowel among them"):
        check_code("OAK-12")


@given(st.text(max_size=30))
def test_any_text_is_a_code_or_a_refusal_and_a_code_is_stable(text):
    try:
        code = check_code(text)
    except NotACode:
        return
    assert check_code(code) == code
    assert any(character.isdigit() for character in code)
    assert code.isascii()


@pytest.mark.parametrize("role", ["therapist", "Physical Therapist", "school nurse", "PE teacher", "cardiology team"])
def test_a_ceiling_is_set_by_a_role(role):
    assert Ceiling(bpm=150, set_by=role).set_by == role.lower()


@pytest.mark.parametrize("name", ["Dr Miller", "nurse Anna", "A. Jones", "school", "", "nurse 7", "nurse@x.example"])
def test_a_ceiling_is_not_set_by_a_name(name):
    with pytest.raises(NotAStudent, match="role, not a name") as refused:
        Ceiling(bpm=150, set_by=name)
    assert not name or name == "school" or name not in str(refused.value)


def test_who_ran_a_test_is_a_role_a_code_or_initials():
    assert check_tester("t-4") == "T-4"
    assert check_tester("J.S.") == "JS"
    assert check_tester("PE Teacher") == "pe teacher"
    for name in ("Anna", "Tom", "Anna Jones"):
        with pytest.raises(NotAStudent):
            check_tester(name)
    with pytest.raises(NotAStudent):
        check_role("somebody", STUDENT_ROLE_CEILING)


@pytest.mark.parametrize("born", ["2012-04-03", "April 2012", "2012-13", "2012", "12-04", "2012-00"])
def test_only_the_month_of_birth_is_kept(born):
    with pytest.raises(NotAStudent, match="YYYY-MM"):
        Student(code="K3", born=born)


def test_the_month_of_birth_is_written_in_one_way():
    assert Student(code="K3", born="2012-4").born == "2012-04"


def test_age_is_counted_from_month_to_month():
    student = Student(code="K3", born="2012-04")
    assert student.age_on(date(2025, 10, 17)) == pytest.approx(13.5)
    assert Student(code="K3").age_on(date(2025, 10, 17)) is None
    with pytest.raises(NotAStudent, match="gives no age"):
        student.age_on(date(2012, 4, 1))


def test_conditions_are_kept_under_their_full_names_and_an_unknown_one_is_refused():
    assert Student(code="K3", conditions=("CP", "t4", "cerebral palsy")).conditions == (
        "cerebral-palsy",
        "spinal-injury-t6-or-above",
    )
    with pytest.raises(BasisError, match="epilepsy"):
        Student(code="K3", conditions=("epilepsie",))


def test_rates_no_heart_has_are_refused_by_the_limits_of_the_cleaning():
    for bpm in (29.9, 230.1, float("nan")):
        with pytest.raises(NotAStudent):
            MeasuredRate(bpm=bpm)
        with pytest.raises(NotAStudent):
            Ceiling(bpm=bpm, set_by="nurse")


def test_the_latest_rest_and_ceiling_count_and_an_undated_one_is_the_oldest():
    student = Student(
        code="K3",
        rests=(
            MeasuredRate(bpm=80, on=date(2025, 3, 1)),
            MeasuredRate(bpm=72, on=date(2025, 9, 1)),
            MeasuredRate(bpm=99),
        ),
        ceilings=(Ceiling(bpm=150, set_by="nurse", set_on=date(2025, 9, 1)), Ceiling(bpm=140, set_by="nurse")),
    )
    assert student.rest == student.rests[1]
    assert student.ceiling == student.ceilings[0]
    assert Student(code="K3").rest is None
    assert Student(code="K3").ceiling is None


def test_of_two_on_one_day_the_one_entered_last_counts():
    day = date(2025, 3, 1)
    student = Student(code="K3", rests=(MeasuredRate(bpm=80, on=day), MeasuredRate(bpm=78, on=day)))
    assert student.rest == student.rests[1]
    undated = Student(code="K3", ceilings=(Ceiling(bpm=150, set_by="nurse"), Ceiling(bpm=140, set_by="nurse")))
    assert undated.ceiling == undated.ceilings[1]


def test_a_maximum_counts_only_in_the_same_kind_of_exercise():
    legs = MeasuredRate(bpm=195, on=date(2025, 9, 1), exercise="legs")
    arms = MeasuredRate(bpm=178, on=date(2025, 3, 1), exercise="Arms")
    student = Student(code="K3", maxima=(legs, arms))
    assert student.maximum("arms") == arms
    assert student.maximum("legs") == legs
    assert student.maximum("power chair") is None
    assert student.maximum(None) is None
    unstated = MeasuredRate(bpm=185)
    assert Student(code="K3", maxima=(legs, unstated)).maximum("arms") == unstated


def test_a_later_rest_does_not_reach_back_to_an_old_trial():
    student = Student(
        code="K3",
        rests=(MeasuredRate(bpm=80, on=date(2025, 3, 1)), MeasuredRate(bpm=72, on=date(2025, 9, 1))),
        ceilings=(Ceiling(bpm=150, set_by="nurse", set_on=date(2025, 9, 1)),),
    )
    before = student.as_of(date(2025, 5, 1))
    assert before.rest is not None
    assert before.rest.bpm == 80
    assert before.ceiling == student.ceiling  # that of today, for every trial


def test_a_student_comes_back_from_json_as_it_was_and_unknown_fields_are_refused():
    student = Student(code="K3", born="2012-04", conditions=("cp",), rests=(MeasuredRate(bpm=80),))
    assert Student.model_validate_json(student.model_dump_json()) == student
    with pytest.raises(NotAStudent, match="no field “name”"):
        Student(code="K3", name="x")  # pyright: ignore[reportCallIssue]
    with pytest.raises(NotAStudent, match="female"):
        Student(code="K3", sex="f")  # pyright: ignore[reportArgumentType]
