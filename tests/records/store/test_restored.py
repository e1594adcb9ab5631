"""What a backup says is checked like what a person types: hashes show damage, not forgery."""

import json

import pytest
from ownmark.errors import BackupDamaged, NotEmpty, RecordsError
from ownmark.records import back_up, open_logbook, restore, verify

from tests.records.store import made
from tests.records.store.test_backup import everything, rewritten, with_rows


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = tmp_path_factory.mktemp("whole")
    with open_logbook(folder / "whole.db") as logbook:
        made.filled(logbook)
        back_up(logbook, folder / "whole.zip")
    return folder / "whole.zip"


@pytest.fixture
def backup(whole, tmp_path):
    path = tmp_path / "backup.zip"
    path.write_bytes(whole.read_bytes())
    return path


def changed(table, change, row=0):
    """A forgery: one row of a table is another, and its hash is right."""

    def forge(page, members):
        name = f"{table}.jsonl"
        rows = [json.loads(line) for line in members[name].splitlines()]
        rows[row] = change(rows[row])
        rows = [each for each in rows if each is not None]
        with_rows(page, members, name, b"".join(json.dumps(each).encode() + b"\n" for each in rows))

    return forge


def cell(place, value):
    return lambda row: [*row[:place], value, *row[place + 1 :]]


def inside(place, **fields):
    """Another value in the JSON of a cell."""
    return lambda row: [*row[:place], json.dumps({**json.loads(row[place]), **fields}), *row[place + 1 :]]


def figure(**fields):
    def change(row):
        sheet = json.loads(row[1])
        sheet["figures"]["heart_rate_mean"].update(fields)
        return [row[0], json.dumps(sheet)]

    return change


NO_SHEET = {
    "a sheet that is a list": changed("sheets", cell(1, "[]")),
    "a sheet that is no JSON": changed("sheets", cell(1, "{")),
    "a sheet without figures": changed("sheets", cell(1, "{}")),
    "a sheet of an unknown schema": changed("sheets", inside(1, schema="ownmark-effort-sheet-3")),
    "a figure that is a text": changed("sheets", figure(value="a lot")),
    "a figure that is a list": changed("sheets", figure(value=[1])),
    "a figure that is no number": changed("sheets", figure(value=float("nan"))),
    "a figure of another name": changed("sheets", figure(name="heart_rate_peak")),
    "a unit that is a list": changed("sheets", figure(unit=["/min"])),
    "a note that is a number": changed("sheets", figure(note=3)),
    "a code that nobody knows": changed("sheets", figure(notes=[{"code": "x.unknown", "values": {}}])),
    "a message without its value": changed("sheets", figure(notes=[{"code": "legacy.english", "values": {}}])),
    "a caution that cannot be said": changed("sheets", inside(1, cautions=[{"code": "x.unknown"}])),
    "a reason that is a number": changed("sheets", figure(value=None, reason=3)),
}
NOT_ENTERED = {
    **NO_SHEET,
    "a name": changed("students", lambda row: ["Maria", inside(1, code="Maria")(row)[1]]),
    "a note with an address": changed("students", inside(1, notes="call anna@example.org")),
    "a long note": changed("students", inside(1, notes="x" * 4001)),
    "a condition": changed("students", inside(1, conditions=["unknown"])),
    "no role": changed("students", inside(1, ceilings=[{"bpm": 150, "set_by": "Anna"}])),
    "no heart rate": changed("students", inside(1, rests=[{"bpm": 20}])),
    "a field of a student": changed("students", inside(1, name="Anna")),
    "a primary figure": changed("protocols", inside(3, primary_figure="speed")),
    "a long title": changed("protocols", inside(3, title="x" * 256)),
    "a trial's note": changed("details", inside(1, notes="x" * 4001)),
    "an exertion": changed("details", inside(1, exertion=99, exertion_scale="0-10")),
    "a list in place of a note": changed("details", inside(1, notes=["x"])),
    "a field of a trial": changed("details", inside(1, name="Anna")),
    "details with no whole sheet": changed("details", inside(1, sheet={"figures": {}})),
    "a trial before birth": changed("students", inside(1, born="2026-12")),
}
NO_ROWS = {
    "a list in place of a code": changed("students", cell(0, ["TH-11"])),
    "a list in place of a value": changed("students", cell(1, ["x"])),
    "a number in place of a value": changed("students", cell(1, 7)),
    "another code": changed("students", cell(0, "ZZ-9")),
    "an object in place of a row": changed("students", lambda _: {"a": 1}),
    "a cell too few": changed("students", lambda row: row[:1]),
    "another component": changed("protocols", cell(2, "strength")),
    "another version": changed("protocols", cell(1, 2)),
    "a version that is a list": changed("protocols", cell(1, [1])),
    "a counter that is a text": changed("counters", cell(1, "9")),
    "a counter that is true": changed("counters", cell(1, True)),
    "a counter that is too low": changed("counters", cell(1, 4)),
    "a counter beyond all numbers": changed("counters", cell(1, 2**54)),
    "another counter": changed("counters", cell(0, "next")),
    "no counter": changed("counters", lambda _: None),
    "a trial of nobody": changed("trials", cell(1, "ZZ-9")),
    "a trial number zero": changed("trials", cell(0, 0)),
    "a trial number that is a text": changed("trials", cell(0, "1")),
    "a trial of another day": changed("trials", cell(4, "2026-09-12")),
    "a day that is none": changed("trials", cell(4, "2026-13-01")),
    "a day that is a number": changed("trials", cell(4, 20260912)),
    "another time": changed("trials", cell(5, "10:00")),
    "practice": changed("trials", cell(6, True)),
    "another maker": changed("trials", cell(7, ["x"])),
    "a sheet that is denied": changed("trials", cell(8, False)),
    "another count of files": changed("trials", cell(9, 2)),
    "another count of figures": changed("trials", cell(10, 3)),
    "no hash": changed("trials", cell(11, "x")),
    "a hash that is a number": changed("trials", cell(11, 1)),
    "details of another trial": changed("details", cell(0, 9)),
    "details without a row": changed("details", lambda _: None),
    "details that are a list": changed("details", cell(1, [])),
    "details with a number": changed("details", inside(1, id=3)),
    "details with a sheet": changed("details", inside(1, sheet=json.loads(made.sheet().to_json()))),
    "a sheet of another trial": changed("sheets", cell(0, 9)),
    "a file that is not there": changed("details", inside(1, files=[{"path": "a", "sha256": "0" * 64, "size": 1}])),
    "no JSON": lambda page, members: with_rows(page, members, "details.jsonl", b"{\n" * 4),
    "endless JSON": lambda page, members: with_rows(page, members, "details.jsonl", b"[" * 10**5 + b"\n" * 4),
    "an endless row": lambda page, members: with_rows(page, members, "students.jsonl", b"x" * (8 * 2**20 + 1) + b"\n"),
}


@pytest.mark.parametrize("what", NOT_ENTERED)
def test_what_could_not_have_been_entered_is_refused_and_says_so(backup, tmp_path, what):
    rewritten(backup, NOT_ENTERED[what])
    verify(backup)  # its hashes are right
    with open_logbook(tmp_path / "new.db") as logbook:
        with pytest.raises(BackupDamaged, match="it holds what could not have been entered") as refusal:
            restore(logbook, backup)
        assert set(logbook.count().values()) == {0}
    assert ("its sheet is not one that ownmark made" in str(refusal.value)) == (what in NO_SHEET)
    assert "anna@" not in str(refusal.value)
    assert "Maria" not in str(refusal.value)


@pytest.mark.parametrize("what", NO_ROWS)
def test_rows_that_are_none_are_refused_with_a_sentence(backup, tmp_path, what):
    rewritten(backup, NO_ROWS[what])
    with open_logbook(tmp_path / "new.db") as logbook:
        with pytest.raises(BackupDamaged) as refusal:
            restore(logbook, backup)
        assert not isinstance(refusal.value.__cause__, RecordsError)
        assert set(logbook.count().values()) == {0}


def test_files_follow_from_the_trials_and_are_not_taken_over(backup, tmp_path):
    rewritten(backup, changed("files", cell(2, "other.csv")))
    with open_logbook(tmp_path / "new.db") as logbook:
        restore(logbook, backup)
        with open_logbook(tmp_path / "as-it-was.db") as other:
            made.filled(other)
            assert everything(logbook) == everything(other)
        with logbook.reading() as connection:
            names = connection.exec_driver_sql("SELECT count(*) FROM files WHERE path = 'other.csv'").scalar()
    assert names == 0


def test_a_full_logbook_is_still_told_as_one(backup, tmp_path):
    with open_logbook(tmp_path / "new.db") as logbook:
        made.filled(logbook)
        with pytest.raises(NotEmpty):
            restore(logbook, backup)


def test_a_trial_of_tomorrow_may_come_from_where_it_is_tomorrow_and_one_of_the_day_after_may_not(backup, tmp_path):
    from datetime import date, timedelta

    today = date.today()  # noqa: DTZ011 as the program has it
    for days, taken in ((1, True), (2, False)):
        day = (today + timedelta(days=days)).isoformat()
        rewritten(backup, changed("trials", cell(4, day), row=3))
        rewritten(backup, changed("details", inside(1, on=day), row=3))
        with open_logbook(tmp_path / f"{days}.db") as logbook:
            if taken:
                assert restore(logbook, backup).counts["trials"] == 4
            else:
                with pytest.raises(BackupDamaged, match="the date is in the future"):
                    restore(logbook, backup)
