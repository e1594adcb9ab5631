"""The plan as a table: what stands in each cell, whoever reads it."""

import csv
from datetime import date
from io import StringIO
from pathlib import Path

from ownmark.records.plan import messages as say
from ownmark.records.plan.day import Plan
from ownmark.records.plan.phases_of import Phased
from ownmark.records.plan.row import Planned
from ownmark.records.plan.table import COLUMNS, table_of
from ownmark.words.render import Words

ON = date(2026, 5, 12)
ROW = Planned("TH-11", "slalom", (Path("bag/a.csv"), Path("bag/b.csv")), ON, Phased("r", "w", "v"), notes="=tired")


def cells(plan, out="day.csv", language="en"):
    data = table_of(plan, Path(out), Words(language, terminal=True))
    header, *rows = csv.reader(StringIO(data.decode(), newline=""))
    assert tuple(header) == COLUMNS
    return [dict(zip(header, row, strict=True)) for row in rows]


def test_a_sure_row():
    (row,) = cells(Plan((ROW,), zone="America/Denver"))
    assert row == {
        "code": "TH-11",
        "protocol": "slalom",
        "files": "bag/a.csv; bag/b.csv",
        "date": "2026-05-12",
        "rest": "r",
        "work": "w",
        "recovery": "v",
        "zone": "America/Denver",
        "confirm": "",
        "notes": "'=tired",
        "check": "",
    }


def test_a_row_of_nobody_without_files_has_no_zone():
    (row,) = cells(Plan((Planned(None, None, (), checks=(say.DAY_PLAN_NO_FILE,)),), zone="America/Denver"))
    assert (row["code"], row["protocol"], row["files"], row["date"], row["zone"]) == ("", "", "", "", "")
    assert row["check"] == "There is no file for this student."


def test_files_are_named_from_the_table_and_are_no_formula():
    row = Planned("TH-11", None, (Path("bag/=a.csv"), Path("bag/sub/b.csv")))
    assert cells(Plan((row,)), "bag/day.csv")[0]["files"] == "./=a.csv; sub/b.csv"
    assert cells(Plan((row,)), "tables/day.csv")[0]["files"] == "../bag/=a.csv; ../bag/sub/b.csv"
    plus = Planned("TH-11", None, tuple(Path(f"{sign}a.csv") for sign in "+-@"))
    assert cells(Plan((plus,)))[0]["files"] == "./+a.csv; ./-a.csv; ./@a.csv"


def test_checks_stand_in_the_language_that_was_asked_for():
    row = Planned("TH-11", None, (), checks=(say.DAY_PLAN_NO_FILE, say.day_plan_future(ON)))
    assert cells(Plan((row,)))[0]["check"] == (
        "There is no file for this student. The file is dated May 12, 2026, a day still to come: its clock is wrong."
    )
    assert cells(Plan((row,)), language="es")[0]["check"].startswith("No hay ningún archivo de este alumno. El archivo")
