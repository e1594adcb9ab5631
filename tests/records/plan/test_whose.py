"""Whose a file is, rule by rule: who, what is asked, and what is sure."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from ownmark.ingest.recording import Recording
from ownmark.records.plan.seen import Seen
from ownmark.records.plan.sources import Earlier, Listed, Sources
from ownmark.records.plan.whose import owners_of, owners_of_all
from ownmark.records.wearing import Worn

NINE = datetime(2026, 5, 12, 9, 0, 0)  # noqa: DTZ001 a strap states no zone
CODES = ("TH-11", "TH-12", "TH-13")
A, B, C = CODES


def seen(name, start=NINE, minutes=10.0):
    """A file of so many minutes; ``start`` None: it states no clock."""
    return Seen(Path(name), Recording(streams=(), start=start, whole_s=(0.0, 60 * minutes)))


def sources(*worn, roster=CODES, **more):
    return Sources(roster=tuple(map(Listed, roster)), worn=worn, known=frozenset(CODES), **more)


def owned(file, *worn, **more):
    """Code, and the codes of what is asked, of each owner."""
    return [(each.code, [check.code for check in each.checks]) for each in owners_of(file, sources(*worn, **more))]


def after(minutes):
    return NINE + timedelta(minutes=minutes)


def test_a_code_in_the_name_is_sure_and_two_are_not():
    assert owned(seen("TH-11.csv")) == [(A, [])]
    assert owned(seen("th-11 gym.csv", start=None)) == [(A, [])]
    assert owned(seen("TH-11 TH-12.csv")) == [(None, ["day_plan.several"])]


def test_a_code_that_the_list_of_straps_alone_knows_counts():
    assert owned(seen("TH-99.csv"), Worn("S1", "TH-99"), roster=()) == [("TH-99", [])]


def test_a_code_of_digits_is_sure_only_where_it_is_all_of_the_name():
    digits = Sources(roster=(Listed("12"),))
    assert [(each.code, each.checks) for each in owners_of(seen("12.csv"), digits)] == [("12", ())]
    (owner,) = owners_of(seen("week 12.csv"), digits)
    assert (owner.code, [each.code for each in owner.checks]) == ("12", ["day_plan.by_short_code"])
    both = Sources(roster=(Listed("12"),), worn=(Worn("12", A),))
    (owner,) = owners_of(seen("week 12.csv"), both)
    assert (owner.code, [each.code for each in owner.checks]) == (None, ["day_plan.against_list"])


def test_the_list_of_straps_is_sure_by_a_label_with_letters():
    assert owned(seen("S1.csv"), Worn("S1", A)) == [(A, [])]
    assert owned(seen("s1 gym.csv", start=None), Worn("S1", A), Worn("S2", B)) == [(A, [])]
    assert owned(seen("export.csv"), Worn("S1", A)) == [(None, ["day_plan.nobody"])]


def test_the_list_can_name_files():
    assert owned(seen("export.csv"), Worn("S1", A, files=("export.csv",))) == [(A, [])]
    assert owned(seen("export.csv"), Worn("", A, files=("export.csv",))) == [(A, [])]


def test_a_number_among_other_words_is_asked():
    assert owned(seen("strap 3.csv"), Worn("3", A)) == [(A, [])]
    assert owned(seen("week 3.csv"), Worn("3", A)) == [(A, ["day_plan.by_number"])]
    assert owned(seen("week 3.csv"), Worn("3", A), Worn("3", B)) == [(None, ["day_plan.several"])]
    assert owned(seen("week 3.csv"), Worn("3", A), Worn("3", B, "11:00", "11:10")) == [(A, ["day_plan.by_number"])]
    assert owned(seen("week 3.csv"), Worn("3", "")) == [(None, ["day_plan.nobody"])]


def test_a_number_inside_a_students_code_is_no_strap():
    assert owned(seen("TH-11.csv"), Worn("11", B)) == [(A, [])]


def test_a_name_against_the_list():
    assert owned(seen("TH-11 S1.csv"), Worn("S1", B)) == [(None, ["day_plan.against_list"])]
    assert owned(seen("TH-11 week 3.csv"), Worn("3", B)) == [(None, ["day_plan.against_list"])]
    assert owned(seen("TH-11 S1.csv"), Worn("S1", A)) == [(A, [])]


def test_a_name_and_a_list_that_agree_are_held_against_the_time():
    first, second = Worn("S1", A, "9:00", "9:10"), Worn("S1", B, "9:10", "9:20")
    assert owned(seen("TH-11 S1.csv"), first, second) == [(A, [])]
    assert owned(seen("TH-11 S1.csv", minutes=12), first, second) == [(A, ["day_plan.shared"])]
    assert owned(seen("TH-11 S1.csv", after(-3)), first) == [(A, ["day_plan.other_time"])]
    assert owned(seen("TH-11 S1.csv", None), first) == [(A, [])]
    (owner,) = owners_of(seen("TH-11 S1.csv", minutes=12), sources(first, second))
    assert owner.window == (9 * 3600.0, 9 * 3600.0 + 600)
    (owner,) = owners_of(seen("TH-11 S1.csv"), sources(first, second))
    assert owner.window is None


def test_by_the_list_a_time_that_does_not_fit_is_asked():
    one = Worn("S1", A, "9:00", "9:10")
    assert owned(seen("S1.csv"), one) == [(A, [])]
    assert owned(seen("S1.csv", after(2), 10), one) == [(A, [])]
    assert owned(seen("S1.csv", after(2.1), 10), one) == [(A, ["day_plan.other_time"])]
    assert owned(seen("S1.csv", after(20)), one) == [(A, ["day_plan.other_time"])]
    assert owned(seen("S1.csv", after(60)), one) == [(A, ["day_plan.worn_hours_off"])]
    assert owned(seen("S1.csv", None), one) == [(A, ["day_plan.no_clock"])]
    assert owned(seen("S1.csv"), Worn("S1", A, "9:00", "")) == [(A, [])]
    assert owned(seen("S1.csv"), Worn("S1", A, "9:03", "")) == [(A, ["day_plan.other_time"])]
    assert owned(seen("S1.csv"), Worn("S1", A, "", "9:10")) == [(A, [])]
    assert owned(seen("S1.csv"), Worn("S1", A, "", "9:07")) == [(A, ["day_plan.other_time"])]
    assert owned(seen("S1.csv"), Worn("S1", A, "9:10", "9:00")) == [(A, ["day_plan.other_time"])]
    assert owned(seen("S1.csv"), Worn("S1", A, "soon", "9:10")) == [(A, ["day_plan.other_time"])]


def test_several_wearers_and_no_clock_or_no_times_name_nobody_or_all():
    untimed = Worn("S1", A), Worn("S1", B)
    assert owned(seen("S1.csv"), *untimed) == [(A, ["day_plan.shared"]), (B, ["day_plan.shared"])]
    assert owned(seen("S1.csv", None), *untimed) == [(None, ["day_plan.several", "day_plan.no_clock"])]
    timed = Worn("S1", A, "9:00", "9:10"), Worn("S1", B, "9:10", "9:20")
    assert owned(seen("S1.csv", after(40)), *timed) == [(None, ["day_plan.other_time"] * 2)]
    assert owned(seen("S1.csv", minutes=20), *timed) == [(A, ["day_plan.shared"]), (B, ["day_plan.shared"])]
    windows = [each.window for each in owners_of(seen("S1.csv", minutes=20), sources(*timed))]
    assert windows == [(32400.0, 33000.0), (33000.0, 33600.0)]
    (alone,) = owners_of(seen("S1.csv"), sources(*timed))
    assert alone.window is None


def test_a_file_over_two_turns_of_one_student_and_one_of_another_has_the_first_turn():
    turns = Worn("S1", A, "9:00", "9:10"), Worn("S1", B, "9:10", "9:20"), Worn("S1", A, "9:20", "9:30")
    windows = {each.code: each.window for each in owners_of(seen("S1.csv", minutes=30), sources(*turns))}
    assert windows == {A: (32400.0, 33000.0), B: (33000.0, 33600.0)}


def test_when_a_strap_was_worn_is_told_as_it_was_written():
    (owner,) = owners_of(seen("S1.csv", after(-60)), sources(Worn("S1", A, "9:00", "")))
    (check,) = owner.checks
    assert [check[name].text for name in ("student", "since", "until")] == [A, "9:00", "…"]
    (owner,) = owners_of(seen("S1.csv", after(60)), sources(Worn("S1", A, "", "9:10")))
    (check,) = owner.checks
    assert [check[name].text for name in ("student", "since", "until")] == [A, "…", "9:10"]


def test_a_student_who_wore_a_strap_twice_has_the_file_once():
    twice = Worn("S1", A, "9:00", "9:10"), Worn("S1", A, "9:20", "9:30")
    assert owned(seen("S1.csv"), *twice) == [(A, [])]
    assert owned(seen("S1.csv", after(20)), *twice) == [(A, [])]
    assert owned(seen("S1.csv", minutes=30), *twice) == [(A, ["day_plan.other_time"])]


def test_a_wearer_without_times_beside_one_with_times():
    both = Worn("S1", A, "9:00", "9:10"), Worn("S1", B)
    assert owned(seen("S1.csv"), *both) == [(A, ["day_plan.shared"]), (B, ["day_plan.shared"])]
    assert owned(seen("S1.csv", after(20)), *both) == [(B, [])]
    assert all_owned([seen("S1.csv", after(20))], *both) == [[(B, ["day_plan.by_clock_alone"])]]


def test_a_wearer_without_a_code_is_nobody():
    assert owned(seen("S1.csv"), Worn("S1", "")) == [(None, ["day_plan.nobody"])]


def test_without_a_name_the_time_table_proposes_the_only_one_who_began():
    starts = {A: 9 * 3600.0, B: 9 * 3600.0 + 700, "": 9 * 3600.0}
    assert owned(seen("export.csv"), starts=starts) == [(A, ["day_plan.by_clock"])]
    assert owned(seen("export.csv", minutes=12), starts=starts) == [(None, ["day_plan.several"])]
    assert owned(seen("export.csv", after(11.7), 1), starts=starts) == [(None, ["day_plan.nobody"])]
    assert owned(seen("export.csv", after(10), 700 / 60 - 10), starts=starts) == [(B, ["day_plan.by_clock"])]
    assert owned(seen("export.csv", None), starts=starts) == [(None, ["day_plan.nobody"])]


def test_who_has_a_file_of_their_own_is_not_among_those_whom_another_file_fits():
    starts = {A: 9 * 3600.0, B: 9 * 3600.0 + 100, C: 9 * 3600.0 + 200}
    straps = (Worn("S1", A), Worn("S2", B))
    spare = seen("export.csv")

    def of_spare(*files, worn=straps, **more):
        return [
            (each.code, [check.code for check in each.checks])
            for each in owners_of_all([*files, spare], sources(*worn, starts=starts, **more))[-1]
        ]

    assert of_spare(seen("S1.csv"), seen("S2.csv")) == [(C, ["day_plan.by_clock_left"])]
    assert of_spare(seen("TH-11.csv"), seen("S2.csv")) == [(C, ["day_plan.by_clock_left"])]
    # B's strap gave no file: it may be this one.
    (owner,) = owners_of_all([seen("S1.csv"), spare], sources(*straps, starts=starts))[-1]
    assert [[each.text for each in check["students"]] for check in owner.checks] == [[B, C]]
    # Everyone has one: nothing says whose it is.
    assert of_spare(seen("S1.csv"), seen("S2.csv"), seen("TH-13.csv")) == [(None, ["day_plan.nobody"])]
    told = {Path("x.csv"): (A, B)}
    assert of_spare(seen("x.csv"), worn=(), given=told) == [(C, ["day_plan.by_clock_left"])]
    # A number in a name may be a code or not, and gives nobody a file.
    codes = {"12": 9 * 3600.0, C: 9 * 3600.0 + 200}
    (owner,) = owners_of_all([seen("week 12.csv"), spare], Sources(roster=(Listed("12"), Listed(C)), starts=codes))[-1]
    assert [check.code for check in owner.checks] == ["day_plan.several"]


BEFORE = date(2026, 4, 1)


def test_a_name_of_an_earlier_trial_is_asked_and_names_nobody_where_several_had_it():
    named = {"frame-1": (Earlier(A, "slalom", BEFORE),), "heart-rate": (Earlier(A, "slalom", BEFORE),)}
    (owner,) = owners_of(seen("frame-1_2026-05-12.csv"), sources(named=named))
    assert (owner.code, [each.code for each in owner.checks]) == (A, ["day_plan.by_earlier"])
    assert owner.checks[0]["on"] == BEFORE
    assert owned(seen("heart-rate.csv"), named=named) == [(None, ["day_plan.nobody"])]
    several = {"frame-1": (Earlier(B, "slalom", BEFORE), Earlier(A, "slalom", BEFORE))}
    assert owned(seen("frame-1.csv"), named=several) == [(None, ["day_plan.several"])]
    gone = {"frame-1": (Earlier("TH-99", "slalom", BEFORE),)}
    assert owned(seen("frame-1.csv"), named=gone) == [(None, ["day_plan.nobody"])]


def all_owned(files, *worn):
    return [
        [(each.code, [check.code for check in each.checks]) for each in owners]
        for owners in owners_of_all(files, sources(*worn))
    ]


ROUND = (Worn("S1", A, "9:00", "9:10"), Worn("S1", B, "9:20", "9:30"))


def test_a_strap_that_went_round_is_sure_where_each_wearer_has_a_file():
    files = [seen("S1.csv"), seen("s1 (2).csv", after(20))]
    assert all_owned(files, *ROUND) == [[(A, [])], [(B, [])]]


def test_a_file_less_or_more_and_the_clock_alone_is_not_enough():
    alone = ["day_plan.by_clock_alone"]
    assert all_owned([seen("S1.csv")], *ROUND) == [[(A, alone)]]
    files = [seen("S1.csv"), seen("S1 (2).csv", after(20)), seen("S1 (3).csv", after(20.5), 9)]
    assert all_owned(files, *ROUND) == [[(A, alone)], [(B, alone)], [(B, alone)]]
    assert all_owned([seen("S1.csv"), seen("TH-12 S1.csv", after(20))], *ROUND) == [[(A, [])], [(B, [])]]
    assert all_owned([seen("TH-11 S1.csv")], *ROUND) == [[(A, [])]]
    (check,) = owners_of_all([seen("S1.csv")], sources(*ROUND))[0][0].checks
    assert [each.text for each in check["students"]] == [A, B]
    assert check["student"].text == A


def test_a_clock_that_is_off_by_one_turn_leaves_one_file_over():
    turned = [seen("S1.csv", after(20)), seen("S1 (2).csv", after(40))]  # truly at 9:00 and 9:20
    assert all_owned(turned, *ROUND) == [[(B, ["day_plan.by_clock_alone"])], [(None, ["day_plan.other_time"] * 2)]]


def test_a_turn_of_somebody_unknown_is_not_sure_either():
    unknown = (Worn("S1", A, "9:00", "9:10"), Worn("S1", "", "9:20", "9:30"))
    files = [seen("S1.csv"), seen("S1 (2).csv", after(20))]
    assert all_owned(files, *unknown) == [[(A, ["day_plan.by_clock_alone"])], [(None, ["day_plan.nobody"])]]


def test_labels_are_one_in_any_case_of_letters():
    lower = (Worn("S1", A, "9:00", "9:10"), Worn("s1", B, "9:20", "9:30"))
    assert all_owned([seen("S1.csv")], *lower) == [[(A, ["day_plan.by_clock_alone"])]]


@pytest.mark.parametrize(("zone", "code"), [("America/Denver", A), (None, None)])
def test_utc_needs_a_zone_to_be_a_time_of_day(zone, code):
    utc = datetime(2026, 5, 12, 15, 0, 0, tzinfo=UTC)
    files = [seen("S1.csv", utc), seen("S1 b.csv", utc + timedelta(minutes=20))]
    found = owners_of_all(files, sources(*ROUND, zone=zone))
    assert found[0][0].code == code
    assert (found[0][0].checks == ()) is (zone is not None)


def test_a_wearer_without_times_is_not_looked_for_where_another_wore_it():
    shared = (Worn("S1", A), Worn("S1", B, "9:10", "9:30"))
    windows = {each.code: each.window for each in owners_of(seen("S1.csv", minutes=30), sources(*shared))}
    assert windows == {A: (32400.0, 33000.0), B: (33000.0, 34200.0)}
    named = {each.code: each.window for each in owners_of(seen(f"S1-{A}.csv", minutes=30), sources(*shared))}
    assert named[A] == (32400.0, 33000.0)
    # Nothing is left of the file: nothing is proposed. Without anybody's times it may be anywhere.
    whole = (Worn("S1", A), Worn("S1", B, "8:50", "9:40"))
    windows = {each.code: each.window for each in owners_of(seen("S1.csv", minutes=30), sources(*whole))}
    assert windows[A] == (32400.0, 32400.0)
    anywhere = (Worn("S1", A), Worn("S1", B))
    assert {each.window for each in owners_of(seen("S1.csv", minutes=30), sources(*anywhere))} == {None}
