"""What is temporary goes with the process; what a killed one left, the next one clears, and never what is in use."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from ownmark.executors import scratch

HOLD = """
import sys, time
from ownmark.executors.scratch import folder
with folder(sys.argv[1]) as own:
    (own / "left").mkdir()
    (own / "left" / "over").write_text("x")
    print(own, flush=True)
    time.sleep(100)
"""


@pytest.fixture
def holder(tmp_path):
    """A process that holds a folder; and the folder."""
    running = subprocess.Popen([sys.executable, "-c", HOLD, str(tmp_path)], stdout=subprocess.PIPE, text=True)
    yield running, running.stdout.readline().strip()
    running.kill()
    running.wait()
    running.stdout.close()


def test_a_folder_is_there_and_goes(tmp_path):
    with scratch.folder(str(tmp_path)) as own:
        assert own.parent == tmp_path
        assert own.stat().st_mode & 0o777 == 0o700
        (own / "x").write_text("x")
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_process_left_is_cleared_by_the_next_and_not_before_it_ended(holder, tmp_path):
    running, place = holder
    with scratch.folder(str(tmp_path)) as own:
        assert (Path(place) / "left" / "over").exists()
        assert own.exists()
        scratch.clear(tmp_path)  # nor its own
        assert own.exists()
    os.kill(running.pid, signal.SIGKILL)
    running.wait()
    assert Path(place).exists()
    with scratch.folder(str(tmp_path)) as own:
        assert list(tmp_path.iterdir()) == [own]


def test_what_is_nobody_s_to_take_stays(tmp_path, monkeypatch):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "held").write_text("")
    (tmp_path / "ownmark-link").symlink_to(elsewhere)
    (tmp_path / "ownmark-without").mkdir()
    (tmp_path / "another").mkdir()
    (tmp_path / "another" / "held").write_text("")
    (tmp_path / "ownmark-pointing").mkdir()
    (tmp_path / "ownmark-pointing" / "held").symlink_to(elsewhere / "held")
    scratch.clear(tmp_path)
    assert sorted(each.name for each in tmp_path.iterdir()) == [
        *("another", "elsewhere", "ownmark-link", "ownmark-pointing", "ownmark-without"),
    ]
    (tmp_path / "ownmark-free").mkdir()
    (tmp_path / "ownmark-free" / "held").write_text("")
    monkeypatch.setattr(scratch.os, "geteuid", lambda: os.getuid() + 1)
    scratch.clear(tmp_path)
    assert (tmp_path / "ownmark-free").exists()
    monkeypatch.undo()
    scratch.clear(tmp_path)
    assert not (tmp_path / "ownmark-free").exists()


def test_without_locks_nothing_is_cleared_and_the_folder_goes_all_the_same(tmp_path, monkeypatch):
    (tmp_path / "ownmark-free").mkdir()
    (tmp_path / "ownmark-free" / "held").write_text("")
    monkeypatch.setattr(scratch, "fcntl", None)
    with scratch.folder(str(tmp_path)) as own:
        assert own.exists()
    assert [each.name for each in tmp_path.iterdir()] == ["ownmark-free"]
    monkeypatch.undo()

    def refuses(*_):
        raise OSError

    monkeypatch.setattr(scratch.fcntl, "flock", refuses)
    with scratch.folder(str(tmp_path)) as own:
        assert [each.name for each in own.iterdir()] == ["held.part"]
    assert [each.name for each in tmp_path.iterdir()] == ["ownmark-free"]


def test_a_place_that_is_not_there_is_told_and_clearing_it_is_nothing(tmp_path):
    scratch.clear(tmp_path / "none")
    with pytest.raises(OSError, match="none"), scratch.folder(str(tmp_path / "none")):
        pass
