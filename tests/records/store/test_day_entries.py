"""The entries of a day in both databases: appended, undone, counted once, forgotten, shown, carried by a backup."""

import json
import subprocess
import sys
from datetime import date, datetime, timedelta

import pytest
from ownmark.errors import BackupDamaged, LogbookDamaged, NotATrial, UnknownCode
from ownmark.records import back_up, disclose, forget, open_logbook, restore
from ownmark.records.day_entry import FileIn, Listed, Noted, Press, PutAway, RowDraft, Stored, Undone, entry
from ownmark.records.store.day_entries import (
    append,
    append_after,
    days_with_entries,
    entries_of,
    entries_of_student,
    entries_since,
    last_number,
    undo,
)

from tests.records.store import made
from tests.records.store.test_backup import rewritten
from tests.records.store.test_restored import cell, changed, inside

DAY, AT = date(2026, 10, 6), datetime.fromisoformat("2026-10-06T09:05:12")
A, B = "a" * 64, "b" * 64


def press(what="work_begins", code="TH-11", day=DAY, **more):
    return entry(day, AT, Press(what=what), code, **more)


@pytest.fixture
def school(logbook):
    for code in ("TH-11", "BF-07"):
        logbook.add_student(made.student(code))
    return logbook


def test_entries_come_back_by_day_in_the_order_in_which_they_were_kept(school):
    other = entry(DAY + timedelta(days=1), AT, FileIn(sha256=A, name="strap-3.fit", size=3))
    first = append(school, press(), press("work_ends", "BF-07"))
    append(school, other)
    third = append(school, entry(DAY, AT.replace(hour=8), Noted(text="wind"), "TH-11"))
    assert entries_of(school, DAY) == (*first, *third)
    assert [each.number for each in entries_of(school, DAY)] == [1, 2, 4]
    assert entries_of(school, DAY)[0].at == AT
    assert [each.what for each in entries_of(school, other.day)] == [other.what]
    assert [each.number for each in entries_since(school, DAY)] == [1, 2, 3, 4]
    assert [each.number for each in entries_since(school, other.day)] == [3]
    assert days_with_entries(school) == (other.day, DAY)
    assert days_with_entries(school, most=1) == (other.day,)
    assert [each.number for each in entries_of_student(school, "TH-11")] == [1, 4]
    assert (last_number(school, DAY), last_number(school, date(2020, 1, 1))) == (4, 0)
    assert entries_of(school, date(2020, 1, 1)) == ()


def test_of_several_entries_all_are_kept_or_none(school):
    with pytest.raises(UnknownCode):
        append(school, press(), press(code="XX-99"))
    assert entries_of(school, DAY) == ()
    assert append(school) == ()


def test_entries_that_were_made_from_an_older_day_are_not_kept(school):
    other = DAY + timedelta(days=1)
    assert append_after(school, 0, press())
    append(school, press(day=other))
    assert append_after(school, 1, press("work_ends"), press("rest_begins"))  # what came is of another day
    assert [each.number for each in entries_of(school, DAY)] == [1, 3, 4]
    assert not append_after(school, 3, press(code="BF-07"))
    assert [each.number for each in entries_of(school, DAY)] == [1, 3, 4]
    assert append_after(school, 4, press(code="BF-07"))
    assert append_after(school, 0)  # of nothing, nothing can be too old
    assert len(entries_of(school, DAY)) == 4


def test_a_form_that_is_sent_twice_enters_nothing_twice(school):
    first = append(school, press(once="form-1"), press("work_ends"))
    again = append(school, press("work_ends", "BF-07"), press(once="form-1"))
    assert again[1] == first[0]
    twice = append(school, press(once="form-2"), press("work_ends", once="form-2"))
    assert twice[0] == twice[1]
    assert [each.number for each in entries_of(school, DAY)] == [1, 2, 3, 4]


def test_an_entry_is_undone_by_one_of_its_day_and_student(school):
    (kept,) = append(school, press())
    undone = undo(school, kept.number, AT, once="u1")
    assert (undone.day, undone.code, undone.what) == (DAY, "TH-11", Undone(entry=1))
    assert undo(school, kept.number, AT, once="u1") == undone
    with pytest.raises(NotATrial):
        undo(school, 99, AT)


def test_a_number_is_never_given_twice_not_even_after_its_student_was_forgotten(school):
    append(school, press(), press(code="BF-07"))
    forget(school, "BF-07")
    (kept,) = append(school, press())
    assert kept.number == 3


def test_an_entry_that_changed_on_the_disk_is_told(school):
    append(school, press())
    with school.writing() as connection:
        connection.exec_driver_sql("UPDATE day_entries SET at = '2026-10-06T09:06:00'")
    with pytest.raises(LogbookDamaged):
        entries_of(school, DAY)


def test_a_counter_that_is_gone_is_told(school):
    append(school, press())
    with school.writing() as connection:
        connection.exec_driver_sql("DELETE FROM counters")
    with pytest.raises(LogbookDamaged):
        append(school, press())


def test_forgetting_takes_the_entries_and_the_files_that_are_nobody_elses(school):
    append(
        school,
        entry(DAY, AT, FileIn(sha256=A, name="strap-3.fit", size=3)),
        entry(DAY, AT, FileIn(sha256=B, name="strap-4.fit", size=3)),
        entry(DAY, AT, PutAway(sha256=A)),
        entry(DAY, AT, Listed(protocol="slalom-gym"), "TH-11"),
        entry(DAY, AT, RowDraft(files=(A, B)), "TH-11"),
        entry(DAY, AT, Stored(trial=1, files=(B,)), "BF-07"),
        entry(DAY + timedelta(days=1), AT, FileIn(sha256="c" * 64, name="th-11.fit", size=3)),
    )
    told = forget(school, "TH-11")
    assert told.received == ((A, "strap-3.fit"), ("c" * 64, "th-11.fit"))
    assert [(each.number, each.kind) for each in entries_since(school, DAY)] == [(2, "file"), (6, "stored")]


def test_a_disclosure_shows_what_was_entered_of_the_student_alone(school, tmp_path):
    append(school, press(), press(code="BF-07"), entry(DAY, AT, RowDraft(texts={"notes": "n"}, files=(A,)), "TH-11"))
    disclose(school, "TH-11", tmp_path / "all")
    assert json.loads((tmp_path / "all" / "days.json").read_text()) == [
        {"day": "2026-10-06", "at": "2026-10-06T09:05:12", "kind": "press", "what": "work_begins"},
        {"day": "2026-10-06", "at": "2026-10-06T09:05:12", "kind": "row", "texts": {"notes": "n"}},
    ]


def filled(school):
    return append(
        school,
        press(once="one"),
        entry(DAY, AT, FileIn(sha256=A, name="strap-3.fit", size=3)),
        entry(DAY, AT, RowDraft(texts={"offset": "strap-3.fit=2", "notes": "n"}, files=(A,)), "BF-07"),
    )


def test_a_backup_carries_the_days_and_numbers_go_on_behind_them(school, another_place, tmp_path):
    kept = filled(school)
    assert back_up(school, tmp_path / "all.zip").counts["day_entries"] == 3
    with open_logbook(another_place) as other:
        restore(other, tmp_path / "all.zip")
        assert entries_of(other, DAY) == kept
        assert append(other, press())[0].number == 4


def test_a_backup_without_recordings_names_no_received_file(school, another_place, tmp_path):
    filled(school)
    back_up(school, tmp_path / "all.zip", with_originals=False)
    with open_logbook(another_place) as other:
        restore(other, tmp_path / "all.zip")
        found = entries_of(other, DAY)
    assert [(each.number, each.what) for each in found] == [
        (1, Press(what="work_begins")),
        (3, RowDraft(texts={"notes": "n"})),
    ]


FORGED = {
    "another student": changed("day_entries", cell(2, "XX-99")),
    "a name": changed("day_entries", cell(2, "Maria")),
    "no student": changed("day_entries", cell(2, None)),
    "an unknown kind": changed("day_entries", cell(3, "pressed")),
    "another kind": changed("day_entries", cell(3, "note")),
    "no time": changed("day_entries", cell(4, "morning")),
    "no day": changed("day_entries", cell(1, "morning")),
    "a mark that is none": changed("day_entries", cell(5, "a b")),
    "a field too many": changed("day_entries", inside(6, who="x")),
    "a number of its own": changed("day_entries", cell(0, "1")),
    "a number twice": changed("day_entries", cell(0, 1), 1),
    "no number": changed("day_entries", cell(0, 0)),
    "a mark twice": changed("day_entries", cell(5, "one"), 1),
    "a counter behind": changed("counters", cell(1, 3), -1),
    "no counter": changed("counters", lambda row: None, -1),
    "a counter of something else": changed("counters", cell(0, "next_entry"), -1),
}


@pytest.mark.parametrize("forge", FORGED.values(), ids=FORGED)
def test_a_backup_whose_entries_could_not_have_been_entered_is_refused(forge, tmp_path):
    with open_logbook(tmp_path / "whole.db") as school:
        for code in ("TH-11", "BF-07"):
            school.add_student(made.student(code))
        filled(school)
        back_up(school, tmp_path / "all.zip")
    rewritten(tmp_path / "all.zip", forge)
    with open_logbook(tmp_path / "new.db") as other:
        with pytest.raises(BackupDamaged):
            restore(other, tmp_path / "all.zip")
        assert entries_of(other, DAY) == ()
        assert other.students() == ()


APPEND = """
import sys
from datetime import date, datetime
from ownmark.records import open_logbook
from ownmark.records.day_entry import Press, entry
from ownmark.records.store.day_entries import append
at = datetime(2026, 10, 6, 9, 5, 12)
with open_logbook(sys.argv[1], wait_s=60) as logbook:
    for turn in range(40):
        append(logbook, *[entry(at.date(), at, Press(what="work_begins"), sys.argv[2])] * 2)
"""


def test_two_programs_append_at_once_and_nothing_is_lost_or_mixed(school, place):
    running = [subprocess.Popen([sys.executable, "-c", APPEND, place, code]) for code in ("TH-11", "BF-07")]
    assert [each.wait() for each in running] == [0, 0]
    found = entries_of(school, DAY)
    assert [each.number for each in found] == list(range(1, 161))
    assert [sum(each.code == code for each in found) for code in ("TH-11", "BF-07")] == [80, 80]
    assert all(one.code == other.code for one, other in zip(found[::2], found[1::2], strict=True))
