"""The day as a fold of its entries: worked out by hand, entry by entry."""

from dataclasses import replace
from datetime import date, datetime, timedelta

from ownmark.records.day.happened import (
    Check,
    DayTest,
    Effort,
    File,
    Happened,
    Help,
    Moment,
    Note,
    Stop,
    by_day,
    happened,
)
from ownmark.records.day_entry import (
    Assisted,
    ClockCheck,
    Exertion,
    FileIn,
    Listed,
    Noted,
    Press,
    PutAway,
    RowDraft,
    Stopped,
    Stored,
    Undone,
    entry,
)

DAY = date(2026, 10, 6)
A, B = "a" * 64, "b" * 64


def at(clock):
    return datetime.fromisoformat(f"2026-10-06T{clock}")


def numbered(*entries):
    """Entries as they come back: (clock, what, code), with numbers from 1."""
    made = [entry(DAY, at(clock), what, *code) for clock, what, *code in entries]
    return [replace(each, number=number) for number, each in enumerate(made, 1)]


def fold(*entries):
    return happened(DAY, numbered(*entries))


def pressed(clock, what, code="TH-11", turn=1):
    return clock, Press(what=what, turn=turn), code


def test_a_day_without_entries_is_empty_and_nothing_is_open():
    assert fold() == Happened(DAY)
    assert not fold().open


def test_the_class_stands_in_the_order_of_the_list_and_the_last_listing_counts():
    day = fold(
        ("08:00:00", Listed(protocol="slalom-gym", strap="3"), "TH-11"),
        ("08:00:01", Listed(strap="4"), "BF-07"),
        ("08:10:00", Listed(protocol="slalom-gym", strap="5"), "TH-11"),
    )
    assert [(each.code, each.protocol, each.strap, each.listed) for each in day.tests] == [
        ("TH-11", "slalom-gym", "5", 3),
        ("BF-07", None, "4", 2),
    ]
    assert [each.state for each in day.tests] == ["waiting", "waiting"]
    assert not day.open  # a list alone leaves nothing to do
    assert day.last == 3


def test_presses_make_the_phases_of_each_student():
    day = fold(
        pressed("09:00:00", "rest_begins"),
        pressed("09:00:02", "rest_begins", "BF-07"),
        pressed("09:05:00", "work_begins"),
        pressed("09:11:00", "work_ends"),
        pressed("09:05:01", "work_begins", "S014"),
    )
    assert day.test("TH-11").presses == {
        "rest_begins": Moment(1, at("09:00:00")),
        "work_begins": Moment(3, at("09:05:00")),
        "work_ends": Moment(4, at("09:11:00")),
    }
    assert [day.test(each).state for each in ("TH-11", "BF-07", "S014")] == ["ended", "resting", "working"]
    assert day.test("XX-1") is None
    assert day.open


def test_a_phase_that_begins_again_takes_away_what_came_behind_it():
    day = fold(
        pressed("09:00:00", "rest_begins"),
        pressed("09:05:00", "work_begins"),
        pressed("09:06:00", "work_ends"),
        pressed("09:07:00", "work_begins"),
    )
    assert {kind: moment.number for kind, moment in day.tests[0].presses.items()} == {
        "rest_begins": 1,
        "work_begins": 4,
    }
    assert day.tests[0].state == "working"


def test_a_press_that_arrives_late_counts_at_its_time():
    day = fold(pressed("09:05:00", "work_begins"), pressed("09:11:00", "work_ends"), pressed("09:00:00", "rest_begins"))
    assert day.tests[0].state == "ended"
    assert {kind: moment.number for kind, moment in day.tests[0].presses.items()} == {
        "rest_begins": 3,
        "work_begins": 1,
        "work_ends": 2,
    }


def test_of_two_presses_at_one_second_the_later_entry_counts():
    day = fold(pressed("09:05:00", "work_begins"), pressed("09:05:00", "work_begins"))
    assert day.tests[0].presses["work_begins"].number == 2


def test_what_is_undone_does_not_count_and_undoing_that_brings_it_back():
    entries = [
        pressed("09:05:00", "work_begins"),
        pressed("09:06:00", "work_ends"),
        ("09:06:05", Undone(entry=2), "TH-11"),
    ]
    day = fold(*entries)
    assert (day.tests[0].state, day.undone) == ("working", {2})
    back = fold(*entries, ("09:06:09", Undone(entry=3), "TH-11"))
    assert (back.tests[0].state, back.undone) == ("ended", {3})
    again = fold(*entries, ("09:06:09", Undone(entry=3), "TH-11"), ("09:06:12", Undone(entry=4), "TH-11"))
    assert (again.tests[0].state, again.undone) == ("working", {2, 4})


def test_an_undo_takes_away_only_what_stood_before_it():
    day = fold(("09:05:00", Undone(entry=2), "TH-11"), pressed("09:06:00", "work_begins"))
    assert day.tests[0].state == "working"
    assert fold(("09:05:00", Undone(entry=1), "TH-11")).tests == ()
    assert fold(("09:05:00", Undone(entry=9), "TH-11")).undone == frozenset()


def test_a_student_whose_listing_was_undone_is_off_the_list():
    day = fold(("08:00:00", Listed(), "TH-11"), ("08:01:00", Undone(entry=1), "TH-11"))
    assert day.tests == ()


def test_stops_help_exertion_and_notes_of_a_student():
    day = fold(
        ("09:08:00", Stopped(why="wheel"), "TH-11"),
        ("09:07:00", Stopped(), "TH-11"),
        ("09:06:00", Assisted(what="begins", level="model"), "TH-11"),
        ("09:06:30", Assisted(what="ends"), "TH-11"),
        ("09:09:00", Assisted(what="begins"), "TH-11"),
        ("09:12:00", Exertion(value=12, scale="6-20"), "TH-11"),
        ("09:12:30", Exertion(value=13, scale="6-20"), "TH-11"),
        ("09:13:00", Noted(text="wind"), "TH-11"),
        ("09:14:00", Noted(text="sun"), "TH-11"),
    )
    test = day.tests[0]
    assert test.stops == (Stop(2, at("09:07:00"), ""), Stop(1, at("09:08:00"), "wheel"))
    assert test.assisted == (
        Help(3, at("09:06:00"), at("09:06:30"), "model"),
        Help(5, at("09:09:00"), None, None),
    )
    assert test.exertion == Effort(7, at("09:12:30"), 13, "6-20")
    assert test.notes == (Note(8, at("09:13:00"), "wind"), Note(9, at("09:14:00"), "sun"))
    assert test.begun


def test_help_that_ends_twice_or_never_began():
    day = fold(
        ("09:05:00", Assisted(what="ends"), "TH-11"),
        ("09:06:00", Assisted(what="begins", level="model"), "TH-11"),
        ("09:06:30", Assisted(what="ends", level="full physical"), "TH-11"),
        ("09:07:00", Assisted(what="ends"), "TH-11"),
    )
    assert day.tests[0].assisted == (Help(2, at("09:06:00"), at("09:06:30"), "full physical"),)


def test_each_kind_of_entry_alone_makes_a_test_begun_and_a_list_does_not():
    begin = [
        Press(what="rest_begins"),
        Stopped(),
        Assisted(what="begins"),
        Exertion(value=0, scale="0-10"),
        Noted(text="x"),
        RowDraft(),
    ]
    assert [fold(("09:00:00", what, "TH-11")).open for what in begin] == [True] * 6
    assert not DayTest("TH-11").begun


def test_the_last_row_counts_and_a_stored_one_is_closed():
    first, second = RowDraft(texts={"work": "9:05-9:13"}), RowDraft(texts={"notes": "n"})
    day = fold(("15:00:00", first, "TH-11"), ("15:01:00", second, "TH-11"))
    assert (day.tests[0].draft, day.tests[0].drafted) == (second, 2)
    assert day.open
    stored = fold(("15:00:00", first, "TH-11"), ("15:02:00", Stored(trial=4, files=(A,)), "TH-11"))
    assert (stored.tests[0].trials, stored.tests[0].files, stored.tests[0].stored) == ((4,), (A,), True)
    assert not stored.tests[0].begun
    assert not stored.open
    twice = fold(
        ("15:02:00", Stored(trial=4, files=(A,)), "TH-11"), ("15:03:00", Stored(trial=4, files=(B, A)), "TH-11")
    )
    assert (twice.tests[0].trials, twice.tests[0].files) == ((4,), (A, B))


def test_a_second_test_of_a_student_stands_for_itself():
    day = fold(
        ("08:00:00", Listed(protocol="slalom-gym"), "TH-11"),
        ("08:00:00", Listed(protocol="reach", turn=2), "TH-11"),
        pressed("09:05:00", "work_begins", turn=2),
    )
    assert [(each.turn, each.protocol, each.state) for each in day.tests] == [
        (1, "slalom-gym", "waiting"),
        (2, "reach", "working"),
    ]
    assert day.test("TH-11", 2).protocol == "reach"


def test_checks_stand_by_strap_however_its_label_is_written():
    day = fold(
        ("08:50:00", ClockCheck(strap="S3", how="button")),
        ("08:51:00", ClockCheck(strap="s3", how="shown", shown_s=31_860.0)),
        ("08:52:00", ClockCheck(strap="4", how="taps")),
    )
    assert day.checks == {
        "S3": (Check(1, at("08:50:00"), "button", None), Check(2, at("08:51:00"), "shown", 31_860.0)),
        "4": (Check(3, at("08:52:00"), "taps", None),),
    }
    assert not day.open


def test_the_same_file_twice_is_one_file_of_two_names():
    day = fold(
        ("14:00:00", FileIn(sha256=A, name="strap-3.fit", size=5)),
        ("14:01:00", FileIn(sha256=B, name="strap-4.fit", size=6)),
        ("14:02:00", FileIn(sha256=A, name="copy.fit", size=5)),
        ("14:03:00", FileIn(sha256=A, name="strap-3.fit", size=5)),
        ("14:04:00", FileIn(sha256=A, name="copy.fit", size=5)),
    )
    assert day.files == (
        File(1, at("14:00:00"), A, "strap-3.fit", 5, ("copy.fit",)),
        File(2, at("14:01:00"), B, "strap-4.fit", 6),
    )
    assert day.file(B).name == "strap-4.fit"
    assert day.file("c" * 64) is None
    assert day.open_files == day.files


def test_a_file_is_open_until_it_is_stored_or_put_away_and_opens_again_when_it_comes_again():
    came = [("14:00:00", FileIn(sha256=each, name=f"{each[0]}.fit", size=5)) for each in (A, B)]
    put = [*came, ("14:10:00", PutAway(sha256=A)), ("14:11:00", PutAway(sha256="c" * 64))]
    assert [each.sha256 for each in fold(*put).open_files] == [B]
    assert fold(*put).file(A).put_away == 3
    stored = [*put, ("14:12:00", Stored(trial=1, files=(B,)), "TH-11")]
    assert not fold(*stored).open
    assert fold(*stored, ("14:13:00", came[0][1])).open_files == (File(1, at("14:00:00"), A, "a.fit", 5),)
    assert fold(*stored, ("14:13:00", Undone(entry=3))).open


def test_entries_of_other_days_and_without_a_number_do_not_count():
    other = [replace(each, day=DAY + timedelta(days=1)) for each in numbered(pressed("09:00:00", "rest_begins"))]
    assert happened(DAY, other) == Happened(DAY)
    assert happened(DAY, [entry(DAY, at("09:00:00"), Press(what="rest_begins"), "TH-11")]) == Happened(DAY)
    found = by_day([*other, *numbered(pressed("09:00:00", "rest_begins"))])
    assert list(found) == [DAY + timedelta(days=1), DAY]
    assert found[DAY].tests[0].state == "resting"


def test_the_order_in_which_entries_are_read_does_not_matter():
    entries = numbered(pressed("09:00:00", "rest_begins"), ("09:01:00", Undone(entry=1), "TH-11"))
    assert happened(DAY, entries[::-1]) == happened(DAY, entries)
