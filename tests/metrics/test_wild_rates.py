"""Rates that leap, by hand: how fast, how much faster than usual, and over how many values."""

import numpy as np
import pytest
from ownmark.metrics import wild_rates as module
from ownmark.metrics.wild_rates import wild


def seconds(count):
    return np.arange(count, dtype=float)


def leaping(by, count=100, usual=0.0):
    """Leaps to and fro by so much a second from 40 to 60 s, and by ``usual`` elsewhere."""
    bpm = 80.0 + usual * (np.arange(count) % 2)
    bpm[40:60] = 80.0 + by * (np.arange(20) % 2)
    return bpm


def test_a_speed_of_five_a_second_over_eight_seconds_is_wild():
    found = np.flatnonzero(wild(seconds(100), leaping(5.0)))
    # within 4 s to either side all eight leaps are of 5: value 44 sees 40 to 48, value 56 sees 52 to 60
    assert (found[0], found[-1], len(found)) == (44, 56, 13)
    assert not wild(seconds(100), leaping(4.9)).any()


@pytest.mark.parametrize(("usual", "some"), [(2.0, True), (2.1, False)])
def test_a_heart_that_leaps_all_the_time_is_its_own_measure(usual, some):
    assert wild(seconds(100), leaping(8.0, usual=usual)).any() == some


def test_values_far_apart_tell_no_speed():
    bpm = 80.0 + 60.0 * (np.arange(50) % 2)
    calm = np.full(200, 80.0)
    near = np.concatenate((calm, bpm))
    assert wild(np.concatenate((seconds(200), 200.0 + 3.0 * np.arange(50))), near)[210:240].sum() == 0  # two pairs each
    assert wild(np.concatenate((seconds(200), 200.0 + 2.0 * np.arange(50))), near)[210:240].all()  # four of 2 s
    assert not wild(np.concatenate((seconds(200), 200.0 + 3.1 * np.arange(50))), near).any()


def test_too_few_values_are_never_wild():
    assert not wild(seconds(4), np.array([60.0, 120.0, 60.0, 120.0])).any()
    assert wild(np.zeros(0), np.zeros(0)).shape == (0,)


def test_a_climb_as_fast_as_a_heart_climbs_is_not_wild():
    bpm = np.concatenate((np.full(60, 80.0), 80.0 + 3.0 * np.arange(25), np.full(60, 155.0)))
    assert not wild(seconds(len(bpm)), bpm).any()


def test_the_usual_speed_is_that_of_the_moments_that_tell_one():
    # three values far apart from the rest tell no speed and count for nothing: the usual is that of the others, 2.1
    time = np.concatenate((seconds(100), 1000.0 + 100.0 * np.arange(3)))
    bpm = np.concatenate((leaping(8.0, usual=2.1), np.full(3, 80.0)))
    assert not wild(time, bpm).any()
    assert wild(time, np.concatenate((leaping(8.5, usual=2.1), np.full(3, 80.0)))).any()


def test_five_values_are_enough():
    assert wild(seconds(5), np.array([60.0, 80.0, 60.0, 80.0, 60.0])).tolist() == [False] * 5  # its own usual
    calm = np.concatenate((seconds(100), 200.0 + np.arange(5.0)))
    leaps = np.array([60.0, 80.0, 60.0, 80.0, 60.0])
    found = wild(calm, np.concatenate((np.full(100, 70.0), leaps)))
    assert found[100:].all()
    assert not found[:100].any()
    assert not wild(calm[:104], np.concatenate((np.full(100, 70.0), leaps[:4]))).any()


def test_a_leap_across_a_gap_is_not_counted():
    time = np.concatenate((seconds(50), 60.0 + np.arange(50.0)))
    assert not wild(time, np.concatenate((np.full(50, 60.0), np.full(50, 180.0)))).any()
    # 3 s apart still counts: 20 in 8 s would be 2.5, 45 is over 5
    time = np.concatenate((seconds(50), 52.0 + np.arange(50.0)))
    assert wild(time, np.concatenate((np.full(50, 60.0), np.full(50, 105.0))))[48:52].any()


def test_constants_are_those_that_were_measured():
    assert (module.NEAR_S, module.AROUND_S, module.LEAST_SPEED) == (3.0, 4.0, 5.0)
    assert (module.OVER_USUAL, module.LEAST_PAIRS) == (4.0, 4)
