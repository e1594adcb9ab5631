"""The uniform grid: what is a gap and what only a late sample; short means of what was measured."""

import numpy as np
import pytest
from ownmark.ingest.recording import ACCELERATION, Stream
from ownmark.metrics.motion.envelope import changes, envelope, quick_envelope, short_means
from ownmark.metrics.motion.grid import Grid, block_sums, sums_of, to_grid, usual_step

from tests.makers.motion import stream

NAN = np.nan


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


# ---- the grid by hand


def test_samples_between_two_moments_hold_the_first_and_not_the_last():
    made = Grid(1.0, 4.0, np.arange(8.0))  # 1.0, 1.25, … 2.75
    for span, first, count in (
        ((1.25, 2.0), 1.25, 3),
        ((1.2, 2.05), 1.25, 4),
        ((0.0, 9.0), 1.0, 8),
        ((2.75, 2.75), 2.75, 0),
        ((2.0, 1.5), 2.0, 0),
    ):
        part = made.between(*span)
        assert (part.start_s, len(part.values), part.rate_hz) == (pytest.approx(first), count, 4.0), span
    assert made.between(1.25, 2.0).values.tolist() == [1.0, 2.0, 3.0]
    third = Grid(0.0, 3.0, np.arange(9.0))
    assert third.between(1 / 3, 2 / 3).values.tolist() == [1.0]  # whatever a float makes of a third
    assert third.between(1 / 3 + 1e-9, 2 / 3 + 1e-9).values.tolist() == [1.0]
    assert third.between(1 / 3 + 1e-5, 2 / 3 + 1e-5).values.tolist() == [2.0]


def test_what_is_measured_and_its_runs():
    values = np.ones((9, 3))
    values[0, 0] = values[4, 1] = values[5, 2] = NAN
    made = Grid(0.0, 2.0, values)
    assert made.measured.tolist() == [False, True, True, True, False, False, True, True, True]
    assert made.measured_s == 3.0
    assert made.runs() == [(1, 4), (6, 9)]
    assert Grid(5.0, 2.0, np.array([NAN, 1.0, 2.0])).runs() == [(1, 3)]
    assert Grid(5.0, 2.0, np.array([NAN, 1.0, 2.0])).time_s.tolist() == [5.0, 5.5, 6.0]


def test_block_sums_leave_out_samples_that_are_over():
    values = np.arange(14.0).reshape(7, 2)
    assert block_sums(values, 3).tolist() == [[6.0, 24.0], [9.0, 27.0]]
    assert block_sums(values, 1).tolist() == values.T.tolist()
    assert block_sums(values, 8).shape == (2, 0)


def test_the_sums_of_a_grid_are_its_own_and_are_worked_out_once():
    one, other = Grid(0.0, 100.0, np.arange(12.0)), Grid(0.0, 100.0, three_axes(np.arange(12.0)))
    assert sums_of(one, 4).tolist() == [[6.0, 22.0, 38.0]]
    assert sums_of(other, 4)[0].tolist() == [6.0, 22.0, 38.0]
    assert sums_of(other, 4) is sums_of(other, 4)
    assert sums_of(other, 3)[0].tolist() == [3.0, 12.0, 21.0, 30.0]
    assert sums_of(one, 4).tolist() == [[6.0, 22.0, 38.0]]
    with pytest.raises(ValueError, match="read-only"):
        sums_of(one, 4)[:] = 0


def test_the_usual_step_is_the_mean_of_all_but_gaps():
    assert usual_step(np.array([0.0, 1.0, 2.2, 3.2])) == pytest.approx(3.2 / 3)
    assert usual_step(np.array([0.0, 1.0, 2.0, 4.5])) == pytest.approx(1.5)  # 2.5 medians are none yet
    assert usual_step(np.array([0.0, 1.0, 2.0, 4.51])) == pytest.approx(1.0)
    assert usual_step(np.array([0.0, 0.75, 1.75, 2.75, 5.25])) == 1.3125  # nor where a shorter one makes it look so
    assert usual_step(np.array([0.0, 1.0, 1.0, 2.0])) == pytest.approx(1.0)  # a stamp that stands twice
    assert usual_step(np.array([0.0, 1.0, 0.5, 1.5])) == pytest.approx(1.0)
    assert usual_step(np.array([0.0, 1.0, 2.0])) == 1.0
    assert usual_step(np.array([0.0, 0.125, 0.25, 1.25])) == 0.125
    assert usual_step(np.array([0.0, 4.0, 8.0, 13.0, 33.0])) == pytest.approx(13 / 3)
    assert usual_step(np.array([0.0, 1.0])) is None
    assert usual_step(np.array([0.0, 1.0, 1.0])) is None
    assert usual_step(np.array([0.0])) is None


def gridded(time, values, rate_hz=None, flags=None):
    time = np.asarray(time, dtype=float)
    flags = np.zeros(len(time), np.uint16) if flags is None else np.asarray(flags, np.uint16)
    return to_grid(Stream.from_samples(ACCELERATION, time, np.asarray(values, dtype=float), flags=flags), rate_hz)


def test_stamps_on_an_even_grid_keep_their_values():
    values = np.random.default_rng(0).normal(size=(50, 3))
    at = 7.0 + np.arange(50) / 10
    assert gridded(at, values).values == pytest.approx(values, abs=0)
    off = at.copy()
    off[20] += 0.0019  # within 0.02 of a step
    assert gridded(off, values).values == pytest.approx(values, abs=0)
    off[20] += 0.0002
    assert gridded(off, values).values[20] != pytest.approx(values[20], abs=1e-6)
    off[20] = at[20] - 0.0021
    assert gridded(off, values).values[20] != pytest.approx(values[20], abs=1e-6)


def test_stamps_off_the_grid_are_resampled_by_straight_lines():
    values = np.column_stack((np.arange(4.0), 10 - np.arange(4.0), np.ones(4)))
    found = gridded([0.0, 1.5, 2.0, 3.0], values)
    assert (found.start_s, found.rate_hz) == (0.0, 1.0)
    assert found.values[:, 0] == pytest.approx([0, 2 / 3, 2, 3])
    assert found.values[:, 1] == pytest.approx([10, 10 - 2 / 3, 8, 7])


def test_another_rate_can_be_asked_for_and_one_column_stays_one():
    found = gridded(np.arange(5.0), np.arange(5.0), rate_hz=2.0)
    assert found.values.tolist() == np.arange(0, 4.1, 0.5).tolist()
    assert found.rate_hz == 2.0
    assert len(gridded(np.arange(5.0), np.ones(5), rate_hz=3.0).values) == 13  # the last one too, for all of a float


def test_a_gap_is_empty_from_half_a_step_behind_the_last_to_half_a_step_before_the_next():
    time = np.concatenate((np.arange(5.0), [7.6, 8.6, 9.6]))
    found = gridded(time, np.arange(8.0))
    # The step is 1; the gap lasts from 4 to 7.6: 5, 6 and 7 lie behind 4.5 and before 7.1.
    assert np.flatnonzero(np.isnan(found.values)).tolist() == [5, 6, 7]
    found = gridded(np.concatenate((np.arange(5.0), [7.53, 8.53, 9.53])), np.arange(8.0))
    assert np.flatnonzero(np.isnan(found.values)).tolist() == [5, 6, 7]  # 7.03
    found = gridded(np.concatenate((np.arange(5.0), [7.5, 8.5, 9.5])), np.arange(8.0))
    assert np.flatnonzero(np.isnan(found.values)).tolist() == [5, 6]  # at 7 the next is half a step away
    found = gridded(np.concatenate((np.arange(5.0), [6.4, 7.4])), np.arange(7.0))
    assert not np.isnan(found.values).any()


def test_the_edges_of_a_gap_on_a_finer_grid():
    # Behind 4.5 and before 7.0, which are measured themselves.
    time = np.concatenate((np.arange(5.0), [7.5, 8.5, 9.5]))
    found = gridded(time, np.arange(8.0), rate_hz=20.0)
    assert np.flatnonzero(np.isnan(found.values)).tolist() == list(range(91, 140))


def test_flagged_samples_and_those_without_a_number_are_gaps():
    values = np.arange(10.0)
    values[2] = NAN
    found = gridded(np.arange(10.0), values, rate_hz=1.0, flags=[0, 0, 0, 0, 0, 1, 1, 1, 0, 0])
    assert np.flatnonzero(np.isnan(found.values)).tolist() == [5, 6, 7]
    assert found.values[2] == pytest.approx(2.0)
    assert gridded([0.0, 1.0], [0.0, 1.0]) is None
