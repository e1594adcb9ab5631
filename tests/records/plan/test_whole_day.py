"""One day of a class with files as they really arrive: for every file who, which protocol, when, and what is asked."""

import csv
from datetime import UTC, timedelta

import numpy as np
import pytest
from ownmark.cli.main import main
from ownmark.sample_streams.writers import fit

from tests.makers.class_days import table
from tests.records.plan.school import NINE, School, bpm_of, checks, planned, table_rows

TRIAL_S = 660


def at(minutes):
    return NINE + timedelta(minutes=minutes)


def clock(minutes):
    return at(minutes).strftime("%H:%M")


def filled(school):
    """A logbook that has one recording already, and a bag with everything that goes wrong in a day."""
    old = school.root / "before"
    old.mkdir()
    (old / "old.csv").write_bytes(table(bpm_of(90), NINE - timedelta(days=30)))
    (old / "old-day.csv").write_text("code,protocol,files,work,date\nTH-11,slalom-gym,old.csv,03:00-09:00,2026-04-12\n")
    assert main(["class", "add", str(old / "old-day.csv")]) == 0
    school.trial("TH-11.csv", "TH-11", seed=11)
    school.straps += [("S2", "TH-12", "", "")]
    school.trial("S2_2026-05-12.csv", "TH-12", seed=12)
    school.straps += [("S3", "TH-13", clock(0), clock(12)), ("S3", "TH-14", clock(20), clock(32))]
    school.trial("S3.csv", "TH-13", seed=13)
    school.trial("S3 (2).csv", "TH-14", at(20), seed=14)
    school.straps += [("S4", "TH-15", clock(0), clock(11)), ("S4", "TH-16", clock(12), clock(24))]
    both = np.concatenate((bpm_of(15), np.zeros(60), bpm_of(16)))
    school.write("S4.csv", table(both, NINE))
    school.starts |= {"TH-15": "09:01:00", "TH-16": "09:13:00"}
    school.write("TH-17.csv", table(bpm_of(17)[100:], at(0) + timedelta(seconds=100)))
    school.starts["TH-17"] = "09:01:00"
    school.trial("TH-18.csv", "TH-18", at(-7 * 24 * 60), seed=18)
    utc = (NINE + timedelta(hours=6)).replace(tzinfo=UTC)
    school.write("TH-19.fit", fit(utc, bpm_of(19).astype(np.int64), (), 0))
    school.starts["TH-19"] = "09:01:00"
    school.trial("TH-20.csv", start=at(60), seed=20)
    school.starts["TH-20"] = "09:01:00"
    school.trial("TH-21.csv", "TH-21", seed=21)
    school.trial("TH-21 copy.csv", seed=21)
    school.straps += [("S9", "TH-22", "", "")]
    school.write("TH-23.csv", table(np.concatenate((bpm_of(23), np.full(1900, 82.0))), NINE))
    school.starts["TH-23"] = "09:01:00"
    school.straps += [("S5", "TH-24", "", ""), ("S5", "TH-25", "", "")]
    school.trial("S5.csv", seed=24)
    school.write("TH-26.csv", b"")
    whole = fit(utc, bpm_of(27).astype(np.int64), (), 0)
    school.write("TH-27.fit", whole[: len(whole) * 9 // 10])
    school.starts["TH-27"] = "09:01:00"
    school.write("broken.csv", bytes(range(256)) * 40)
    school.trial("export.csv", start=at(200), seed=91)
    (school.bag / "old.csv").write_bytes((old / "old.csv").read_bytes())


SURE = {
    "TH-11": ("TH-11.csv", "09:03:00-09:09:00"),
    "TH-12": ("S2_2026-05-12.csv", "09:03:00-09:09:00"),
    "TH-13": ("S3.csv", "09:03:00-09:09:00"),
    "TH-14": ("S3 (2).csv", "09:23:00-09:29:00"),
    "TH-19": ("TH-19.fit", "09:03:00-09:09:00"),
}
ASKED = {
    "TH-15": {"S4.csv": {"day_plan.shared", "day_plan.worn_by_two", "hand_over.gap"}},
    "TH-16": {"S4.csv": {"day_plan.shared", "day_plan.worn_by_two", "hand_over.gap"}},
    "TH-17": {"TH-17.csv": {"guard.late"}},
    "TH-18": {"TH-18.csv": {"day_plan.other_day"}},
    "TH-20": {"TH-20.csv": {"day_plan.hours_off", "proposal.rests_on"}},
    "TH-21": {"TH-21.csv": {"day_plan.twice"}, "TH-21 copy.csv": {"day_plan.twice"}},
    "TH-22": {},
    "TH-23": {"TH-23.csv": {"day_plan.long"}},
    "TH-24": {"S5.csv": {"day_plan.shared", "proposal.rests_on"}},
    "TH-25": {"S5.csv": {"day_plan.shared", "proposal.rests_on"}},
    "TH-26": {"TH-26.csv": {"day_plan.empty"}},
    "TH-27": {"TH-27.fit": {"fit.cut_off"}},
}
NOBODYS = {
    "broken.csv": {"day_plan.nobody", "day_plan.no_protocol", "day_plan.unread"},
    "export.csv": {"day_plan.nobody", "day_plan.no_protocol"},
    "old.csv": {"day_plan.nobody", "day_plan.no_protocol", "day_plan.seen", "day_plan.other_day"},
}


@pytest.fixture
def school(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    made = School(tmp_path)
    filled(made)
    return made


def bare(row):
    return [path.rpartition("/")[2] for path in row["files"]]


def test_every_file_of_the_day(school, capsys):
    exit_code, rows, remarks = planned(school, capsys, "--zone", "America/Denver")
    assert exit_code == 1
    by_code = {row["code"]: row for row in rows if row["code"]}
    for code, (name, work) in SURE.items():
        row = by_code.pop(code)
        assert (row["sure"], row["checks"]) == (True, []), code
        assert (bare(row), row["protocol"], row["date"]) == ([name], "slalom-gym", "2026-05-12")
        assert row["work"] == work
    for code, files in ASKED.items():
        row = by_code.pop(code)
        assert not row["sure"], code
        assert sorted(bare(row)) == sorted(files), code
        expected = set().union(*files.values()) or {"day_plan.no_file"}
        assert checks(row) >= expected, code
        allowed = {"proposal.rests_on", "proposal.no_rest", "day_plan.start_differs", "hand_over.equal"}
        assert checks(row) - expected <= allowed, code
    assert by_code == {}
    nobodys = {bare(row)[0]: checks(row) for row in rows if row["code"] is None}
    assert nobodys == NOBODYS
    assert [each["code"] for each in remarks] == ["day_plan.strap_without_file"]
    assert remarks[0]["values"]["strap"] == {"text": "S9"}
    assert [row["sure"] for row in rows] == [True] * 5 + [False] * (len(rows) - 5)
    assert next(row for row in rows if row["code"] == "TH-18")["date"] == "2026-05-05"


def test_the_table_goes_into_the_logbook_and_keeps_aside_all_that_is_asked(school, capsys):
    planned(school, capsys, "--zone", "America/Denver")
    rows = table_rows(school)
    assert [row["code"] for row in rows if not row["check"]] == list(SURE)
    assert main(["class", "add", "day.csv"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert f"{len(SURE)} added, 0 there already, {len(rows) - len(SURE)} to confirm, 0 refused." in told
    assert main(["class", "add", "day.csv"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert f"0 added, {len(SURE)} there already, {len(rows) - len(SURE)} to confirm, 0 refused." in told


def test_questions_are_in_spanish_where_they_are_asked_for_and_nothing_else_differs(school, capsys):
    planned(school, capsys, "--zone", "America/Denver")
    assert school.plan("--zone", "America/Denver", "--lang", "es", out="dia.csv") == 1
    told = capsys.readouterr().out
    assert "seguro: TH-11, slalom-gym, TH-11.csv, trabajo 09:03:00-09:09:00." in told
    assert "5 filas seguras" in told
    assert "No hay ningún archivo de la banda S9, que llevó TH-22." in told
    english, spanish = table_rows(school), table_rows(school, "dia.csv")
    for one, other in zip(english, spanish, strict=True):
        assert {**one, "check": ""} == {**other, "check": ""}
        assert bool(one["check"]) == bool(other["check"])
        assert one["check"] != other["check"] or not one["check"]


def test_without_a_zone_what_states_utc_is_asked(school, capsys):
    _, rows, _ = planned(school, capsys)
    (row,) = [row for row in rows if row["code"] == "TH-19"]
    assert not row["sure"]
    assert "day_plan.no_zone" in checks(row)
    assert row["date"] is None


def test_a_table_that_a_spreadsheet_saved_says_the_same(school, capsys):
    planned(school, capsys, "--zone", "America/Denver")
    with (school.root / "day.csv").open(newline="") as handle:
        rows = list(csv.reader(handle))
    dated = [
        [f"{int(c[5:7])}/{int(c[8:])}/{c[:4]}" if c[:5] == "2026-" and len(c) == 10 else c for c in r] for r in rows
    ]
    text = "sep=;\r\n" + "".join(";".join(f'"{cell}"' for cell in row) + "\r\n" for row in dated)
    (school.root / "us.csv").write_bytes(text.encode("cp1252", "replace"))
    workbook(school.root / "day.xlsx", rows)
    said = []
    for name in ("day.csv", "us.csv", "day.xlsx"):
        place = school.root / f"{name}.db"
        place.write_bytes((school.root / "logbook.db").read_bytes())
        place.chmod(0o600)
        capsys.readouterr()
        assert main(["class", "add", name, "--logbook", str(place)]) == 1
        told = " ".join(capsys.readouterr().out.split())
        assert f"{len(SURE)} added" in told, name
        main(["trial", "list", "--json", "--logbook", str(place)])
        said.append(capsys.readouterr().out)
    assert said[0] == said[1] == said[2]


def workbook(path, rows):
    """The table as a workbook, dates as dates and numbers as a spreadsheet would take them."""
    from datetime import date

    from xlsxwriter import Workbook

    book = Workbook(str(path))
    sheet, dated = book.add_worksheet(), book.add_format({"num_format": "m/d/yyyy"})
    for place, row in enumerate(rows):
        for column, cell in enumerate(row):
            if cell[:5] == "2026-" and len(cell) == 10:
                sheet.write_datetime(place, column, date.fromisoformat(cell), dated)
            else:
                sheet.write_string(place, column, cell)
    book.close()
