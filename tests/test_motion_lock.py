"""Cadence lock: an optical sensor that shows the movement, told from a heart that passes by."""

import numpy as np
import pytest
from ownmark.metrics.motion.lock import Lock, find_lock

from tests.bench.rhythm_accuracy import minutes, worn
from tests.makers.pulse import wandering


def every_second(bpm):
    return np.arange(len(bpm), dtype=float), np.ones(len(bpm)), np.asarray(bpm, dtype=float)


def windows(per_minute, step_s=2):
    """Cadence every two seconds out of one for each second."""
    return np.arange(0, len(per_minute), step_s, dtype=float), np.asarray(per_minute, dtype=float)[::step_s]


def paced(seconds=300, per_minute=62.0, share=0.03, seed=1):
    """A cadence that wanders as a person's does."""
    return per_minute * (1 + share * wandering(seconds, 30.0, np.random.default_rng(seed)))


def late(values, seconds):
    return np.concatenate((np.full(seconds, values[0]), values[:-seconds]))


def test_strokes_at_62_and_a_heart_rate_of_124_for_over_30_s_are_a_lock():
    # Trade tables 6.9, the worked example.
    bpm = np.full(180, 105.0)
    bpm[60:120] = 124.0
    found = find_lock(*every_second(bpm), *windows(np.full(180, 62.0)))
    assert len(found.intervals) == 1
    begin, until = found.intervals[0]
    assert begin == pytest.approx(60, abs=5)
    assert until == pytest.approx(120, abs=5)
    assert found.locked_s == pytest.approx(60, abs=8)
    assert "keeps to the rhythm" in found.note
    assert "chest electrode" in found.note


@pytest.mark.parametrize("multiple", [1, 2])
def test_both_the_cadence_and_its_double_are_looked_for(multiple):
    pace = paced(per_minute=70.0)
    found = find_lock(*every_second(np.rint(multiple * late(pace, 4))), *windows(pace))
    assert found.locked_s > 270
    other = find_lock(*every_second(np.rint(multiple * late(pace, 4))), *windows(pace), multiples=(3 - multiple,))
    assert other.intervals == ()


def test_four_times_is_looked_for_only_where_a_cycle_holds_two_like_halves():
    pace = paced(per_minute=30.0)
    bpm = np.rint(4 * late(pace, 4))
    assert find_lock(*every_second(bpm), *windows(pace)).intervals == ()
    assert find_lock(*every_second(bpm), *windows(pace), multiples=(1, 2, 4)).locked_s > 270


def test_half_a_minute_is_not_over_half_a_minute():
    for length, locked in ((24, False), (60, True)):
        pace = paced(per_minute=62.0, share=0.02)
        bpm = np.full(300, 100.0)
        bpm[100 : 100 + length] = np.rint(2 * late(pace, 4))[100 : 100 + length]
        assert bool(find_lock(*every_second(bpm), *windows(pace)).intervals) == locked


def test_a_heart_three_beats_away_is_close_and_four_are_not():
    pace = np.full(600, 60.0)
    near = find_lock(*every_second(np.full(600, 122.9)), *windows(pace))
    assert near.intervals == ()  # close for long, but off by more than a sensor that counts pushes
    assert near.near
    far = find_lock(*every_second(np.full(600, 124.0)), *windows(pace))
    assert far.near == ()


def test_a_heart_that_rises_past_twice_the_cadence_is_seldom_a_lock():
    calls = 0
    for seed in range(20):
        bpm = np.linspace(100, 140, 300) + 1.5 * wandering(300, 8.0, np.random.default_rng(100 + seed))
        calls += bool(find_lock(*every_second(np.rint(bpm)), *windows(paced(per_minute=60.0, seed=seed))).intervals)
    assert calls <= 2


def test_a_heart_that_swings_on_its_own_about_the_very_multiple_is_flagged_for_under_a_tenth_of_the_time():
    # The worst coincidence: the mean rate is twice the mean cadence to the beat. Closeness alone flags a quarter.
    flagged = close = 0.0
    for seed in range(60):
        pace = paced(per_minute=60.0, share=0.02, seed=seed)
        bpm = np.rint(120 + 2.0 * wandering(300, 12.0, np.random.default_rng(100 + seed)))
        found = find_lock(*every_second(bpm), *windows(pace))
        flagged += found.locked_s
        close += found.locked_s + sum(until - begin for begin, until in found.near)
    assert flagged < 0.1 * 60 * 300
    assert close > 0.2 * 60 * 300


def test_locked_minutes_are_found_to_95_percent():
    for near in (False, True):
        found, locked, _, _ = minutes(worn(31000 + seed, lock=True, near=near) for seed in range(60))
        assert locked > 150
        assert found >= 0.95 * locked


def test_under_2_percent_of_minutes_are_flagged_where_a_true_heart_keeps_near_the_multiple():
    # The true heart is paced to within 8 /min of a multiple of the cadence: the hardest case there is.
    _, _, false, free = minutes(worn(41000 + seed, lock=False, near=True) for seed in range(100))
    assert free > 1000
    assert false < 0.02 * free


def test_under_1_percent_are_flagged_where_the_true_heart_is_anywhere():
    _, _, false, free = minutes(worn(51000 + seed, lock=False, near=False) for seed in range(100))
    assert false < 0.01 * free


def test_a_heart_held_still_at_a_metronomes_double_is_called_a_lock():
    # The limit that the module states: nothing distinguishes it.
    assert find_lock(*every_second(np.full(300, 120.0)), *windows(np.full(300, 60.0))).intervals


def test_without_a_rhythm_nothing_can_be_locked():
    found = find_lock(*every_second(np.full(300, 120.0)), *windows(np.full(300, np.nan)))
    assert found == Lock((), (), 0.0, "")
    assert find_lock(*every_second(np.full(300, 120.0)), [], []) == Lock((), (), 0.0, "")
    assert find_lock([], [], [], *windows(np.full(300, 60.0))).intervals == ()


def test_a_lock_ends_where_the_rhythm_or_the_heart_rate_does():
    pace = paced()
    bpm = np.rint(2 * late(pace, 4))
    pace[150:] = np.nan
    assert find_lock(*every_second(bpm), *windows(pace)).intervals[0][1] == pytest.approx(154, abs=10)
    whole = paced()
    bpm[100:200] = np.nan
    parts = find_lock(*every_second(bpm), *windows(whole))
    assert len(parts.intervals) == 2
    assert parts.compared_s == pytest.approx(200, abs=15)


def test_a_recorder_that_writes_only_now_and_then_is_judged_as_well():
    pace = paced(share=0.02)
    second = np.rint(2 * late(pace, 4))
    start = np.cumsum(np.random.default_rng(4).integers(2, 7, 60))
    start = start[start < 290]
    found = find_lock(start, np.append(np.diff(start), 1), second[start], *windows(pace))
    assert found.locked_s > 200


def test_covers_tells_moments_inside_from_moments_outside():
    found = Lock(((10.0, 50.0), (80.0, 120.0)), (), 300.0, "")
    np.testing.assert_array_equal(found.covers([0, 10, 49, 50, 79, 80, 119, 121]), [0, 1, 1, 0, 0, 1, 1, 0])
    assert found.locked_s == 80
