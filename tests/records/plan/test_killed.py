"""A plan that is killed leaves no table or the whole one, at whatever moment, and the next one is not in its way."""

import csv

import pytest

from tests.records.plan.school import School

WHILE = {
    "files are read": "ownmark.records.plan.seen._judged",
    "the plan is made": "ownmark.records.plan.day.plan_day",
    "the table is made": "ownmark.records.plan.table.table_of",
    "it is forced to the disk": "os.fsync",
    "it gets its name": "pathlib.Path.replace",
}


@pytest.fixture
def school(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OWNMARK_LOGBOOK", str(tmp_path / "logbook.db"))
    made = School(tmp_path)
    made.only("TH-11", "TH-12")
    made.trial("TH-11.csv", "TH-11")
    made.trial("TH-12.csv", "TH-12", seed=2)
    return made


def rows(path):
    with path.open(newline="") as handle:
        return [(row["code"], row["work"], row["check"]) for row in csv.DictReader(handle)]


def words(school):
    roster = school.table("roster.csv", "code,protocol", school.roster.items())
    starts = school.table("starts.csv", "code,start", school.starts.items())
    return ["class", "plan", "bag", "--roster", roster, "--start", starts, "--out", "day.csv"]


@pytest.mark.parametrize(
    ("while_", "when"),
    [
        ("files are read", "after"),
        ("the plan is made", "after"),
        ("the table is made", "after"),
        ("it is forced to the disk", "before"),
        ("it gets its name", "before"),
        ("it gets its name", "after"),
    ],
)
def test_a_killed_plan_leaves_no_table_or_the_whole_one(school, capsys, zygote, while_, when):
    out = school.root / "day.csv"
    zygote.begin("dies", school.root / "logbook.db", 0, 0, school.root, WHILE[while_], when, *words(school))
    assert zygote.rest() == []
    if out.exists():
        assert (while_, when) == ("it gets its name", "after")
        assert rows(out) == [("TH-11", "09:03:00-09:09:00", ""), ("TH-12", "09:03:00-09:09:00", "")]
        return
    assert school.plan() == 0
    assert len(rows(out)) == 2
    assert [path.name for path in school.root.iterdir() if ".part-" in path.name] == []
