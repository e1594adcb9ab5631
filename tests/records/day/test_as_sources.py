"""Presses as what the plan knows: starts, works, who wore which strap from when until when, and clocks put right."""

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from ownmark.records import open_logbook
from ownmark.records.day.as_sources import as_sources, notes_text, on_the_clock, start_of, work_text, worn_by
from ownmark.records.day.clock_checks import Shift
from ownmark.records.day_entry import ClockCheck, FileIn, Listed, Noted, RowDraft
from ownmark.records.plan.day import plan_day
from ownmark.records.plan.seen import Seen, see
from ownmark.records.plan.sources import Listed as OnRoster
from ownmark.records.wearing import Worn

from tests.makers.class_days import NINE, RECOVERY_S, REST_S, WORK_S, seconds_of_day, table
from tests.records.day.test_happened import DAY, fold, pressed
from tests.records.plan.bag import BEFORE_S, trial_bpm
from tests.records.store import made

PROTOCOL = made.protocol("slalom", rest_s=REST_S, work_s=WORK_S, recovery_s=RECOVERY_S)
A = "a" * 64
N = 9 * 3600.0


@pytest.fixture
def school(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        for code in ("TH-11", "BF-07"):
            logbook.add_student(made.student(code))
        logbook.add_protocol(PROTOCOL)
        yield logbook


def listed(code="TH-11", strap="S3", turn=1):
    return "08:00:00", Listed(protocol="slalom", strap=strap, turn=turn), code


def phases(code="TH-11", begin="09:00:00", rest=True):
    """Rest at ``begin``, work two minutes later, for four."""
    at = datetime.fromisoformat(f"2026-10-06T{begin}")
    clocks = [(at + timedelta(minutes=minutes)).time().isoformat() for minutes in (0, 2, 6)]
    return [
        *([pressed(clocks[0], "rest_begins", code)] if rest else []),
        pressed(clocks[1], "work_begins", code),
        pressed(clocks[2], "work_ends", code),
    ]


def test_presses_become_starts_and_works_and_notes_stand_beside(school):
    notes = [("09:10:00", Noted(text="wind\nand sun"), "TH-11"), ("09:11:00", Noted(text="x"), "TH-11")]
    day = fold(listed(), listed("BF-07", "S4"), *phases(), *notes)
    found = as_sources(school, day, zone="America/Denver", today=date(2026, 10, 7))
    assert found.roster == (OnRoster("TH-11", "slalom", "S3"), OnRoster("BF-07", "slalom", "S4"))
    assert found.starts == {"TH-11": N}
    assert found.works == {"TH-11": "9:02:00-9:06:00"}
    assert found.notes == {"TH-11": "wind and sun x"}
    assert found.worn == (Worn("S3", "TH-11"), Worn("S4", "BF-07"))
    assert (found.zone, found.today, found.known) == ("America/Denver", date(2026, 10, 7), {"TH-11", "BF-07"})


def test_a_start_is_the_rests_else_that_of_the_work_less_the_planned_rest():
    only = fold(pressed("09:02:00", "work_begins")).tests[0]
    assert start_of(only, PROTOCOL) == N + 120 - REST_S
    assert start_of(only, None) == N + 120
    both = fold(*phases(rest=False)).tests[0]
    assert start_of(both, PROTOCOL) is None  # the work stands for itself
    assert start_of(fold(pressed("09:00:05", "rest_begins")).tests[0], PROTOCOL) == N + 5
    assert start_of(fold(pressed("09:00:05", "work_ends")).tests[0], PROTOCOL) is None


def test_work_needs_both_of_its_ends_and_a_length():
    assert work_text(fold(pressed("09:02:00", "work_begins")).tests[0]) == ""
    assert work_text(fold(pressed("09:02:00", "work_ends")).tests[0]) == ""
    assert work_text(fold(pressed("09:02:00", "work_begins"), pressed("09:02:00", "work_ends")).tests[0]) == ""
    found = fold(pressed("09:02:03", "work_begins"), pressed("13:02:04", "work_ends")).tests[0]
    assert work_text(found) == "9:02:03-13:02:04"
    assert notes_text(found) == ""


def handed_on(*seen):
    day = fold(listed(), listed("BF-07", "s3"), *phases("BF-07", "09:20:00"), *phases())
    return worn_by(day.tests, {"slalom": PROTOCOL}, seen, None)


def file(name, begin, until):
    """A file of a strap that ran from ``begin`` until ``until`` [s after 9:00]."""

    class Ran(Seen):
        def clock_span(self, zone):
            return (N + begin, N + until)

    return Ran(Path(name))


def test_a_strap_that_was_handed_on_changes_half_way_between_the_presses():
    # TH-11 ends at 9:06:00 and the recovery; BF-07 begins at 9:20:00.
    middle = (6 * 60 + RECOVERY_S + 20 * 60) / 2
    text = (datetime(2026, 10, 6, 9) + timedelta(seconds=round(middle))).time().isoformat()  # noqa: DTZ001
    assert handed_on() == [Worn("S3", "TH-11", "", text), Worn("S3", "BF-07", text, "")]


def test_a_strap_that_was_handed_on_changes_between_its_files():
    # The first file ends at 9:15:00, the second begins at 9:15:20: both lie between the presses.
    files = [file("S3-a.fit", -60, 900), file("S3-b.fit", 920, 2000), file("S4.fit", 0, 700)]
    assert handed_on(*files) == [Worn("S3", "TH-11", "", "09:15:10"), Worn("S3", "BF-07", "09:15:10", "")]


def test_of_a_shared_strap_who_was_not_pressed_has_no_times():
    day = fold(listed(), listed("BF-07", "S3"), *phases())
    assert worn_by(day.tests, {"slalom": PROTOCOL}, (), None) == [Worn("S3", "TH-11"), Worn("S3", "BF-07")]


def test_a_second_test_of_the_day_is_no_part_of_the_plan(school):
    day = fold(listed(turn=2), pressed("09:00:00", "rest_begins", turn=2))
    found = as_sources(school, day, zone=None)
    assert (found.roster, found.starts, found.worn) == ((), {}, ())


def test_a_file_that_rows_name_is_their_students(school):
    day = fold(
        ("14:00:00", FileIn(sha256=A, name="x.fit", size=1)),
        ("14:01:00", RowDraft(files=(A, "b" * 64)), "TH-11"),
        ("14:02:00", RowDraft(files=(A,)), "BF-07"),
    )
    found = as_sources(school, day, zone=None, paths={A: Path("in/x.fit")})
    assert found.given == {Path("in/x.fit"): ("TH-11", "BF-07")}


def recorded(folder, name, off_s=0.0, presses=()):
    """A student's trial begun at 9:00:30 by a clock that was wrong by ``off_s``."""
    path = folder / name
    path.write_bytes(table(trial_bpm(), NINE + timedelta(seconds=off_s)))
    (seen,) = see([path], None, lambda _: ())
    return seen


def test_a_check_puts_a_clock_right_and_the_file_finds_its_place(school, tmp_path):
    seen = recorded(tmp_path, "S3.csv", -3700.0)
    begin = NINE + timedelta(seconds=BEFORE_S)
    clocks = [(begin + timedelta(seconds=each)).time().isoformat() for each in (0, REST_S, REST_S + WORK_S)]
    presses = [
        pressed(clock, what) for clock, what in zip(clocks, ("rest_begins", "work_begins", "work_ends"), strict=True)
    ]
    shown = ("08:50:00", ClockCheck(strap="s3", how="shown", shown_s=N - 600 - 3700))
    plain = fold(listed(), *presses)
    assert "day_plan.work_hours_off" in codes(school, plain, [seen])  # without the check it is asked about
    day = fold(listed(), *presses, shown)
    laid = on_the_clock(day, [seen], None)
    assert laid.shifts == {seen.sha256: 3700.0}
    assert laid.seen[0].clock_span(None)[0] == seconds_of_day(NINE)
    assert codes(school, day, laid.seen) == []


def codes(school, day, seen):
    sources = as_sources(school, day, seen, zone=None)
    (row,) = [each for each in plan_day(seen, sources).rows if each.code == "TH-11"]
    assert row.files == (seen[0].path,)
    return [each.code for each in row.checks]


@pytest.mark.parametrize(("shown", "shifts"), [(N - 2, {2.0}), (N - 1, set())])
def test_a_clock_that_is_right_to_two_seconds_stays(tmp_path, shown, shifts):
    seen = recorded(tmp_path, "S3.csv")
    day = fold(("09:00:00", ClockCheck(strap="S3", how="shown", shown_s=shown)))
    laid = on_the_clock(day, [seen], None)
    assert set(laid.shifts.values()) == shifts
    assert (laid.seen == (seen,)) == (not shifts)


def test_a_check_of_another_strap_moves_nothing_and_what_a_person_typed_goes_first(tmp_path):
    seen = recorded(tmp_path, "S3.csv")
    other = fold(("09:00:00", ClockCheck(strap="S4", how="shown", shown_s=N - 40)))
    assert on_the_clock(other, [seen], None).shifts == {}
    typed = fold(
        ("09:00:00", ClockCheck(strap="S3", how="shown", shown_s=N - 40)),
        ("14:00:00", RowDraft(shifts={seen.sha256: 86_400.0}), "TH-11"),
    )
    laid = on_the_clock(typed, [seen], None)
    assert laid.shifts == {seen.sha256: 86_400.0}
    assert laid.seen[0].on(None) == DAY_AFTER


DAY_AFTER = (NINE + timedelta(days=1)).date()


def test_a_single_flash_is_suggested_and_not_applied(tmp_path, monkeypatch):
    from dataclasses import replace

    from ownmark.ingest.recording import Mark

    seen = recorded(tmp_path, "S3.csv")
    marked = replace(seen, recording=replace(seen.recording, marks=(Mark(100.0, "button"), Mark(200.0, "lap"))))
    at = (NINE + timedelta(seconds=130)).time().isoformat()
    laid = on_the_clock(fold((at, ClockCheck(strap="S3", how="button"))), [marked], None)
    assert (laid.shifts, laid.suggested) == ({}, {seen.sha256: Shift(30.0, False)})
    assert laid.seen == (marked,)


def test_a_file_that_cannot_be_read_stays_as_it_is(tmp_path):
    broken = Seen(tmp_path / "S3.fit")
    day = fold(("09:00:00", ClockCheck(strap="S3", how="shown", shown_s=N - 40)))
    assert on_the_clock(day, [broken], None).seen == (broken,)
    assert date(2026, 10, 6) == DAY
