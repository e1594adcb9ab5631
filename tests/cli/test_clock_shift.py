"""``--clock-shift`` and ``--column`` on every command that takes a recording."""

import json
from datetime import datetime, timedelta

import pytest
from ownmark.cli.main import main

AT = datetime.fromisoformat("2026-05-12T08:00:00")


@pytest.fixture
def run(capsys, tmp_path, monkeypatch):
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))

    def call(*words, code=0):
        assert main([str(each) for each in words]) == code
        return capsys.readouterr()

    call("student", "add", "TH-11", "--born", "2012-04")
    call("protocol", "copy", "arm-crank-steady", "crank")
    return call


@pytest.fixture
def strap(tmp_path):
    path = tmp_path / "strap.csv"
    rows = ((AT + timedelta(seconds=n), 90 + n * 7 % 5 + (n > 300) * 40 - n // 9 % 3) for n in range(900))
    path.write_text("time,HR,HR2\n" + "".join(f"{at.isoformat()},{bpm},{bpm + 9}\n" for at, bpm in rows))
    return path


@pytest.fixture
def frame(tmp_path):
    path = tmp_path / "frame.csv"
    rows = (
        f"{(AT + timedelta(seconds=n / 20)).isoformat(timespec='milliseconds')},{n * 7 % 5 / 50},0.1,0.98\n"
        for n in range(2000)
    )
    path.write_text("time,A,B,C\n" + "".join(rows))
    return path


AXES = [word for axis, name in zip("xyz", "ABC", strict=True) for word in ("--column", f"acceleration_{axis}={name}")]
HEART = ["--column", "heart_rate=HR"]


def test_effort_counts_by_the_clock_that_was_put_right(run, strap, frame):
    words = ["effort", strap, "--rest", 70, *HEART]
    told = run(*words, "--work", "@9:05-@9:12", "--clock-shift", "+1:00:00")
    assert "strap.csv was off: +1:00:00 was added to it, as given." in " ".join(told.out.split())
    assert "9:00:00" in told.out
    sheet = json.loads(run(*words, "--work", "@7:05-@7:12", "--clock-shift", "-1:00:00", "--json").out)
    assert sheet["provenance"]["phases"]["work"] == [300.0, 720.0]
    assert sheet["provenance"]["start"] == "2026-05-12T07:00:00"
    refused = run(*words, "--work", "@9:05-@9:12", "--clock-shift", "1:00", code=2)
    assert "--clock-shift: “1:00” does not say how far a clock was off" in refused.err
    refused = run("effort", strap, frame, *HEART, *AXES, "--clock-shift", "+60", code=2)
    assert "which file's clock was off" in refused.err
    told = run("effort", strap, frame, *HEART, *AXES, "--clock-shift", "frame.csv=+60", code=1)
    assert "frame.csv was off: +0:01:00" in " ".join(told.out.split())


def test_a_column_holds_for_the_file_that_has_it_or_is_named(run, strap, frame, tmp_path):
    sheet = json.loads(run("effort", strap, frame, *HEART, *AXES, "--json", code=1).out)
    assert {each["path"].split("/")[-1] for each in sheet["provenance"]["files"]} == {"strap.csv", "frame.csv"}
    assert "no column is called" in run("effort", strap, frame, *HEART, *AXES, "--column", "rr_interval=RR", code=1).err
    twin = tmp_path / "twin.csv"
    twin.write_text(strap.read_text().replace("HR2", "HRX"))
    one = run("look", strap, twin, *HEART, "--column", "twin.csv=heart_rate=HRX", "--json")
    assert [each["streams"]["heart_rate"]["samples"] for each in json.loads(one.out)["files"]] == [900, 900]
    refused = run("look", strap, twin, "--column", "heart_rate=HRX", "--column", "other.csv=heart_rate=HR", code=2)
    assert "names none of the files" in refused.err


def test_a_trial_is_added_and_edited_with_it(run, strap, frame):
    work = ["--work", "@9:05-@9:12", "--confirm", "yes"]
    run(
        "trial",
        "add",
        "TH-11",
        "crank",
        strap,
        frame,
        *HEART,
        *AXES,
        *work,
        "--clock-shift",
        "strap.csv=+1:00:00",
        "--clock-shift",
        "frame.csv=+1:00:00",
    )
    shown = run("trial", "show", 1).out
    assert "strap.csv +1:00:00, frame.csv +1:00:00" in " ".join(shown.split())
    assert "Added to clocks that were off" in shown
    assert "mended: clock shifts" in run("trial", "edit", 1, "--clock-shift", "frame.csv=none").out
    run("trial", "edit", 1, "--clock-shift", "frame.csv=+1:00:05", "--why", "hand-set")
    trial = json.loads(run("trial", "show", 1, "--json").out)
    assert trial["clock_shifts"] == {"strap.csv": 3600.0, "frame.csv": 3605.0}
    assert "clock shifts" in run("trial", "show", 1, "--history").out
    run("trial", "edit", 1, "--column", "strap.csv=heart_rate=HR2", *AXES)
    trial = json.loads(run("trial", "show", 1, "--json").out)
    assert trial["file_columns"] == {"strap.csv": {"heart_rate": "HR2"}}
    assert "strap.csv: heart_rate = HR2" in " ".join(run("trial", "show", 1).out.split())


def test_look_shows_the_clock_of_a_table_without_a_day(run, tmp_path):
    path = tmp_path / "strap.csv"
    rows = "".join(f"09:{7 + n // 60:02d}:{n % 60:02d},{90 + n * 7 % 5 - n // 9 % 3}\n" for n in range(300))
    path.write_text(f"Time of day,Heart rate (bpm)\n{rows}")
    assert "strap.csv: table, starts at 09:07:00 by its clock, gives no date" in run("look", path).out
    (found,) = json.loads(run("look", path, "--json").out)["files"]
    assert (found["start"], found["clock_s"]) == (None, 9 * 3600 + 7 * 60.0)
    rows = "".join(f"{n},{90 + n * 7 % 5 - n // 9 % 3}\n" for n in range(300))
    path.write_text(f"Seconds,Heart rate (bpm)\n{rows}")
    assert "strap.csv: table, gives no date" in run("look", path).out
    (found,) = json.loads(run("look", path, "--json").out)["files"]
    assert found["clock_s"] is None
