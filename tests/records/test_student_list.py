"""A list of students into the logbook: each row whole or not at all, nothing overwritten, nothing doubled."""

import os
import random
import signal
import time
from datetime import date

import pytest
from ownmark.errors import LogbookLocked, NoLogbook
from ownmark.records import open_logbook, student_list
from ownmark.records.store.history import history_of
from ownmark.records.student import Ceiling, MeasuredRate, Student
from ownmark.records.student_list import add_list
from ownmark.records.student_table import StudentRow, read_students

from tests.records.test_shared_files import FIRST, PHASES, added, written
from tests.records.test_shared_files import school as two_students

school = two_students
TODAY = date(2026, 11, 28)


def rows_of(*texts, first=2):
    return [StudentRow(number, row) for number, row in enumerate(texts, start=first)]


def run(logbook, *texts, **how):
    return list(add_list(logbook, rows_of(*texts), today=TODAY, **how))


def states(outcomes):
    return [each.state for each in outcomes]


def codes(outcome):
    return [each.code for each in outcome.told]


def named(outcome, value):
    return [each.text for each in outcome.told[0][value]]


ONE = {"code": "th-11", "born": "2014-03", "rest": "70", "ceiling": "150", "set_by": "therapist"}
NOTE = {"code": "TH-12", "notes": "ask Maria Lopez about it"}


def test_one_bad_row_stops_no_other_and_giving_it_again_changes_nothing(logbook):
    first = run(logbook, ONE, {"code": "Maria"}, NOTE, {"code": "TH-13", "rest": "x"}, {"code": "TH-14"})
    assert states(first) == ["added", "refused", "to confirm", "refused", "added"]
    assert [each.row.number for each in first] == [2, 3, 4, 5, 6]
    assert [each.reason and each.reason.code for each in first] == [
        *(None, "not_a_code", "not_confirmed", "not_a_student", None),
    ]
    assert codes(first[0]) == ["student_row.added"]
    assert codes(first[4]) == ["student_row.code_only"]
    assert codes(first[2]) == ["guard.asked", "student_row.answer"]
    assert first[2].questions[0].answers == ("keep-text",)
    there = logbook.students()
    assert there == (
        Student(
            code="TH-11",
            born="2014-03",
            rests=(MeasuredRate(bpm=70),),
            ceilings=(Ceiling(bpm=150, set_by="therapist"),),
        ),
        Student(code="TH-14"),
    )
    again = run(logbook, ONE, {"code": "TH-14"}, correct=True)
    assert states(again) == ["there already", "there already"]
    assert codes(again[0]) == ["student_row.same"]
    assert logbook.students() == there
    assert history_of(logbook, "student", "TH-11") == ()


def test_a_text_that_was_let_stand_is_kept_and_not_asked_again(logbook):
    assert states(run(logbook, {**NOTE, "confirm": "Keep-Text"})) == ["added"]
    assert logbook.student("TH-12").notes == NOTE["notes"]
    assert states(run(logbook, NOTE)) == ["there already"]
    assert states(run(logbook, {**NOTE, "notes": "ask Maria Lopez"})) == ["to confirm"]
    how = {"code": "TH-13", "rest": "70", "posture": "on Maria's lap", "max": "190", "exercise": "arms with Maria"}
    (outcome,) = run(logbook, how)
    assert len(outcome.questions) == 2
    assert states(run(logbook, {**how, "confirm": "keep-text"}) + run(logbook, how)) == ["added", "there already"]


def test_a_row_that_says_otherwise_is_asked_and_overwrites_nothing(logbook):
    run(logbook, ONE)
    before = logbook.student("TH-11")
    other = {**ONE, "born": "2014-04", "ceiling": "155"}
    (outcome,) = run(logbook, other)
    assert (outcome.state, outcome.otherwise, outcome.questions) == ("to confirm", True, ())
    assert codes(outcome) == ["student_row.otherwise", "student_row.correct"]
    assert [each.code for each in outcome.told[0]["differences"]] == ["student_row.differs"] * 2
    assert outcome.fields["born"] == ("2014-03", "2014-04")
    assert [each["bpm"] for each in outcome.fields["ceilings"][1]] == [150, 155]
    assert logbook.student("TH-11") == before
    (outcome,) = run(logbook, other, correct=True)
    assert (outcome.state, codes(outcome)) == ("corrected", ["student_row.corrected"])
    after = logbook.student("TH-11")
    assert (after.born, after.ceiling.bpm, len(after.ceilings)) == ("2014-04", 155, 2)
    (change,) = history_of(logbook, "student", "TH-11")
    assert change.before["born"] == "2014-03"
    assert states(run(logbook, other)) == ["there already"]


def test_a_row_that_says_less_takes_nothing_away_and_says_what_is_kept_besides(logbook):
    run(logbook, {"code": "TH-11", "conditions": "epilepsy; cerebral-palsy", "born": "2014-03"})
    (outcome,) = run(logbook, {"code": "TH-11", "conditions": "epilepsy"}, correct=True)
    assert (outcome.state, codes(outcome)) == ("there already", ["student_row.besides"])
    assert outcome.told[0]["conditions"] == ("cerebral-palsy",)


def test_a_correction_that_cannot_be_is_refused_and_changes_nothing(logbook):
    logbook.add_student(Student(code="TH-11", rests=(MeasuredRate(bpm=70),)))
    logbook.add_student(Student(code="TH-12", ceilings=(Ceiling(bpm=140, set_by="nurse", set_on=date(2026, 9, 1)),)))
    low = {"code": "TH-11", "max": "65"}
    undated = {"code": "TH-12", "ceiling": "150", "set_by": "nurse"}
    for correct in (False, True):
        one, two = run(logbook, low, undated, correct=correct)
        assert (one.state, codes(one)[0]) == ("refused", "student.rest_above")
        assert (two.state, codes(two)[0]) == ("refused", "student_row.ceiling_day")
    assert [len(each.maxima) + len(each.ceilings) for each in logbook.students()] == [0, 1]


def test_a_student_who_stands_there_twice_is_held_against_the_row_before(logbook):
    rows = ({"code": "TH-11", "rest": "70"}, {"code": "th-11"}, {"code": "TH-11", "max": "180"})
    assert states(run(logbook, *rows)) == ["added", "there already", "to confirm"]
    assert states(run(logbook, *rows, correct=True)) == ["there already", "there already", "corrected"]
    kept = logbook.student("TH-11")
    assert (kept.rest.bpm, [each.bpm for each in kept.maxima]) == (70, [180])


@pytest.mark.parametrize("correct", [False, True])
@pytest.mark.parametrize("only_show", [False, True])
def test_rows_that_contradict_each_other_do_not_go_in_however_often_they_are_given(logbook, correct, only_show):
    """The last would count, and a list that corrects the logbook would move figures to and fro each time."""
    logbook.add_student(Student(code="TH-11", rests=(MeasuredRate(bpm=70),)))
    ceiling = {"ceiling": "150", "set_by": "nurse"}
    rows = (
        {"code": "TH-11", "rest": "72", **ceiling},
        {"code": "TH-12", "rest": "72"},
        {"code": "th-11", "rest": "71", **ceiling},
        {"code": "TH-13", "born": "2014-03"},
        {"code": "TH-13", "born": "2014-04"},
    )
    before = logbook.student("TH-11")
    for new in ("added", "there already"):
        found = run(logbook, *rows, correct=correct, only_show=only_show)
        assert states(found) == ["refused", "added" if only_show else new, "refused", "refused", "refused"]
        assert codes(found[0]) == ["student_row.twice", "student_row.twice_mend"]
        said = [(named(each, "rows"), named(each, "columns")) for each in (found[0], found[2], found[4])]
        assert said == [(["4"], ["rest"]), (["2"], ["rest"]), (["5"], ["born"])]
    assert logbook.student("TH-11") == before
    assert [each.code for each in logbook.students()] == ["TH-11"] + ["TH-12"] * (not only_show)


def test_of_many_rows_that_contradict_each_other_five_are_named(logbook):
    found = run(logbook, *({"code": "TH-11", "rest": str(60 + each)} for each in range(7)))
    assert named(found[6], "rows") == ["2", "3", "4", "5", "6"]


def test_too_many_cells_and_a_fault_of_ownmark_cost_their_row_alone(logbook, monkeypatch):
    real = student_list.said_in

    def broken(texts, *more):
        if texts["code"] == "TH-12":
            raise ZeroDivisionError
        return real(texts, *more)

    monkeypatch.setattr(student_list, "said_in", broken)
    rows = [StudentRow(2, {"code": "TH-11"}, too_many=True), *rows_of({"code": "TH-12"}, {"code": "TH-13"}, first=3)]
    one, two, three = add_list(logbook, rows, today=TODAY)
    assert (one.state, codes(one)) == ("refused", ["student_row.cells", "student_row.quotes"])
    assert (two.state, codes(two), type(two.fault)) == ("refused", ["student_row.fault"], ZeroDivisionError)
    assert three.state == "added"
    assert [each.code for each in logbook.students()] == ["TH-13"]
    monkeypatch.setattr(student_list, "differences", broken)
    (outcome,) = run(logbook, {"code": "TH-13"})
    assert (outcome.state, type(outcome.fault)) == ("refused", TypeError)


def test_what_would_become_of_rows_is_told_and_nothing_is_written(logbook):
    run(logbook, ONE)
    before = logbook.students()
    rows = ({"code": "TH-12", "rest": "70"}, {"code": "TH-12", "max": "171"}, {**ONE, "born": "2014-04"})
    assert states(run(logbook, *rows, only_show=True)) == ["added", "to confirm", "to confirm"]
    shown = run(logbook, *rows, {"code": "TH-12", "max": "171"}, only_show=True, correct=True)
    assert states(shown) == ["added", "corrected", "corrected", "there already"]
    assert logbook.students() == before
    assert states(run(None, *rows[:2], only_show=True)) == ["added", "to confirm"]


def test_rows_go_in_some_at_a_time_and_a_logbook_that_is_locked_keeps_what_went_in_before(place, monkeypatch):
    monkeypatch.setattr(student_list, "AT_ONCE", 2)
    rows = rows_of(*({"code": f"S-{number}"} for number in range(5)))
    with open_logbook(place) as logbook, open_logbook(place, wait_s=0.2) as other:
        adding = add_list(other, rows, today=TODAY)
        assert [next(adding).state for _ in range(2)] == ["added", "added"]
        assert len(logbook.students()) == 2
        with logbook.writing(), pytest.raises(LogbookLocked):
            next(adding)
        assert len(logbook.students()) == 2
        assert states(add_list(other, rows, today=TODAY)) == ["there already"] * 2 + ["added"] * 3


def test_figures_that_rest_on_a_corrected_student_are_worked_out_again(school, tmp_path):
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **PHASES)
    texts = {"code": "TH-11", "ceiling": "120", "set_by": "therapist", "set_on": "2026-10-30"}
    row = StudentRow(2, texts, {"set_on": (date(2026, 10, 30),)})
    (outcome,) = add_list(school, [row], today=TODAY, correct=True)
    assert codes(outcome) == ["student_row.corrected", "student_row.worked_out"]
    assert outcome.told[1]["count"] == 1
    # 7 min at 125 to 129 /min, all of them above 120; 71 and 83 /min are not.
    assert school.trial(1).sheet.figures["time_above_ceiling"].value == 420


def test_a_list_written_from_what_is_kept_changes_nothing(logbook, tmp_path):
    path = tmp_path / "students.csv"
    path.write_text(
        "code,born,sex,conditions,rest,posture,measured_on,ceiling,set_by,set_on,can,needs,notes\n"
        "TH-11,Mar-14,female,epilepsy; cp,70,seated,9/30/2026,150,nurse,2026-09-01,see; arms,none,new chair\n"
        "TH-12,,,,,,,,,,,guide,\n"
    )
    assert states(add_list(logbook, read_students(path), today=TODAY)) == ["added", "added"]
    lines = ["code,born,sex,conditions,rest,posture,measured_on,ceiling,set_by,set_on,can,needs,notes"]
    for each in logbook.students():
        rest, top, answer = each.rest, each.ceiling, each.answer
        cells = [each.code, each.born, each.sex, "; ".join(each.conditions)]
        cells += [rest.bpm, rest.posture, rest.on] if rest else [""] * 3
        cells += [top.bpm, top.set_by, top.set_on] if top else [""] * 3
        cells += ["; ".join(answer.can), "; ".join(answer.needs), each.notes]
        lines.append(",".join("" if cell is None else str(cell) for cell in cells))
    path.write_text("\n".join(lines))
    before = logbook.students()
    assert states(add_list(logbook, read_students(path), today=TODAY, correct=True)) == ["there already"] * 2
    assert logbook.students() == before


def test_a_thousand_rows_are_two_transactions(logbook):
    rows = rows_of(*({**ONE, "code": f"S-{number}", "notes": "tall for the chair"} for number in range(1000)))
    begun = []
    real = logbook.writing
    logbook.writing = lambda: begun.append(1) or real()
    assert states(add_list(logbook, rows, today=TODAY)) == ["added"] * 1000
    assert (len(begun), len(logbook.students())) == (2, 1000)


def test_a_killed_list_leaves_whole_students_and_the_same_call_does_the_rest(place, zygote):
    draw = random.Random(28)
    for turn in range(8):
        writer = zygote.begin("students", place, 0, 3000)  # far more than are done before it is killed
        if turn % 2:
            zygote.wait_for_one()
        time.sleep(draw.random() * 0.1)
        os.kill(writer, signal.SIGKILL)
        said = [words for words in zygote.rest() if words[0] == "kept"]
        try:
            with open_logbook(place, create=False) as logbook:
                there = {each.code: each for each in logbook.students()}
        except NoLogbook:
            assert not said
            continue
        assert {f"S-{words[2]}" for words in said} <= set(there)
        for code, each in there.items():
            number = int(code[2:])
            assert (each.born, each.rest.bpm, each.ceiling.bpm) == ("2014-03", 60 + number % 100, 150)
    zygote.begin("students", place, 0, 60)
    assert len([words for words in zygote.rest() if words[0] == "kept"]) == 60
    with open_logbook(place) as logbook:
        assert {f"S-{number}" for number in range(60)} <= {each.code for each in logbook.students()}
