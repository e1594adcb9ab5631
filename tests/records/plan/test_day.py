"""The files of a day beside each other: days, copies, straps that are missing, and the order of the rows."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from ownmark.ingest.recording import Recording
from ownmark.records.plan import messages as say
from ownmark.records.plan.day import Plan, plan_day
from ownmark.records.plan.row import Planned
from ownmark.records.plan.seen import Seen
from ownmark.records.plan.sources import Listed, Sources
from ownmark.records.wearing import Worn

from tests.makers.recordings import pulse
from tests.records.plan.judged import codes_of

NINE = datetime(2026, 5, 12, 9, 0, 0)  # noqa: DTZ001 a strap states no zone
STILL = pulse(np.arange(60.0), np.full(60, 80.0))
DAY_FLAGS = {"day_plan.other_day", "day_plan.several_days", "day_plan.future"}


def seen(name, days=0, sha256="", start=NINE):
    at = None if start is None else start + timedelta(days=days)
    return Seen(Path(name), Recording(streams=(STILL,), start=at), sha256)


def sources(*codes, **more):
    return Sources(**{"roster": tuple(map(Listed, codes)), "known": frozenset(codes), **more})


def day_flags(*files, today=None):
    """What is said of each file's day, by its name."""
    plan = plan_day(files, sources(today=today))
    found = {}
    for row in plan.rows:
        found[row.files[0].name] = [each for each in row.checks if each.code in DAY_FLAGS]
    return found


def test_one_day_is_no_question():
    assert day_flags(seen("a"), seen("b"), seen("c", start=None)) == {"a": [], "b": [], "c": []}


def test_the_day_of_most_files_and_of_two_days_with_as_many_the_first():
    found = day_flags(seen("c", 3), seen("d", 3), seen("a", 1), seen("b", 1), seen("e", 2))
    days = [date(2026, 5, 12) + timedelta(days=each) for each in range(4)]
    assert found["a"] == found["b"] == [say.day_plan_several_days(days[1], days[3])]
    assert found["c"] == found["d"] == [say.day_plan_several_days(days[3], days[1])]
    assert found["e"] == [say.day_plan_other_day(days[2], days[1])]


def test_of_three_days_one_other_is_named():
    found = day_flags(seen("a"), seen("b", 1), seen("c", 2))
    assert [len(each) for each in found.values()] == [1, 1, 1]
    assert found["c"][0]["other"] == date(2026, 5, 12)


@pytest.mark.parametrize(
    ("days", "proposed"), [((0,), 0), ((0, 1, 1), 1), ((1, 0), None), ((), None), ((0, 0, 1, 1, 2), None)]
)
def test_a_file_without_a_day_is_proposed_for_that_of_most(days, proposed):
    files = [seen(f"TH-{20 + place}", each) for place, each in enumerate(days)]
    plan = plan_day([seen("TH-11", start=None), *files], sources("TH-11"))
    (row,) = [row for row in plan.rows if row.code == "TH-11"]
    assert row.on == (None if proposed is None else date(2026, 5, 12) + timedelta(days=proposed))
    assert not row.sure


def test_a_day_to_come_is_told_as_that_alone():
    found = day_flags(seen("a"), seen("b"), seen("c", 1), today=date(2026, 5, 12))
    assert found["a"] == []
    assert found["c"] == [say.day_plan_future(date(2026, 5, 13))]


def twice(*files):
    plan = plan_day(files, sources("TH-11", "TH-12", "TH-13"))
    return {
        row.code: [each["file"].text for each in row.checks if each.code == "day_plan.twice"]
        for row in plan.rows
        if row.files
    }


def test_each_of_several_copies_names_the_others():
    found = twice(seen("TH-11", sha256="x"), seen("TH-12", sha256="x"), seen("TH-13", sha256="x"))
    assert found == {"TH-11": ["TH-12", "TH-13"], "TH-12": ["TH-11", "TH-13"], "TH-13": ["TH-11", "TH-12"]}
    assert twice(seen("TH-11", sha256="x"), seen("TH-12", sha256="y")) == {"TH-11": [], "TH-12": []}
    packed, plain = (replace(seen(code, sha256=code), content="z") for code in ("TH-11", "TH-12"))
    assert twice(packed, plain) == {"TH-11": ["TH-12"], "TH-12": ["TH-11"]}
    assert twice(Seen(Path("TH-11")), Seen(Path("TH-12"))) == {"TH-11": [], "TH-12": []}


def missing(*worn, files=("S1.csv",)):
    return [(each.code, each["strap"].text) for each in plan_day(list(map(seen, files)), sources(worn=worn)).remarks]


def test_straps_without_a_file_are_named_once_with_all_who_wore_them():
    worn = (Worn("S1", "TH-11"), Worn("S3", "TH-13"), Worn("S2", "TH-12"), Worn("S2", "TH-11"), Worn("S4", ""))
    with_, without = "day_plan.strap_without_file", "day_plan.strap_missing"
    assert missing(*worn, files=("S1.csv", "other.csv")) == [(with_, "S2"), (with_, "S3"), (without, "S4")]
    (remark,) = plan_day([], sources(worn=worn[2:4])).remarks
    assert [each.text for each in remark["students"]] == ["TH-11", "TH-12"]


@pytest.mark.parametrize(("name", "there"), [("3", True), ("strap-3", True), ("week 3", False), ("13", False)])
def test_a_strap_of_a_number_is_there_where_that_is_clear(name, there):
    assert missing(Worn("3", "TH-11"), files=(name,)) == ([] if there else [("day_plan.strap_without_file", "3")])


def test_files_that_the_list_names_are_there():
    assert missing(Worn("S3", "TH-11", files=("export.csv",)), files=("export.csv",)) == []


def test_rows_stand_by_roster_then_by_code_and_those_of_nobody_last():
    files = [seen("export"), seen("TH-99"), seen("TH-12"), seen("TH-98"), seen("other")]
    plan = plan_day(files, sources("TH-13", "TH-12", known=frozenset({"TH-98", "TH-99"})))
    assert [row.code for row in plan.rows] == ["TH-13", "TH-12", "TH-98", "TH-99", None, None]
    assert [row.files[0].name for row in plan.rows[4:]] == ["export", "other"]
    assert "day_plan.no_file" in codes_of(plan.rows[0].checks)


def test_there_is_something_to_look_at_in_a_row_or_beside_them():
    sure, asked = Planned("TH-11", "slalom", ()), Planned("TH-12", "slalom", (), checks=(say.DAY_PLAN_NO_FILE,))
    remark = (say.DAY_PLAN_NO_FILE,)
    assert not Plan(()).to_look_at
    assert not Plan((sure,)).to_look_at
    assert Plan((sure, asked)).to_look_at
    assert Plan((sure,), remark).to_look_at
    assert plan_day([seen("TH-11")], sources("TH-11", zone="UTC")).zone == "UTC"
