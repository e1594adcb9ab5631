"""A backup holds everything, is verified by its hashes, and goes from either database to either."""

import json
import random
import stat
import zipfile

import pytest
from ownmark.errors import AlreadyThere, BackupDamaged, LogbookDamaged, LogbookNewer, NotEmpty, UnreadableFile
from ownmark.records import add_trials, back_up, open_logbook, restore, verify

from tests.records.store import made


def everything(logbook):
    """All that a logbook holds, as values and bytes."""
    trials = list(logbook.trials())
    bytes_of = {file.sha256: logbook.original(file.sha256) for trial in trials for file in trial.files}
    return logbook.students(), logbook.protocols(), trials, bytes_of, logbook.count()


@pytest.fixture
def sqlite_backup(tmp_path):
    """A small backup to damage."""
    with open_logbook(tmp_path / "whole.db") as logbook:
        made.filled(logbook)
        back_up(logbook, tmp_path / "whole.zip")
    return tmp_path / "whole.zip"


@pytest.mark.parametrize("target", ["sqlite", "postgresql"])
def test_a_restored_logbook_is_the_same(logbook, target, tmp_path, request):
    made.filled(logbook, codes=("TH-11", "BF-07", "CK-03"))
    logbook.new_version(made.protocol(speed_setting="2"))
    told = []
    manifest = back_up(logbook, tmp_path / "class.zip", progress=lambda done, of: told.append((done, of)))
    assert told[-1] == (6, 6)
    assert manifest.counts["trials"] == 6
    assert stat.S_IMODE((tmp_path / "class.zip").stat().st_mode) == 0o600
    assert [each.name for each in tmp_path.iterdir() if "part" in each.name] == []
    place = request.getfixturevalue("server").url() if target == "postgresql" else tmp_path / "moved.db"
    with open_logbook(place) as moved:
        assert restore(moved, tmp_path / "class.zip") == manifest
        assert everything(moved) == everything(logbook)
        number = moved.add_trial(made.trial("CK-03")).id
        assert number == 7  # numbers go on where the old logbook stopped


def test_a_backup_is_never_overwritten(logbook, tmp_path):
    (tmp_path / "class.zip").write_bytes(b"older")
    with pytest.raises(AlreadyThere, match="a file of this name"):
        back_up(logbook, tmp_path / "class.zip")
    assert (tmp_path / "class.zip").read_bytes() == b"older"


def test_nothing_is_mixed_with_what_is_there(sqlite_backup, logbook):
    logbook.add_student(made.student("ZZ-9"))
    with pytest.raises(NotEmpty, match="not empty"):
        restore(logbook, sqlite_backup)
    assert logbook.count() == {"students": 1, "protocols": 0, "trials": 0, "figures": 0, "originals": 0}


def test_every_changed_byte_is_found_or_does_not_matter(sqlite_backup, tmp_path):
    whole = sqlite_backup.read_bytes()
    manifest = verify(sqlite_backup)
    draw = random.Random(4)
    damaged = tmp_path / "damaged.zip"
    refused = 0
    for _ in range(150):
        content = bytearray(whole)
        content[draw.randrange(len(content))] ^= 1 << draw.randrange(8)
        damaged.write_bytes(content)
        try:
            assert verify(damaged) == manifest  # a byte that carries nothing, such as a time stamp in the archive
        except BackupDamaged:
            refused += 1
    assert refused > 100


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9, 0.999])
def test_a_backup_that_is_cut_off_changes_nothing(sqlite_backup, logbook, share):
    content = sqlite_backup.read_bytes()
    sqlite_backup.write_bytes(content[: int(len(content) * share)])
    with pytest.raises(BackupDamaged):
        restore(logbook, sqlite_backup)
    assert set(logbook.count().values()) == {0}


def rewritten(path, change):
    """The backup with another manifest or other members, as an archive that is itself whole."""
    with zipfile.ZipFile(path) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    page = json.loads(members["manifest.json"])
    change(page, members)
    members["manifest.json"] = json.dumps(page).encode()
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in members.items():
            archive.writestr(name, content)


def with_rows(page, members, name, rows):
    """Put other rows in a member, and their true hash in the manifest."""
    import hashlib

    members[name] = rows
    page["members"][name] = {"sha256": hashlib.sha256(rows).hexdigest(), "size": len(rows)}
    page["counts"][name.split(".")[0]] = rows.count(b"\n")


@pytest.mark.parametrize(
    ("change", "refusal"),
    [
        (lambda page, members: page.update(schema="0099"), LogbookNewer),
        (lambda page, members: page.update(format="something"), BackupDamaged),
        (lambda page, members: page["counts"].update(trials=3), BackupDamaged),
        (lambda page, members: members.update(extra=b"1"), BackupDamaged),
        (lambda page, members: members.pop("sheets.jsonl"), BackupDamaged),
        (lambda page, members: page.pop("members"), BackupDamaged),
        (lambda page, members: with_rows(page, members, "students.jsonl", b"[1]\n"), BackupDamaged),
        (lambda page, members: with_rows(page, members, "students.jsonl", b"oops\n"), BackupDamaged),
        (lambda page, members: with_rows(page, members, "students.jsonl", b""), BackupDamaged),
    ],
)
def test_a_backup_that_contradicts_itself_changes_nothing(sqlite_backup, logbook, change, refusal):
    rewritten(sqlite_backup, change)
    with pytest.raises(refusal):
        restore(logbook, sqlite_backup)
    assert set(logbook.count().values()) == {0}


def test_damage_is_not_carried_into_a_backup(logbook, tmp_path):
    made.filled(logbook)
    with logbook.writing() as connection:
        connection.exec_driver_sql("UPDATE sheets SET value = '{}' WHERE trial_id = 2")
    with pytest.raises(LogbookDamaged):
        back_up(logbook, tmp_path / "class.zip")
    assert list(tmp_path.glob("*class.zip*")) == []


def test_a_missing_row_is_not_carried_into_a_backup(logbook, tmp_path):
    made.filled(logbook)
    with logbook.writing() as connection:
        connection.exec_driver_sql("DELETE FROM sheets WHERE trial_id = 2")
    with pytest.raises(LogbookDamaged, match="what belongs to a trial"):
        back_up(logbook, tmp_path / "class.zip")


def test_many_trials_without_files_go_round(logbook, tmp_path, another_place):
    made.filled(logbook, codes=("TH-11",), trials_each=0)
    add_trials(
        logbook,
        (
            made.trial(time_of_day=f"{n // 60:02d}:{n % 60:02d}", sheet=made.sheet(n % 3) if n % 20 == 0 else None)
            for n in range(510)
        ),
    )
    back_up(logbook, tmp_path / "class.zip")
    with open_logbook(another_place) as second:
        restore(second, tmp_path / "class.zip")
        assert everything(second) == everything(logbook)
    assert (tmp_path / "class.zip").stat().st_size < 2**22


def test_a_folder_that_is_not_there_is_said_to_be_missing_and_not_made(logbook, tmp_path):
    with pytest.raises(UnreadableFile, match="there is no such folder"):
        back_up(logbook, tmp_path / "unplugged" / "class.zip")
    assert not (tmp_path / "unplugged").exists()
