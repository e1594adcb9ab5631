"""A backup is measured before it is believed: parts, list, rows and what each unpacks to have limits."""

import json
import time
import tracemalloc
import zipfile

import pytest
from ownmark.errors import BackupDamaged, TooLarge
from ownmark.records import add_trials, back_up, open_logbook, restore, verify
from ownmark.records.store import archive, backup

from tests.records.store import made
from tests.records.store.test_backup import rewritten

MIB = 2**20


def refused_at_once(path, match, peak=20 * MIB):
    """It is refused within the time and the memory that a refusal may take."""
    begin = time.process_time()
    tracemalloc.start()
    try:
        with pytest.raises(BackupDamaged, match=match):
            verify(path)
        assert tracemalloc.get_traced_memory()[1] < peak
    finally:
        tracemalloc.stop()
    assert time.process_time() - begin < 2


def written(path, **members):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as found:
        for name, pieces in members.items():
            with found.open(name.replace("__", "/").replace("_json", ".json"), "w", force_zip64=True) as member:
                for piece in pieces:
                    member.write(piece)
    return path


def test_an_endless_list_of_contents_is_not_read(tmp_path):
    head = b'{"format": "ownmark-backup-1", "x": "'
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w") as found:
        found.writestr("manifest.json", head + b"a" * (30 * MIB) + b'"}')
    refused_at_once(path, "longer than that of a backup")


@pytest.mark.parametrize("many", [b"[],", b"{},", b'"",', b"1,"])
def test_a_list_that_would_grow_in_memory_is_not_parsed(tmp_path, many):
    page = b'{"format": "ownmark-backup-1", "x": [' + many * (900_000 // len(many)) + b"0]}"
    refused_at_once(written(tmp_path / "a.zip", manifest_json=[page]), "not that of a backup", peak=4 * MIB)


def test_an_archive_of_endless_parts_is_not_listed(tmp_path):
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w") as found:
        for number in range(3):
            found.writestr(f"{number}", b"")
    data = path.read_bytes()
    begin = data.index(b"PK\x01\x02")
    end = data.index(b"PK\x05\x06")
    entries = data[begin:end]
    many = entries * 40_000
    tail = bytearray(data[end:])
    tail[12:16] = len(many).to_bytes(4, "little")
    path.write_bytes(data[:begin] + many + bytes(tail))
    refused_at_once(path, "more parts than a backup", peak=60 * MIB)
    tail[12:16] = (archive.MOST_PARTS * 400 + 1).to_bytes(4, "little")
    path.write_bytes(data[:begin] + b"\0" * (archive.MOST_PARTS * 400 + 1) + bytes(tail))
    refused_at_once(path, "more parts than a backup")


def test_a_part_that_unpacks_to_far_more_than_a_recording_is_not_unpacked(tmp_path):
    nought = [b"\0" * MIB] * 80
    path = written(tmp_path / "a.zip", **{f"originals__{'0' * 64}": nought, "manifest_json": [b"{}"]})
    refused_at_once(path, "far more than a backup")
    refused_at_once(written(tmp_path / "b.zip", **{"sheets.jsonl": nought, "manifest_json": [b"{}"]}), "far more")


def test_many_small_floods_are_one(tmp_path):
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as found:
        for number in range(10):
            found.writestr(f"originals/{number}", b"\0" * (10 * MIB))
        found.writestr("manifest.json", b"{}")
    refused_at_once(path, "far more than a backup")


def test_the_limits_are_limits(monkeypatch):
    assert not archive._floods(64 * MIB, 1, 200)
    assert archive._floods(64 * MIB + 1, 1, 200)
    assert not archive._floods(200 * MIB, MIB, 200)
    assert archive._floods(200 * MIB + 1, MIB, 200)


def test_a_backup_of_many_recordings_is_within_the_limits_of_its_own_list(tmp_path, monkeypatch):
    with open_logbook(tmp_path / "a.db") as logbook:
        made.filled(logbook, codes=("TH-11",), trials_each=0)
        add_trials(logbook, ((made.trial(), [("a.csv", b"%d" % n)]) for n in range(400)))
        monkeypatch.setattr(archive, "MOST_LIST_BYTES", 1000)  # what the parts explain is enough
        monkeypatch.setattr(archive, "_MARKS", 40)
        manifest = back_up(logbook, tmp_path / "a.zip")
    assert manifest.counts["originals"] == 400
    with open_logbook(tmp_path / "b.db") as second:
        restore(second, tmp_path / "a.zip")


def test_what_does_not_fit_into_a_backup_is_told_before_it_is_written(tmp_path, monkeypatch):
    monkeypatch.setattr(backup, "MOST_PARTS", 13)
    with open_logbook(tmp_path / "a.db") as logbook:
        made.filled(logbook, trials_each=1)
        back_up(logbook, tmp_path / "small.zip")
        logbook.add_trial(made.trial(), [("a.csv", b"1")])
        logbook.add_trial(made.trial(), [("a.csv", b"2")])
        with pytest.raises(TooLarge, match="more than 13 recordings"):
            back_up(logbook, tmp_path / "large.zip")
    assert not (tmp_path / "large.zip").exists()


def test_numbers_that_are_none_are_a_sentence(tmp_path):
    with open_logbook(tmp_path / "a.db") as logbook:
        back_up(logbook, tmp_path / "a.zip")
    for count in ("x", None, [], "9" * 5000, float("inf")):
        rewritten(tmp_path / "a.zip", lambda page, members, count=count: page["counts"].update(trials=count))
        with pytest.raises(BackupDamaged):
            verify(tmp_path / "a.zip")
    with zipfile.ZipFile(tmp_path / "b.zip", "w") as found:
        found.writestr("manifest.json", json.dumps([1]))
    with pytest.raises(BackupDamaged):
        verify(tmp_path / "b.zip")
