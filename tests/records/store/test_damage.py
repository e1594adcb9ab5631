"""A damaged file and a full disk: a sentence or the right data, never a traceback, and nothing overwritten."""

import os
import random
import resource
import signal
import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest
from ownmark.errors import DiskFull, LogbookDamaged, NoLogbook, OwnmarkError, RecordsError, UnknownCode, UnknownTrial
from ownmark.records import back_up, disclose, figures_of, forget, open_logbook
from ownmark.records.store.failures import told
from ownmark.records.store.history import history_of
from ownmark.records.store.tables import history
from ownmark.records.student_mending import edit_student

from tests.records.store import made


def all_of(logbook):
    """Everything in it."""
    trials = list(logbook.trials())
    return (
        logbook.students(),
        logbook.protocols(),
        trials,
        list(figures_of(logbook)),
        [logbook.original(file.sha256) for trial in trials for file in trial.files],
        [logbook.student(code) for code in ("TH-11", "BF-07")],
        [logbook.trial(number) for number in (1, 2, 3, 4)],
        list(logbook.trials("TH-11")),
    )


@pytest.fixture(scope="module")
def whole_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("whole") / "logbook.db"
    with open_logbook(path) as logbook:
        made.filled(logbook)
        truth = all_of(logbook)
    return path.read_bytes(), truth


def read_or_refused(path):
    """What is read, or the refusal."""
    try:
        with open_logbook(path, create=False) as logbook:
            return all_of(logbook)
    except OwnmarkError as refusal:
        return refusal


def is_refusal(found, path):
    """Tell whether it is a refusal, of the right kind: what is hidden by damage is never said to be absent."""
    if isinstance(found, tuple):
        return False
    assert isinstance(found, RecordsError)
    assert not isinstance(found, UnknownCode | UnknownTrial)
    assert str(found).startswith(str(path))
    return True


def check(path, content, truth):
    """Damaged, it is read right or refused, and reading has not touched it; writing is refused or done."""
    path.write_bytes(content)
    found = read_or_refused(path)
    refused = is_refusal(found, path)
    assert refused or found == truth
    assert path.read_bytes() == content
    try:
        with open_logbook(path, create=False) as logbook:
            logbook.add_trial(made.trial(notes="new"), [("new.csv", b"new")])
    except RecordsError:
        pass
    return refused


def test_changed_bytes_are_told_or_do_not_matter(whole_file, tmp_path):
    content, truth = whole_file
    draw = random.Random(11)
    refused = 0
    for place in [draw.randrange(len(content)) for _ in range(80)] + [draw.randrange(4096) for _ in range(10)]:
        damaged = bytearray(content)
        damaged[place] ^= draw.randrange(1, 256)
        refused += check(tmp_path / "damaged.db", bytes(damaged), truth)
    assert refused >= 20


@pytest.mark.parametrize("share", [0.1, 0.5, 0.98])
def test_a_file_that_is_cut_off_is_refused(whole_file, tmp_path, share):
    content, truth = whole_file
    assert check(tmp_path / "cut.db", content[: int(len(content) * share)], truth)


def test_a_block_of_zeros_is_told(whole_file, tmp_path):
    content, truth = whole_file
    for page in range(0, len(content) // 4096, 7):
        block = slice(page * 4096, page * 4096 + 4096)
        damaged = bytearray(content)
        damaged[block] = bytes(4096)
        check(tmp_path / "zeros.db", bytes(damaged), truth)


def test_a_changed_row_is_never_shown(logbook):
    made.filled(logbook)
    changes = {
        "UPDATE students SET value = '{\"code\": \"TH-11\"}' WHERE code = 'TH-11'": lambda: logbook.student("TH-11"),
        "UPDATE trials SET practice = NOT practice WHERE id = 1": lambda: logbook.trial(1),
        "DELETE FROM details WHERE trial_id = 2": lambda: logbook.trial(2),
        "DELETE FROM sheets WHERE trial_id = 3": lambda: logbook.trial(3),
        "UPDATE protocols SET component = 'trunk'": lambda: logbook.protocol("slalom-gym"),
        "UPDATE sheets SET value = '{}' WHERE trial_id = 4": lambda: list(figures_of(logbook)),
        "UPDATE counters SET value = 1": lambda: logbook.add_trial(made.trial()),
    }
    for change, look in changes.items():
        with logbook.writing() as connection:
            connection.exec_driver_sql(change)
        with pytest.raises(LogbookDamaged):
            look()


@contextmanager
def small_disk():
    """A disk of 400 KB, where this account may make one."""
    folder = tempfile.mkdtemp(prefix="ownmark-small-")
    try:
        subprocess.run(["mount", "-t", "tmpfs", "-o", "size=400k", "ownmark", folder], check=True, capture_output=True)
        try:
            yield Path(folder)
        finally:
            subprocess.run(["umount", folder], check=True)
    finally:
        Path(folder).rmdir()


def can_mount():
    try:
        with small_disk():
            return True
    except (OSError, subprocess.CalledProcessError):
        return False


@contextmanager
def small_files(tmp_path):
    """Files of this process may not grow beyond 400 KB: what a full disk looks like to an account without rights."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, before[1]))
    try:
        yield tmp_path
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, ignored)


def add_until_full(logbook):
    """Add trials with files of random bytes until there is no room."""
    room = os.urandom(120_000)
    for turn in range(9):
        logbook.add_trial(made.trial(time_of_day=f"10:0{turn}"), [("big.bin", room + bytes([turn]))])


@pytest.mark.parametrize("how", ["small files", *(["small disk"] if can_mount() else [])])
def test_a_full_disk_takes_back_what_was_being_written(how, tmp_path):
    with small_disk() if how == "small disk" else small_files(tmp_path) as folder:
        with open_logbook(folder / "logbook.db") as logbook:
            made.filled(logbook, trials_each=1)
            with pytest.raises(DiskFull, match="no room left on the disk"):
                add_until_full(logbook)
            before = list(logbook.trials())
            assert len(before) > 2
            forget(logbook, "BF-07")
        with open_logbook(folder / "logbook.db") as logbook:
            assert list(logbook.trials()) == [trial for trial in before if trial.code != "BF-07"]


@pytest.mark.parametrize("how", ["small files", *(["small disk"] if can_mount() else [])])
def test_a_backup_on_a_full_disk_leaves_nothing_behind(how, tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        made.filled(logbook, trials_each=1)
        logbook.add_trial(made.trial(), [("big.bin", os.urandom(500_000))])
        (tmp_path / "elsewhere").mkdir()
        with small_disk() if how == "small disk" else small_files(tmp_path / "elsewhere") as folder:
            with pytest.raises(DiskFull):
                back_up(logbook, folder / "class.zip")
            with pytest.raises(DiskFull):
                disclose(logbook, "TH-11", folder / "out")
            assert list(folder.iterdir()) == []


@pytest.mark.parametrize(
    ("failure", "refusal"),
    [
        (psycopg.errors.DiskFull(), DiskFull),
        (psycopg.errors.DataCorrupted(), LogbookDamaged),
        (psycopg.errors.AdminShutdown(), NoLogbook),
        (psycopg.OperationalError("connection to host 10.0.0.1 with s3cret failed"), NoLogbook),
        (OSError(28, "No space left on device"), DiskFull),
        (OSError(5, "Input/output error"), NoLogbook),
    ],
)
def test_what_a_server_or_a_disk_raises_becomes_a_sentence(failure, refusal):
    with pytest.raises(refusal, match=r"^the place: ") as said, told("the place"):
        raise failure
    assert "s3cret" not in str(said.value)


def test_a_row_that_is_no_date_and_no_text_is_damage(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        made.filled(logbook)
        for change in ("UPDATE trials SET day = 'someday' WHERE id = 1", "UPDATE trials SET day = 7 WHERE id = 1"):
            with logbook.writing() as connection:
                connection.exec_driver_sql(change)
            with pytest.raises(LogbookDamaged):
                logbook.trial(1)
        with logbook.writing() as connection:
            connection.exec_driver_sql("UPDATE students SET value = CAST(x'e3ff' AS TEXT) WHERE code = 'BF-07'")
        with pytest.raises(LogbookDamaged):
            logbook.students()


def test_a_fault_of_ownmark_stays_one():
    with pytest.raises(psycopg.ProgrammingError), told("the place"):
        raise psycopg.ProgrammingError("syntax error")
    with pytest.raises(ZeroDivisionError), told("the place"):
        raise ZeroDivisionError


def test_the_server_goes_away(server):
    with open_logbook(server.url()) as logbook:
        made.filled(logbook, trials_each=0)
        server.execute("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE application_name = 'ownmark'")
        with pytest.raises(NoLogbook, match="cannot be reached"):
            logbook.students()
        assert len(logbook.students()) == 2


def test_no_entry_that_an_index_lost_hides_a_trial_from_a_list_or_from_forgetting(tmp_path):
    path = tmp_path / "logbook.db"
    with open_logbook(path) as logbook:
        made.filled(logbook, codes=("TH-11", "BF-07", "CX-05"), trials_each=4)
        with logbook.writing() as connection:
            query = "SELECT rootpage FROM sqlite_master WHERE name = 'trials_by_student'"
            root = connection.exec_driver_sql(query).scalar_one()
    whole = path.read_bytes()
    kept = 0
    for at in range((root - 1) * 4096, root * 4096, 40):
        damaged = bytearray(whole)
        damaged[at] ^= 1
        path.write_bytes(damaged)
        try:
            with open_logbook(path, create=False) as logbook:
                assert len(list(logbook.trials("TH-11", with_sheets=False))) == 4
                assert len(forget(logbook, "TH-11").trials) == 4
                kept += 1
        except RecordsError:
            pass
    assert kept > 20


def test_a_change_that_changed_on_the_disk_is_told(logbook, tmp_path):
    made.filled(logbook, trials_each=1)
    edit_student(logbook, "TH-11", {"notes": "tall"})
    for wrong in ("why = 'x'", "value = '{}'", "held = 'x'", "made = 'x'", "code = 'BF-07'"):
        with logbook.writing() as connection:
            before = connection.execute(history.select()).one()
            connection.exec_driver_sql(f"UPDATE history SET {wrong}")
        with pytest.raises(LogbookDamaged):
            history_of(logbook, "student", "TH-11")
        with pytest.raises(LogbookDamaged):
            back_up(logbook, tmp_path / "damaged.zip")
        with logbook.writing() as connection:
            connection.execute(history.update().values(dict(zip(history.columns.keys(), before, strict=True))))
    assert len(history_of(logbook, "student", "TH-11")) == 1
