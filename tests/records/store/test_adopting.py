"""Files that were received and never entered: found when the page starts again, and nothing else is."""

import hashlib
from datetime import date, datetime

import pytest
from ownmark.records import open_logbook
from ownmark.records.day_entry import FileIn, entry
from ownmark.records.store.adopting import adopt
from ownmark.records.store.day_entries import append, entries_of
from ownmark.records.store.received import received_at

DAY, OTHER = date(2026, 10, 6), date(2026, 10, 7)
AT = datetime.fromisoformat("2026-10-07T08:00:00")


@pytest.fixture
def logbook(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as opened:
        yield opened


def put(logbook, name, data, day=DAY):
    incoming = received_at(logbook.place).batch(day).begin(name)
    incoming.write(data)
    return incoming.done()[0]


def test_whole_files_without_an_entry_are_entered_once(logbook):
    known = put(logbook, "a.fit", b"1")
    append(logbook, entry(DAY, AT, FileIn(sha256=known.sha256, name="a.fit", size=1)))
    put(logbook, "b.fit", b"22")
    put(logbook, "a.fit", b"1", OTHER)
    found = adopt(logbook, AT)
    assert [(each.day, each.what.name, each.what.size, each.at) for each in found] == [
        (DAY, "b.fit", 2, AT),
        (OTHER, "a.fit", 1, AT),
    ]
    assert found[0].what.sha256 == hashlib.sha256(b"22").hexdigest()
    assert adopt(logbook, AT) == ()
    assert len(entries_of(logbook, DAY)) == 2


def test_a_file_that_something_else_changed_is_left(logbook):
    put(logbook, "a.fit", b"1").path.write_bytes(b"other")
    assert adopt(logbook, AT) == ()


def test_what_is_half_written_is_swept_and_without_a_folder_nothing_happens(logbook):
    assert adopt(logbook, AT) == ()
    folder = received_at(logbook.place)
    put(logbook, "a.fit", b"1")
    dead = folder.folder / "incoming" / ".file.part-1"
    dead.write_bytes(b"half")
    left = folder.folder / "incoming" / ".file.part-4194304999"
    left.write_bytes(b"half")
    adopt(logbook, AT)
    assert not left.exists()
    assert dead.exists()  # the program of that number runs
