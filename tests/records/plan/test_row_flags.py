"""Every flag of a row: it is there where it must be, and not a step before."""

import gzip
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from ownmark.ingest.recording import Recording
from ownmark.records.plan.row import LONGER_S, Given, row_of
from ownmark.records.plan.seen import Seen
from ownmark.records.plan.sources import Earlier, Listed
from ownmark.records.plan.whose import Owner
from ownmark.sample_streams.writers import fit

from tests.makers.class_days import NINE, RECOVERY_S, REST_S, WORK_S, table
from tests.records.plan.bag import Bag, trial_bpm
from tests.records.plan.judged import codes_of
from tests.records.store import made


@pytest.fixture
def bag(tmp_path):
    return Bag(tmp_path / "bag")


def test_a_plain_row_is_sure_and_whole(bag):
    bag.trial("TH-11.csv", "TH-11")
    row = bag.row()
    assert row.sure
    assert (row.protocol, row.on, [path.name for path in row.files]) == ("slalom", date(2026, 5, 12), ["TH-11.csv"])
    phases = row.phases
    assert (phases.rest, phases.work) == ("09:00:30-09:01:30", "09:01:30-09:04:30")
    assert phases.recovery == "09:04:30-09:05:30"
    assert not bag.plan().to_look_at


def test_a_file_of_another_day(bag):
    bag.codes = ("TH-11", "TH-12", "TH-13")
    for number, days in ((11, 0), (12, 0), (13, -1)):
        bag.trial(f"TH-{number}.csv", f"TH-{number}", NINE + timedelta(days=days), seed=number)
    assert bag.told("TH-11") == set()
    assert bag.told("TH-13") == {"day_plan.other_day"}
    assert bag.row("TH-13").checks[0]["most"] == date(2026, 5, 12)
    assert bag.row("TH-13").on == date(2026, 5, 11)


def test_a_file_whose_date_can_be_two_days_neither_of_them_that_of_most_files(bag):
    bag.codes = ("TH-11", "TH-12")
    bag.trial("TH-11.csv", "TH-11")
    bag.trial("TH-12.csv", "TH-12")
    path = bag.folder / "TH-12.csv"
    path.write_text(path.read_text().replace("2026-05-12T", "05/06/2026 "))
    assert bag.told("TH-12") == {"day_plan.neither_day"}
    (check,) = bag.row("TH-12").checks
    assert check["days"] == (date(2026, 5, 6), date(2026, 6, 5))
    assert check["most"] == date(2026, 5, 12)
    assert bag.row("TH-12").on is None


def test_two_days_with_as_many_files_are_asked_of_both(bag):
    bag.codes = ("TH-11", "TH-12")
    for number, days in ((11, 0), (12, 1)):
        bag.trial(f"TH-{number}.csv", f"TH-{number}", NINE + timedelta(days=days), seed=number)
    assert bag.told("TH-11") == bag.told("TH-12") == {"day_plan.several_days"}
    (check,) = bag.row("TH-11").checks
    assert (check["on"], check["other"]) == (date(2026, 5, 12), date(2026, 5, 13))


def test_a_file_of_the_future(bag):
    bag.trial("TH-11.csv", "TH-11")
    bag.more["today"] = date(2026, 5, 12)
    assert bag.told() == set()
    bag.more["today"] = date(2026, 5, 11)
    assert bag.told() == {"day_plan.future"}


def test_utc_without_a_zone_and_with_one(bag):
    utc = datetime(2026, 5, 12, 15, 0, 0, tzinfo=UTC)
    bag.write("TH-11.fit", fit(utc, trial_bpm().astype(np.int64), (), 0))
    bag.begun("TH-11", NINE + timedelta(seconds=30))
    told = bag.told()
    assert "day_plan.no_zone" in told
    assert "day_plan.no_clock" not in told
    assert bag.row().on is None
    bag.more["zone"] = "America/Denver"
    row = bag.row()
    assert row.sure
    assert (row.on, row.phases.work) == (date(2026, 5, 12), "09:01:30-09:04:30")


@pytest.mark.parametrize("hours", [-2, -1, 1, 6])
def test_a_clock_that_is_off_by_whole_hours(bag, hours):
    bag.trial("TH-11.csv", start=NINE + timedelta(hours=hours))
    bag.begun("TH-11", NINE + timedelta(seconds=30))
    assert "day_plan.hours_off" in bag.told()
    (check,) = [each for each in bag.row().checks if each.code == "day_plan.hours_off"]
    assert (check["hours"], check["start"].text) == (-hours, "09:00")
    assert "proposal.rests_on" in bag.told()  # the start is not used


def test_a_start_outside_of_the_recording_by_no_whole_hours(bag):
    bag.trial("TH-11.csv", start=NINE + timedelta(minutes=30))
    bag.begun("TH-11", NINE + timedelta(seconds=30))
    assert "day_plan.start_outside" in bag.told()
    assert "day_plan.hours_off" not in bag.told()


def test_a_start_that_the_recording_does_not_show(bag):
    bag.trial("TH-11.csv", before_s=120.0)
    bag.begun("TH-11", NINE + timedelta(seconds=30))
    assert "day_plan.start_differs" in bag.told()


def test_a_start_and_no_clock(bag):
    bag.trial("TH-11.csv", start=None)
    bag.begun("TH-11", NINE + timedelta(seconds=30))
    assert {"day_plan.no_clock", "proposal.rests_on"} <= bag.told()


def test_a_strap_that_two_wore(bag):
    first, second = trial_bpm(1), trial_bpm(2)
    bag.write("TH-11.csv", table(np.concatenate((first, np.zeros(60), second)), NINE))
    bag.begun("TH-11", NINE + timedelta(seconds=30))
    assert {"day_plan.worn_by_two", "hand_over.gap"} <= bag.told()


def test_empty_cut_and_unreadable_files(bag):
    bag.codes = ("TH-11", "TH-12", "TH-13")
    bag.write("TH-11.csv", b"")
    bag.write("TH-12.csv", bytes(range(256)) * 20)
    whole = fit(NINE.replace(tzinfo=UTC), trial_bpm().astype(np.int64), (), 0)
    bag.write("TH-13.fit", whole[: len(whole) // 2])
    bag.more["zone"] = "UTC"
    assert bag.told("TH-11") == {"day_plan.empty"}
    assert bag.told("TH-12") == {"day_plan.unread"}
    assert {each for each in bag.told("TH-13") if each.startswith("fit.")} == {"fit.cut_off"}


def test_a_file_of_zeros_is_empty(bag):
    bag.write("TH-11.csv", table(np.zeros(300), NINE))
    assert "day_plan.empty" in bag.told()


def test_a_recording_that_the_logbook_holds(bag):
    bag.trial("TH-11.csv", "TH-11")
    assert bag.told(holders=lambda _: ((7, "TH-12"),)) == {"day_plan.seen"}
    (check,) = bag.row(holders=lambda _: ((7, "TH-12"),)).checks
    (trial,) = check["trials"]
    assert trial["number"] == 7


def test_the_same_file_twice(bag):
    bag.codes = ("TH-11", "TH-12")
    bag.trial("TH-11.csv", "TH-11")
    bag.trial("TH-12.csv", "TH-12")
    assert bag.told("TH-11") == bag.told("TH-12") == {"day_plan.twice"}
    assert bag.row("TH-11").checks[0]["file"].text == "TH-12.csv"


def test_two_files_with_a_heart_rate_for_one_student(bag):
    bag.trial("TH-11.csv", "TH-11")
    alone = bag.row().phases.work
    bag.trial("TH-11 (2).csv", seed=2)
    row = bag.row()
    assert codes_of(row.checks) == {"day_plan.two_files"}
    assert row.phases.work == alone != ""  # it was written down, whichever heart rate is right


def test_two_files_with_a_heart_rate_and_no_written_work_have_no_phases(bag):
    bag.trial("TH-11.csv")
    bag.trial("TH-11 (2).csv", seed=2)
    assert bag.row().phases.work == ""


def test_one_recording_packed_twice_for_one_student_is_one_heart_rate_and_keeps_its_work(bag):
    bag.trial("TH-11.csv", "TH-11")
    alone = bag.row().phases
    place = next(path for path in bag.folder.iterdir() if path.name == "TH-11.csv")
    (bag.folder / "TH-11.csv.gz").write_bytes(gzip.compress(place.read_bytes()))
    row = bag.row()
    assert len(row.files) == 2
    assert {each["what"].code for each in row.checks} == {"day_plan.twice"}
    assert row.phases == alone
    assert row.phases.work == "09:01:30-09:04:30"


def test_a_file_that_two_rows_match(bag):
    bag.codes = ("TH-11", "TH-12")
    bag.worn = [("S1", "TH-11"), ("S1", "TH-12")]
    bag.trial("S1.csv", "TH-11")
    assert "day_plan.shared" in bag.told("TH-11")
    assert "day_plan.shared" in bag.told("TH-12")


def test_a_student_and_a_strap_without_a_file(bag):
    bag.codes = ("TH-11", "TH-12")
    bag.worn = [("S1", "TH-11", "", ""), ("S2", "TH-12", "", ""), ("S3", "", "", "")]
    bag.trial("S1.csv", "TH-11")
    plan = bag.plan()
    assert bag.told("TH-12") == {"day_plan.no_file"}
    assert [each.code for each in plan.remarks] == ["day_plan.strap_without_file", "day_plan.strap_missing"]
    assert plan.remarks[0]["strap"].text == "S2"
    assert [each.text for each in plan.remarks[0]["students"]] == ["TH-12"]
    assert plan.to_look_at


def test_without_a_roster_those_of_the_list_and_of_the_time_table_are_expected(bag):
    bag.more["roster"] = ()
    bag.worn = [("S1", "TH-12", "", "")]
    bag.starts = {"TH-13": 9 * 3600.0, "": 9 * 3600.0}
    bag.write("TH-11.csv", table(trial_bpm(), NINE))
    rows = {row.code: codes_of(row.checks) for row in bag.plan().rows}
    assert set(rows) == {"TH-11", "TH-12", "TH-13"}
    assert rows["TH-12"] == rows["TH-13"] == {"day_plan.no_file", "day_plan.not_in_logbook"}


def test_a_file_of_nobody(bag):
    bag.trial("export.csv")
    (nobody,) = [row for row in bag.plan().rows if row.code is None]
    assert codes_of(nobody.checks) == {"day_plan.nobody", "day_plan.no_protocol"}
    assert (nobody.protocol, nobody.phases.work) == (None, "")


def test_the_time_table_says_nothing_of_a_file_of_another_day(bag):
    bag.codes = ("TH-11", "TH-12", "TH-13")
    bag.trial("TH-11.csv", "TH-11")
    bag.trial("TH-12.csv", seed=2)
    bag.begun("TH-13", NINE + timedelta(seconds=40))
    bag.trial("export.csv", start=NINE - timedelta(days=7), seed=3)
    (nobody,) = [row for row in bag.plan().rows if row.code is None]
    assert codes_of(nobody.checks) == {"day_plan.nobody", "day_plan.no_protocol", "day_plan.other_day"}


def test_a_student_of_another_class_and_one_whom_nobody_knows(bag):
    bag.more["known"] = frozenset({"TH-11", "TH-12"})
    bag.trial("TH-11.csv", "TH-11")
    bag.trial("TH-12.csv", "TH-12", seed=2)
    assert "day_plan.other_class" in bag.told("TH-12")
    bag.more["known"] = frozenset({"TH-12"})
    assert bag.told("TH-11") == {"day_plan.not_in_logbook"}


def test_the_protocol_of_the_roster_the_last_one_and_none(bag):
    bag.trial("TH-11.csv", "TH-11")
    bag.more["roster"] = (Listed("TH-11", "ramp"),)
    assert bag.told() == {"day_plan.unknown_protocol"}
    assert bag.row().protocol == "ramp"
    bag.more["roster"] = (Listed("TH-11"),)
    assert bag.told() == {"day_plan.no_protocol"}
    bag.more["last"] = lambda code: Earlier(code, "slalom", date(2026, 4, 1))
    assert bag.told() == {"day_plan.last_protocol"}
    assert bag.row().phases.work == "09:01:30-09:04:30"


def test_a_name_that_a_table_cannot_hold(bag):
    bag.trial("TH-11; gym.csv", "TH-11")
    assert bag.told() == {"day_plan.name"}


def test_a_sensor_without_a_clock_beside_a_strap_with_one(bag):
    bag.trial("TH-11.csv", "TH-11")
    still = "time,x,y,z\n" + "".join(f"{second / 10},0.0,0.0,1.0\n" for second in range(3000))
    bag.write("TH-11 frame.csv", still.replace("time,x,y,z", "Time (s),Acc X (g),Acc Y (g),Acc Z (g)").encode())
    told = bag.told()
    assert "day_plan.undated" in told


def test_files_on_different_days_do_not_go_together(bag):
    bag.trial("TH-11.csv", "TH-11")
    lines = ["Time,Acc X (g),Acc Y (g),Acc Z (g)"]
    lines += [f"{(NINE - timedelta(days=9) + timedelta(seconds=at / 10)).isoformat()},0,0,1" for at in range(3000)]
    bag.write("TH-11 frame.csv", "\n".join(lines).encode())
    row = bag.row()
    assert "day_plan.apart" in codes_of(row.checks)
    assert row.on is None


def test_twenty_minutes_longer_than_the_protocol_is_passed_over(bag):
    planned = REST_S + WORK_S + RECOVERY_S
    assert LONGER_S == 20 * 60.0
    assert "day_plan.long" not in long_told(bag, planned + LONGER_S)
    assert "day_plan.long" in long_told(bag, planned + LONGER_S + 1)


def long_told(bag, seconds):
    recording = Recording(streams=(), whole_s=(10.0, 10.0 + seconds))
    file = Seen(bag.folder / "TH-11.csv", recording)
    return codes_of(row_of("TH-11", [Given(file, Owner("TH-11"))], bag.sources()).checks)


def test_a_protocol_without_a_length_has_no_long_file(bag):
    bag.more["protocols"] = {"slalom": made.protocol("slalom")}
    assert "day_plan.long" not in long_told(bag, 4 * 3600.0)


def test_what_is_to_look_at_in_one_of_several_files_has_its_name(bag):
    bag.trial("TH-11.csv", "TH-11")
    bag.write("TH-11 b.csv", b"")
    (check,) = bag.row().checks
    assert (check.code, check["file"].text, check["what"].code) == ("day_plan.of_file", "TH-11 b.csv", "day_plan.empty")


def test_sure_rows_come_first_then_the_order_of_the_roster(bag):
    bag.codes = ("TH-13", "TH-12", "TH-11")
    bag.trial("TH-11.csv", "TH-11")
    bag.trial("export.csv", start=NINE + timedelta(hours=2, minutes=30), seed=2)
    assert [row.code for row in bag.plan().rows] == ["TH-11", "TH-13", "TH-12", None]
