"""``ownmark batch`` as it is typed: what it tells, how it ends, and a real process that is stopped."""

import json
import os
import re
import signal
import subprocess
import sys
from contextlib import nullcontext
from datetime import datetime
from pathlib import Path

import pytest
from ownmark.cli import batch as command
from ownmark.cli.main import main
from ownmark.executors.serial import Serial
from ownmark.records import open_logbook
from ownmark.records.batch import whole

from tests.records.batch.conftest import no_hurry  # noqa: F401
from tests.records.batch.district import dates, plain, round_the_class, school, simple, strap, write

ROOT = Path(__file__).parents[2]


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    """The command in an empty folder beside a logbook, without other processes: exit code, and what is printed."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    monkeypatch.setattr(command, "opened_workers", lambda *_: nullcontext(Serial()))
    with open_logbook(tmp_path / "logbook.db") as logbook:
        school(logbook)

    def call(*words):
        capsys.readouterr()
        code = main(["batch", *map(str, words)])
        said = capsys.readouterr()
        return code, said.out, said.err

    return call


def test_a_line_a_table_then_what_needs_a_person_then_all_together(run, tmp_path):
    simple(tmp_path / "drive" / "alder", 3, "monday.csv")
    place = simple(tmp_path / "drive" / "birch", 2, "friday.csv", seed=2000)
    place.write_text(place.read_text().replace("F2001.csv", "broken.fit"))
    write(tmp_path / "drive" / "birch", "broken.fit", b"no recording \x00\x01")
    (tmp_path / "drive" / "birch" / "F2001.csv").unlink()
    code, out, err = run("drive")
    lines = out.splitlines()
    assert code == 1
    assert err == ""
    assert lines[0] == "drive/alder/monday.csv: 3 added, 0 there already, 0 refused."
    assert lines[1] == "drive/birch/friday.csv: 1 added, 0 there already, 1 refused."
    assert lines[2].startswith("  row 3, TH-12: refused. broken.fit: this is not a recording")
    assert lines[-3] == ("  Files that could not be read: 1, copied to drive/birch/friday-aside.")
    assert lines[-2] == ""
    assert re.match(r"4 added, 0 there already, 1 refused\. 2 tables, \d+:\d\d\.", lines[-1])
    assert (tmp_path / "drive/birch/friday-aside/broken.fit").exists()


def test_what_all_goes_in_ends_with_0_and_so_does_a_second_call(run, tmp_path):
    round_the_class(tmp_path / "drive")
    code, out, _ = run("drive", "--workers", 2)
    assert code == 0
    assert re.search(r"^6 added, 0 there already, 0 refused\. 3 tables, \d+:\d\d\.", out, re.MULTILINE)
    code, out, _ = run("drive")
    assert code == 0
    assert re.search(r"^0 added, 6 there already, 0 refused\. 3 tables, \d+:\d\d\.", out, re.MULTILINE)


def test_what_no_table_names_is_told_by_folder_and_ends_with_0(run, tmp_path):
    simple(tmp_path / "drive" / "alder", 1, "monday.csv")
    for number in range(7):
        write(tmp_path / "drive" / "birch", f"S{number}.fit", b"1" * (number + 1))
    write(tmp_path / "drive" / "cedar", "day.csv", "name,test\n")
    write(tmp_path / "drive" / "cedar", "near.csv", "Student,Test\n")
    write(tmp_path / "drive" / "cedar", "tabs.txt", "code\tprotocol\n")
    (tmp_path / "drive" / "away").symlink_to(tmp_path / "nowhere")
    code, out, _ = run("drive")
    assert code == 0
    assert out.split("\n\n")[1].splitlines() == [
        "In no table, and passed over. Look whether a class's day is among it:",
        "  drive: away is a link, and was not followed.",
        "  drive/birch: 7 files: S0.fit, S1.fit, S2.fit, S3.fit, S4.fit and 2 more; no class table lies",
        "      there.",
        "  drive/cedar: 1 file: day.csv; no class table lies there.",
        "  drive/cedar/near.csv: its first line names no column protocol.",
        "  drive/cedar/tabs.txt: save it as .csv or .xlsx.",
    ]
    found = json.loads(run("drive", "--json")[1])["unused"]
    assert [Path(each["folder"]).name for each in found] == ["drive", "birch", "cedar"]
    assert found[0]["links"] == ["away"]
    assert found[2] == {
        "folder": "drive/cedar",
        "has_table": False,
        "nearly_tables": [{"file": "near.csv", "lacking": ["protocol"]}, {"file": "tabs.txt", "lacking": []}],
        "files": ["day.csv"],
        "links": [],
    }


def test_what_several_rows_are_asked_is_told_once_and_how_to_answer_at_the_end(run, tmp_path):
    place = simple(tmp_path / "drive", 3)
    lines = [line.split(",") for line in place.read_text().splitlines()]
    lines[0].append("check")
    for each in lines[1:]:
        each.append("look at the strap")
    place.write_text("\n".join(map(",".join, lines)) + "\n")
    code, out, _ = run("drive")
    assert code == 1
    assert out.count("Its column check") == 1
    assert "  rows 2 (TH-11), 3 (TH-12), 4 (TH-13): to confirm. Its column check says" in out
    assert "To confirm: write the answer into the row's column confirm" in out


def test_how_to_answer_a_question_is_not_repeated_with_each(run, tmp_path):
    dates(tmp_path / "drive")
    _, out, _ = run("drive")
    said = " ".join(out.split())
    assert "to confirm. The date can be" in said
    assert "Answer with --confirm" not in said
    assert said.count("several with ; between them, or mend the row. Then give the same call again.") == 1


def test_json_has_the_same_as_values(run, tmp_path):
    plain(tmp_path / "drive" / "north")
    dates(tmp_path / "drive" / "dates")
    write(tmp_path / "drive", "two.csv", "code,protocol,code\nTH-40,slalom-gym,TH-40\n")
    code, out, _ = run("drive", "--json")
    found = json.loads(out)
    assert code == 1
    assert {key: found[key] for key in ("refused_tables", "stopped", "to_confirm")} == {
        "refused_tables": 1,
        "stopped": None,
        "to_confirm": found["to_confirm"],
    }
    assert found["seconds"] > 0
    by_name = {Path(each["table"]).name: each for each in found["tables"]}
    assert by_name["two.csv"]["refused_table"]["code"] == "not_a_trial"
    monday = by_name["monday.csv"]
    assert monday["all_rows"] == 21
    assert sum(monday[state] for state in ("added", "there_already", "corrected", "to_confirm", "refused")) == 21
    rows = {each["row"]: each for each in monday["rows"]}
    assert rows[8]["answers"] == ["yes", "2026-11-10"]
    assert (rows[8]["student"], rows[8]["state"], rows[8]["trial"]) == ("TH-17", "to_confirm", None)
    assert [each["file"] for each in rows[5]["files"]] == ["broken.fit"]
    assert rows[5]["trial"] is not None
    assert monday["aside"].endswith("monday-aside")


UNKNOWN = (
    "the logbook does not know: mend a code that is mistyped, or add them by a list with `ownmark class students "
    "LIST.csv`; `ownmark class template --students` writes an empty one. Then give the same call again."
)


@pytest.mark.parametrize(
    ("codes", "rows", "count"),
    [
        (("ZZ-91",), ["row 2, ZZ-91: refused. ", ": no student has the code ZZ-91. `"], "is one student"),
        (
            ("TH-1", "zz-91", "ZZ-91"),
            ["row 2, TH-1: refused. ", "Did you mean TH-", "rows 3 (zz-91), 4 (ZZ-91): refused. ", "the code ZZ-91."],
            "are 2 students",
        ),
        (
            ("ZZ-91", "ZZ-92", "ZZ-93"),
            ["rows 2 (ZZ-91), 3 (ZZ-92), 4 (ZZ-93): refused. no student has any of these codes. There"],
            "are 3 students",
        ),
    ],
)
def test_students_whom_the_logbook_does_not_know_are_told_once_a_table_with_the_command(
    run, tmp_path, codes, rows, count
):
    place = simple(tmp_path / "drive", 4, "monday.csv")
    lines = place.read_text().splitlines()
    for turn, code in enumerate(codes, start=1):
        lines[turn] = ",".join([code, *lines[turn].split(",")[1:]])
    place.write_text("\n".join(lines))
    code, out, _ = run("drive")
    told = " ".join(out.split())
    assert code == 1
    assert [row for row in rows if row not in told] == [], told
    assert told.count("class students LIST.csv") == 1
    assert f"There {count} {UNKNOWN}" in told
    _, out, _ = run("drive", "--json")
    (table,) = json.loads(out)["tables"]
    assert table["unknown_students"] == list(dict.fromkeys(each.upper() for each in codes))


def test_what_a_table_says_otherwise_is_told_and_applied_where_that_is_asked_for(run, tmp_path):
    place = simple(tmp_path / "drive", 2)
    run("drive")
    place.write_text(place.read_text().replace("turn 1", "turn one"))
    code, out, _ = run("drive")
    assert code == 0
    assert "row 3, TH-12: there already. Trial 2 holds its recording; the row says otherwise" in out
    assert "--correct applies it" in " ".join(out.split())
    code, out, _ = run("drive", "--correct")
    assert code == 0
    assert "0 added, 1 there already, 1 corrected, 0 refused." in out


def test_a_drive_that_cannot_be_written_says_where_bad_files_can_go(run, tmp_path, monkeypatch):
    write(tmp_path / "drive", "broken.fit", b"no recording \x00\x01")
    write(tmp_path / "drive", "day.csv", "code,protocol,files,date\nTH-11,slalom-gym,broken.fit,2026-11-10\n")
    real = Path.mkdir

    def shut(path, *more, **named):
        if path.parts[-2:] == ("drive", "day-aside") and "bad" not in path.parts:
            raise OSError(30, "Read-only file system", str(path))
        return real(path, *more, **named)

    monkeypatch.setattr(Path, "mkdir", shut)
    code, out, _ = run("drive")
    assert code == 1
    why = "drive/day-aside: read-only file system. Choose another: --aside."
    assert f"Files that could not be read were not put aside. {why}" in " ".join(out.split())
    code, out, _ = run("drive", "--aside", "bad")
    assert "copied to bad/drive/day-aside" in out
    assert (tmp_path / "bad/drive/day-aside/broken.fit").exists()


def test_no_copy_is_written_over_the_logbook_or_what_is_read(run, tmp_path):
    simple(tmp_path / "drive", 1)
    (tmp_path / "bad" / "drive").mkdir(parents=True)
    (tmp_path / "bad" / "drive" / "class-aside").mkdir()
    (tmp_path / "bad" / "drive" / "class-aside" / "reasons.csv").symlink_to(tmp_path / "logbook.db")
    code, out, _ = run("drive", "--aside", "bad")
    assert code == 1
    assert "not read" in out
    assert "this is the logbook itself" in out


def test_a_place_that_is_none_and_a_day_that_is_none(run):
    assert run("nowhere")[0] == 1
    assert "no such file or folder" in run("nowhere")[2]
    assert run("nowhere", "--date", "May")[0] == 2


def test_a_batch_that_was_stopped_says_what_is_in_and_what_to_do(run, tmp_path, monkeypatch):
    simple(tmp_path / "drive", 6)
    write(tmp_path / "drive", "unused.fit", b"1")
    real, seen = whole.done, []

    def pressed(job):
        seen.append(job)
        if len(seen) == 3:
            signal.raise_signal(signal.SIGINT)
        return real(job)

    before = signal.getsignal(signal.SIGINT)
    monkeypatch.setattr(whole, "done", pressed)
    code, out, _ = run("drive")
    assert code == 1
    assert "drive/class.csv: 2 added, 0 there already, 0 refused. The first 2 of 6 rows." in out
    assert "Stopped. What is told above is in the logbook; the same call does the rest." in out
    assert "unused.fit" not in out  # nobody knows yet what the other tables name
    assert signal.getsignal(signal.SIGINT) is before
    monkeypatch.setattr(whole, "done", real)
    assert "4 added, 2 there already" in run("drive")[1]


def test_a_full_disk_is_said_at_the_end(run, tmp_path, monkeypatch):
    from ownmark.records.batch import writer
    from ownmark.records.store.failures import disk_full

    simple(tmp_path / "drive", 6)
    monkeypatch.setattr(writer, "AT_ONCE", 3)
    real, calls = writer.insert_entries, []

    def full(connection, entries):
        calls.append(1)
        if len(calls) > 1:
            raise disk_full()
        return real(connection, entries)

    monkeypatch.setattr(writer, "insert_entries", full)
    code, out, _ = run("drive")
    told = " ".join(out.split())
    assert code == 1
    assert "3 added, 0 there already, 0 refused. 1 table" in told
    assert "It ended early." in told
    assert "there is no room left on the disk" in told


@pytest.fixture
def drive(tmp_path):
    """A folder of tables and a logbook, for a real process."""
    for number in range(4):
        simple(tmp_path / "drive" / f"day-{number}", 10, seed=1000 * (number + 1))
    with open_logbook(tmp_path / "logbook.db") as logbook:
        school(logbook)
    return tmp_path


def started(folder, *words, **more):
    return subprocess.Popen(
        [sys.executable, "-m", "ownmark.cli", "batch", "drive", "--workers", "2", *words],
        cwd=folder,
        env={**os.environ, "OWNMARK_LOGBOOK": str(folder / "logbook.db"), "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **more,
    )


def kept(folder):
    with open_logbook(folder / "logbook.db") as logbook:
        return [tuple(file.recording for file in trial.files) for trial in logbook.trials(with_sheets=False)]


@pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGTERM])
def test_a_real_batch_is_stopped_by_ctrl_c_or_the_system_tells_what_is_in_and_is_completed(sign, drive):
    process = started(drive, start_new_session=True)
    first = process.stdout.readline()
    assert first == "drive/day-0/class.csv: 10 added, 0 there already, 0 refused.\n"
    if sign == signal.SIGINT:
        os.killpg(process.pid, sign)  # as a terminal does it: to the workers too
    else:
        process.terminate()
    out, err = process.communicate(timeout=60)
    assert process.returncode == 1
    assert "Stopped. What is told above is in the logbook" in out
    assert "Traceback" not in err
    there = kept(drive)
    assert 10 <= len(there) < 40
    assert f"{len(there)} added" in out
    again = started(drive)
    out, _ = again.communicate(timeout=120)
    assert again.returncode == 0
    assert f"{40 - len(there)} added, {len(there)} there already" in out
    assert len(set(kept(drive))) == len(kept(drive)) == 40


def test_a_real_batch_whose_reader_went_away_works_on_to_its_end(drive):
    process = started(drive)
    process.stdout.close()
    process.wait(120)
    with process.stderr as told:
        assert "Traceback" not in told.read()
    assert len(kept(drive)) == 40


def test_a_real_batch_whose_window_is_closed_works_on_to_its_end(drive):
    process = started(drive, start_new_session=True)
    process.stdout.readline()
    os.killpg(process.pid, signal.SIGHUP)  # as a terminal does it: to the workers too
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0
    assert "40 added" in out
    assert "Traceback" not in err
    assert len(kept(drive)) == 40


def test_tables_without_dates_of_long_ago_are_answered_for_all_at_once(run, tmp_path):
    # A drive with a year's class days: a question a row would drown whoever gave it in.
    for day in (2, 3):
        place = simple(tmp_path / "drive" / str(day), 2, seed=1000 * day)
        lines = [line.split(",") for line in place.read_text().splitlines()]
        place.write_text("\n".join(",".join(cells[:3] + cells[4:]) for cells in lines) + "\n")
        for turn in range(2):
            start = datetime(2025, 10, day, 9, 0)  # noqa: DTZ001 a strap states no zone
            write(place.parent, f"F{1000 * day + turn}.csv", strap(1000 * day + turn, start))
    code, out, _ = run("drive")
    assert code == 1
    assert "0 added, 0 there already, 4 to confirm, 0 refused. 2 tables" in " ".join(out.split())
    assert out.count("--since") == 1
    _, out, _ = run("drive", "--since", "2025-10-03")
    assert "\n2 added, 0 there already, 2 to confirm, 0 refused. 2 tables" in out
    code, out, _ = run("drive", "--since", "2025-10-02")
    assert code == 0
    assert "\n2 added, 2 there already, 0 refused. 2 tables" in out
    assert "--since" not in out
    code, _, err = run("drive", "--since", "October")
    assert code == 2
    assert "--since" in err


@pytest.mark.parametrize("many", ["1e3", "256x", "2.0", "many", ""])
def test_a_number_of_workers_that_is_none_is_told_in_words(run, many):
    code, out, err = run("drive", "--workers", many)
    assert (code, out) == (2, "")
    assert f"“{many}” is no whole number, as in --workers 4." in err
    assert "int" not in err
