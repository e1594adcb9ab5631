"""A class's day whose truth is known: nothing is sure that is wrong, and every oddity is told."""

import csv
import json
from datetime import datetime, timedelta

import numpy as np
import pytest
from ownmark.cli.main import main
from ownmark.records import open_logbook

from tests.makers.class_recordings import Day, life, strap, true_rate
from tests.records.store.made import protocol, student

REST_S, WORK_S, RECOVERY_S = 120.0, 360.0, 120.0
BEFORE_S = 60.0
CODES = [f"TH-{number}" for number in range(11, 23)]
NINE = datetime(2026, 5, 12, 9, 0, 0)  # noqa: DTZ001 a strap states no zone


def bpm_of(seed, before_s=BEFORE_S, after_s=60.0):
    """One trial: rest, work, recovery from ``before_s`` on."""
    rng = np.random.default_rng(seed)
    begin = before_s + REST_S
    end = begin + WORK_S
    whole = round(end + RECOVERY_S + after_s)
    work = (begin, end)
    when = Day(whole, (before_s, begin), work, (end, end + RECOVERY_S), (work,))
    return strap(true_rate(life(rng, (45.0, 80.0)), when, rng), rng)


def rows(bpm, start=NINE, every=1):
    """The strap's table with clock times; without a start with seconds."""
    lines = ["time,heart_rate"]
    for second in range(0, len(bpm), every):
        at = second if start is None else (start + timedelta(seconds=second)).isoformat()
        lines.append(f"{at},{bpm[second]:.0f}")
    return "\n".join(lines) + "\n"


class School:
    """A folder, its logbook, and the tables that people wrote."""

    def __init__(self, root):
        self.root, self.bag = root, root / "bag"
        self.bag.mkdir()
        self.roster = dict.fromkeys(CODES, "slalom-gym")
        self.straps, self.starts = [], {}
        with open_logbook(root / "logbook.db", create=True) as logbook:
            logbook.add_protocol(protocol(rest_s=REST_S, work_s=WORK_S, recovery_s=RECOVERY_S))
            for code in CODES:
                logbook.add_student(student(code))

    def write(self, name, text):
        (self.bag / name).write_text(text)

    def trial(self, name, code=None, start=NINE, seed=1, stated=True, **more):
        """A strap's file of one trial; its start goes into the time table."""
        self.write(name, rows(bpm_of(seed, **more), start))
        if code and stated:
            begun = start + timedelta(seconds=more.get("before_s", BEFORE_S))
            self.starts[code] = begun.strftime("%H:%M:%S")

    def only(self, *codes):
        self.roster = dict.fromkeys(codes, "slalom-gym")

    def plan(self, *more, out="day.csv"):
        options = ["--roster", self.table("roster.csv", "code,protocol", self.roster.items())]
        if self.straps:
            options += ["--straps", self.table("straps.csv", "strap,code,from,until", self.straps)]
        if self.starts:
            options += ["--start", self.table("starts.csv", "code,start", self.starts.items())]
        return main(["class", "plan", str(self.bag), *options, "--out", str(self.root / out), *more])

    def table(self, name, header, lines):
        path = self.root / name
        path.write_text("\n".join([header, *(",".join(line) for line in lines)]) + "\n")
        return str(path)


@pytest.fixture
def school(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    return School(tmp_path)


def planned(school, capsys, *more, out="day.csv"):
    """Exit code, rows by code, and the codes of what is to look at by row."""
    capsys.readouterr()
    exit_code = school.plan("--json", *more, out=out)
    page = json.loads(capsys.readouterr().out)
    return exit_code, page["rows"], page["remarks"]


def checks(row):
    return {each["code"] for each in row["checks"]}


def one(school, capsys, code="TH-11"):
    """The row of one student of a roster of one."""
    school.only(code)
    _, found, _ = planned(school, capsys)
    return next(row for row in found if row["code"] == code)


def table_rows(school, name="day.csv"):
    with (school.root / name).open(newline="") as handle:
        return list(csv.DictReader(handle))


def test_a_code_in_the_name_and_a_start_make_a_sure_row(school, capsys):
    school.trial("TH-11.csv", "TH-11")
    row = one(school, capsys)
    assert row["checks"] == []
    assert row["sure"]
    assert (row["date"], row["protocol"]) == ("2026-05-12", "slalom-gym")
    assert (row["rest"], row["work"], row["recovery"]) == (
        "09:01:00-09:03:00",
        "09:03:00-09:09:00",
        "09:09:00-09:11:00",
    )


def test_a_sure_row_is_added_and_one_to_look_at_is_kept_aside_until_it_was_checked(school, capsys):
    school.only("TH-11", "TH-12")
    school.trial("TH-11.csv", "TH-11")
    school.trial("TH-12.csv", "TH-12", stated=False, seed=2)
    exit_code, found, _ = planned(school, capsys)
    assert exit_code == 1
    assert [(row["code"], row["sure"]) for row in found] == [("TH-11", True), ("TH-12", False)]
    assert checks(found[1]) == {"proposal.rests_on"}
    assert main(["class", "add", "day.csv"]) == 1
    told = capsys.readouterr().out
    assert "row 2, TH-11: added" in told
    assert "row 3, TH-12: to confirm" in told
    lines = (school.root / "day.csv").read_text().splitlines()
    for answer, state in (("yes", "to confirm"), ("checked", "added")):
        cells = next(csv.reader([lines[2]]))
        cells[8] = answer
        with (school.root / "mended.csv").open("w", newline="") as handle:
            csv.writer(handle).writerows([next(csv.reader([lines[0]])), cells])
        main(["class", "add", "mended.csv"])
        assert f"row 2, TH-12: {state}" in capsys.readouterr().out


def test_an_out_file_that_is_there_is_never_replaced(school, capsys):
    school.only("TH-11")
    school.trial("TH-11.csv", "TH-11")
    (school.root / "day.csv").write_text("mine")
    assert school.plan() == 1
    assert (school.root / "day.csv").read_text() == "mine"
    assert "Name another" in capsys.readouterr().err
