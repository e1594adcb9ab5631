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
    _coarse,
    _part,
    _rival,
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


# ---- the edges of what has to be seen, and of a rival


def finding(monkeypatch, **changes):
    """``find_effort`` over 900 s of 1 Hz from 100 s on, in which an effort was found."""
    monkeypatch.setattr(from_heart_rate, "_strongest", lambda *_: effort(**changes))
    monkeypatch.setattr(from_heart_rate, "_rival", lambda *_: None)
    return look(np.where(np.arange(900) % 2, 120.0, 121.0), from_s=100.0)


@pytest.mark.parametrize(("start_s", "seen"), [(120.0, True), (119.9, False)])
def test_twenty_seconds_before_the_start_are_seen(monkeypatch, start_s, seen):
    found = finding(monkeypatch, start_s=start_s)
    assert found == (effort(start_s=start_s) if seen else say.proposal_begun_before(600.0))


@pytest.mark.parametrize(("end_s", "seen"), [(985.0, True), (985.1, False)])
def test_fifteen_seconds_behind_the_end_are_seen(monkeypatch, end_s, seen):
    found = finding(monkeypatch, end_s=end_s)
    assert found == (effort(end_s=end_s) if seen else say.proposal_end_not_seen(240.0))


def answered(starts, ends, rise, strength, monkeypatch):
    """What ``_rival`` says of an effort from 240 s to 600 s where each side shows one from a place to another."""
    asked = []

    def everywhere(side):
        asked.append((side.start_s, side.until_s))
        log = np.zeros((1, 1, 1, 1))
        fitted = np.zeros((1, 1, 1, 1, 5))
        fitted[..., 1] = rise
        return Evidence(np.array([starts]), np.array([ends]), (25.0,), (45.0,), log, fitted, log + 1.0)

    monkeypatch.setattr(from_heart_rate, "_everywhere", everywhere)
    monkeypatch.setattr(from_heart_rate, "_strength", lambda *_: strength)
    return _rival(Series(0.0, 15.0, np.full(60, 80.0)), effort()), asked


@pytest.mark.parametrize(
    ("rise", "strength", "rival"), [(25.0, 10.0, 30.0), (24.9, 10.0, None), (25.0, 9.9, None), (60.0, 40.0, 30.0)]
)
def test_a_rival_is_half_as_high_and_stands_out_itself(monkeypatch, rise, strength, rival):
    found, asked = answered(2, 8, rise, strength, monkeypatch)
    assert found == rival
    # before: up to a mean ahead of the start; behind: from a minute and a half after the end
    assert asked == ([(0.0, 225.0)] if rival else [(0.0, 225.0), (690.0, 900.0)])


@pytest.mark.parametrize(("starts", "ends", "rival"), [(2, 14, 30.0), (1, 14, None), (2, 15, None)])
def test_both_ends_of_a_rival_are_seen(monkeypatch, starts, ends, rival):
    # the side before has 15 means: 20 s after its start is the second, 15 s before its end the fourteenth
    assert answered(starts, ends, 60.0, 40.0, monkeypatch)[0] == rival


@pytest.mark.parametrize(("means", "looked_at"), [(8, True), (7, False)])
def test_two_minutes_beside_the_effort_can_hold_a_rival(monkeypatch, means, looked_at):
    asked = []
    monkeypatch.setattr(from_heart_rate, "_everywhere", lambda side: asked.append(side) or evidence_of_nothing())
    bpm = np.full(60, NAN)
    bpm[:means] = 80.0
    _rival(Series(0.0, 15.0, bpm), effort(start_s=400.0))
    assert bool(asked) is looked_at


def evidence_of_nothing():
    zero = np.zeros((1, 1, 1, 1))
    return Evidence(np.array([0]), np.array([9]), (25.0,), (45.0,), zero, np.zeros((1, 1, 1, 1, 5)), zero + 1.0)


# ---- the grids


def grids(monkeypatch, bpm):
    """Every call of ``evidence``: series, starts, ends, time constants and variance."""
    calls, real = [], from_heart_rate.evidence

    def spy(series, starts, ends, rises_s, falls_s, noise, around_bpm):
        calls.append((series, starts, ends, rises_s, falls_s, noise, around_bpm))
        return real(series, starts, ends, rises_s, falls_s, noise, around_bpm)

    monkeypatch.setattr(from_heart_rate, "evidence", spy)
    look(bpm)
    return calls


def test_first_everywhere_in_quarters_of_a_minute_then_nearby_in_threes_of_seconds(monkeypatch):
    bpm = answer(900, (300, 600))
    coarse, alone, fine, *_ = grids(monkeypatch, bpm)
    assert (coarse[0].step_s, coarse[3], coarse[4], coarse[5]) == (15.0, (25.0,), (45.0,), 6.0)
    assert coarse[1].tolist() == list(range(60))
    assert coarse[2].tolist() == list(range(1, 61))
    assert coarse[6] == pytest.approx(np.percentile(coarse[0].bpm, 25))
    # the coarse place is 300 to 600 s: from 150 to 720 s in means of 3 s, the start the 50th, the end the 150th
    assert (fine[0].start_s, fine[0].step_s, fine[0].until_s) == (150.0, 3.0, 720.0)
    assert (alone[1].tolist(), alone[2].tolist(), alone[5]) == ([50], [150], 6.0)
    assert (fine[1].tolist(), fine[2].tolist()) == (list(range(40, 61)), list(range(140, 161)))
    assert fine[3:5] == ((10.0, 25.0, 55.0), (18.0, 40.0, 75.0))
    assert 0.5 <= fine[5] < 2.0  # what the curve leaves there, and no more what is usual


def test_what_a_still_heart_leaves_is_believed_down_to_half_a_beat_squared(monkeypatch):
    time = np.arange(900.0)
    smooth = 80 + 50 * np.where(time < 300, 0, 1 - np.exp(-np.maximum(time - 300, 0) / 25))
    smooth = np.where(time < 600, smooth, 80 + 50 * np.exp(-(time - 600) / 40))
    calls = grids(monkeypatch, smooth)
    assert calls[2][5] == 0.5


def test_a_grid_stays_inside_the_recording(monkeypatch):
    for bpm in (answer(900, (24, 300)), answer(500, (200, 480))):
        for series, starts, ends, *_ in grids(monkeypatch, bpm):
            assert starts.min() >= 0
            assert ends.max() <= len(series.bpm)
            if series.step_s == 3.0 and len(starts) > 1:
                assert starts.max() <= len(series.bpm) - 10
                assert ends.min() >= 10


def test_a_shorter_effort_is_looked_for_where_the_longest_does_not_stand_out(monkeypatch):
    asked = []

    def place(_, limits):
        asked.append(limits)
        return (100.0, 100.0 + min(limits.longest_s, 400.0))

    monkeypatch.setattr(from_heart_rate, "_coarse", place)
    monkeypatch.setattr(from_heart_rate, "_fine", lambda *_: effort(strength=9.9))
    assert look(answer(900, (240, 600))) == say.PROPOSAL_NO_ONSET
    assert [limits.longest_s for limits in asked] == [np.inf, 200.0, 100.0]
    monkeypatch.setattr(from_heart_rate, "_fine", lambda *_: effort(strength=10.0, rise_bpm=6.0))
    monkeypatch.setattr(from_heart_rate, "_begins_again", lambda *_: None)
    monkeypatch.setattr(from_heart_rate, "_rival", lambda *_: None)
    assert look(answer(900, (240, 600))) == effort(strength=10.0, rise_bpm=6.0)
    monkeypatch.setattr(from_heart_rate, "_fine", lambda *_: effort(strength=10.0, rise_bpm=5.9))
    assert look(answer(900, (240, 600))) == say.PROPOSAL_NO_ONSET
    monkeypatch.setattr(from_heart_rate, "_fine", lambda *_: None)
    assert look(answer(900, (240, 600))) == say.PROPOSAL_NO_ONSET


def test_limits_reach_to_the_next_place_of_the_grid(monkeypatch):
    zero = np.zeros((60, 60, 1, 1))
    log = zero.copy()
    log[20, 40] = 9.0  # 300 s to 615 s
    found = Evidence(np.arange(60), np.arange(1, 61), (25.0,), (45.0,), log, np.zeros((60, 60, 1, 1, 5)), zero)
    monkeypatch.setattr(from_heart_rate, "_everywhere", lambda _: found)
    series = Series(0.0, 15.0, np.full(60, 80.0))
    best = (300.0, 615.0)
    assert _coarse(series, Limits()) == best
    assert _coarse(series, Limits(earliest_s=315.0)) == best
    assert _coarse(series, Limits(earliest_s=315.1)) != best
    assert _coarse(series, Limits(latest_s=285.0)) == best
    assert _coarse(series, Limits(latest_s=284.9)) != best
    assert _coarse(series, Limits(shortest_s=330.0)) == best
    assert _coarse(series, Limits(shortest_s=330.1)) != best
    assert _coarse(series, Limits(longest_s=300.0)) == best
    assert _coarse(series, Limits(longest_s=299.9)) != best
    assert _coarse(series, Limits(earliest_s=2000.0)) is None


def test_settings_are_those_that_the_table_of_accuracy_was_made_with():
    names = ("BEFORE_S", "AFTER_S", "SEARCH_S", "LEAST_RISE_BPM", "LEAST_STRENGTH", "RIVAL_SHARE", "SETTLING_S")
    assert [getattr(from_heart_rate, name) for name in names] == [150.0, 120.0, 30.0, 6.0, 10.0, 0.5, 90.0]
    assert (from_heart_rate.LOW_SHARE, from_heart_rate.LONG_PAUSE_S) == (0.35, 60.0)
    assert (from_heart_rate._ROUNDS, from_heart_rate._EDGE, from_heart_rate._MOST_PAUSES) == (4, 0.02, 2)
    assert from_heart_rate._SETTLES_S == (20.0, 60.0)


# ---- sums of the evidence


def test_start_and_end_are_means_over_the_evidence_and_their_spread():
    log = np.log(np.array([[1.0, 3.0], [3.0, 9.0], [1e-9, 1e-9]]))[:, :, None, None] - 5000.0
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
