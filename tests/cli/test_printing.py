"""What is printed, and what is said when it cannot be: a change that was written is never called undone."""

import io
import json
import os
import shutil
import subprocess
import sys
import unicodedata
from contextlib import redirect_stdout
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark import ledger
from ownmark.cli import student as student_command
from ownmark.cli.main import main
from ownmark.cli.terminal import hold_standard
from ownmark.records import open_logbook
from ownmark.sample_streams import FOLDER
from ownmark.words.letters import in_letters_of, json_in_letters_of
from ownmark.words.plain import printable, printable_json, printable_lines

from tests.makers.sheets import with_figure

SLALOM = str(FOLDER / "TH-11-power-chair-slalom.fit")
ARMS = str(FOLDER / "TH-12-arm-crank.tcx")
TURNED = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}


@pytest.fixture(scope="module")
def kept_school(tmp_path_factory):
    """A logbook with a student, a protocol, a trial, and a table of one more row."""
    folder = tmp_path_factory.mktemp("school")
    place = str(folder / "logbook.db")
    with redirect_stdout(io.StringIO()):
        main(["student", "add", "TH-11", "--rest", "78", "--logbook", place])
        main(["student", "add", "TH-12", "--rest", "70", "--logbook", place])
        main(["protocol", "copy", "power-chair-slalom", "slalom-gym", "--logbook", place])
        main(["trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", SLALOM, "--logbook", place])
        main(["backup", str(folder / "backup.zip"), "--logbook", place])
    return folder


@pytest.fixture
def school(kept_school, tmp_path, monkeypatch):
    for name in ("logbook.db", "backup.zip"):
        shutil.copy(kept_school / name, tmp_path / name)
    shutil.copy(ARMS, tmp_path)
    (tmp_path / "new.csv").write_text("code\nTH-19\n")
    (tmp_path / "day.csv").write_text(
        "code,protocol,files,date,confirm\nTH-12,slalom-gym,TH-12-arm-crank.tcx,2026-05-12,yes\n"
    )
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def full_device():
    return open("/dev/full", "w", encoding="utf-8")  # noqa: PTH123


def closed_pipe():
    reader, writer = os.pipe()
    os.close(reader)
    return os.fdopen(writer, "w", encoding="utf-8")


@pytest.fixture
def run_to(monkeypatch, capsys):
    """Run a command whose output goes to a place that does not take it; its code and what it complained of."""

    def call(place, *words):
        with monkeypatch.context() as here, place() as broken:
            here.setattr(sys, "stdout", broken)
            code = main(list(words))
        return code, capsys.readouterr().err

    return call


def students(place="logbook.db"):
    with open_logbook(place) as logbook:
        return {each.code: each for each in logbook.students()}


def newest(name="slalom-gym"):
    with open_logbook("logbook.db") as logbook:
        return logbook.protocol(name).version


def trials():
    with open_logbook("logbook.db") as logbook:
        return [each.code for each in logbook.trials()]


WRITING = {
    "forget": (["forget", "TH-11", "--yes"], lambda: "TH-11" not in students()),
    "recompute": (["recompute"], lambda: True),
    "class add": (["class", "add", "day.csv"], lambda: trials().count("TH-12") == 1),
    "trial add": (
        ["trial", "add", "--confirm", "yes", "TH-12", "slalom-gym", ARMS],
        lambda: trials().count("TH-12") == 1,
    ),
    "student add": (["student", "add", "TH-19"], lambda: "TH-19" in students()),
    "class students": (["class", "students", "new.csv"], lambda: "TH-19" in students()),
    "student edit": (["student", "edit", "TH-11", "--note", "→ ask"], lambda: students()["TH-11"].notes == "→ ask"),
    "protocol copy": (["protocol", "copy", "power-chair-slalom", "hall"], lambda: newest("hall") == 1),
    "protocol edit": (["protocol", "edit", "slalom-gym", "--set", "gates=9"], lambda: newest() == 2),
    "restore": (["restore", "backup.zip", "--logbook", "new.db"], lambda: "TH-11" in students("new.db")),
    "backup": (["backup", "again.zip"], lambda: os.path.exists("again.zip")),  # noqa: PTH110
    "disclose": (["disclose", "TH-11"], lambda: os.path.exists("TH-11-record/student.json")),  # noqa: PTH110
    "export": (["export", "csv", "--out", "a.csv"], lambda: os.path.exists("a.csv")),  # noqa: PTH110
    "sheet": (["sheet", "TH-11", "--html", "--out", "p"], lambda: len(os.listdir("p")) == 1),  # noqa: PTH208
}


@pytest.mark.parametrize("command", WRITING)
@pytest.mark.parametrize("place", [full_device, closed_pipe])
def test_a_change_that_was_written_is_told_although_nothing_can_be_printed(school, run_to, command, place):
    words, done = WRITING[command]
    if command == "recompute":  # a sheet of another version, so that there is something to write
        older(school)
    code, err = run_to(place, *words)
    assert done()
    assert "The change was written (" in err
    assert "Nothing was changed" not in err
    assert code == (1 if place is full_device else 0)
    why = "there is no room where it was to go" if place is full_device else "the program that was to read it has ended"
    assert err.rstrip().endswith(f"could not be printed: {why}.")


def older(school):
    """Make the trial's sheet look as if another version had worked it out."""
    with open_logbook(school / "logbook.db") as logbook:
        trial = next(iter(logbook.trials()))
        mean = trial.sheet.figures["heart_rate_mean"].value
        logbook.replace_sheet(trial.id, with_figure(trial.sheet, "heart_rate_mean", value=mean + 5))


def test_a_table_goes_in_to_its_last_row_although_nobody_reads(school, run_to):
    shutil.copy(Path(SLALOM).with_name("TH-14-gait-trainer.gpx"), school / "b.gpx")
    row = "TH-12,slalom-gym,{},2026-05-12,yes\n"
    (school / "day.csv").write_text(
        "code,protocol,files,date,confirm\n"
        + row.format("TH-12-arm-crank.tcx")
        + row.format("none.fit")
        + row.format("b.gpx")
    )
    code, err = run_to(closed_pipe, "class", "add", "day.csv")
    assert trials().count("TH-12") == 2
    assert code == 1  # for the row that was refused
    assert "The change was written" in err


@pytest.mark.parametrize("words", [["student", "list"], ["trial", "list", "--json"], ["--help"]])
def test_nothing_is_called_written_where_nothing_was(school, run_to, words):
    code, err = run_to(full_device, *words)
    assert (code, err) == (1, "This could not be printed: there is no room where it was to go.\n")
    assert run_to(closed_pipe, *words) == (0, "")


def test_the_help_of_a_command_is_printed_like_everything_else(run_to):
    told = (1, "This could not be printed: there is no room where it was to go.\n")
    assert run_to(full_device, "student", "--help") == told
    assert run_to(closed_pipe, "student", "--help") == (0, "")


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "cp437"])
def test_a_terminal_that_lacks_letters_gets_others_that_read_alike(school, encoding):
    words = [
        sys.executable,
        "-m",
        "ownmark.cli.main",
        "student",
        "edit",
        "TH-11",
        "--note",
        "→ frag José “ab” 8 – 9",
        "--confirm",
        "keep-text",
    ]
    there = os.environ | {"PYTHONIOENCODING": encoding}
    done = subprocess.run(words, env=there, cwd=school, capture_output=True, check=True)
    told = done.stdout.decode(encoding)
    assert "-> frag Jos" in told
    assert "?" not in told
    assert done.stderr == b""
    assert students()["TH-11"].notes == "→ frag José “ab” 8 – 9"


def test_letters_that_a_terminal_lacks_are_written_by_those_it_has():
    assert in_letters_of("ascii", "a → b … é ≥ ½ 語 e\u0301") == "a -> b ... e >= 1/2 ? e"
    assert in_letters_of("cp1252", "é … → Δ") == "é … -> d"
    assert in_letters_of("utf-8", "é … → 語") == "é … → 語"
    assert in_letters_of(None, "→") == "→"
    assert in_letters_of("no such set", "→") == "→"
    assert json.loads(json_in_letters_of("ascii", '["→", "😀", "é"]')) == ["→", "😀", "é"]
    assert json_in_letters_of("cp1252", '["→é"]') == '["\\u2192é"]'


def test_a_fault_after_a_change_says_that_the_change_stays(school, run_to, monkeypatch):
    def fails(*_):
        raise RuntimeError("boom\x1b[2J")

    monkeypatch.setattr(student_command, "_lines", fails)
    code, err = run_to(io.StringIO, "student", "edit", "TH-11", "--note", "x")
    assert code == 1
    assert f"Written before that, and it stays: {school / 'logbook.db'}." in err
    assert "Nothing was changed" not in err
    assert "\x1b" not in err
    code, err = run_to(io.StringIO, "student", "edit", "TH-99", "--note", "x")
    assert "stays" not in err
    monkeypatch.setattr(student_command, "_edit", fails)
    assert "Nothing was changed" in run_to(io.StringIO, "student", "edit", "TH-11", "--note", "x")[1]


def test_a_lock_in_the_middle_does_not_undo_what_was_done_before(school, run_to, monkeypatch):
    from ownmark.records import recompute as recomputing
    from ownmark.records.patience import Patience
    from ownmark.records.store.failures import locked

    with open_logbook("logbook.db") as logbook:
        trial = next(iter(logbook.trials()))
        logbook.add_trial(trial.model_copy(update={"id": None, "code": "TH-12"}))
    put = recomputing._put
    older(school)

    def locked_at_the_second(inside, one):
        if one.trial.code == "TH-12":
            raise locked()
        return put(inside, one)

    monkeypatch.setattr(recomputing, "_AT_ONCE", 1)
    monkeypatch.setattr(recomputing, "_put", locked_at_the_second)
    monkeypatch.setattr(Patience, "until_done", lambda _, work: work())  # which waits for minutes
    code, err = run_to(io.StringIO, "recompute")
    assert code == 1
    assert "another program is writing" in err
    assert "it stays: " in err
    assert "Nothing was changed" not in err


def test_a_refusal_of_the_logbook_says_that_nothing_was_changed(tmp_path, capsys):
    assert main(["student", "list", "--logbook", str(tmp_path / "none.db")]) == 1
    assert capsys.readouterr().err.rstrip().endswith("Nothing was changed.")


def test_python_itself_adds_nothing_when_the_output_is_full(school):
    with open("/dev/full", "w") as full:  # noqa: PTH123
        done = subprocess.run(
            [sys.executable, "-m", "ownmark.cli", "forget", "TH-11", "--yes"],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 1
    assert len(done.stderr.splitlines()) == 1, done.stderr
    assert "TH-11" not in students()


def test_what_was_noted_is_given_once_and_in_order():
    before = ledger.mark()
    for place in ("b", "a", "b"):
        ledger.note(place)
    assert ledger.since(before) == ("b", "a")
    assert ledger.since(ledger.mark()) == ()


def test_every_control_character_and_everything_that_turns_text_is_replaced():
    for number in range(sys.maxunicode + 1):
        letter = chr(number)
        bad = unicodedata.category(letter) in {"Cc", "Cs", "Zl", "Zp"} or unicodedata.bidirectional(letter) in TURNED
        assert printable(letter) == ("\ufffd" if bad else letter), hex(number)
        kept = letter in "\n\t" or not bad
        assert printable_lines(letter) == (letter if kept else "\ufffd"), hex(number)


@given(st.text(st.characters(), max_size=30))
def test_json_is_printable_and_loses_nothing(text):
    shown = printable_json(json.dumps({text: [text]}, indent=2, ensure_ascii=False))
    assert shown.replace("\n", "") == printable(shown.replace("\n", ""))
    assert json.loads(shown) == {text: [text]}


EVIL = "a\x1b[2Jb\u202ec\x07\x9b31m"


def plain_terminal(text):
    return text == printable_lines(text)


def test_nothing_of_a_record_reaches_the_terminal_with_its_control_characters(school, capsys):
    code = main(["student", "edit", "TH-11", "--note", f"{EVIL}"])
    shown = [capsys.readouterr()]
    for words in (
        ["student", "show", "TH-11"],
        ["student", "show", "TH-11", "--json"],
        ["protocol", "edit", "slalom-gym", "--set", f"title={EVIL}", "--set", f"device={EVIL}"],
        ["protocol", "show", "slalom-gym"],
        ["protocol", "list"],
        ["repeat", "TH-11"],
        ["trial", "show", "1"],
        ["trial", "add", "--confirm", "yes", "TH-11", "slalom-gym", f"{EVIL}.fit"],
        ["look", f"{EVIL}.fit"],
        ["class", "add", f"{EVIL}.csv"],
        [EVIL],
        ["student", "show", EVIL],
        ["sheet", "TH-11", "--html", "--out", EVIL],
        ["student", "list", "--logbook", f"{EVIL}.db"],
    ):
        main(words)
        shown.append(capsys.readouterr())
    (school / "evil.csv").write_text(f"code,protocol,notes,files\nTH-12,{EVIL},{EVIL},{EVIL}\n")
    main(["class", "add", "evil.csv"])
    shown.append(capsys.readouterr())
    assert code in (0, 1)
    for out, err in shown:
        assert out + err
        assert plain_terminal(out + err), (out, err)
        assert len(err.splitlines()) <= 1


NOISY = """
import logging, os, sys, warnings
from ownmark.cli import student
from ownmark.cli.main import main

class Falls:
    def __del__(self):
        raise RuntimeError("cannot be raised")

def run(args):
    warnings.warn("this will change in version 9", FutureWarning)
    logging.getLogger("some.library").warning("font not found in /usr/lib/x.py")
    Falls()
    return 0

student.run = run
sys.exit(main(["student", "list"]))
"""


@pytest.mark.parametrize("shown", [False, True])
def test_a_library_cannot_show_its_source_to_a_teacher(shown):
    environment = {name: value for name, value in os.environ.items() if name != "OWNMARK_TRACEBACK"}
    environment |= {"OWNMARK_TRACEBACK": "1"} if shown else {}
    done = subprocess.run([sys.executable, "-c", NOISY], env=environment, capture_output=True, text=True, check=True)
    for words in ("version 9", "font not found", "cannot be raised"):
        assert (words in done.stderr) is shown


_CLOSED = """
import os, sys
for number in range(3):
    os.close(number)
from ownmark.cli.terminal import hold_standard
hold_standard()
other = os.open(sys.argv[1], os.O_CREAT | os.O_WRONLY)
fine = other > 2 and all(os.get_inheritable(number) and os.fstat(number).st_rdev for number in range(3))
os._exit(0 if fine else 1)
"""


def test_what_was_closed_of_the_standard_three_is_held_so_that_no_file_gets_its_number(tmp_path):
    ended = subprocess.run([sys.executable, "-c", _CLOSED, str(tmp_path / "x")], check=False, stdin=subprocess.DEVNULL)
    assert ended.returncode == 0


def test_what_is_open_of_the_standard_three_stays_as_it_is():
    before = [os.fstat(number).st_ino for number in range(3)]
    hold_standard()
    assert [os.fstat(number).st_ino for number in range(3)] == before


_LOGS = """
import logging
from ownmark.cli.terminal import quiet_libraries
with quiet_libraries():
    logging.getLogger("psycopg").warning("error ignored while rolling back")
"""


def test_what_a_library_logs_is_not_told_nor_that_nobody_heard_it():
    # "No handlers could be found for logger" stood above the report of a batch whose server did not answer.
    ended = subprocess.run([sys.executable, "-c", _LOGS], check=True, capture_output=True, text=True)
    assert (ended.stdout, ended.stderr) == ("", "")
