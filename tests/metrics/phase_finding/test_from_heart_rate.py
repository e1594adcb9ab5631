"""Effort in a heart rate by hand: where it is looked for, what does not stand out, what is a second one."""

import numpy as np
import pytest
from ownmark.ingest.flags import Flag
from ownmark.metrics.messages import phase_finding as say
from ownmark.metrics.phase_finding import from_heart_rate
from ownmark.metrics.phase_finding.effort_model import Evidence, Series
from ownmark.metrics.phase_finding.from_heart_rate import (
    Effort,
    Limits,
    _begins_again,
    _part,
    _strength,
    _summed,
    find_effort,
    series_of,
    usable_heart_rate,
)

from tests.makers.recordings import pulse, recording

NAN = np.nan


def answer(seconds, *works, rest=80.0, rise=50.0, seed=5):
    """A heart of one time constant, 30 s up and 40 s down, and a little noise."""
    level, out = 0.0, np.empty(seconds)
    for second in range(seconds):
        goal = rise if any(begin <= second < until for begin, until in works) else 0.0
        level += (goal - level) / (30.0 if goal > level else 40.0)
        out[second] = level
    return np.rint(rest + out + np.random.default_rng(seed).standard_normal(seconds))


def strap(bpm, from_s=0.0):
    return pulse(from_s + np.arange(len(bpm)), bpm)


def look(bpm, limits=None, from_s=0.0):
    return find_effort(strap(bpm, from_s), from_s, from_s + len(bpm), limits)


def effort(**changes):
    known = {"start_s": 240.0, "end_s": 600.0, "start_sd_s": 1.0, "end_sd_s": 1.0}
    return Effort(**(known | {"rest_bpm": 80.0, "rise_bpm": 50.0, "strength": 30.0} | changes))


# ---- what is looked at


def test_the_first_heart_rate_of_which_something_can_be_used():
    off = pulse([0.0, 1.0], [80.0, 81.0], flags=np.full(2, Flag.NO_CONTACT, np.uint16))
    good = pulse([0.0, 1.0], [80.0, 81.0])
    assert usable_heart_rate(recording(off, good)) is good
    assert usable_heart_rate(recording(off)) is None


def test_means_over_equal_stretches_and_none_where_half_is_missing():
    made = pulse(np.array([0.0, 1, 2, 3, 4, 6, 8, 9]), np.array([60.0, 70, 80, 90, 100, 110, 120, 130]))
    found = series_of(made, 0.0, 10.0, 3.0)
    assert (found.start_s, found.step_s, len(found.bpm)) == (0.0, 3.0, 3)
    assert found.bpm == pytest.approx([70.0, 95.0, 115.0])
    assert np.isnan(series_of(made, 0.0, 10.0, 1.0).bpm[[5, 7]]).all()


def test_a_part_of_a_series_lies_between_two_moments_and_inside_it():
    whole = Series(10.0, 3.0, np.arange(10.0))
    part = _part(whole, 16.0, 25.0)
    assert (part.start_s, part.bpm.tolist()) == (16.0, [2.0, 3.0, 4.0])
    assert _part(whole, -90.0, 900.0).bpm.tolist() == whole.bpm.tolist()
    assert len(_part(whole, -90.0, -60.0).bpm) == 0


# ---- what is found


@pytest.mark.parametrize("from_s", [0.0, 1000.0])
def test_a_plain_effort_is_found_to_a_few_seconds(from_s):
    found = look(answer(900, (240, 600)), from_s=from_s)
    assert isinstance(found, Effort)
    assert (found.start_s - from_s, found.end_s - from_s) == pytest.approx((240.0, 600.0), abs=4.0)
    assert found.rest_bpm == pytest.approx(80.0, abs=2.0)
    assert found.rise_bpm == pytest.approx(50.0, abs=6.0)
    assert found.start_sd_s < 3.0
    assert found.end_sd_s < 3.0
    assert found.strength > 50.0


@pytest.mark.parametrize("work", [(60, 300), (240, 300), (300, 860), (240, 800)])
def test_short_and_long_and_early_and_late_efforts(work):
    found = look(answer(900, work))
    assert isinstance(found, Effort)
    assert (found.start_s, found.end_s) == pytest.approx(work, abs=7.0)


def test_a_pause_is_no_end_and_makes_the_ends_no_less_sure():
    found = look(answer(900, (240, 400), (440, 600)))
    assert isinstance(found, Effort)
    assert (found.start_s, found.end_s) == pytest.approx((240.0, 600.0), abs=5.0)
    assert max(found.start_sd_s, found.end_sd_s) < 4.0


def test_a_dropout_on_the_onset_leaves_it_less_sure():
    bpm, time = answer(900, (240, 600)), np.arange(900.0)
    keep = (time < 225) | (time >= 285)
    gap = find_effort(pulse(time[keep], bpm[keep]), 0.0, 900.0)
    whole = look(bpm)
    assert isinstance(gap, Effort)
    assert isinstance(whole, Effort)
    assert gap.start_sd_s > whole.start_sd_s
    assert abs(gap.start_s - 240.0) < 3 * max(gap.start_sd_s, 5.0)


# ---- what is not


@pytest.mark.parametrize(("rise", "seen"), [(4.0, False), (12.0, True)])
def test_a_heart_that_rises_by_less_than_six_shows_no_work(rise, seen):
    found = look(answer(900, (240, 600), rise=rise))
    assert isinstance(found, Effort) is seen
    assert seen or found == say.PROPOSAL_NO_ONSET


@pytest.mark.parametrize("least", ["LEAST_RISE_BPM", "LEAST_STRENGTH"])
def test_each_limit_refuses_alone(monkeypatch, least):
    monkeypatch.setattr(from_heart_rate, least, 1e6)
    assert look(answer(900, (240, 600))) == say.PROPOSAL_NO_ONSET


def test_a_heart_that_settles_is_no_effort():
    time = np.arange(900.0)
    noise = np.random.default_rng(1).standard_normal(900)
    for course in (80 + 40 * np.exp(-time / 50), 80 + 0 * time, 80 + time / 90):
        assert look(np.rint(course + noise)) == say.PROPOSAL_NO_ONSET


def test_start_and_end_have_to_be_seen():
    begun = look(answer(900, (0, 400))[60:])
    assert begun == say.proposal_begun_before(begun["until"])
    assert begun["until"] == pytest.approx(340.0, abs=5.0)
    ends = look(answer(900, (300, 900)))
    assert ends == say.proposal_end_not_seen(ends["start"])
    assert ends["start"] == pytest.approx(300.0, abs=5.0)


def test_an_hour_is_the_longest_and_two_minutes_the_least():
    bpm = answer(3700, (240, 600))
    assert isinstance(find_effort(strap(bpm), 0.0, 3600.0), Effort)
    assert find_effort(strap(bpm), 0.0, 3601.0) == say.proposal_too_long(60.0)
    assert look(answer(119, (30, 60))) == say.PROPOSAL_NOTHING_MEASURED
    assert look(answer(120, (30, 60))) != say.PROPOSAL_NOTHING_MEASURED


# ---- a second effort


def test_a_second_effort_half_as_high_is_a_rival_and_a_lower_one_is_none():
    def two(second):
        one = answer(1300, (240, 500), rise=60.0)
        return one + np.rint(answer(1300, (850, 1050), rise=second, seed=6) - 80.0)

    found = look(two(45.0))
    assert found.code == "proposal.second"
    assert (found["first"], found["second"]) == pytest.approx((240.0, 850.0), abs=20.0)
    lower = look(two(15.0))
    assert isinstance(lower, Effort)
    assert lower.start_s == pytest.approx(240.0, abs=5.0)
    before = look(np.concatenate((two(45.0)[700:], two(45.0)[:700])))
    assert before.code == "proposal.second"


def test_limits_choose_one_of_two():
    bpm = answer(1300, (240, 500), (850, 1050))
    for begin, until in ((240.0, 500.0), (850.0, 1050.0)):
        found = look(bpm, Limits(earliest_s=begin - 60, latest_s=begin + 60, longest_s=300.0))
        assert isinstance(found, Effort)
        assert (found.start_s, found.end_s) == pytest.approx((begin, until), abs=6.0)
    assert look(bpm, Limits(earliest_s=5000.0)) == say.PROPOSAL_NO_ONSET


@pytest.mark.parametrize(("low_s", "found"), [(60.0, True), (45.0, False)])
def test_a_minute_low_amid_the_effort_is_a_rest(low_s, found):
    bpm = np.full(60, 120.0)
    first = 26  # 390 s
    bpm[first : first + round(low_s / 15.0)] = 97.4  # under 80 + 0.35 · 50 = 97.5
    assert _begins_again(Series(0.0, 15.0, bpm), effort()) == (390.0 + low_s if found else None)
    bpm[bpm < 100] = 97.5
    assert _begins_again(Series(0.0, 15.0, bpm), effort()) is None


def test_the_first_minute_and_a_half_and_what_lies_behind_are_no_rest_amid_it():
    bpm = np.full(60, 85.0)
    bpm[22:40] = 120.0  # from 330 s to 600 s
    assert _begins_again(Series(0.0, 15.0, bpm), effort()) is None
    bpm[22:26] = 85.0
    assert _begins_again(Series(0.0, 15.0, bpm), effort()) == 390.0


# ---- sums of the evidence


def test_start_and_end_are_means_over_the_evidence_and_their_spread():
    log = np.log(np.array([[1.0, 3.0], [3.0, 9.0], [1e-9, 1e-9]]))[:, :, None, None]
    fitted = np.zeros((3, 2, 1, 1, 5))
    fitted[1, 1, 0, 0] = (81.0, 44.0, 0.0, 0.0, 0.0)
    found = Evidence(np.array([10, 11, 12]), np.array([30, 31]), (25.0,), (40.0,), log, fitted, np.ones((3, 2, 1, 1)))
    series = Series(100.0, 3.0, np.full(40, 80.0))
    got, whole = _summed(series, found)
    # starts at 130 and 133 with a quarter and three quarters of the evidence; ends at 190 and 193 likewise
    assert (got.start_s, got.end_s) == pytest.approx((132.25, 192.25))
    assert (got.start_sd_s, got.end_sd_s) == pytest.approx((np.sqrt(27 / 16), np.sqrt(27 / 16)), abs=1e-4)
    assert (got.rest_bpm, got.rise_bpm) == (81.0, 44.0)
    assert not whole  # a quarter lies on the first start


@pytest.mark.parametrize(
    ("starts", "ends", "heavy", "whole"),
    [
        ([10, 11, 12], [30, 31, 32], (1, 1), True),
        ([10, 11, 12], [30, 31, 32], (0, 1), False),
        ([0, 1, 2], [30, 31, 32], (0, 1), True),
        ([10, 11, 12], [30, 31, 32], (2, 1), False),
        ([10, 11, 12], [30, 31, 32], (1, 0), False),
        ([10, 11, 12], [30, 31, 32], (1, 2), False),
        ([10, 11, 12], [38, 39, 40], (1, 2), True),
    ],
)
def test_evidence_on_the_edge_of_the_grid_asks_for_another_unless_the_recording_ends_there(starts, ends, heavy, whole):
    log = np.full((3, 3, 1, 1), -50.0)
    log[heavy] = 0.0
    found = Evidence(
        np.array(starts), np.array(ends), (25.0,), (40.0,), log, np.zeros((3, 3, 1, 1, 5)), np.ones((3, 3, 1, 1))
    )
    assert _summed(Series(0.0, 3.0, np.full(40, 80.0)), found)[1] is whole


def test_strength_is_half_the_logarithm_for_each_independent_mean():
    # A square wave that no settling explains: what is left is its own variance, up to what line and decay take.
    time = np.arange(120) * 3.0
    bpm = 80.0 + 10.0 * np.sign(np.sin(2 * np.pi * time / 90.0))
    bases = np.stack([np.ones(120), time, np.exp(-time / 20), np.exp(-time / 60)], axis=1)
    over = bpm - bases @ np.linalg.lstsq(bases, bpm, rcond=None)[0]
    left = np.full((1, 1, 1, 1), 4.0)
    zero = np.zeros((1, 1, 1, 1))
    found = Evidence(np.array([10]), np.array([30]), (25.0,), (40.0,), zero, np.zeros((1, 1, 1, 1, 5)), left)
    expected = 0.5 * 120 * 3.0 / 18.0 * np.log(np.mean(over**2) / 4.0)
    assert _strength(Series(0.0, 3.0, bpm), found) == pytest.approx(expected)
    missing = bpm.copy()
    missing[60:] = NAN
    half = over[:60] * 0 + bpm[:60] - bases[:60] @ np.linalg.lstsq(bases[:60], bpm[:60], rcond=None)[0]
    expected = 0.5 * 60 * 3.0 / 18.0 * np.log(np.mean(half**2) / 4.0)
    assert _strength(Series(0.0, 3.0, missing), found) == pytest.approx(expected)
