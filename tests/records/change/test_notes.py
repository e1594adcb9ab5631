"""What must be said beside a verdict, and when it must not be."""

from datetime import timedelta

import pytest
from ownmark.errors import NothingToCompare
from ownmark.records.catalogue import edited
from ownmark.records.change import messages as say
from ownmark.records.change.comparison import BasisSeen
from ownmark.records.change.notes import (
    check_order,
    counted,
    error_notes,
    figures_apart,
    shift_notes,
    standing_notes,
    third_baseline,
    why_not_given,
)
from ownmark.records.change.verdict import DECREASE, INCREASE, WITHIN, Judged
from ownmark.words.message import Quoted

from tests.records.makers import CRANK, FIRST, ON_REST, figure_of, sentence, sentences, trial

RISE = "heart_rate_rise"
PRACTISED = {"practice_trials": 1}


def test_practice_is_left_out_with_a_note_and_trials_stand_by_day_and_time():
    notes = []
    found = counted([trial(7, 1), trial(0, 2, time_of_day="11:00", id=8), trial(0, 3, time_of_day="09:00")], notes)
    assert [each.trial.id for each in found] == [1, 8, 8]
    assert found[0].trial.time_of_day == "09:00"
    assert notes == []
    assert counted([trial(0, 1, practice=True), trial(7, 2)], notes)[0].trial.id == 8
    assert sentences(notes) == ["Practice trials are left out."]
    # A trial without a time stands before the others of its day.
    assert counted([trial(0, 1, time_of_day="09:00"), trial(0, 2, id=5)], [])[0].trial.id == 5


def test_a_retest_on_the_day_of_the_baseline_must_not_be_earlier():
    def checked(before, after):
        check_order([trial(0, 1, **before)], [trial(0, 2, id=9, **after)])

    checked({"time_of_day": "09:00"}, {"time_of_day": "09:01"})
    checked({"time_of_day": "09:00"}, {"time_of_day": "09:00"})
    checked({"time_of_day": "23:59"}, {})  # at an unknown time it may be later
    checked({}, {"time_of_day": "00:00"})
    with pytest.raises(NothingToCompare, match="comes before"):
        checked({"time_of_day": "09:01"}, {"time_of_day": "09:00"})
    # The last baseline against the first re-test, whatever follows.
    check_order([trial(0, 1), trial(5, 1)], [trial(5, 2, id=9), trial(9, 2)])
    reversed_days = "the re-test of September 5, 2025 comes before its baseline of September 6, 2025"
    with pytest.raises(NothingToCompare, match=reversed_days):
        check_order([trial(0, 1), trial(5, 1)], [trial(4, 2), trial(9, 2)])
    with pytest.raises(NothingToCompare, match="no re-test"):
        check_order([trial(0, 1)], [])
    with pytest.raises(NothingToCompare, match="no baseline"):
        check_order([], [trial(0, 1)])
    # Trials that are in no logbook have no number to be the same.
    check_order([trial(0, 1, id=None)], [trial(5, 1, id=None)])


def test_a_plain_pair_with_practice_leaves_nothing_to_say():
    assert standing_notes([trial(0, 40, **PRACTISED)], [trial(60, 20)]) == []
    assert why_not_given([trial(0, 40)], [trial(60, 20)], RISE) is None


def test_one_practised_baseline_is_practice_and_none_is_not():
    told = standing_notes([trial(0, 40), trial(7, 40, practice_trials=0)], [trial(60, 20, **PRACTISED)])
    assert len(told) == 1
    assert "No practice trial is written down before the baseline" in sentence(told[0])
    assert standing_notes([trial(0, 40), trial(7, 40, **PRACTISED)], [trial(60, 20)]) == []


def test_the_last_baseline_and_the_first_retest_may_be_of_one_day():
    days = [trial(0, 40, **PRACTISED), trial(60, 41)], [trial(60, 42, id=9), trial(70, 42)]
    assert sentences(standing_notes(*days)) == ["Baseline and re-test are on the same day."]
    assert standing_notes([trial(0, 40, **PRACTISED), trial(60, 41)], [trial(61, 42), trial(70, 42)]) == []


def test_other_figures_on_another_basis_are_named_and_the_primary_one_is_not():
    def made(day, rest, **facts):
        figures = {
            "heart_rate_mean": figure_of(120, unit="/min"),
            "reserve_mean": figure_of(40, unit="%", rests_on=ON_REST),
            "beats_above_rest": figure_of(None, unit="1", rests_on=ON_REST),
        }
        return trial(day, 40, figures=figures, basis=BasisSeen(rest_bpm=rest), **facts)

    pair = [made(0, 70.0, **PRACTISED), made(60, 80.0)]
    assert figures_apart(pair, RISE) == ["reserve_mean"]
    assert figures_apart(pair, "reserve_mean") == [RISE]
    assert figures_apart([pair[0], made(60, 70.0)], RISE) == []
    (note,) = standing_notes(pair[:1], pair[1:])
    assert sentence(note).endswith("must not be read side by side: mean share of the reserve.")
    assert "is worked out from different values in these trials (rest of 70.0 and 80.0 /min)" in sentence(
        why_not_given(pair[:1], pair[1:], RISE)
    )
    changed = edited(CRANK, {"primary_figure": "heart_rate_mean"})
    told = standing_notes([trial(0, 40, **PRACTISED)], [trial(60, protocol=changed)])
    assert sentences(told) == [
        "The protocol's primary figure has been changed since; the baseline's is the one compared."
    ]


def judged(**fields):
    return Judged(**{"verdict": INCREASE, "change": 9.0, "low": 9.0, "high": 9.0, "error": 2.0, "df": 3.0, **fields})


def test_an_error_of_three_own_degrees_needs_no_remark():
    assert error_notes(judged(), "/min", RISE) == []
    assert error_notes(judged(df=2.0), "/min", RISE) == []


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"floored": True}, "the error of reading it is used, 2 /min."),
        ({"others": 4}, "borrowed from other students until this student has four baselines"),
        ({"wilder": True}, "varies more from day to day than the others do"),
        ({"df": 1.0}, "The day-to-day variation is known from two trials"),
        ({"drift": 0.5}, "The baselines were rising by about 0.5 /min from one to the next"),
        ({"drift": 0.01}, "The baselines were rising by about 0.01 /min"),
        ({"drift": -0.01, "change": -9.0, "verdict": DECREASE}, "The baselines were falling by about 0.01 /min"),
    ],
)
def test_each_remark_on_the_error_stands_alone(fields, told):
    (note,) = error_notes(judged(**fields), "/min", RISE)
    assert told in sentence(note)


@pytest.mark.parametrize(("percent", "share"), [(95.0, 31.93), (97.5, 22.98), (98.0, 20.64)])
def test_what_a_third_baseline_leaves_is_worked_out_at_the_level_of_the_verdict(percent, share):
    # t of 1 and 2 degrees in a printed table: 12.706 and 4.303 at 95 %, 25.452 and 6.205 at 97.5 %, 31.821 and 6.965 at
    # 98 %; √(1/3 + 1) against √(1/2 + 1). So 31.93, 22.98 and 20.64 %.
    assert third_baseline(percent) == pytest.approx(share, abs=0.01)
    (note,) = error_notes(judged(df=1.0, percent=percent), "/min", RISE)
    assert f"brings that to about {third_baseline(percent):.0f} % of it" in sentence(note)


def test_what_is_no_remark():
    # An error of one degree that is borrowed is no error of two trials.
    assert len(error_notes(judged(df=1.0, others=4), "/min", RISE)) == 1
    for fields in ({"drift": 0.0}, {"drift": -0.5}, {"drift": 0.5, "verdict": WITHIN}, {"drift": 0.5, "change": -9.0}):
        assert error_notes(judged(**fields), "/min", RISE) == [], fields
    assert error_notes(judged(floored=True, error=None), "/min", RISE) == []


def test_those_of_the_same_days_are_told_where_they_went_the_same_way_or_are_too_few():
    assert "The 5 others" in sentence(shift_notes("same way", 5)[0])
    assert "Fewer than three" in sentence(shift_notes("unknown", 2)[0])
    assert shift_notes("none", 5) == shift_notes("other way", 5) == []


@pytest.mark.parametrize(
    ("before", "after", "what", "mend"),
    [
        ([], [trial(0, 1)], say.NO_PAIR_NO_BASELINE, say.NO_PAIR_ADD),
        ([trial(0, 1)], [], say.NO_PAIR_NO_RETEST, say.NO_PAIR_ADD),
        ([], [], say.NO_PAIR_NO_BASELINE, say.NO_PAIR_ADD),
        (
            [trial(0, 1)],
            [trial(5, 1, code="TH-12")],
            say.no_pair_students((Quoted("TH-11"), Quoted("TH-12"))),
            say.NO_PAIR_SAME_STUDENT,
        ),
        ([trial(0, 1), trial(5, 1)], [trial(5, 1), trial(0, 1)], say.no_pair_both(1), say.NO_PAIR_CHOOSE),
        ([trial(7, 1)], [trial(0, 1)], say.no_pair_reversed(FIRST, FIRST + timedelta(days=7)), say.NO_PAIR_DATES),
    ],
)
def test_what_is_no_baseline_and_retest_is_refused_by_a_message(before, after, what, mend):
    with pytest.raises(NothingToCompare) as refused:
        check_order(before, after)
    assert (refused.value.what, refused.value.mend) == (what, mend)
