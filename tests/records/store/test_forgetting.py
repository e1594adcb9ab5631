"""The right to be forgotten, and the right to see: everything about one student, and nothing of another."""

import csv
import hashlib
import json
import random
import stat
from datetime import date
from pathlib import Path

import pytest
from ownmark.errors import NotEmpty, UnknownCode
from ownmark.metrics import EffortSheet
from ownmark.records import Student, disclose, forget, open_logbook
from ownmark.records.store.forgetting import AT_THE_SERVER

from tests.outside.parts import POSTGRESQL
from tests.records.store import made
from tests.records.store.server import Server


def test_forgetting_removes_everything_of_one_and_nothing_of_another(logbook):
    added = made.filled(logbook)
    others = [trial for trial in added if trial.code == "BF-07"]
    done = forget(logbook, "th-11")
    assert done.trials == (1, 2)
    assert done.files == (("strap-0.csv", len(made.recording(0))), ("strap-1.csv", len(made.recording(1))))
    assert done.figures == sum(len(trial.sheet.figures) for trial in added if trial.code == "TH-11")
    assert done.shared == done.mentions == done.remains == ()
    assert "2 trials" in done.sentences()[0]
    with pytest.raises(UnknownCode):
        logbook.student("TH-11")
    assert list(logbook.trials()) == others
    assert logbook.count()["originals"] == 2
    assert logbook.count()["figures"] == sum(len(trial.sheet.figures) for trial in others)
    assert logbook.add_trial(made.trial("BF-07")).id == 5  # no number is given twice


def test_a_file_that_another_student_holds_stays_and_is_named(logbook):
    made.filled(logbook, trials_each=0)
    for code in ("TH-11", "BF-07"):
        logbook.add_trial(made.trial(code), [("day.csv", made.recording())])
    done = forget(logbook, "TH-11")
    assert (done.files, done.shared) == ((), ("day.csv",))
    assert logbook.original(hashlib.sha256(made.recording()).hexdigest()) == made.recording()
    assert forget(logbook, "BF-07").files[0][0] == "day.csv"
    assert logbook.count()["originals"] == 0


def test_where_the_code_is_named_elsewhere_is_told(logbook):
    made.filled(logbook, trials_each=1)
    logbook.add_trial(made.trial("BF-07", date(2026, 10, 1), notes="raced against TH-11"))
    made.bare_edit(logbook, "BF-07", notes="friend of TH-11")
    logbook.add_student(made.student("TH-110", notes="sits beside th-11"))
    logbook.add_student(made.student("TH-112", notes="TH-111 and X-TH-11 are others"))
    assert forget(logbook, "TH-11").mentions == ("trial 3 of BF-07", "student BF-07", "student TH-110")


def test_an_unknown_code_forgets_nobody(logbook):
    made.filled(logbook)
    with pytest.raises(UnknownCode, match="Did you mean TH-11"):
        forget(logbook, "TH-1")
    assert logbook.count()["students"] == 2


def test_no_trace_of_a_student_stays_in_the_file(tmp_path):
    # Codes and notes that nothing else could contain by chance are searched for byte by byte.
    path = tmp_path / "logbook.db"
    draw = random.Random(7)
    codes = [f"Q{n:03d}-ZX" for n in range(30)]
    with open_logbook(path) as logbook:
        logbook.add_protocol(made.protocol())
        for code in codes:
            logbook.add_student(Student(code=code))
        for turn in range(3):
            draw.shuffle(codes)
            for code in codes:
                notes = f"note-of-{code} " * draw.randrange(1, 200)
                at = made.trial(code, date(2026, 9, 1 + turn), notes=notes, sheet=made.sheet(turn) if turn else None)
                logbook.add_trial(at, [("a.bin", b"raw-of-" + code.encode() + bytes([turn]) + draw.randbytes(900))])
        for code in codes[:15]:
            made.bare_edit(logbook, code, notes=f"grown {code}" * draw.randrange(1, 100))
        for code in codes[:12]:
            assert forget(logbook, code).remains == ()
            left = path.read_bytes()
            assert code.encode() not in left, code
        assert all(code.encode() in left for code in codes[12:])
    assert [each.name for each in tmp_path.iterdir()] == ["logbook.db"]


def test_disclosing_writes_everything_about_one_student(logbook, tmp_path):
    added = made.filled(logbook)
    written = disclose(logbook, "th-11", tmp_path / "out")
    folder = tmp_path / "out"
    assert {each for each in folder.rglob("*") if each.is_file()} == set(written)
    assert all(stat.S_IMODE(each.stat().st_mode) == 0o600 for each in written)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert Student.model_validate_json((folder / "student.json").read_text()) == logbook.student("TH-11")
    assert EffortSheet.from_json((folder / "trials/2/sheet.json").read_text()) == added[1].sheet
    assert json.loads((folder / "trials/1/trial.json").read_text())["notes"] == "turn 0 of TH-11"
    assert (folder / "trials/1/01-file-strap-0.csv").read_bytes() == made.recording(0)
    with (folder / "figures.csv").open(newline="") as table:
        rows = list(csv.DictReader(table))
    assert {row["trial_id"] for row in rows} == {"1", "2"}
    assert len(rows) == sum(len(trial.sheet.figures) for trial in added[:2])
    assert not any(b"BF-07" in each.read_bytes() for each in written)


def test_a_shared_file_is_pointed_out(logbook, tmp_path):
    made.filled(logbook, trials_each=0)
    for code in ("TH-11", "BF-07"):
        logbook.add_trial(made.trial(code), [("../day?.csv", made.recording())])
    disclose(logbook, "TH-11", tmp_path / "out")
    assert "01-file.csv also holds another student's trial" in (tmp_path / "out/contents.txt").read_text()


def test_a_disclosure_needs_a_new_folder(logbook, tmp_path):
    made.filled(logbook)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter.txt").write_text("x")
    with pytest.raises(NotEmpty, match="something here already"):
        disclose(logbook, "TH-11", tmp_path / "full")
    assert [each.name for each in (tmp_path / "full").iterdir()] == ["letter.txt"]
    with pytest.raises(UnknownCode):
        disclose(logbook, "XX-1", tmp_path / "none")
    assert not Path(tmp_path / "none").exists()


def test_only_a_server_is_said_to_keep_what_was_removed(logbook, place):
    made.filled(logbook, trials_each=0)
    told = " ".join(forget(logbook, "TH-11").sentences())
    for words in ("free space of its pages", "write-ahead log", "replicas", *AT_THE_SERVER):
        assert (words in told) is place.startswith("postgresql")
    outside = told.splitlines()[-1] if "\n" in told else told
    for kind in ("backups", "pages", "exports", "education-plan texts", "disclosures", "set aside", "sensors' own"):
        assert kind in outside
    assert told.endswith("delete them too.")


def test_what_a_server_is_said_to_keep_it_keeps_and_what_is_said_to_end_it_ends_it(tmp_path):
    marks = [b"Q%016x" % random.Random(place).getrandbits(64) for place in range(40)]
    server = Server(POSTGRESQL.need(), settings=())
    try:
        with open_logbook(server.url()) as logbook:
            made.filled(logbook, trials_each=1)
            for place, mark in enumerate(marks):
                note = made.trial(time_of_day=f"10:{place:02d}", notes=mark.decode())
                logbook.add_trial(note, [("a.csv", mark + random.Random(place).randbytes(3000))])
            forget(logbook, "TH-11")
        assert left_in(server, "base", marks)
        assert left_in(server, "pg_wal", marks)
        with server.connect() as connection:
            connection.execute("SET search_path = t1")
            for command in AT_THE_SERVER:
                connection.execute(command)
            assert not left_in(server, "base", marks)
            for _ in range(3):  # as time goes on: what is written later pushes the old segments out
                connection.execute("CREATE TABLE IF NOT EXISTS later (x text)")
                connection.execute("INSERT INTO later SELECT 'x'")
                for command in AT_THE_SERVER[1:]:
                    connection.execute(command)
        assert not left_in(server, "pg_wal", marks)
    finally:
        server.stop()


def left_in(server, part, marks):
    """Which marks stand in the files of a part of the server's folder."""
    server.execute("CHECKPOINT")
    paths = [each for each in (server.folder / "data" / part).rglob("*") if each.is_file()]
    content = b"".join(each.read_bytes() for each in paths)
    return [mark for mark in marks if mark in content]
