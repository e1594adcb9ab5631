"""Cadence lock: an optical sensor that shows the movement, told from a heart that passes by."""

import numpy as np
import pytest
from ownmark.metrics.motion.cadence_lock import (
    Lock,
    _bridged,
    _judged,
    _leaps,
    _spans,
    closeness,
    find_lock,
    leap,
    together,
)

from tests.bench.lock_accuracy import Case, rates
from tests.makers.pulse import wandering


def every_second(bpm):
    return np.arange(len(bpm), dtype=float), np.ones(len(bpm)), np.asarray(bpm, dtype=float)


def windows(per_minute, step_s=2):
    """Cadence every two seconds out of one for each second."""
    return np.arange(0, len(per_minute), step_s, dtype=float), np.asarray(per_minute, dtype=float)[::step_s]


def paced(seconds=300, per_minute=62.0, share=0.03, seed=1):
    """A cadence that wanders as a person's does."""
    return per_minute * (1 + share * wandering(seconds, 30.0, np.random.default_rng(seed)))


def locked_s(found):
    """Time in locked stretches [s]."""
    return sum(until - begin for begin, until in found.intervals)


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
    assert locked_s(found) == pytest.approx(60, abs=8)
    assert "keeps to the rhythm" in found.note
    assert "chest strap" in found.note


@pytest.mark.parametrize("multiple", [1, 2])
def test_both_the_cadence_and_its_double_are_looked_for(multiple):
    pace = paced(per_minute=70.0)
    found = find_lock(*every_second(np.rint(multiple * late(pace, 4))), *windows(pace))
    assert locked_s(found) > 270
    other = find_lock(*every_second(np.rint(multiple * late(pace, 4))), *windows(pace), multiples=(3 - multiple,))
    assert other.intervals == ()


def test_four_times_is_looked_for_only_where_a_cycle_holds_two_like_halves():
    pace = paced(per_minute=30.0)
    bpm = np.rint(4 * late(pace, 4))
    assert find_lock(*every_second(bpm), *windows(pace)).intervals == ()
    assert locked_s(find_lock(*every_second(bpm), *windows(pace), multiples=(1, 2, 4))) > 270


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
        flagged += locked_s(found)
        close += locked_s(found) + sum(until - begin for begin, until in found.near)
    assert flagged < 0.1 * 60 * 300
    assert close > 0.2 * 60 * 300


@pytest.mark.parametrize(
    ("case", "least_found"),
    [
        (Case("true heart anywhere"), 0.95),
        (Case("from beginning to end, by a metronome", None, 0.001, whole=True), 0.9),
        (Case("true heart within 8 /min", 8.0), 0.88),
        (Case("true heart within 2 /min", 2.0), 0.88),
    ],
    ids=lambda value: value.words if isinstance(value, Case) else "",
)
def test_locked_minutes_are_found(case, least_found):
    # By equality alone, 97 % are found of those within 8 /min, and as many true hearts are lost as the next test tells.
    got = rates(case, range(300, 360))
    assert got.locked > 150
    assert got.found >= least_found * got.locked


@pytest.mark.parametrize(
    ("case", "most_false", "most_lost"),
    [
        (Case("anywhere"), 0.005, 0.0),
        (Case("within 8 /min", 8.0), 0.02, 0.0),
        (Case("within 2 /min", 2.0), 0.025, 0.01),
        (Case("calm, within 2 /min", 2.0, None, calm=True), 0.025, 0.03),
        (Case("calm, within 2 /min of a metronome", 2.0, 0.003, calm=True), 0.04, 0.03),  # 1 % over 350 others
    ],
    ids=lambda value: value.words if isinstance(value, Case) else "",
)
def test_true_hearts_near_the_multiple_keep_their_minutes(case, most_false, most_lost):
    # By equality alone, 16 % of the minutes of a calm heart beside a metronome, and over a fifth of every fifth trial.
    got = rates(case, range(300, 400))
    assert got.free > 1000
    assert got.false <= most_false * got.free
    assert np.mean(got.lost > 0.2) <= most_lost


def test_a_heart_held_still_at_a_metronomes_double_is_used_and_told_as_unsure():
    # The limit that the module states: nothing moves that could prove a lock.
    found = find_lock(*every_second(np.full(300, 120.0)), *windows(np.full(300, 60.0)))
    assert found.intervals == ()
    assert found.unsure == found.near
    assert locked_s(found) == 0
    assert "neither changes enough to show" in found.note
    assert "It is used" in found.note
    further = find_lock(*every_second(np.full(300, 121.2)), *windows(np.full(300, 60.0)))
    assert (bool(further.near), further.unsure, further.note) == (True, (), "")


def test_together_is_fishers_transformation_of_what_is_alike_in_the_changes():
    # Steps of 16 s: no mean, every change from one to the next. By hand: 3 changes.
    series = np.array([0.0, 1.0, 3.0, 6.0])
    assert together(series, series + 5, 16.0) == pytest.approx(np.arctanh(0.95) * np.sqrt(3))  # as much as is told
    assert together(series, -series, 16.0) == pytest.approx(-np.arctanh(0.95) * np.sqrt(3))
    # Changes 1, 2, 3 and 1, 2, -3: 2 (1 + 4 - 9) / (14 + 14).
    assert together(series, np.array([0.0, 1.0, 3.0, 0.0]), 16.0) == pytest.approx(np.arctanh(-8 / 28) * np.sqrt(3))
    # Changes of twice the size are not alike: 2 (2 + 8 + 18) / (14 + 56).
    assert together(series, 2 * series, 16.0) == pytest.approx(np.arctanh(56 / 70) * np.sqrt(3))
    assert together(series, np.full(4, 9.0), 16.0) == 0.0
    assert together(np.full(4, 9.0), np.full(4, 9.0), 16.0) == 0.0


def test_together_takes_means_over_10_s_and_changes_over_16_s():
    # Steps of 2 s: 5 values a mean, 8 steps a change. 13 values hold one change, and (13 - 5) / 8 of one.
    one = np.append(np.zeros(8), np.full(5, 10.0))
    assert together(one, one, 2.0) == pytest.approx(np.arctanh(0.95))
    assert together(one[1:], one[1:], 2.0) == 0.0
    half = np.append(np.zeros(8), np.full(5, 5.0))  # 2 (10 x 5) / (100 + 25)
    assert together(one, half, 2.0) == pytest.approx(np.arctanh(0.8))
    twice = np.concatenate((np.zeros(8), np.full(5, 10.0), np.full(8, 10.0)))
    assert together(twice, twice, 2.0) == pytest.approx(np.arctanh(0.95) * np.sqrt(2))


@pytest.mark.parametrize(
    ("beside", "weight"),
    [([9.0, 3.0], 0), ([10.0, 3.0], 0.3), ([3.0, 19.0], 3.0), ([40.0, 3.0], 3.0), ([np.nan, 14.0], 1.5), ([-40.0], 0)],
)
def test_a_leap_speaks_from_9_a_minute_on_and_up_to_19(beside, weight):
    assert leap(np.array(beside)) == pytest.approx(weight)
    assert leap(np.full(2, np.nan)) == 0


@pytest.mark.parametrize(
    ("distance", "weight"),
    [(1.15, 0.0), (1.0, 0.5590), (0.8519, 1.2), (0.3, 1.2), (0.0, 1.2), (1.6, -1.3210), (2.3, -2.7726)],
)
def test_closeness_speaks_for_a_lock_below_1_15_and_never_for_two_thirds_of_one(distance, weight):
    # 4 ln(1.15 / distance), at most 4 x 0.3.
    assert closeness(distance) == pytest.approx(weight, abs=2e-4)


@pytest.mark.parametrize(("off", "locked"), [(0.5, True), (1.5, True), (1.7, False)])
def test_what_moves_along_is_a_lock_up_to_a_distance_of_1_6(off, locked):
    pace = 60 + 2 * np.sin(2 * np.pi * np.arange(400) / 100)  # slow enough that means change nothing
    found = find_lock(*every_second(2 * late(pace, 4) + off), *windows(pace))
    assert bool(found.intervals) == locked
    assert bool(found.near) != locked


@pytest.mark.parametrize("rest", [70.0, 160.0])
def test_a_lock_from_the_first_to_the_last_of_a_bout_is_seen_by_its_leap_from_rest_or_to_a_higher_rate(rest):
    # No rhythm lies before or behind; the metronome gives nothing to move with.
    pace, bpm = np.full(400, np.nan), np.full(400, rest)
    pace[100:300], bpm[100:300] = 60.0, 120.0
    found = find_lock(*every_second(bpm), *windows(pace))
    assert locked_s(found) == pytest.approx(200, abs=12)


@pytest.mark.parametrize(("after", "locked"), [(145.0, True), (95.0, True), (113.0, False)])
def test_a_lock_is_seen_by_its_leap_back_to_the_true_rate_while_the_movement_goes_on(after, locked):
    # The recording begins with the lock. 113 is 7 away: no leap.
    bpm = np.full(400, after)
    bpm[:200] = 120.0
    found = find_lock(*every_second(bpm), *windows(np.full(400, 60.0)))
    assert bool(found.intervals) == locked
    assert bool(found.near) != locked


def test_a_true_heart_that_rises_to_the_multiple_and_falls_from_it_leaps_not():
    # As fast as young hearts do: time constants of 12 s up and 25 s down.
    second = np.arange(500.0)
    up = 120 - 45 * np.exp(-(second - 100) / 12)
    fall = 75 + 45 * np.exp(-(second - 400) / 25)
    bpm = np.where(second < 100, 75.0, np.where(second < 400, up, fall))
    pace = np.where((second >= 100) & (second < 400), 60.0, np.nan)
    found = find_lock(*every_second(bpm), *windows(pace))
    assert found.intervals == ()
    assert found.unsure


def test_without_a_rhythm_nothing_can_be_locked():
    found = find_lock(*every_second(np.full(300, 120.0)), *windows(np.full(300, np.nan)))
    assert found == Lock((), (), (), 0.0)
    assert find_lock(*every_second(np.full(300, 120.0)), [], []) == Lock((), (), (), 0.0)
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
    assert locked_s(found) > 200


def test_covers_tells_moments_inside_from_moments_outside():
    found = Lock(((10.0, 50.0), (80.0, 120.0)), (), (), 300.0)
    np.testing.assert_array_equal(found.covers([0, 10, 49, 50, 79, 80, 119, 121]), [0, 1, 1, 0, 0, 1, 1, 0])


# ---- by hand


def judged(heart, *, pace=60.0, step=2.0, sharp=None, multiples=(1, 2), lost=()):
    """The windows that are locked, suspect and unsure; a rhythm that keeps to a metronome."""
    heart = np.asarray(heart, dtype=float)
    cadence = np.full(len(heart), float(pace))
    cadence[list(lost)] = np.nan
    found = _judged(heart, heart if sharp is None else np.asarray(sharp, dtype=float), cadence, multiples, step)
    return found.weight, *(np.flatnonzero(mask).tolist() for mask in (found.locked, found.near, found.unsure))


def stretch(count, bpm, *, before=10, after=10, rest=200.0):
    return np.concatenate((np.full(before, rest), np.full(count, float(bpm)), np.full(after, rest)))


def test_a_stretch_is_suspect_from_over_30_s_on_and_within_3_a_minute():
    for off in (3.0, -3.0):
        assert judged(np.full(16, 120 + off))[1:] == ([], list(range(16)), [])
        assert judged(np.full(15, 120 + off))[1:] == ([], [], [])
        assert judged(np.full(16, 120 + 1.01 * off))[1:] == ([], [], [])
    assert judged(np.full(16, 60.0))[1:] == ([], list(range(16)), list(range(16)))
    assert judged(np.full(16, 60.0), multiples=(2,))[1:] == ([], [], [])


def test_a_suspect_stretch_as_close_as_a_lock_is_unsure():
    assert judged(np.full(20, 121.14))[1:] == ([], list(range(20)), list(range(20)))
    assert judged(np.full(20, 121.16))[1:] == ([], list(range(20)), [])
    even = 120 + 1.14 * np.where(np.arange(20) % 2, 1.0, -1.0)  # a root mean square, of both signs
    assert judged(even)[3] == list(range(20))


@pytest.mark.parametrize(("leap_bpm", "locked"), [(10.9, False), (11.1, True)])
def test_leap_and_closeness_together_are_a_lock_above_1_8(leap_bpm, locked):
    # 0.5 /min away: 1.2; 2 /min of a leap beyond 9: 0.6.
    heart = stretch(20, 120.5)
    sharp = heart.copy()
    sharp[3] = 120.5 - leap_bpm  # 14 s before
    sharp[36] = 121.0  # and behind
    weight, is_locked, near, unsure = judged(heart, sharp=sharp)
    windows_of_it = list(range(10, 30))
    assert (is_locked, near, unsure) == ((windows_of_it, [], []) if locked else ([], windows_of_it, windows_of_it))
    assert weight == pytest.approx(20 * (1.2 + 0.3 * (leap_bpm - 9)) if locked else 0.0)


def test_each_stretch_is_judged_alone_and_weights_add_up():
    heart = np.concatenate((stretch(20, 120, rest=150), stretch(20, 60, rest=150)))
    weight, locked, near, _ = judged(heart)
    assert locked == [*range(10, 30), *range(50, 70)]
    assert near == []
    assert weight == pytest.approx(2 * 20 * (3.0 + 1.2))


def test_a_stretch_goes_on_over_4_s_in_which_both_were_known():
    heart = np.full(150, 122.0)
    heart[70:78] = 140.0
    assert judged(heart, step=0.5)[2] == list(range(150))  # all 75 s, of which 4 are elsewhere
    heart[70:79] = 140.0
    assert judged(heart, step=0.5)[2] == [*range(70), *range(79, 150)]
    heart[70:79] = 122.0
    assert judged(heart, step=0.5, lost=range(70, 72))[2] == [*range(70), *range(72, 150)]


def test_holes_are_closed_inside_and_not_at_the_ends():
    def closed(text, lost=()):
        close = np.array([each == "#" for each in text])
        known = np.ones(len(text), bool)
        known[list(lost)] = False
        return "".join(".#"[each] for each in _bridged(close, known, 2).astype(int))

    assert closed("..##.##..##...##..") == "..#########...##.."
    assert closed("..##..##", lost=[4]) == "..##..##"
    assert closed("..##..##", lost=[5]) == "..##..##"
    assert closed("..##..##", lost=[0, 3, 6]) == "..######"
    assert closed(".#.#.") == ".###."
    assert closed("#.#.") == "###."


def test_a_leap_is_looked_for_14_s_before_and_behind():
    heart, sharp = np.arange(0.0, 200.0, 10.0), np.arange(20.0) ** 2
    known = np.ones(20, bool)
    assert _leaps(heart, sharp, known, 8, 12, 7).tolist() == [80 - 1, 324 - 110]
    assert _leaps(heart, sharp, known, 7, 13, 7).tolist() == [70 - 0, 361 - 120]
    assert np.isnan(_leaps(heart, sharp, known, 6, 14, 7)).all()
    fall = -sharp
    assert _leaps(heart, fall, known, 8, 12, 7).tolist() == [81, 324 + 110]
    known[18] = False
    assert _leaps(heart, fall, known, 8, 12, 7).tolist() == [81, -324 - 110]  # a heart falls where a rhythm ends
    assert _leaps(heart, sharp, known, 8, 12, 7).tolist() == [79, 214]


def test_spans_reach_half_a_step_beyond_their_windows():
    middle = 5.0 + 2.0 * np.arange(6)
    assert _spans(np.array([1, 0, 0, 1, 1, 0], bool), middle, 2.0) == ((4.0, 6.0), (10.0, 14.0))
    assert _spans(np.array([0, 0, 0, 0, 1, 1], bool), middle, 2.0) == ((12.0, 16.0),)
    assert _spans(np.zeros(6, bool), middle, 2.0) == ()


@pytest.mark.parametrize("delay", [2, 4, 6, 8, 10])
def test_the_delay_that_speaks_most_for_locks_is_taken(delay):
    pace = paced(share=0.04)
    found = find_lock(*every_second(2 * late(pace, delay)), *windows(pace))
    ((begin, until),) = found.intervals
    assert begin == delay - 1.0
    assert until in (299.0, 301.0)  # of the last window only half was measured
    assert locked_s(found) == until - begin
    assert found.compared_s == 302.0 - delay


def test_a_rhythm_of_one_window_is_none():
    assert find_lock(*every_second(np.full(9, 120.0)), [4.0], [60.0]) == Lock((), (), (), 0.0)
    found = find_lock(*every_second(np.full(9, 120.0)), [2.0, 4.0], [60.0, 60.0])
    assert (found.near, found.compared_s) == ((), 4.0)


def test_small_changes_are_as_alike_as_large_ones():
    series = np.array([0.0, 1.0, 3.0, 6.0])
    assert together(0.01 * series, 0.02 * series, 16.0) == pytest.approx(together(series, 2 * series, 16.0))
