"""Other programs write while a batch runs: nothing is doubled, and no sheet rests on older facts than are stored."""

import pytest
from ownmark.executors.serial import Serial
from ownmark.records import forget, open_logbook
from ownmark.records.batch import whole
from ownmark.records.batch.tables import tables_in
from ownmark.records.batch.work import done
from ownmark.records.mending import Edit, edit_trial
from ownmark.records.recompute import recompute
from ownmark.records.removing import remove_trial
from ownmark.records.store import settings
from ownmark.records.student_mending import edit_student

from tests.records.batch import district
from tests.records.batch.district import TODAY, batch, by_class_add, contents, school, simple
from tests.records.store.made import student


class Between(Serial):
    """Does something of its own between the measuring of a row and its storing."""

    def __init__(self, then):
        self.then, self.results = then, 0

    def map(self, work, jobs):
        results = list(super().map(work, jobs))
        for result in results:
            if work is done:
                self.results += 1
                self.then(self.results)
            yield result


def fresh(logbook):
    """Every sheet is what its student, its protocol and its files give now."""
    found = list(recompute(logbook, store=False))
    assert [each for each in found if each.changed or each.refused] == []
    return len(found)


def test_a_maximum_that_is_changed_meanwhile_is_in_every_sheet_that_is_stored_after(logbook, tmp_path):
    simple(tmp_path, 6)

    def then(turn):
        if turn == 3:
            maxima = ({"bpm": 201, "on": "2026-09-01"},)
            edit_student(logbook, "TH-13", {"maxima": maxima})
            edit_student(logbook, "TH-16", {"ceilings": ({"bpm": 111, "set_by": "nurse"},)})

    found = batch(school(logbook), tmp_path, executor=Between(then))
    assert dict(found.counts) == {"added": 6}
    assert [trial.id for trial in logbook.trials()] == [1, 2, 3, 4, 5, 6]
    assert fresh(logbook) == 6
    (sixth,) = logbook.trials("TH-16")
    assert sixth.sheet.provenance.ceiling_bpm == 111


def test_a_protocol_of_a_new_version_is_that_of_every_row_after(logbook, tmp_path):
    simple(tmp_path, 4)

    def then(turn):
        if turn == 2:
            logbook.new_version(logbook.protocol("slalom-gym").model_copy(update={"pause_s": 20.0}))

    found = batch(school(logbook), tmp_path, executor=Between(then))
    assert dict(found.counts) == {"added": 4}
    assert {trial.protocol_version for trial in logbook.trials()} == {2}  # all were stored after it
    assert fresh(logbook) == 4


def test_a_zone_that_is_set_meanwhile_holds_for_every_row_after(logbook, tmp_path):
    simple(tmp_path, 3)
    settled = Between(lambda turn: settings.set_zone(logbook, "America/Chicago") if turn == 2 else None)
    assert dict(batch(school(logbook), tmp_path, executor=settled).counts) == {"added": 3}
    assert {trial.zone for trial in logbook.trials()} == {"America/Chicago"}


def test_a_student_who_is_forgotten_meanwhile_gets_no_trial(logbook, tmp_path):
    simple(tmp_path, 4)
    found = batch(
        school(logbook), tmp_path, executor=Between(lambda turn: forget(logbook, "TH-12") if turn == 2 else None)
    )
    assert dict(found.counts) == {"added": 3, "refused": 1}
    assert found.tables[0].open_rows[0].code == "unknown_code"
    assert {trial.code for trial in logbook.trials()} == {"TH-11", "TH-13", "TH-14"}


def test_a_student_who_comes_meanwhile_is_measured_with_what_is_known_then(logbook, tmp_path):
    place = simple(tmp_path, 2)
    place.write_text(place.read_text().replace("TH-12", "NE-12"))
    found = batch(
        school(logbook),
        tmp_path,
        executor=Between(lambda turn: logbook.add_student(student("NE-12")) if turn == 1 else None),
    )
    assert dict(found.counts) == {"added": 2}


def test_rows_that_another_program_adds_meanwhile_are_there_already(logbook, another_place, tmp_path):
    simple(tmp_path, 5)
    tables = tables_in([tmp_path])
    found = batch(school(logbook), tmp_path, executor=Between(lambda turn: turn != 3 or by_class_add(logbook, tables)))
    assert dict(found.counts) == {"there already": 5}
    assert len(list(logbook.trials())) == 5
    with open_logbook(another_place) as other:
        by_class_add(school(other), tables)
        assert contents(other)[:2] == contents(logbook)[:2]


def test_trials_that_are_edited_and_removed_while_the_same_rows_come_again(logbook, tmp_path):
    simple(tmp_path, 4)
    batch(school(logbook), tmp_path)

    def then(turn):
        if turn == 1:
            remove_trial(logbook, 2, why="by mistake")
            edit_trial(logbook, 3, Edit(texts={"notes": "wheel loose"}), today=TODAY)

    found = batch(logbook, tmp_path, executor=Between(then))
    assert dict(found.counts) == {"there already": 3, "added": 1}
    assert [row.row.number for row in found.tables[0].open_rows if row.otherwise] == [4]
    assert fresh(logbook) == 4


def test_a_shared_strap_of_which_another_program_adds_a_part_is_parted(logbook, another_place, tmp_path):
    district.round_the_class(tmp_path)
    tables = tables_in([tmp_path])
    one, two = (each for each in tables if each.path.name.startswith("tuesday"))
    found = batch(school(logbook), two.path, executor=Between(lambda turn: turn != 1 or by_class_add(logbook, [one])))
    assert dict(found.counts) == {"added": 3}
    with open_logbook(another_place) as other:
        by_class_add(school(other), [one, two])
        assert contents(other) == contents(logbook)


def test_a_row_that_the_database_refuses_stops_no_other(logbook, tmp_path):
    place = simple(tmp_path, 4)
    place.write_text(place.read_text().replace("TH-12", "TH\x00-12").replace("turn 2", "turn \x00 two"))
    found = batch(school(logbook), tmp_path)
    assert found.stopped is None
    assert found.counts["added"] >= 2
    assert sum(found.counts.values()) == 4


@pytest.mark.parametrize("first", [True, False])
def test_the_numbers_are_those_of_the_rows_whatever_comes_between(first, logbook, tmp_path):
    place = simple(tmp_path, 3)
    lines = place.read_text().splitlines()
    again = lines[1] if first else lines[3]
    place.write_text("\n".join([*lines, again, lines[0].replace("code", "TH-20"), ""]) + "\n")
    found = batch(school(logbook), tmp_path)
    assert found.counts["added"] == 3
    assert [trial.notes for trial in logbook.trials()] == ["turn 0", "turn 1", "turn 2"]


def test_a_student_whose_row_is_damaged_stops_no_other(logbook, tmp_path):
    simple(tmp_path, 4)
    with school(logbook).writing() as connection:
        connection.exec_driver_sql("UPDATE students SET seal = 1 WHERE code = 'TH-12'")
    found = batch(logbook, tmp_path)
    assert found.stopped is None
    assert dict(found.counts) == {"added": 3, "refused": 1}
    assert found.tables[0].open_rows[0].code == "logbook_damaged"


def test_a_table_at_which_ownmark_itself_fails_stops_no_other(logbook, tmp_path, monkeypatch):
    for name in ("alder", "birch"):
        (tmp_path / name).mkdir()
        simple(tmp_path / name, 2, seed=len(name) * ord(name[0]))
    real = whole.read_table

    def faulty(table):
        if "alder" in str(table.path):
            raise ZeroDivisionError
        return real(table)

    monkeypatch.setattr(whole, "read_table", faulty)
    first, second = batch(school(logbook), tmp_path).tables
    assert first.refused.code == "reader_fault"
    assert "ZeroDivisionError" in str(first.refused)
    assert second.counts["added"] == 2
