"""What a killed program leaves half-written is taken away by the next that writes into the folder, and nothing else."""

import os
import subprocess
from pathlib import Path

import pytest
from ownmark.cli.main import main
from ownmark.records import open_logbook
from ownmark.records.store import parts

from tests.records.store import made

COMMANDS = {
    "backup": ["backup", "b.zip"],
    "csv": ["export", "csv", "--out", "a.csv"],
    "xlsx": ["export", "xlsx", "--out", "a.xlsx"],
    "plan": ["export", "plan", "--out", "a.txt"],
    "disclose": ["disclose", "TH-11", "--out", "record"],
    "page": ["sheet", "TH-11", "--html", "--out", "."],
}


def _gone():
    """The number of a program that has ended."""
    program = subprocess.Popen(["true"])
    program.wait()
    return program.pid


@pytest.fixture
def here(tmp_path, monkeypatch):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        made.filled(logbook)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    folder = tmp_path / "out"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


def hidden(folder):
    return sorted(each.name for each in folder.iterdir() if each.name.startswith("."))


@pytest.mark.parametrize("command", COMMANDS)
def test_what_a_kill_left_is_taken_away_by_the_next_that_writes_there(here, command, zygote):
    zygote.begin("dies", here.parent / "logbook.db", 0, 0, here, "pathlib.Path.replace,pathlib.Path.rename", "before",
                 *COMMANDS[command])  # fmt: skip
    assert zygote.rest() == []
    assert hidden(here)
    assert main(["export", "json", "--out", "next.json"]) == 0
    assert hidden(here) == []
    assert [each.name for each in here.iterdir()] == ["next.json"]


def test_only_parts_of_programs_that_have_ended_on_this_machine_are_taken(tmp_path):
    gone, lives, machine = _gone(), os.getppid(), parts._machine()
    other = f"{int(machine, 16) ^ 1:08x}"
    left = [f".a.zip.part-{gone}", f".a\n.zip.part-{gone}-{machine}-1", f".b.part-{gone}-{machine}-12-sheets"]
    stay = [
        f".a.part-{lives}-{machine}-1",
        f".a.part-{lives}",
        f".a.part-{gone}-{other}-1",
        f"a.part-{gone}",
        f".a.part-{gone}.zip",
        ".a.part-",
        f".a.part-{gone}-zz",
        "notes.txt",
    ]
    for name in left[:2] + stay:
        (tmp_path / name).write_text("x")
    (tmp_path / left[2]).mkdir()
    (tmp_path / left[2] / "sheet.xml").write_text("x")
    (tmp_path / f".link.part-{gone}").symlink_to(tmp_path / "notes.txt")
    taken = parts.take_left(tmp_path)
    assert sorted(each.name for each in taken) == sorted(left)
    assert sorted(each.name for each in tmp_path.iterdir()) == sorted([*stay, f".link.part-{gone}"])


def test_the_parts_of_this_program_are_told_from_those_of_an_earlier_one_with_its_number(tmp_path):
    own = parts.part_of(tmp_path / "a.zip")
    own.write_text("mine")
    (tmp_path / f"{own.name}-sheets").mkdir()
    earlier = tmp_path / f".a.zip.part-{os.getpid()}-{parts._machine()}-0"
    earlier.write_text("left")
    assert parts.take_left(tmp_path) == (earlier,)
    assert own.read_text() == "mine"


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can be given the file of another account")
def test_a_part_of_another_account_stays(tmp_path):
    path = tmp_path / f".a.part-{_gone()}"
    path.write_text("x")
    os.chown(path, 65534, 65534)
    assert parts.take_left(tmp_path) == ()


def test_where_a_program_cannot_be_asked_only_what_is_old_is_taken(tmp_path, monkeypatch):
    old, new = (tmp_path / f".{name}.part-{os.getppid()}" for name in ("old", "new"))
    for path in (old, new):
        path.write_text("x")
    os.utime(old, (0, 0))
    monkeypatch.setattr(parts, "_POSIX", False)
    assert [Path(each).name for each in parts.take_left(tmp_path)] == [old.name]


def test_a_name_is_new_each_time_and_never_too_long(tmp_path):
    target = tmp_path / ("ä" * 127)
    target.write_text("")  # 254 bytes: the longest that the disk takes
    names = {parts.part_of(target) for _ in range(3)}
    assert len(names) == 3
    for name in names:
        name.write_text("")
