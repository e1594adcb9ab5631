"""The length of work is a part of the set-up, and of a sum the first one."""

import pytest
from ownmark.records.catalogue import copy, edited
from ownmark.records.change.comparison import compare
from ownmark.records.change.differences import differences
from ownmark.records.change.work_length import SUMS, adds_up, length_rule
from ownmark.records.rules import MUST, SHOULD
from ownmark.words.vocabulary import FIGURES

from tests.records.makers import CRANK, by_hand, figure_of, sentences, trial

OPEN = edited(CRANK, {"duration_s": "", "work_s": ""})
NO_SUMS = {
    *("coverage_heart_rate", "heart_rate_mean", "heart_rate_peak", "heart_rate_rise", "share_above_125_rest"),
    *("share_above_150_rest", "beats_per_metre", "cost_index", "reserve_mean", "reserve_peak", "longest_on_target"),
    *("recovery_60s", "longest_above_ceiling", "first_above_ceiling", "coverage_motion", "longest_moving"),
    *("cadence_mean", "cadence_variation", "motion_level", "heart_rate_moving_rise"),
}


def of(figure, protocol=OPEN):
    return edited(protocol, {"primary_figure": figure, "better": "no direction"})


def found(protocol, *lengths):
    trials = [trial(day, protocol=protocol, work_s=length) for day, length in enumerate(lengths)]
    return {each.field: each for each in differences(trials[:-1], trials[-1:])[0]}.get("work_done_s")


def test_every_figure_of_the_sheet_is_a_sum_over_the_work_or_is_not():
    assert set(SUMS) | NO_SUMS >= set(FIGURES)
    assert not set(SUMS) & NO_SUMS
    assert len(set(SUMS)) == len(SUMS)
    assert {name for name in FIGURES if adds_up(of(name), name)} == set(SUMS)


@pytest.mark.parametrize(
    ("kind", "sum_"), [("count", True), ("distance", True), ("time", False), ("hold time", False), ("other", False)]
)
def test_counts_and_distances_by_hand_add_up_too(kind, sum_):
    assert adds_up(by_hand(kind), "result") is sum_


@pytest.mark.parametrize("figure", SUMS)
def test_a_sum_over_720_s_is_not_compared_with_one_over_480_s_whatever_the_protocol_states(figure):
    protocol = of(figure)
    one = found(protocol, 480.0, 720.0)
    assert (one.rule, one.forbids, one.baseline, one.retest) == (MUST, True, "480 s", "720 s")
    values = {figure: figure_of(100.0, unit="1")}
    trials = [trial(day, protocol=protocol, work_s=work, figures=values) for day, work in ((0, 480.0), (60, 720.0))]
    told = compare(trials[:1], trials[1:])
    assert told.verdict == "not comparable"
    assert "length of the work phase as done (480 s; 720 s)" in told.sentence


def test_sums_may_differ_by_5_per_cent_and_by_15_s_both():
    protocol = of("moving_time")
    # Under five minutes 5 % is the narrower: of 200 s 10 s, of 60 s 3 s.
    assert found(protocol, 200.0, 190.0) is None
    assert found(protocol, 200.0, 189.9).forbids
    assert found(protocol, 57.0, 60.0) is None
    assert found(protocol, 56.9, 60.0).forbids
    # Beyond five minutes 15 s is.
    assert found(protocol, 300.0, 285.0) is None
    assert found(protocol, 300.0, 284.9).forbids
    assert found(protocol, 720.0, 735.0) is None
    assert found(protocol, 720.0, 735.1).forbids
    # Baselines among themselves as well.
    assert found(protocol, 400.0, 420.0, 410.0).forbids


def test_a_mean_or_a_share_of_other_work_leaves_a_note():
    for figure in ("heart_rate_mean", "share_above_125_rest", "longest_moving", "heart_rate_peak"):
        one = found(of(figure), 480.0, 720.0)
        assert (one.rule, one.forbids, one.asked) == (SHOULD, False, False)
        assert found(of(figure), 480.0, 495.0) is None
        assert found(of(figure), 480.0, 495.1).rule == SHOULD
    trials = [trial(day, 40, protocol=OPEN, work_s=work) for day, work in ((0, 480.0), (60, 720.0))]
    assert any(
        "length of the work phase as done (480 s; 720 s)" in note
        for note in sentences(compare(trials[:1], trials[1:]).notes)
    )


def test_work_of_a_fixed_length_must_have_been_as_long_whatever_the_figure():
    # The crank protocol fixes 360 s: 2 % are 7.2 s.
    assert found(CRANK, 360.0, 353.0) is None
    assert found(CRANK, 360.0, 352.8) is None
    assert found(CRANK, 360.0, 352.7).forbids
    # Of 100 s 5 s are more than 2 %; a mean may differ by those, and a sum by 5 % of the longest, which is as much.
    short = edited(CRANK, {"duration_s": "", "work_s": "100"})
    assert found(short, 100.0, 95.0) is None
    assert found(short, 100.0, 94.9).forbids
    # Of 60 s 5 s are allowed and 3 s are not worth a note: between the two there is one.
    minute = edited(CRANK, {"duration_s": "60", "work_s": ""})
    assert found(minute, 60.0, 57.0) is None
    assert (found(minute, 60.0, 56.9).rule, found(minute, 60.0, 56.9).forbids) == (SHOULD, False)
    assert found(minute, 60.0, 54.9).forbids
    assert found(of("moving_time", minute), 60.0, 56.9).forbids
    # Of 1,000 s 2 % are 20 s: a mean may, a sum may not.
    long = edited(CRANK, {"duration_s": "1000"})
    assert found(long, 1000.0, 981.0).rule == SHOULD
    assert found(long, 1000.0, 979.9).forbids
    assert found(of("beats_total", long), 1000.0, 984.9).forbids


def test_a_length_that_is_unknown_for_one_is_told_where_something_hangs_on_it():
    assert length_rule(OPEN, [None, None]) is None
    assert length_rule(OPEN, [480.0, None]) is None
    one = found(of("moving_time"), 480.0, None)
    assert (one.forbids, one.half, one.retest) == (False, True, "unknown")
    assert found(CRANK, 360.0, None).half
    assert found(OPEN, 480.0, None) is None
    assert found(OPEN, None, None) is None
    ball = copy("seated-ball-push", "ball")
    assert length_rule(ball, [None, None]) is None
