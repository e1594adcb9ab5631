"""Likeness of a movement to itself a while later, pair by pair."""

import numpy as np
import pytest
from ownmark.metrics.motion.autocorrelation import likeness
from ownmark.metrics.motion.grid import Grid

RATE_HZ, STEP, WINDOW_S = 4.0, 4, 4.0
LAGS = range(2, 10)
START_S = 7.0


def made(count=70, missing=(), seed=0):
    values = np.random.default_rng(seed).normal(0, 0.2, (count, 3))
    values[list(missing)] = np.nan
    return Grid(START_S, RATE_HZ, values)


def by_pairs(grid, bouts=None):
    """``(values, pairs, measured, size)`` by the definition: a pair counts in the window that holds its middle."""
    known = np.isfinite(grid.values).all(axis=1)

    def bout(at):  # odd within a bout or an eighth of a window of it, even between
        edges = np.array(bouts).ravel() + np.tile([-0.5, 0.5], len(bouts)) * STEP / RATE_HZ
        return int(np.searchsorted(edges, START_S + at / RATE_HZ, side="right"))

    windows = -(-len(grid.values) // STEP) + 1
    out = np.zeros((3, windows, len(LAGS)))
    size = np.zeros(windows)
    for window in range(windows):
        blocks = [window - 2 + place for place in range(4)]
        if bouts and bout(window * STEP) % 2:
            blocks = [each for each in blocks if bout((each + 0.5) * STEP) == bout(window * STEP)]
        middles = [each * STEP + sample for each in blocks for sample in range(STEP)]
        everywhere = [(window - 2) * STEP + sample for sample in range(4 * STEP)]
        power = [np.sum(grid.values[at] ** 2) for at in middles if 0 <= at < len(known) and known[at]]
        size[window] = np.sqrt(np.mean(power)) if power else 0.0
        for place, lag in enumerate(LAGS):

            def pairs(middles, lag=lag):
                both = [(at - lag // 2, at - lag // 2 + lag) for at in middles]
                inside = [(a, b) for a, b in both if a >= 0 and b < len(known) and known[a] and known[b]]
                return [(grid.values[a], grid.values[b]) for a, b in inside]

            own = pairs(middles)
            energy = sum(a @ a + b @ b for a, b in own)
            out[0, window, place] = 2 * sum(a @ b for a, b in own) / energy if own else 0.0
            out[1, window, place] = len(own) / (4 * STEP)
            out[2, window, place] = len(pairs(everywhere)) / (4 * STEP)
    return out[0], out[1], out[2, :, 0], size


@pytest.mark.parametrize("missing", [(), (0, 1), range(30, 45), (5, 20, 21, 50), range(60, 70)])
@pytest.mark.parametrize("count", [70, 72])
@pytest.mark.parametrize("bouts", [None, [(7.0, 15.2), (18.0, 30.0)], [(9.0, 11.0)]])
def test_every_pair_counts_in_the_window_that_holds_its_middle(missing, count, bouts):
    grid = made(count, missing)
    found = likeness(grid, WINDOW_S, (0.5, 2.0), bouts)
    values, pairs, measured, size = by_pairs(grid, bouts)
    assert found.lag_s.tolist() == [lag / RATE_HZ for lag in LAGS]
    assert found.time_s == pytest.approx(START_S + np.arange(len(size)))
    assert found.pairs == pytest.approx(pairs, abs=1e-5)
    assert found.measured == pytest.approx(measured, abs=1e-5)
    assert found.size_g == pytest.approx(size, abs=1e-5)
    assert found.values == pytest.approx(values, abs=1e-5)


def test_an_hour_is_looked_at_in_parts_that_join():
    grid = made(3700, seed=3)
    found = likeness(grid, WINDOW_S, (0.5, 2.0))
    values, pairs, *_ = by_pairs(grid)
    assert len(found.time_s) > 900
    assert found.values == pytest.approx(values, abs=1e-4)
    assert found.pairs == pytest.approx(pairs, abs=1e-5)


def test_no_bouts_bound_nothing():
    grid = made()
    assert (
        likeness(grid, WINDOW_S, (0.5, 2.0), []).values.tolist() == likeness(grid, WINDOW_S, (0.5, 2.0)).values.tolist()
    )
