"""A file that ownmark did not make keeps its rights, its bytes and its neighbours, whoever runs the program."""

import os
import shutil
import sqlite3
import stat
from contextlib import closing, suppress

import pytest
from ownmark.cli.main import main
from ownmark.errors import LogbookDamaged, NoLogbook, OwnmarkError
from ownmark.records import open_logbook

from tests.records.store import made


def letter(path):
    path.write_bytes(b"Dear parents, " * 200)


def songs(path):
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.execute("CREATE TABLE songs (name)")
        raw.execute("INSERT INTO songs VALUES ('x')")


def songs_with_a_log(path):
    """As browsers keep theirs: what was written last is still in the log beside the file."""
    made_at = path.with_name("elsewhere.db")
    with closing(sqlite3.connect(made_at)) as raw:
        raw.execute("PRAGMA journal_mode = WAL")
        raw.execute("CREATE TABLE songs (name)")
        raw.commit()
        for end in ("", "-wal"):
            shutil.copy(f"{made_at}{end}", f"{path}{end}")


def empty(path):
    path.touch()


def half_a_page(path):
    songs(path)
    path.write_bytes(path.read_bytes()[:200])


FOREIGN = (letter, songs, songs_with_a_log, empty, half_a_page)


def state(folder):
    """Every file beside the foreign one: its bytes, rights and owner."""
    return {
        each.name: (each.read_bytes(), stat.S_IMODE(each.stat().st_mode), each.stat().st_uid)
        for each in folder.iterdir()
        if not each.name.endswith("-shm")
    }


@pytest.mark.parametrize("make", FOREIGN)
@pytest.mark.parametrize("mode", [0o644, 0o600, 0o666])
@pytest.mark.parametrize("owner", [None, 65534])
def test_a_foreign_file_is_left_as_it_is(tmp_path, make, mode, owner, capsys):
    if owner is not None and os.geteuid() != 0:
        pytest.skip("only root can be given the file of another account")
    folder = tmp_path / "theirs"
    folder.mkdir()
    path = folder / "file.db"
    make(path)
    path.chmod(mode)
    if owner is not None:
        os.chown(path, owner, owner)
    before = state(folder)
    for words in (["student", "list"], ["student", "show", "TH-11"], ["forget", "TH-11", "--yes"], ["recompute"]):
        assert main([*words, "--logbook", str(path)]) == 1
    if make is not empty:
        assert main(["student", "add", "TH-11", "--logbook", str(path)]) == 1
        assert main(["restore", str(tmp_path / "none.zip"), "--logbook", str(path)]) == 1
    assert state(folder) == before
    assert "itself failed" not in capsys.readouterr().err


OUR_MARK = (0x4F574E4D).to_bytes(4, "big")


@pytest.mark.parametrize("text", [b"time,hr\n0,90\n", b"x", b"SQLite format 4\0", b"sqlite format 3\0", b"\0" * 5000])
def test_a_file_that_is_no_database_is_not_a_logbook(tmp_path, text, capsys):
    path = tmp_path / "pulse.csv"
    path.write_bytes(text)
    path.chmod(0o644)
    for words in (["list"], ["show", "TH-11"], ["add", "TH-11"]):
        assert main(["student", *words, "--logbook", str(path)]) == 1
        told = capsys.readouterr().err
        assert "this file is not a logbook; it is left as it is" in told
        assert "was changed by something else" not in told
    assert path.read_bytes() == text
    assert stat.S_IMODE(path.stat().st_mode) == 0o644
    assert os.listdir(tmp_path) == ["pulse.csv"]  # noqa: PTH208


def test_a_logbook_that_lost_its_first_bytes_is_damaged(tmp_path):
    path = tmp_path / "logbook.db"
    with open_logbook(path) as logbook:
        made.filled(logbook)
    whole = path.read_bytes()
    assert whole[68:72] == OUR_MARK
    for damaged in (b"\0" * 16 + whole[16:], whole[:15], whole[:16], whole[:72]):
        path.write_bytes(damaged)
        with pytest.raises(LogbookDamaged):
            open_logbook(path, create=False)


def test_a_link_to_a_foreign_file_is_left_as_it_is(tmp_path):
    letter(tmp_path / "letter.txt")
    (tmp_path / "letter.txt").chmod(0o644)
    (tmp_path / "logbook.db").symlink_to(tmp_path / "letter.txt")
    os.link(tmp_path / "letter.txt", tmp_path / "hard.db")
    for name in ("logbook.db", "hard.db"):
        with pytest.raises(OwnmarkError):
            open_logbook(tmp_path / name)
    assert stat.S_IMODE((tmp_path / "letter.txt").stat().st_mode) == 0o644


def test_a_copy_of_a_logbook_is_a_logbook_and_becomes_private(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        made.filled(logbook)
    for mode in (0o644, 0o640, 0o666, 0o604):
        copy = tmp_path / "copy.db"
        shutil.copy(tmp_path / "logbook.db", copy)
        copy.chmod(mode)
        open_logbook(copy, create=False).close()
        assert stat.S_IMODE(copy.stat().st_mode) == 0o600


def test_an_empty_file_that_becomes_a_logbook_becomes_private(tmp_path):
    path = tmp_path / "logbook.db"
    path.touch(0o644)
    with pytest.raises(NoLogbook):
        open_logbook(path, create=False)
    open_logbook(path).close()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_logbook_whose_mark_was_lost_is_still_one(tmp_path):
    path = tmp_path / "logbook.db"
    with open_logbook(path) as logbook:
        made.filled(logbook)
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA application_id = 7")
    with open_logbook(path, create=False) as logbook:
        assert len(logbook.students()) == 2


def test_a_file_that_could_not_become_a_logbook_is_taken_away_again(tmp_path, monkeypatch):
    from ownmark.records.store import opening

    def fails(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(opening, "_migrate", fails)
    with suppress(OwnmarkError):
        open_logbook(tmp_path / "logbook.db")
    assert not (tmp_path / "logbook.db").exists()
    (tmp_path / "theirs.db").touch()
    with suppress(OwnmarkError):
        open_logbook(tmp_path / "theirs.db")
    assert (tmp_path / "theirs.db").exists()
