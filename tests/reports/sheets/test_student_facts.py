"""What is kept of a student, with who said so and from when, and which of several entries counts."""

from datetime import date

from ownmark.records.student import Answers, Ceiling, MeasuredRate, Student
from ownmark.reports.sheets.student_facts import Fact, facts_of
from ownmark.reports.words import Words

EN = Words("en")
WHO = Student(
    code="TH-11",
    ceilings=(
        Ceiling(bpm=150, set_by="school nurse", set_on=date(2026, 9, 1)),
        Ceiling(bpm=140, set_by="care team"),
    ),
    rests=(MeasuredRate(bpm=72, on=date(2026, 9, 1), posture="sitting"),),
    maxima=(MeasuredRate(bpm=180, exercise="arms"), MeasuredRate(bpm=185, exercise="legs")),
    conditions=("epilepsy",),
    answers=(Answers(can=("arms", "see"), on=date(2026, 9, 1)), Answers(needs=("reminders",))),
    notes="likes music",
)


def test_each_fact_is_a_line_with_who_and_from_when():
    assert facts_of(WHO, EN) == (
        Fact("ceiling", "150 /min", "set by the school nurse, from September 1, 2026", 0, True),
        Fact("ceiling", "140 /min", "set by the care team", 1, False),
        Fact("rest", "72 /min", "measured on September 1, 2026, sitting", 0, True),
        Fact("maximum", "180 /min", "arms", 0, True),
        Fact("maximum", "185 /min", "legs", 1, True),
        Fact("condition", "epilepsy", "", 0, True),
        Fact("can", "move an arm and see", "from September 1, 2026", 0, True),
        Fact("needs", "reminders", "", 1, False),
        Fact("notes", "likes music", "", None, True),
    )


def test_nothing_kept_is_no_line():
    assert facts_of(Student(code="TH-11"), EN) == ()


def test_in_spanish_the_role_is_in_spanish():
    first = facts_of(WHO, Words("es"))[0]
    assert first.beside.endswith("desde el 1 de septiembre de 2026")
    assert "school nurse" not in first.beside
