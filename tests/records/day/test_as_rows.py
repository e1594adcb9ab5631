"""Rows of a class's day: ready by the presses alone, asked with answers that can be given, stored once."""

import gzip
from datetime import timedelta

import pytest
from ownmark.records import open_logbook
from ownmark.records.day.as_rows import DayRow
from ownmark.records.day.as_sources import clock_text
from ownmark.records.day.storing import answered, store
from ownmark.records.day_entry import Assisted, ClockCheck, Exertion, Noted, RowDraft, Stopped
from ownmark.records.plan.seen import see
from ownmark.records.protocol import HandMeasure
from ownmark.records.store.day_entries import append

from tests.makers.class_days import NINE, REST_S, WORK_S, table
from tests.records.day.class_day import AFTER, DAY, TODAY, ClassDay
from tests.records.plan.bag import BEFORE_S, trial_bpm
from tests.records.store import made

LATER = NINE + timedelta(minutes=25)


@pytest.fixture
def day(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        yield ClassDay(logbook, "TH-11", "BF-07", "S014")


def test_a_pressed_day_is_ready_without_a_question_and_stored_as_it_happened(day):
    for code, strap, seed in (("TH-11", "S3", 1), ("BF-07", "S4", 2)):
        day.listed(code, strap)
        day.pressed(code)
        day.recorded(f"{strap}.csv", seed=seed)
    day.enter(Noted(text="wind"), "TH-11")
    day.enter(Exertion(value=13, scale="6-20"), "TH-11")
    assert [(each.code, each.state) for each in day.rows] == [("TH-11", "ready"), ("BF-07", "ready")]
    result = day.stored("TH-11")
    assert (result.outcome.state, result.asked, result.trial) == ("added", (), 1)
    trial = day.logbook.trial(1)
    assert (trial.code, trial.on, trial.notes, trial.exertion, trial.exertion_scale) == (
        *("TH-11", DAY, "wind", 13, "6-20"),
    )
    assert trial.sheet.figures["heart_rate_mean"].value is not None
    assert [(each.state, each.trials) for each in day.rows] == [("stored", (1,)), ("ready", ())]
    assert day.needed == frozenset(day.row("BF-07").files)
    day.stored("BF-07")
    assert not day.needed
    assert not day.now.open


def test_only_what_somebody_looked_at_is_kept_as_looked_at(day):
    for code, strap, begin in (("TH-11", "S3", NINE), ("BF-07", "S4", LATER)):
        day.listed(code, strap)
        day.pressed(code, begin)
    day.recorded("S3.csv")
    day.recorded("S9.csv", LATER, seed=2)  # of no strap of the list: only its clock says whose it is
    day.answer("BF-07", "day_plan.by_clock", "so")
    assert [day.stored(code).trial for code in ("TH-11", "BF-07")] == [1, 2]
    assert day.logbook.trial(1).confirmed == ()
    assert day.logbook.trial(2).confirmed == ("checked",)


def test_a_row_that_was_stored_when_the_page_stopped_is_not_stored_twice(day):
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    day.recorded("S3.csv")
    ready = day.row("TH-11")
    for _ in range(2):
        result = store(day.logbook, DAY, ready, AFTER.replace(tzinfo=None), today=TODAY, zone=None)
        assert result.trial == 1
    assert result.outcome.state == "there already"
    assert (day.row("TH-11").trials, day.logbook.count()["trials"]) == ((1,), 1)
    with pytest.raises(ValueError, match="not ready"):
        store(day.logbook, DAY, DayRow("TH-11", 1, "asked"), AFTER.replace(tzinfo=None), today=TODAY, zone=None)


def test_a_packed_copy_is_the_same_recording(day):
    for code, strap, begin in (("TH-11", "S3", NINE), ("BF-07", "S4", LATER)):
        day.listed(code, strap)
        day.pressed(code, begin)
    data = table(trial_bpm(1), NINE)
    packed = day.dropped("S3.csv.gz", gzip.compress(data))
    ready = day.row("TH-11")
    assert ready.files == (packed,)
    for state in ("added", "there already"):
        result = store(day.logbook, DAY, ready, AFTER.replace(tzinfo=None), today=TODAY, zone=None)
        assert (result.trial, result.outcome.state) == (1, state)
    plain = day.dropped("S4.csv", data)
    assert "day_plan.twice" in day.asked("BF-07")
    (seen,) = see([day.received.path(DAY, plain)], None, day.logbook.holders)
    assert "day_plan.seen" in [each.code for each in seen.checks]


def test_what_the_plan_asks_is_answered_and_asked_again_only_if_it_changes(day):
    day.listed("TH-11", "S3")
    day.recorded("S3.csv")  # nothing was pressed: the phases are proposals
    asked = day.row("TH-11").asked
    assert {answer.kind for each in asked for answer in each.answers} == {"so", "write"}
    for each in asked:
        day.answer("TH-11", each.code, "so")
    assert day.row("TH-11").state == "ready"
    assert "confirmed" in day.row("TH-11").row.texts
    day.pressed("TH-11", NINE + timedelta(minutes=4))
    assert "day_plan.start_differs" in day.asked("TH-11")


def test_a_file_of_nobody_is_given_to_a_student_and_taken_away_again(day):
    day.listed("TH-11", "S3")
    day.listed("BF-07", "S4")
    day.pressed("TH-11")
    file = day.recorded("unknown.csv")
    assert [each.code for each in day.rows] == ["TH-11", "BF-07"]  # the clock proposes the only one who began in it
    assert day.asked("TH-11") == ["day_plan.by_clock"]
    day.answer("TH-11", "day_plan.by_clock", "give", "BF-07")
    assert (day.row("BF-07").files, day.row("TH-11").files) == ((file,), ())
    day.enter(RowDraft(files=()), "BF-07")
    nobody = day.row(None)
    assert (nobody.files, [each.code for each in nobody.asked]) == ((file,), ["day_plan.nobody"])
    day.answer(None, "day_plan.nobody", "give", "TH-11")
    assert (day.row("TH-11").state, day.row("TH-11").files) == ("ready", (file,))


def test_a_file_that_nobody_needs_is_put_away(day):
    day.listed("TH-11")
    day.dropped("holiday.csv", b"not,a\nrecording,x\n")
    assert day.asked(None) == ["day_plan.unread"]  # it holds nobody's heart: nobody is asked whose it is
    day.answer(None, "day_plan.unread", "put_away")
    assert [each.code for each in day.rows] == ["TH-11"]


def test_which_of_two_days_it_was_is_not_answered_by_that_it_is_so(day):
    for number, (code, days) in enumerate({"TH-11": 0, "S014": 0, "BF-07": 7}.items(), start=3):
        day.listed(code, f"S{number}")
        day.pressed(code)
        day.recorded(f"S{number}.csv", begin=NINE - timedelta(days=days), seed=number)
    asked = {each.code: each for each in day.row("BF-07").asked}["day_plan.other_day"]
    assert [each.kind for each in asked.answers] == ["day", "shift", "put_away"]


def test_a_file_of_two_students_is_given_and_not_put_away_for_both(day):
    day.listed("TH-11", "S3")
    day.listed("BF-07", "S3")
    day.recorded("S3.csv")
    asked = {each.code: each for row in day.rows for each in row.asked}
    kinds = {each.kind for each in asked["day_plan.shared"].answers}
    assert "give" in kinds
    assert "put_away" not in kinds


def test_a_file_of_another_day_was_of_that_day_or_its_clock_was_wrong(day):
    day.listed("TH-11", "S3")
    day.recorded("S3.csv", NINE - timedelta(days=3))
    day.pressed("TH-11", NINE)
    asked = {each.code: each for each in day.row("TH-11").asked}["day_row.other_day"]
    assert [(each.kind, each.value) for each in asked.answers[:2]] == [
        ("day", (DAY - timedelta(days=3)).isoformat()),
        ("shift", "259200"),
    ]
    day.answer("TH-11", "day_row.other_day", "shift")
    assert day.row("TH-11").state == "ready"
    assert day.stored("TH-11").outcome.state == "added"
    assert (day.logbook.trial(1).on, day.logbook.trial(1).clock_shifts) == (DAY, {"S3.csv": 259_200.0})


def test_of_another_day_it_goes_in_on_that_day(day):
    day.listed("TH-11", "S3")
    day.recorded("S3.csv", NINE - timedelta(days=3))
    day.pressed("TH-11", NINE)
    day.answer("TH-11", "day_row.other_day", "day", (DAY - timedelta(days=3)).isoformat())
    assert day.row("TH-11").state == "ready"
    assert day.stored("TH-11").outcome.state == "added"
    assert day.logbook.trial(1).on == DAY - timedelta(days=3)


def test_a_clock_that_was_off_by_an_hour_is_put_right_by_one_answer(day):
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    day.recorded("S3.csv", NINE - timedelta(hours=1))
    assert "day_plan.work_hours_off" in day.asked("TH-11")
    day.answer("TH-11", "day_plan.work_hours_off", "shift", "3600")
    assert day.row("TH-11").state == "ready"


def test_a_display_that_was_read_moves_the_clock_without_a_question(day):
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    day.recorded("S3.csv", NINE - timedelta(seconds=200))
    shown = (NINE - timedelta(minutes=10, seconds=200)).replace(tzinfo=None)
    seconds = (shown - shown.replace(hour=0, minute=0, second=0)).total_seconds()
    day.enter(ClockCheck(strap="S3", how="shown", shown_s=seconds), at=NINE - timedelta(minutes=10))
    assert day.row("TH-11").state == "ready"
    assert day.row("TH-11").row.clock_shifts == ("S3.csv=+0:03:20",)


def test_of_two_files_one_is_kept_or_both(day):
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    first, second = day.recorded("S3-a.csv"), day.recorded("S3-b.csv", seed=2)
    question = next(each for each in day.row("TH-11").asked if each.code == "day_plan.two_files")
    assert [(each.kind, each.file) for each in question.answers] == [
        ("so", ""),
        ("only_file", first),
        ("only_file", second),
    ]
    day.answer("TH-11", "day_plan.two_files", "only_file", file=second)
    assert day.row("TH-11").files == (second,)
    assert day.asked(None) == ["day_plan.nobody"]  # what the row leaves out waits for somebody


def test_where_both_of_two_files_stay_the_work_that_was_pressed_stays_too(day):
    """Else the whole recording could be taken for work, with what others wore of the strap."""
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    day.recorded("S3-a.csv")
    alone = day.row("TH-11").texts["work"]
    day.recorded("S3-b.csv", seed=2)
    assert alone
    assert day.row("TH-11").texts["work"] == alone
    day.answer("TH-11", "day_plan.two_files", "so")
    assert day.row("TH-11").texts["work"] == alone


def test_a_student_without_a_file_is_off_the_list_or_waits(day):
    listed = day.listed("TH-11", "S3")
    assert day.row("TH-11").state == "empty"
    question = day.answer("TH-11", "day_plan.no_file", "off_list")
    assert [(each.kind, each.value) for each in question.answers] == [
        ("off_list", f"{listed.number}"),
        ("write", "files"),
    ]
    assert day.rows == ()


def test_a_student_who_had_no_test_is_off_the_list_with_all_that_was_entered(day):
    day.listed("TH-11", "S3")
    day.listed("TH-11", "S4")  # another strap
    day.pressed("TH-11")
    day.enter(RowDraft(texts={"notes": "wind"}), "TH-11")
    day.listed("BF-07", "S5")
    day.answer("TH-11", "day_plan.no_file", "off_list")
    assert [each.code for each in day.rows] == ["BF-07"]
    assert [each.code for each in day.now.tests] == ["BF-07"]


def test_a_protocol_is_chosen_where_none_is_known(day):
    day.listed("TH-11", "S3", protocol=None)
    day.pressed("TH-11")
    day.recorded("S3.csv")
    assert day.asked("TH-11") == ["day_plan.no_protocol"]
    day.answer("TH-11", "day_plan.no_protocol", "protocol", "slalom")
    assert day.row("TH-11").texts["protocol"] == "slalom"


def test_stops_help_and_what_was_typed_go_in(day):
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    day.recorded("S3.csv")
    at = NINE + timedelta(seconds=BEFORE_S + REST_S + 30)
    day.enter(Stopped(why="wheel; loose"), "TH-11", at)
    day.enter(Stopped(), "TH-11", at + timedelta(seconds=30))
    day.enter(Assisted(what="begins", level="full physical"), "TH-11", at)
    assert day.asked("TH-11") == ["day_row.stop_why"]  # the help ends with the work
    day.enter(RowDraft(texts={"stops": "@9:05 wheel loose", "notes": "typed", "temperature_c": "21"}), "TH-11")
    texts = day.row("TH-11").texts
    assert (texts["stops"], texts["notes"], texts["temperature_c"]) == ("@9:05 wheel loose", "typed", "21")
    assert texts["assistance_given"] == "full physical"
    ends = at + timedelta(seconds=WORK_S - 30)
    assert texts["assisted"] == f"@{clock_text(at)}-@{clock_text(ends)}"
    assert day.stored("TH-11").outcome.state == "added"
    assert [each.why for each in day.logbook.trial(1).stops] == ["wheel loose"]


def test_an_empty_text_takes_away_what_the_plan_proposes(day):
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    day.recorded("S3.csv")
    assert "recovery" in day.row("TH-11").texts
    day.enter(RowDraft(texts={"recovery": ""}), "TH-11")
    assert "recovery" not in day.row("TH-11").texts


def test_typed_phases_settle_what_is_asked_of_phases(day):
    day.listed("TH-11", "S3")
    day.recorded("S3.csv")
    assert day.row("TH-11").state == "asked"
    day.enter(RowDraft(texts={"rest_phase": "0:30-2:30", "work": "2:30-6:30"}), "TH-11")
    assert day.row("TH-11").state == "ready"


def test_help_without_an_end_is_asked_where_the_work_has_none(day):
    day.listed("TH-11", "S3")
    day.recorded("S3.csv")
    day.enter(Assisted(what="begins"), "TH-11", NINE + timedelta(minutes=4))
    assert "day_row.help_end" in day.asked("TH-11")
    day.enter(RowDraft(texts={"assisted": "9:04-9:05"}), "TH-11")
    assert "day_row.help_end" not in day.asked("TH-11")


def test_a_result_by_hand_needs_no_file(day):
    reach = HandMeasure(name="reach", unit="cm", kind="distance", sides=False, attempts=1, how="as read")
    day.logbook.add_protocol(
        made.protocol("reach", component="flexibility", primary_figure="reach", better="higher", hand_measures=(reach,))
    )
    day.listed("TH-11", protocol="reach")
    assert (day.row("TH-11").state, day.row("TH-11").asked) == ("empty", ())
    day.enter(RowDraft(texts={"reach": "31"}), "TH-11")
    assert day.row("TH-11").state == "ready"
    assert day.stored("TH-11").outcome.state == "added"
    assert (day.logbook.trial(1).on, day.logbook.trial(1).hand_results[0].value) == (DAY, 31)
    assert day.row("TH-11").state == "stored"


def test_a_second_test_of_the_day_goes_by_its_own_presses_and_files(day):
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    first = day.recorded("S3.csv")
    day.listed("TH-11", "S3", turn=2)
    day.pressed("TH-11", LATER, turn=2)
    second = day.recorded("later.csv", LATER, seed=3)
    day.enter(RowDraft(turn=2, files=(second,)), "TH-11")
    assert day.row("TH-11", 2).state == "ready"
    assert day.row("TH-11", 1).files == (first,)
    assert day.stored("TH-11", 2).outcome.state == "added"
    assert day.row("TH-11", 2).trials == (1,)
    assert day.row("TH-11").state == "ready"


def test_what_is_asked_where_a_row_is_stored_comes_with_its_words(day):
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    day.recorded("S3.csv")
    day.enter(RowDraft(texts={"notes": "Maria was tired"}), "TH-11")
    result = day.stored("TH-11")
    assert (result.outcome.state, result.trial) == ("to confirm", None)
    (asked,) = result.asked
    assert (asked.code, [(each.kind, each.value) for each in asked.answers]) == (
        "guard.named",
        [("confirm", "keep-text")],
    )
    at = AFTER.replace(tzinfo=None)
    append(day.logbook, *answered(day.now, day.rows, day.row("TH-11"), asked.answers[0], asked.mark, at))
    assert day.stored("TH-11").outcome.state == "added"


def test_a_strap_of_two_holds_both_in_turn(day):
    for code, begin in (("TH-11", NINE), ("BF-07", LATER)):
        day.listed(code, "S3")
        day.pressed(code, begin)
    day.recorded("S3-a.csv")
    day.recorded("S3-b.csv", LATER, seed=2)
    assert [(each.code, each.state) for each in day.rows] == [("TH-11", "ready"), ("BF-07", "ready")]


def test_a_file_that_comes_after_its_student_was_stored_waits_for_somebody(day):
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    day.recorded("S3-a.csv")
    day.stored("TH-11")
    late = day.recorded("S3-b.csv", LATER, seed=2)
    assert day.row("TH-11").state == "stored"
    assert (day.row(None).files, day.asked(None)) == ((late,), ["day_row.left_over"])
    assert day.needed == {late}
    day.answer(None, "day_row.left_over", "put_away")
    assert not day.now.open


def test_a_file_that_could_not_be_read_does_not_leave_with_its_row(day):
    day.listed("TH-11", "S3")
    day.pressed("TH-11")
    good, bad = day.recorded("S3-a.csv"), day.dropped("S3-b.csv", b"not,a\nrecording,x\n")
    assert day.asked("TH-11") == ["day_plan.unread"]
    day.answer("TH-11", "day_plan.unread", "so")
    assert day.stored("TH-11").outcome.state == "added"
    assert day.row("TH-11").files == (good,)
    assert [each.sha256 for each in day.now.open_files] == [bad]
    assert day.needed == {bad}


def test_a_file_without_a_heart_is_never_right_as_it_stands(day):
    day.listed("TH-11", "S3")
    day.dropped("S3.csv", b"time,heart rate\n" + b"".join(b"%d,0\n" % second for second in range(600)))
    kinds = {each.code: {answer.kind for answer in each.answers} for each in day.row("TH-11").asked}
    assert "day_plan.empty" in kinds
    assert not any("so" in each for each in kinds.values())


def test_a_row_that_is_ready_stays_ready_once_the_other_wearer_of_its_strap_is_stored(day):
    day.listed("TH-11", "S3")
    day.listed("BF-07", "S3")
    day.pressed("TH-11")
    day.pressed("BF-07", LATER)
    first, second = day.recorded("S3_a.csv"), day.recorded("S3_b.csv", LATER, seed=2)
    assert [(each.state, each.files) for each in day.rows] == [("ready", (first,)), ("ready", (second,))]
    day.stored("TH-11")
    day.received.remove(first, DAY)  # as the page does with what no row needs any more
    assert [(each.state, each.files) for each in day.rows] == [("stored", (first,)), ("ready", (second,))]


def test_a_stored_file_of_another_strap_does_not_tell_the_wearers_of_this_one_apart(day):
    day.listed("TH-11", "S3")
    day.listed("BF-07", "S3")
    day.pressed("TH-11")
    day.pressed("BF-07", LATER)
    spare = day.recorded("S9.csv")
    day.answer("TH-11", "day_plan.by_clock", "so")
    day.stored("TH-11")
    day.received.remove(spare, DAY)
    day.recorded("S3_b.csv", LATER, seed=2)
    assert day.asked("BF-07") == ["day_plan.by_clock_alone"]
