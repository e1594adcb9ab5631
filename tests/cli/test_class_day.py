"""A class's day with the mistakes of a real one, from the table that a spreadsheet saved to the mended table."""

import json
import random

import pytest

CODES = [f"TH-{number}" for number in range(31, 43)]


def strap(path, start="09:00:00", day="5/13/2026", seconds=1200, stamp=None):
    """A strap's table, dated as a US spreadsheet does, with a line of units; heart rate rises at second 300."""
    hours, minutes, first = map(int, start.split(":"))
    begin = 3600 * hours + 60 * minutes + first
    lines = ["Time,HR,Battery", "mm/dd/yyyy hh:mm:ss,bpm,%"]
    heart = random.Random(path.name)  # each strap is on a heart of its own
    for s in range(seconds):
        at = begin + s
        clock = f"{day} {at // 3600:02d}:{at // 60 % 60:02d}:{at % 60:02d}" if stamp is None else str(s)
        lines.append(f"{clock},{(78 if at < begin + 300 else 118) + heart.randrange(3)},90")
    path.write_text("\n".join(lines) + "\n")


@pytest.fixture
def run(typed):
    for code in CODES:
        typed("student", "add", code, "--rest", 70)
    typed("protocol", "copy", "arm-crank-steady", "crank")
    typed("protocol", "edit", "crank", "--set", "work_s=480")
    return typed


ROWS = {
    "TH-31": "S1.csv,5/13/2026,05:00-13:00",
    "TH-32": "S2.csv,5/13/2026,9:05-9:13",
    "TH-33": "S3.csv,5/13/2026,",
    "TH-34": "S4.csv,5/13/2026,9:05-9:13 AM",
    "TH-35": "S5.csv,5/12/2026,05:00-13:00",
    "TH-36": "S6.csv,5/13/2026,05:00-05:08",
    "TH-37": "S7.csv,5/13/2026,05:00-09:00",
    "TH-38": "S8.csv,,05:00-13:00",
    "TH-39": "none.csv,5/13/2026,05:00-13:00",
    "TH-40": "S1.csv,5/13/2026,05:00-13:00",
    "TH-41": "S11.csv,5/13/2026,05:00-13:00",
    "TH-42": "S12.csv,5/13/2026,@09:05-@09:13",
}


def saved(rows):
    """The table as a western office saves it."""
    text = "sep=,\r\nCode,Protocol,File,Date,Work,Confirm,Note\r\n"
    text += "".join(f"{code},crank,{row},,entré\r\n" for code, row in rows.items())
    return text.encode("cp1252")


def test_a_day_with_mistakes_puts_in_what_is_right_asks_and_is_mended(run, tmp_path):
    for number in range(1, 13):
        strap(tmp_path / f"S{number}.csv", seconds=1200 + number)
    strap(tmp_path / "S8.csv", stamp="undated", seconds=1208)
    strap(tmp_path / "S12.csv", start="09:07:00")
    table = tmp_path / "day.csv"
    table.write_bytes(saved(ROWS))
    told = run("class", "add", table, code=1)
    added = [code for code in CODES if f"{code}: added" in told]
    asked = [code for code in CODES if f"{code}: to confirm" in told]
    refused = [code for code in CODES if f"{code}: refused" in told]
    assert added == ["TH-31", "TH-34", "TH-41", "TH-42"]
    assert asked == ["TH-32", "TH-33", "TH-35", "TH-37", "TH-38"]
    assert refused == ["TH-36", "TH-39", "TH-40"]
    assert "4 added, 0 there already, 5 to confirm, 3 refused." in told
    assert told.count("work 8:00") == 4
    assert "The recording begins at 09:07:00 (0 s), only 2:00 min (120 s) into the work phase" in told
    mended = ROWS | {
        "TH-32": "S2.csv,5/13/2026,9:05-9:13,clock",
        "TH-33": "S3.csv,5/13/2026,05:00-13:00",
        "TH-35": "S5.csv,5/12/2026,05:00-13:00,2026-05-13",
        "TH-36": "S6.csv,5/13/2026,05:00-13:00",
        "TH-37": "S7.csv,5/13/2026,05:00-09:00,yes",
        "TH-38": "S8.csv,5/13/2026,05:00-13:00",
        "TH-39": "S9.csv,5/13/2026,05:00-13:00",
        "TH-40": "S10.csv,5/13/2026,05:00-13:00",
    }
    text = "Code;Protocol;File;Date;Work;Confirm\n"
    text += "".join(f"{code};crank;{row.replace(',', ';')}\n" for code, row in mended.items())
    table.write_bytes(text.encode("utf-16"))
    told = run("class", "add", table)
    assert "8 added, 4 there already, 0 refused." in told
    assert "0 added, 12 there already, 0 refused." in run("class", "add", table)
    trials = json.loads(run("trial", "list", "--json"))
    assert sorted(each["code"] for each in trials) == CODES
    assert {each["on"] for each in trials} == {"2026-05-13"}
    work = {each["code"]: json.loads(run("trial", "show", each["id"], "--json")) for each in trials}
    spans = {code: each["sheet"]["provenance"]["phases"]["work"] for code, each in work.items()}
    assert spans.pop("TH-42") == [-120.0, 360.0]
    assert spans.pop("TH-37") == [300.0, 540.0]
    assert set(map(tuple, spans.values())) == {(300.0, 780.0)}
    assert work["TH-37"]["confirmed"] == ["yes"]


def test_students_whom_the_logbook_does_not_know_are_told_with_the_command_that_adds_them(run, tmp_path):
    (tmp_path / "day.csv").write_text("code,protocol,distance\nTH-31,crank,70\nZZ-1,crank,80\n")
    told = run("class", "add", tmp_path / "day.csv", code=1)
    assert "1 added, 0 there already, 1 refused. There is one student the logbook does not know:" in told
    assert told.count("ownmark class students LIST.csv") == 1
    typed = "code\nZZ-1\n"
    (tmp_path / "new.csv").write_text(typed)
    run("class", "students", tmp_path / "new.csv")
    assert "1 added, 1 there already, 0 refused." in run("class", "add", tmp_path / "day.csv")
