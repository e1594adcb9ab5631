"""A glance over the driver alone shows what the logbook opened in full shows, or nothing at all."""

import random
import sqlite3
import subprocess
import sys
from datetime import date

import pytest
from ownmark.cli.main import main
from ownmark.records import Ceiling, open_logbook
from ownmark.records.store.student_overview import glance

from tests.records.store import made


@pytest.fixture
def filled(logbook, place):
    ceilings = (
        Ceiling(bpm=150, set_by="therapist", set_on=date(2026, 9, 1)),
        Ceiling(bpm=140, set_by="physician", set_on=date(2026, 10, 1)),
        Ceiling(bpm=170, set_by="teacher"),
    )
    made.filled(logbook)
    made.bare_edit(
        logbook, "TH-11", ceilings=ceilings, conditions=("beta_blocker",), notes="ميكروفون 🎧 " * 30, sex="female"
    )
    return place


def in_full(place, code):
    with open_logbook(place, create=False) as logbook:
        return logbook.student(code), tuple(logbook.outline(code=code))


@pytest.mark.parametrize("code", ["TH-11", "BF-07"])
def test_the_same_as_the_logbook_opened_in_full(filled, code):
    student, trials = in_full(filled, code)
    seen = glance(filled, f" {code.lower()} ")
    assert seen is not None
    assert (seen.student, seen.trials) == (student.model_dump(mode="json"), trials)


def test_show_prints_the_same_either_way(filled, capsys, monkeypatch):
    asked = [["student", "show", "TH-11", "--logbook", filled, *more] for more in ([], ["--json"])]
    quick = [(main(words), capsys.readouterr().out) for words in asked]
    monkeypatch.setattr("ownmark.records.store.student_overview.glance", lambda *_: None)
    assert [(main(words), capsys.readouterr().out) for words in asked] == quick
    assert "140 /min (set by the physician, Oct 1, 2026)\n" in quick[0][1]
    assert quick[0][1].count("no longer the one that counts") == 2


def test_neither_the_models_nor_the_toolkit_are_loaded(filled):
    look = (
        "import sys; from ownmark.cli.main import main; "
        f"code = main(['student', 'show', 'TH-11', '--logbook', {filled!r}]); "
        "print({'sqlalchemy', 'pydantic', 'numpy'} & set(sys.modules)); sys.exit(code)"
    )
    done = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True)
    assert done.stdout.endswith("set()\n")
    assert "condition    rate-limiting-medicine" in done.stdout


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE students SET value = '{\"code\": \"TH-11\"}' WHERE code = 'TH-11'",
        "UPDATE trials SET practice = NOT practice WHERE id = 1",
        "UPDATE ownmark_version SET version_num = '0099'",
        "DELETE FROM ownmark_version",
    ],
)
def test_nothing_is_shown_of_a_changed_row_or_another_version(filled, logbook, change):
    with logbook.writing() as connection:
        connection.exec_driver_sql(change)
    assert glance(filled, "TH-11") is None


def test_what_is_not_there_is_left_to_the_full_opening(filled, logbook, tmp_path, capsys):
    logbook.add_student(made.student("CX-05"))
    assert glance(filled, "CX-05").trials == ()
    assert glance(filled, "TH-12") is None
    assert glance(str(tmp_path), "TH-11") is None
    assert glance(str(tmp_path / "absent.db"), "TH-11") is None
    assert glance("\0", "TH-11") is None
    assert glance("mysql://somewhere/else", "TH-11") is None
    assert glance("postgresql://ownmark@127.0.0.1:9/none", "TH-11") is None
    assert main(["student", "show", "TH-12", "--logbook", filled]) == 1
    assert "Did you mean" in capsys.readouterr().err
    assert main(["student", "show", "CX-05", "--logbook", filled]) == 0
    assert "No trial yet." in capsys.readouterr().out


def test_a_file_that_others_may_read_is_first_made_private(tmp_path, capsys):
    path = tmp_path / "logbook.db"
    with open_logbook(path) as logbook:
        made.filled(logbook)
    path.chmod(0o644)
    assert glance(str(path), "TH-11") is None
    assert main(["student", "show", "TH-11", "--logbook", str(path)]) == 0
    assert path.stat().st_mode & 0o777 == 0o600
    assert glance(str(path), "TH-11") is not None


def test_a_locked_file_is_left_to_the_full_opening_which_waits(tmp_path):
    path = tmp_path / "logbook.db"
    with open_logbook(path) as logbook:
        made.filled(logbook)
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    assert glance(str(path), "TH-11") is None
    holder.execute("ROLLBACK")
    holder.close()
    assert glance(str(path), "TH-11") is not None


def test_damaged_bytes_are_never_shown(tmp_path):
    path = tmp_path / "logbook.db"
    with open_logbook(path) as logbook:
        made.filled(logbook)
    whole, truth = path.read_bytes(), glance(str(path), "TH-11")
    rows = whole.index(b'{"code":"TH-11"')
    draw = random.Random(5)
    places = [draw.randrange(len(whole)) for _ in range(150)] + [rows + draw.randrange(150) for _ in range(50)]
    hidden = 0
    for at in places:
        damaged = bytearray(whole)
        damaged[at] ^= draw.randrange(1, 256)
        path.write_bytes(damaged)
        seen = glance(str(path), "TH-11")
        hidden += seen is None
        assert seen in (None, truth)
    assert hidden >= 50
    for size in (0, 100, 4096, len(whole) // 2):
        path.write_bytes(whole[:size])
        assert glance(str(path), "TH-11") in (None, truth)


def test_no_entry_that_an_index_lost_hides_a_trial(tmp_path):
    path = tmp_path / "logbook.db"
    with open_logbook(path) as logbook:
        made.filled(logbook, codes=("TH-11", "BF-07", "CX-05"), trials_each=4)
    whole, truth = path.read_bytes(), glance(str(path), "TH-11")
    raw = sqlite3.connect(path)
    of_trials = "SELECT rootpage FROM sqlite_master WHERE tbl_name = 'trials' AND type = 'index'"
    roots = [row[0] for row in raw.execute(of_trials)]
    raw.close()
    looks = 0
    with path.open("r+b", buffering=0) as file:  # one byte of it: to write all anew takes longer than the look
        for page in roots:
            for at in range((page - 1) * 4096, page * 4096, 9):
                for value in (whole[at] ^ 1, whole[at]):
                    file.seek(at)
                    file.write(bytes([value]))
                    if value != whole[at]:
                        assert glance(str(path), "TH-11") in (None, truth)
                        looks += 1
    assert looks > 500
    assert path.read_bytes() == whole


def test_a_lock_on_the_server_is_left_to_the_full_opening(server, capsys):
    place = server.url()
    with open_logbook(place) as logbook:
        made.filled(logbook)
        with logbook.writing() as connection:
            connection.exec_driver_sql("LOCK TABLE students IN ACCESS EXCLUSIVE MODE")
            assert glance(place, "TH-11") is None  # and does not wait for ever
    assert glance(place, "TH-11") is not None


def test_blanks_about_a_place_are_no_part_of_it(tmp_path):
    path = tmp_path / "logbook.db"
    with open_logbook(path) as logbook:
        made.filled(logbook)
    assert glance(f" {path} ", "TH-11") == glance(str(path), "TH-11")
    assert glance("~nobody-of-that-name/l.db", "TH-11") is None
