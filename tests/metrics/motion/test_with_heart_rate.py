"""Heart rate with movement: the difference, its bounds, and rises that no movement explains."""

import numpy as np
import pytest
from ownmark.metrics.motion.with_heart_rate import (
    Rise,
    _between,
    _bounds,
    _cut,
    _high,
    _pulse,
    _settled,
    rate_with_movement,
    rise_note,
    rises_without_movement,
)
from ownmark.words.render import english

from tests.makers.pulse import Heart, heart


def seconds(*stretches):
    """Starts, durations and rates of 1 s pieces from (seconds, rate) stretches."""
    bpm = np.concatenate([np.full(length, rate, dtype=float) for length, rate in stretches])
    return np.arange(len(bpm), dtype=float), np.ones(len(bpm)), bpm


def test_the_difference_is_of_means_over_time_without_the_half_minute_after_each_change():
    # Still 0-100 at 80, moving 100-200: 30 s at 100, then 70 s at 130; still 200-300: 30 s at 110, then 70 s at 90.
    # Moving 130; still (100 · 80 + 70 · 90) / 170 = 84.118; the phase's own start is no change.
    pulse = seconds((100, 80), (30, 100), (70, 130), (30, 110), (70, 90))
    found = rate_with_movement(*pulse, [(100, 200)], from_s=0, until_s=300)
    assert found.moving_bpm == 130
    assert found.still_bpm == pytest.approx(14300 / 170)
    assert found.difference.value == pytest.approx(130 - 14300 / 170)
    assert (found.moving_s, found.still_s) == (70, 170)
    assert found.difference.low == found.difference.value == found.difference.high
    assert "heart lags" in found.note


def test_short_bouts_use_all_their_time_and_say_that_the_difference_is_larger_in_truth():
    moving = [(20 + 40 * place, 40 + 40 * place) for place in range(6)]
    bpm = np.where(np.arange(260) % 40 < 20, 90.0, 110.0)
    found = rate_with_movement(np.arange(260), np.ones(260), bpm, moving, from_s=0, until_s=260)
    assert found.difference.value == pytest.approx(20)
    assert (found.moving_s, found.still_s) == (120, 140)
    assert "true difference is larger" in found.note


def test_a_lagging_heart_shows_more_of_its_answer_when_the_changes_are_left_out():
    moving = [(120.0, 300.0), (420.0, 600.0)]
    life = Heart(rest_bpm=80, work_bpm=130, rise_s=30, fall_s=45, drift_bpm=0, wander_bpm=0)
    bpm = heart(life, moving, 720, np.random.default_rng(0))
    found = rate_with_movement(np.arange(720), np.ones(720), bpm, moving, from_s=0, until_s=720)
    work = np.zeros(720, bool)
    for begin, until in moving:
        work[int(begin) : int(until)] = True
    plain = bpm[work].mean() - bpm[~work].mean()
    assert plain < found.difference.value < 50  # 50 is what work adds once the heart has settled
    assert found.difference.value > 0.9 * 50 - 5


@pytest.mark.parametrize(("moving_s", "given"), [(29, False), (30, True)])
def test_thirty_seconds_of_each_are_needed(moving_s, given):
    pulse = seconds((100, 80), (moving_s, 120))
    found = rate_with_movement(*pulse, [(100, 100 + moving_s)], from_s=0, until_s=100 + moving_s)
    assert (found.difference is not None) == given
    if not given:
        assert "only 29 s of heart rate while moving; 30 s are needed" in found.note
    none = rate_with_movement(*seconds((60, 120)), [(0, 60)], from_s=0, until_s=60)
    assert "while still" in none.note
    assert rate_with_movement([], [], [], [(0, 60)], from_s=0, until_s=120).difference is None


def test_only_the_phase_counts():
    pulse = seconds((100, 60), (100, 80), (100, 130), (100, 200))
    found = rate_with_movement(*pulse, [(200, 400)], from_s=100, until_s=300)
    assert found.still_bpm == 80
    assert found.moving_bpm == 130


def test_a_lost_stretch_of_heart_rate_may_have_held_any_heart():
    # Moving 100-200, of which the last 70 count; the last 20 s are lost: 50 s at 130, 20 s at 30 to 230.
    start, held, bpm = seconds((100, 80), (80, 130))
    found = rate_with_movement(start, held, bpm, [(100, 200)], from_s=0, until_s=200)
    assert found.difference.value == 50
    assert found.difference.low == pytest.approx((50 * 130 + 20 * 30) / 70 - 80)
    assert found.difference.high == pytest.approx((50 * 130 + 20 * 230) / 70 - 80)


def test_lost_movement_belongs_to_neither_and_the_bounds_hold_both():
    pulse = seconds((100, 80), (50, 120), (100, 130))
    found = rate_with_movement(*pulse, [(150, 250)], unmeasured=[(100, 150)], from_s=0, until_s=250)
    assert found.still_bpm == 80
    for inside in ([(100, 250)], [(150, 250)]):  # all of it moving, or all still
        whole = rate_with_movement(*pulse, inside, from_s=0, until_s=250)
        assert found.difference.low <= whole.difference.value <= found.difference.high


def test_bounds_hold_the_difference_of_a_perfect_sensor_whatever_is_lost():
    rng = np.random.default_rng(12)
    moving = [(120.0, 300.0), (420.0, 600.0)]
    for _ in range(60):
        bpm = heart(Heart(wander_bpm=3.0), moving, 720, rng)
        true = rate_with_movement(np.arange(720), np.ones(720), bpm, moving, from_s=0, until_s=720).difference.value
        keep = np.ones(720, bool)
        for begin in rng.integers(0, 700, 4):
            keep[begin : begin + int(rng.integers(1, 40))] = False
        found = rate_with_movement(
            np.arange(720)[keep], np.ones(720)[keep], bpm[keep], moving, from_s=0, until_s=720
        ).difference
        assert found.low <= true <= found.high


def test_a_rise_of_20_for_60_s_without_movement_is_found_and_asked_about():
    pulse = seconds((200, 80), (60, 100), (100, 85))
    found = rises_without_movement(*pulse, [], rest_bpm=80)
    assert found == (Rise(200.0, 260.0, 100.0),)
    note = english(rise_note(found, 80))
    for word in (
        "200 s to 260 s",
        "20 /min over rest",
        "Excitement",
        "spasm",
        "heat",
        "pain",
        "pushed",
        "Ask the student",
    ):
        assert word in note


@pytest.mark.parametrize(("length", "rate"), [(59, 100), (60, 99)])
def test_a_shorter_or_lower_rise_is_not_asked_about(length, rate):
    assert rises_without_movement(*seconds((200, 80), (length, rate), (100, 85)), [], rest_bpm=80) == ()
    assert rise_note((), 80) is None


def test_the_recovery_from_work_is_no_rise_without_movement():
    moving = [(120.0, 420.0)]
    bpm = heart(Heart(rest_bpm=80, work_bpm=150, fall_s=90), moving, 900, np.random.default_rng(1))
    assert rises_without_movement(np.arange(900), np.ones(900), bpm, moving, rest_bpm=80) == ()


def test_a_rise_within_two_minutes_of_a_movement_may_be_its_echo():
    pulse = seconds((200, 80), (90, 110), (100, 85))
    assert rises_without_movement(*pulse, [(60, 81)], rest_bpm=80) == ()
    assert len(rises_without_movement(*pulse, [(40, 79)], rest_bpm=80)) == 1


def test_a_rise_counts_until_movement_begins_and_unmeasured_movement_counts_as_movement():
    pulse = seconds((200, 80), (200, 110))
    assert rises_without_movement(*pulse, [(270, 300)], rest_bpm=80) == (Rise(200.0, 270.0, 110.0),)
    assert rises_without_movement(*pulse, [(250, 300)], rest_bpm=80) == ()
    assert rises_without_movement(*pulse, [], unmeasured=[(150, 180)], rest_bpm=80) == ()


def test_a_dip_or_a_gap_of_five_seconds_does_not_end_a_rise():
    pulse = seconds((200, 80), (30, 110), (5, 95), (30, 110))
    assert rises_without_movement(*pulse, [], rest_bpm=80)[0].until_s == 265
    longer = seconds((200, 80), (30, 110), (6, 95), (30, 110))
    assert rises_without_movement(*longer, [], rest_bpm=80) == ()
    start, held, bpm = seconds((200, 80), (30, 110), (5, np.nan), (30, 110))
    assert rises_without_movement(start, held, bpm, [], rest_bpm=80)[0].mean_bpm == pytest.approx(110)


def test_several_rises_are_counted_and_the_highest_told():
    pulse = seconds((200, 80), (70, 105), (100, 85), (70, 120), (50, 80))
    found = rises_without_movement(*pulse, [], rest_bpm=80)
    assert len(found) == 2
    note = english(rise_note(found, 80))
    assert "2 times" in note
    assert "from 370 s to 440 s, 40 /min" in note


# ---- the pieces, by hand

TWO = _pulse([0.0, 10.0], [10.0, 10.0], [100.0, 120.0])


@pytest.mark.parametrize(
    ("span", "values"), [((5, 10), [100]), ((10, 12), [120]), ((9, 11), [100, 120]), ((20, 25), []), ((-5, 0), [])]
)
def test_pieces_that_reach_into_a_span(span, values):
    assert TWO.within(span).tolist() == values


def test_time_and_integral_over_spans():
    assert TWO.over([(5, 12), (18, 30)]) == (9.0, 5 * 100 + 2 * 120 + 2 * 120, 19)
    assert TWO.over([]) == (0.0, 0.0, 0)


def test_pieces_without_a_value_or_time_are_none():
    made = _pulse([0, 1, 2, 3], [1, 0, -0.5, 1], [90, 91, 92, np.nan])
    assert (made.begin.tolist(), made.end.tolist(), made.bpm.tolist()) == ([0], [1], [90])


def test_bounds_of_a_mean_are_tight():
    assert _bounds(TWO, [(0, 20)], []) == (110, 110)
    # Ten of thirty seconds lost: a heart of 30 to 230.
    assert _bounds(TWO, [(0, 30)], []) == (pytest.approx(2500 / 30), pytest.approx(4500 / 30))
    # Five seconds more or not, without a heart rate.
    assert _bounds(TWO, [(0, 20)], [(20, 25)]) == (pytest.approx(2350 / 25), pytest.approx(3350 / 25))
    # With one: it counts, or not.
    assert _bounds(TWO, [(0, 10)], [(10, 15)]) == (100, pytest.approx(1600 / 15))
    assert _bounds(TWO, [(10, 20)], [(5, 10)]) == (pytest.approx(1700 / 15), 120)
    # Measured in part: as if not at all.
    assert _bounds(TWO, [(0, 10)], [(15, 25)]) == (pytest.approx(1300 / 20), pytest.approx(3300 / 20))
    # Of several values the lowest and the highest.
    assert _bounds(TWO, [(18, 20)], [(5, 15)]) == (pytest.approx((240 + 1000) / 12), 120)
    # In two parts, both measured.
    assert _bounds(TWO, [(0, 5)], [(5, 6), (15, 17)]) == (100, pytest.approx((500 + 3 * 120) / 8))


def test_spans_are_cut_parted_and_settled():
    assert _cut([(0, 5), (8, 20), (30, 40)], 3, 15) == [(3, 5), (8, 15)]
    assert _cut([(0, 3), (15, 20)], 3, 15) == []
    assert _between([(3, 5), (8, 15)], 3, 20) == [(5, 8), (15, 20)]
    assert _between([], 3, 20) == [(3, 20)]
    assert _settled([(0, 40), (50, 80), (90, 121)], 0) == [(0, 40), (120, 121)]


def test_high_stretches_join_over_five_seconds():
    made = _pulse([0, 10, 15, 25, 30.1], [10, 5, 10, 5, 5], [100, 99, 100, 99.9, 100])
    assert _high(made, 100) == [(0, 25), (30.1, 35.1)]
    assert _high(made, 99.9) == [(0, 35.1)]  # 10 to 15 is a dip of five
    assert _high(_pulse([0, 15.1], [10, 5], [100, 100]), 100) == [(0, 10), (15.1, 20.1)]


def test_unmeasured_movement_and_the_settling_behind_it_may_belong_to_either():
    # Moving 40 to 80, unseen 80 to 90: what may be moving is 80 to 120, all of it 100 /min: (40 · 120 + 40 · 100) / 80.
    bpm = np.repeat([80.0, 120.0, 100.0, 80.0], [40, 40, 40, 40])
    found = rate_with_movement(
        np.arange(160.0), np.ones(160), bpm, [(40, 80)], unmeasured=[(80, 90)], from_s=0, until_s=160
    )
    # Too short for settling: all of both is used. Still 0-40 and 90-160, of which 30 at 100.
    assert (found.moving_s, found.still_s) == (40, 110)
    assert found.still_bpm == pytest.approx((40 * 80 + 30 * 100 + 40 * 80) / 110)
    high_still = (9400 + 40 * 100) / 150
    assert found.difference.low == pytest.approx(110 - high_still)
    assert found.difference.high == pytest.approx(120 - 9400 / 110)
