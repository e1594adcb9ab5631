"""What is known of a student is corrected and withdrawn; no page counts against a ceiling that is not today's."""

from datetime import date

import pytest
from ownmark.errors import NotAStudent
from ownmark.metrics.messages.heart_rate import WHY_NO_CEILING, why_ceiling_not_counted
from ownmark.records import Ceiling, MeasuredRate, figures_of
from ownmark.records.safety import safety_of
from ownmark.records.store.history import history_of
from ownmark.records.store.tables import originals
from ownmark.records.student_entries import with_entry, withdrawn
from ownmark.records.student_mending import edit_student

from tests.records.store import made
from tests.records.test_shared_files import FIRST, PHASES, added, written
from tests.records.test_shared_files import school as two_students

school = two_students
OLD, NEW = date(2026, 9, 1), date(2026, 10, 1)


def ceiling(bpm, on=None):
    return Ceiling(bpm=bpm, set_by="therapist", set_on=on)


def test_a_new_ceiling_counts_for_every_trial_at_once(school, tmp_path):
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **PHASES)
    assert school.trial(1).sheet.figures["time_above_ceiling"].value == 0
    seen = []
    done = edit_student(
        school, "TH-11", {"ceilings": (ceiling(120),)}, why="new plan", progress=lambda *each: seen.append(each)
    )
    # 7 min at 125 to 129 /min, all of them above 120; 71 and 83 /min are not.
    sheet = school.trial(1).sheet
    assert sheet.figures["time_above_ceiling"].value == 420
    assert (sheet.provenance.ceiling_bpm, done.fields, seen) == (120.0, ("ceilings",), [(1, 1)])
    assert {each.name for each in done.trials[0].changed} >= {"time_above_ceiling"}
    (change,) = history_of(school, "student", "TH-11")
    assert (change.why, [each["bpm"] for each in change.before["ceilings"]]) == ("new plan", [145.0])
    found = safety_of(school.student("TH-11"), school.trial(1))
    assert (found.changed, len(found.crossings)) == (None, 1)


@pytest.mark.parametrize(
    ("new", "reason", "used"),
    [((ceiling(120),), why_ceiling_not_counted(120), 145.0), ((), WHY_NO_CEILING, None)],
)
def test_a_recording_that_cannot_be_read_tells_nothing_of_another_ceiling(school, tmp_path, new, reason, used):
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **PHASES)
    with school.writing() as connection:
        connection.execute(originals.update().values(data=b"lost"))
    done = edit_student(school, "TH-11", {"ceilings": new})
    assert done.trials[0].refused is not None
    sheet = school.trial(1).sheet
    assert sheet.figures["time_above_ceiling"].value is None
    assert sheet.figures["time_above_ceiling"].reason == reason
    assert sheet.provenance.ceiling_bpm == used
    rows = {row.name: row.value for row in figures_of(school)}
    assert rows["time_above_ceiling"] is None
    assert rows["heart_rate_mean"] == pytest.approx(127, abs=0.1)
    found = safety_of(school.student("TH-11"), school.trial(1))
    assert (found.crossings, found.possible) == ((), ())


def test_a_rest_moves_the_figures_and_a_note_moves_none(school, tmp_path):
    added(school, "TH-11", written(tmp_path, "strap.csv", FIRST), **{**PHASES, "rest_phase": None})
    assert edit_student(school, "TH-11", {"notes": "tall"}).trials == ()
    done = edit_student(school, "TH-11", {"rests": (MeasuredRate(bpm=60, on=OLD),)})
    assert school.trial(1).sheet.figures["heart_rate_rise"].value == pytest.approx(127 - 60, abs=0.1)
    assert "heart_rate_rise" in {each.name for each in done.trials[0].changed}
    assert edit_student(school, "TH-11", {"notes": "tall"}).fields == ()
    assert len(history_of(school, "student", "TH-11")) == 2


def test_what_cannot_be_leaves_the_student_as_it_was(school):
    before = school.student("TH-11")
    with pytest.raises(NotAStudent):
        edit_student(school, "TH-11", {"rests": (MeasuredRate(bpm=190, on=OLD),)})
    assert school.student("TH-11") == before
    assert history_of(school, "student", "TH-11") == ()


def test_an_entry_of_the_same_day_is_corrected_and_others_stay():
    old, new = ceiling(150, OLD), ceiling(152, NEW)
    assert with_entry((old, new), ceiling(125, NEW)) == (old, ceiling(125, NEW))
    assert with_entry((ceiling(150),), ceiling(125)) == (ceiling(150), ceiling(125))
    arms, legs = MeasuredRate(bpm=170, on=OLD, exercise="arms"), MeasuredRate(bpm=188, on=OLD, exercise="legs")
    assert with_entry((arms,), legs) == (arms, legs)
    with pytest.raises(NotAStudent, match=r"set on October 1, 2026.*--from"):
        with_entry((old, new), ceiling(125))


def test_entries_are_withdrawn_from_a_day_on():
    entries = (ceiling(140), ceiling(150, OLD), ceiling(152, NEW))
    assert withdrawn(entries, NEW) == entries[:2]
    assert withdrawn(entries, date(2026, 10, 2)) == entries
    assert withdrawn(entries, OLD) == entries[:1]
    assert withdrawn(entries, None) == ()


def test_a_sheet_kept_without_its_recording_is_counted_as_far_as_it_can_be(logbook):
    logbook.add_protocol(made.protocol())
    logbook.add_student(made.student())
    logbook.add_trial(made.trial(sheet=made.sheet(), time_of_day="09:00"))
    edit_student(logbook, "TH-11", {"ceilings": (ceiling(120),)})
    figure = logbook.trial(1).sheet.figures["time_above_ceiling"]
    assert (figure.value, figure.reason) == (None, why_ceiling_not_counted(120))


def test_what_is_added_to_a_list_is_added_to_what_is_kept_at_that_moment(school):
    def later(before):
        return {"ceilings": (*before.ceilings, ceiling(118))}

    edit_student(school, "TH-11", {"ceilings": (ceiling(120),)})
    done = edit_student(school, "TH-11", later)
    assert [each.bpm for each in done.student.ceilings] == [120, 118]
