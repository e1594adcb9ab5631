"""Rates that leap, by hand: how fast, how much faster than usual, and over how many values."""

import numpy as np
import pytest
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
