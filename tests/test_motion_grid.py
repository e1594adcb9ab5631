"""The uniform grid: what is a gap and what only a late sample; short means of what was measured."""

import numpy as np
import pytest
from ownmark.ingest.recording import ACCELERATION
from ownmark.metrics.motion.envelope import changes, envelope, quick_envelope, short_means
from ownmark.metrics.motion.grid import Grid, to_grid

from tests.makers.motion import stream


def at(time):
    values = np.column_stack((time, np.zeros((len(time), 2))))
    return to_grid(stream(ACCELERATION, time, values))


@pytest.mark.parametrize(
    ("rate", "step", "gap"),
    [
        (400.0, 0.017, False),  # one late sample
        (400.0, 0.0495, False),  # 20 usual steps, just below the limit
        (400.0, 0.0505, True),
        (100.0, 0.0495, False),
        (100.0, 0.0505, True),
        (50.0, 0.0495, False),  # just below 2.5 usual steps
        (50.0, 0.0505, True),
        (20.0, 0.124, False),
        (20.0, 0.126, True),
    ],
)
def test_a_step_is_a_gap_above_2_5_usual_ones_and_50_ms(rate, step, gap):
    before = np.arange(200) / rate
    grid = at(np.concatenate((before, before[-1] + step + np.arange(200) / rate)))
    assert bool(np.isnan(grid.values).any()) == gap
    if not gap:  # a straight line over it: the values are the time itself
        assert grid.values[:, 0] == pytest.approx(grid.time_s, abs=1e-6)


def three_axes(x):
    return np.column_stack((x, np.zeros((len(x), 2))))


def test_a_short_mean_is_measured_where_half_of_its_samples_are():
    x = np.arange(12.0)
    x[[1, 4, 5, 6]] = np.nan  # of the first four one is lost, of the second three, of the third none
    means = short_means(Grid(0.0, 100.0, three_axes(x)), 0.04)
    assert means.measured.tolist() == [True, False, True]
    assert means.values[0].tolist() == [pytest.approx((0 + 2 + 3) / 3), 0.0, pytest.approx(9.5)]
    x[[4, 5]] = 4.0, 5.0
    x[7] = np.nan
    assert short_means(Grid(0.0, 100.0, three_axes(x)), 0.04).measured.all()  # two of four: the half


def test_the_quick_envelope_forgets_a_parabola_and_keeps_what_is_quicker():
    time = np.arange(400) / 20
    posture = 0.2 * time - 0.03 * time**2
    means = short_means(Grid(0.0, 20.0, three_axes(posture)), 0.05)
    assert quick_envelope(means, 0.6)[20:-20] == pytest.approx(np.zeros(360), abs=1e-3)
    assert envelope(means, 0.6)[350] > 100  # which the plain one does not
    ringing = 0.1 * np.cos(2 * np.pi * 5 * time)  # whole periods in 0.6 s: mean square 0.1² / 2
    quick = quick_envelope(short_means(Grid(0.0, 20.0, three_axes(posture + ringing)), 0.05), 0.6)
    assert quick[20:-20] == pytest.approx(np.full(360, 1000 * 0.1 / np.sqrt(2)), rel=0.12)


@pytest.mark.parametrize(("hertz", "left"), [(0.5, 0.015), (1.0, 0.107), (1.5, 0.303), (3.0, 0.926)])
def test_of_a_slow_swing_little_is_quick(hertz, left):
    # Source: root mean square of a sine about its least-squares parabola over 11 values, by numpy.polyfit.
    time = np.arange(2000) / 20
    quick = quick_envelope(short_means(Grid(0.0, 20.0, three_axes(np.sin(2 * np.pi * hertz * time))), 0.05), 0.6)
    place, pieces = np.arange(11), [np.sin(2 * np.pi * hertz * (np.arange(11) + n) / 20) for n in range(100)]
    by_hand = [np.mean((x - np.polyval(np.polyfit(place, x, 2), place)) ** 2) for x in pieces]
    assert quick[5:105] == pytest.approx(1000 * np.sqrt(by_hand), abs=0.01)
    assert np.sqrt(np.mean(by_hand) * 2) == pytest.approx(left, abs=0.02)


def test_the_quick_envelope_is_unknown_only_where_nothing_was_measured():
    x = 0.1 * np.cos(np.arange(200.0))
    x[80:100] = np.nan
    quick = quick_envelope(short_means(Grid(0.0, 20.0, three_axes(x)), 0.05), 0.6)
    assert np.flatnonzero(np.isnan(quick)).tolist() == list(range(80, 100))
    assert np.isnan(quick_envelope(short_means(Grid(0.0, 20.0, three_axes(x[:5])), 0.05), 0.6)).all()


def test_changes_are_as_strong_as_the_values_where_they_are_compared():
    time = np.arange(400) / 20
    x = np.where(time < 10, 0.02 * np.sin(2 * np.pi * 0.3 * time), 0.1 * np.sin(2 * np.pi * 3 * time))
    means = short_means(Grid(0.0, 20.0, three_axes(x)), 0.05)
    going = time >= 10.05
    out = changes(means, going)
    assert out.values[0][going].var() == pytest.approx(means.values[0][going].var())
    assert out.values[0][1:190].std() < 0.2 * means.values[0][1:190].std()  # slow sway all but goes
    still = changes(means, np.zeros(400, bool))  # nothing to compare: the plain differences
    assert still.values[0][1:] == pytest.approx(np.diff(means.values[0]))
