"""A file is there whole or not at all, whatever happens while it is written."""

import os
import stat

import pytest
from ownmark import ledger
from ownmark.records.store import atomic_files
from ownmark.records.store.atomic_files import whole_files, write_whole


def names(folder):
    return sorted(each.name for each in folder.iterdir())


def _fail_half_way(paths, failure):
    with whole_files(paths) as (handle, *_):
        handle.write(b"half")
        raise failure


def test_a_file_gets_its_name_when_it_is_whole(tmp_path):
    before = ledger.mark()
    with whole_files([tmp_path / "a", tmp_path / "b"]) as handles:
        for handle, text in zip(handles, (b"one", b"two"), strict=True):
            handle.write(text)
        assert not {"a", "b"} & set(names(tmp_path))
        assert len(names(tmp_path)) == 2
    assert names(tmp_path) == ["a", "b"]
    assert [(tmp_path / name).read_bytes() for name in "ab"] == [b"one", b"two"]
    assert ledger.since(before) == (str(tmp_path / "b"), str(tmp_path / "a"))  # the first one last


@pytest.mark.skipif(os.name != "posix", reason="rights of POSIX")
def test_only_the_owner_may_read_it(tmp_path):
    write_whole(tmp_path / "a", b"1")
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o600


def test_what_was_there_stays_until_the_new_one_is_whole(tmp_path):
    (tmp_path / "a").write_bytes(b"before")
    for failure in (ValueError, KeyboardInterrupt):
        before = ledger.mark()
        with pytest.raises(failure):
            _fail_half_way([tmp_path / "a", tmp_path / "b"], failure)
        assert names(tmp_path) == ["a"]
        assert (tmp_path / "a").read_bytes() == b"before"
        assert ledger.since(before) == ()
    write_whole(tmp_path / "a", b"after")
    assert (tmp_path / "a").read_bytes() == b"after"


def test_the_last_look_sees_the_whole_file_and_may_refuse_it(tmp_path):
    def look(parts):
        assert [each.read_bytes() for each in parts] == [b"whole"]
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"), whole_files([tmp_path / "a"], last_look=look) as (handle,):
        handle.write(b"whole")
    assert names(tmp_path) == []


def test_a_second_file_that_cannot_be_made_leaves_no_first(tmp_path):
    with pytest.raises(OSError), whole_files([tmp_path / "a", tmp_path / "none" / "b"]):  # noqa: PT011 the system's own
        pass
    assert names(tmp_path) == []


def test_a_file_and_its_name_are_forced_to_disk_unless_it_can_be_made_again(tmp_path, monkeypatch):
    forced = []
    whole = os.fsync
    monkeypatch.setattr(
        atomic_files.os, "fsync", lambda handle: (forced.append(os.fstat(handle).st_mode), whole(handle))
    )
    write_whole(tmp_path / "a", b"1", forced=False)
    assert forced == []
    write_whole(tmp_path / "a", b"2")
    assert [stat.S_ISDIR(each) for each in forced] == [False, True]
