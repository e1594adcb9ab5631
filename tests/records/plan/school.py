"""A school with a bag of files, its logbook, and the tables that people wrote; planned by the command."""

import csv
import json
from datetime import datetime, timedelta

import numpy as np
from ownmark.cli.main import main
from ownmark.records import open_logbook

from tests.makers.class_days import table
from tests.makers.class_recordings import Day, life, strap, true_rate
from tests.records.store.made import protocol, student

REST_S, WORK_S, RECOVERY_S = 120.0, 360.0, 120.0
BEFORE_S = 60.0
CODES = [f"TH-{number}" for number in range(11, 28)]
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

    def write(self, name, data):
        (self.bag / name).write_bytes(data)

    def trial(self, name, code=None, start=NINE, seed=1, stated=True, **more):
        """A strap's file of one trial; its start goes into the time table."""
        self.write(name, table(bpm_of(seed, **more), start))
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


def planned(school, capsys, *more, out="day.csv"):
    """Exit code, rows by code, and the codes of what is to look at by row."""
    capsys.readouterr()
    exit_code = school.plan("--json", *more, out=out)
    page = json.loads(capsys.readouterr().out)
    return exit_code, page["rows"], page["remarks"]


def checks(row):
    """Codes of what is to look at, without the name of the file that each is of."""
    inner = (each["values"].get("what", each) if each["code"] == "day_plan.of_file" else each for each in row["checks"])
    return {each["code"] for each in inner}


def one(school, capsys, code="TH-11"):
    """The row of one student of a roster of one."""
    school.only(code)
    _, found, _ = planned(school, capsys)
    return next(row for row in found if row["code"] == code)


def table_rows(school, name="day.csv"):
    with (school.root / name).open(newline="") as handle:
        return list(csv.DictReader(handle))
