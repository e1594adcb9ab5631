"""Strides of walkers whose legs differ: counted whole, each window one way, and steps told only where both are sure."""

import numpy as np
import pytest
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.rhythm import rhythm

from tests.bench.rhythm_cases import WALKS, shares, walked
from tests.makers.walks import Walk, walk

UNSURE = {"legs 1 : 1, sway   0 mg", "legs 1.2 : 1, sway   0 mg"}


@pytest.mark.parametrize(("words", "how"), WALKS, ids=[words for words, _ in WALKS])
def test_strides_are_counted_however_much_the_legs_differ(words, how):
    strides, steps, other, shown_as_change = shares([walked(how, 100 + seed, 60.0) for seed in range(4)])
    assert other == 0
    assert shown_as_change == 0
    if words not in UNSURE:
        assert (strides, steps) == (100, 0)


def test_legs_quite_alike_that_never_sway_cannot_be_told_from_single_steps_and_that_is_known():
    for seed in range(3):
        (value, counted), strides = walked(Walk(sway_g=0.0), seed)
        assert value == pytest.approx(2 * strides, rel=0.02)
        assert counted == "cycle or half"


@pytest.mark.parametrize(("ratio", "counted"), [(1.0, "pair"), (1.5, "pair"), (3.0, "cycle or half")])
def test_steps_are_sure_where_both_are_alike(ratio, counted):
    assert {walked(Walk(ratio=ratio, sway_g=0.05), seed)[0][1] for seed in range(4)} == {counted}


def test_every_window_of_nearly_equal_legs_is_read_one_way():
    # Window by window, some were read as steps, some as strides and some as two strides: a mean of 34 to 88.
    for seed in range(6):
        felt, _ = walk(Walk(ratio=1.2, sway_g=0.03), 90.0, seed)
        shown = rhythm(to_grid(felt), [(0.0, 90.0)]).per_minute
        shown = shown[np.isfinite(shown)]
        assert len(shown) > 40
        assert (np.abs(shown / 48 - 1) < 0.1).all()


def alternating(fundamental, seconds=60.0):
    """A swing of 1 Hz of which every second one differs: alike to (1 - f²) / (1 + f²)."""
    at = np.arange(round(50 * seconds)) / 50.0
    wave = np.cos(2 * np.pi * at + 0.5) + fundamental * np.cos(np.pi * at)
    return Grid(0.0, 50.0, np.stack((0.3 * wave, 0.1 * wave, np.ones(len(at))), axis=1))


@pytest.mark.parametrize(("fundamental", "per_minute"), [(0.15, 60), (0.17, 30), (0.3, 30), (1.0, 30)])
def test_halves_that_differ_by_a_twentieth_are_halves(fundamental, per_minute):
    # Alike to 0.956, 0.944, 0.835 and 0; the limit is 0.95.
    assert rhythm(alternating(fundamental), [(0.0, 60.0)]).cadence_mean.value == pytest.approx(per_minute, rel=0.01)


def test_a_cycle_too_long_to_be_looked_for_is_not_taken_for_the_whole():
    # At 25 swings a minute every second one differs: two of them would be 12.5 a minute.
    at = np.arange(50 * 120) / 50.0
    turn = 2 * np.pi * 25 / 60 * at
    wave = np.cos(turn) + 0.3 * np.cos(turn / 2) + 0.4 * np.cos(2 * turn)
    found = rhythm(Grid(0.0, 50.0, np.stack((wave, np.zeros(len(at)), np.ones(len(at))), axis=1)), [(0.0, 120.0)])
    assert found.cadence_mean.value == pytest.approx(25, rel=0.02)
