"""Lists that stay short: what they tell is what the whole logbook tells, and nobody's row is passed over."""

from datetime import date

import pytest
from ownmark.errors import LogbookDamaged
from ownmark.records import forget
from ownmark.records.store.listing import (
    Pair,
    StudentLine,
    last_day,
    marked_trials,
    outline_anew,
    outlines_of,
    pairs,
    still_there,
    student_lines,
    students_of,
)
from ownmark.records.store.tables import trials
from sqlalchemy import update

from tests.records.store import made

DAY = date(2026, 9, 10)


@pytest.fixture
def filled(logbook):
    made.filled(logbook)  # TH-11 and BF-07, each on September 10 and 11
    logbook.add_student(made.student("C-3"))
    return logbook


def test_students_stand_in_the_order_asked_for_with_what_they_did_last(filled):
    assert student_lines(filled, ["TH-11", "C-3", "BF-07"]) == (
        StudentLine("TH-11", 2, date(2026, 9, 11)),
        StudentLine("C-3", 0, None),
        StudentLine("BF-07", 2, date(2026, 9, 11)),
    )
    assert student_lines(filled, []) == ()
    assert [each.code for each in outlines_of(filled, ["BF-07"])] == ["BF-07", "BF-07"]


def test_the_last_day_is_that_of_any_trial(logbook):
    assert last_day(logbook) is None
    made.filled(logbook)
    logbook.add_trial(made.trial("TH-11", date(2026, 9, 1), sheet=made.sheet()))
    assert last_day(logbook) == date(2026, 9, 11)


def test_a_trial_is_marked_by_the_seals_of_all_its_rows(filled):
    before = marked_trials(filled, DAY, DAY)
    assert [each.number for each in before] == [1, 3]
    assert [each.number for each in marked_trials(filled, DAY, date(2026, 9, 11))] == [1, 3, 2, 4]
    assert marked_trials(filled, date(2026, 9, 12), date(2026, 9, 30)) == ()
    filled.replace_sheet(1, made.sheet(5))
    made.bare_edit(filled, "BF-07", born="2011-01")
    after = marked_trials(filled, DAY, DAY)
    assert after[0] != before[0]
    assert after[0]._replace(sheet=None) == before[0]._replace(sheet=None)
    assert after[1]._replace(student=None) == before[1]._replace(student=None)
    assert after[1].student != before[1].student


def test_pairs_are_by_code_and_protocol_and_count_no_practice(filled):
    filled.add_protocol(made.protocol("another"))
    filled.add_trial(made.trial("TH-11", date(2026, 9, 12), "another", sheet=made.sheet(), practice=True))
    assert pairs(filled) == (
        Pair("BF-07", "slalom-gym", 2),
        Pair("TH-11", "another", 0),
        Pair("TH-11", "slalom-gym", 2),
    )
    assert pairs(filled, ["another"]) == (Pair("TH-11", "another", 0),)
    assert pairs(filled, []) == ()
    assert pairs(filled, since=date(2026, 9, 11), until=date(2026, 9, 11)) == (
        Pair("BF-07", "slalom-gym", 1),
        Pair("TH-11", "slalom-gym", 1),
    )


def test_who_is_forgotten_in_between_is_passed_over(filled):
    numbers = filled.trial_numbers()
    forget(filled, "TH-11")
    assert [(student.code, trial.id) for student, trial in still_there(filled, numbers)] == [("BF-07", 3), ("BF-07", 4)]
    assert list(students_of(filled, ["TH-11", "BF-07"])) == ["BF-07"]


def test_a_row_that_was_changed_by_something_else_is_told(filled):
    with filled.writing() as connection:
        connection.execute(update(trials).where(trials.c.id == 1).values(day=date(2026, 9, 30)))
    with pytest.raises(LogbookDamaged):
        student_lines(filled, ["TH-11"])
    with pytest.raises(LogbookDamaged):
        last_day(filled)


def test_a_protocols_trials_are_read_again_only_where_a_row_changed(filled):
    first = outline_anew(filled, "slalom-gym", None)
    assert [each.id for each in first[0]] == [1, 3, 2, 4]
    assert list(first[0]) == filled.outline("slalom-gym")
    made.bare_edit(filled, "TH-11", notes="new")
    filled.replace_sheet(1, made.sheet(9))
    assert outline_anew(filled, "slalom-gym", first) is first
    filled.add_trial(made.trial("C-3", date(2026, 9, 1), sheet=made.sheet()))
    after = outline_anew(filled, "slalom-gym", first)
    assert [each.id for each in after[0]] == [5, 1, 3, 2, 4]
    forget(filled, "C-3")
    assert outline_anew(filled, "slalom-gym", after)[0] == first[0]
