"""A file is read in one state, or refused: half of a copy is no recording."""

import os

import pytest
from fsspec.implementations.memory import MemoryFileSystem
from ownmark.errors import UnreadableFile
from ownmark.records import file_bytes as module
from ownmark.records.address import head_of, place
from ownmark.records.file_bytes import file_bytes
from ownmark.records.intake import gathered


@pytest.fixture(autouse=True)
def pauses(monkeypatch):
    """Nobody waits; how long it would have been."""
    slept = []
    monkeypatch.setattr(module.time, "sleep", slept.append)
    return slept


def written_meanwhile(monkeypatch, times, write):
    """Have a file written while it is read, so often."""
    left = [times]

    def read(path, count):
        data = head_of(path, count)
        if left[0]:
            left[0] -= 1
            write(path, left[0])
        return data

    monkeypatch.setattr(module, "head_of", read)


def longer(path, turn):
    with path.open("ab") as handle:
        handle.write(b"%d" % turn)


def the_same_length(path, turn):
    path.write_bytes(b"%05d" % turn)
    os.utime(path, (1000 + turn, 1000 + turn))


def the_length_alone(path, turn):
    longer(path, turn)
    os.utime(path, (500, 500))


@pytest.mark.parametrize("write", [longer, the_same_length, the_length_alone])
def test_a_file_that_is_written_while_it_is_read_is_read_again(tmp_path, monkeypatch, pauses, write):
    path = tmp_path / "S1.fit"
    path.write_bytes(b"first")
    os.utime(path, (500, 500))
    written_meanwhile(monkeypatch, 2, write)
    data = file_bytes(path)
    assert data == path.read_bytes()
    assert data != b"first"
    assert pauses == [0.3, 0.3]


def test_one_that_is_written_all_the_time_is_refused_and_the_other_files_are_read(tmp_path, monkeypatch):
    for name in ("S1.fit", "S2.fit"):
        (tmp_path / name).write_bytes(b"first")
    written_meanwhile(monkeypatch, 3, longer)
    found = gathered([tmp_path / "S1.fit", tmp_path / "S2.fit"])
    assert found.originals == (("S2.fit", b"first"),)
    assert str(found.unopened[0].reason) == (
        f"{tmp_path / 'S1.fit'}: it changes while it is read. "
        "Wait until it is copied, or close it in other programs, and give it again."
    )
    assert not found.missing


def test_one_that_ends_while_it_is_read_is_told_as_one_that_is_not_there(tmp_path, monkeypatch):
    path = tmp_path / "S1.fit"
    path.write_bytes(b"first")
    written_meanwhile(monkeypatch, 1, lambda path, _: path.unlink())
    found = gathered([path])
    assert "there is no such file." in str(found.unopened[0].reason)
    assert found.missing


def test_no_more_is_read_of_a_file_than_it_says_it_has(tmp_path, monkeypatch):
    # Files of the system, as under /proc, say that they are empty, and some never end.
    asked = []
    monkeypatch.setattr(module, "head_of", lambda path, count: asked.append(count) or b"x" * count)
    (tmp_path / "S1.fit").write_bytes(b"")
    with pytest.raises(UnreadableFile):
        file_bytes(tmp_path / "S1.fit")
    assert asked == [1, 1, 1]


def test_a_quiet_file_is_read_once(tmp_path, monkeypatch, pauses):
    (tmp_path / "S1.fit").write_bytes(b"first")
    (tmp_path / "empty.fit").write_bytes(b"")
    assert file_bytes(tmp_path / "S1.fit") == b"first"
    assert file_bytes(tmp_path / "empty.fit") == b""
    assert pauses == []


@pytest.fixture
def store():
    root = MemoryFileSystem()
    root.pipe({"/school/a.fit": b"12345"})
    yield place("memory://school/a.fit")
    root.rm("/", recursive=True)


def coming_in_part(monkeypatch, times):
    """Have a store's connection end in the middle, so often, and no error told."""
    left, real = [times], MemoryFileSystem.cat_file

    def cat(self, path, start=None, end=None, **more):
        data = real(self, path, start, end, **more)
        left[0] -= 1
        return data[:-1] if left[0] >= 0 else data

    monkeypatch.setattr(MemoryFileSystem, "cat_file", cat)
    monkeypatch.setattr(type(store_path()), "read_bytes", lambda self: self.fs.cat_file(self.path))


def store_path():
    return place("memory://school/a.fit")._path


def test_what_comes_of_a_store_in_part_is_asked_for_again(store, monkeypatch):
    coming_in_part(monkeypatch, 2)
    assert file_bytes(store) == b"12345"


def test_what_never_comes_whole_is_refused(store, monkeypatch):
    coming_in_part(monkeypatch, 3)
    with pytest.raises(UnreadableFile) as refused:
        file_bytes(store)
    assert str(refused.value) == ("memory://school/a.fit: only a part of it came out of the store. Give it again.")


def test_a_store_that_unpacks_gives_more_than_it_says(store, monkeypatch):
    monkeypatch.setattr(type(store_path()), "read_bytes", lambda self: b"123456")
    assert file_bytes(store) == b"123456"
