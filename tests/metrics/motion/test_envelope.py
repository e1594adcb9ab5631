"""The envelope of acceleration: short means, running means and spreads, worked out by hand or by the plain formula."""

import numpy as np
import pytest
from ownmark.metrics.motion.envelope import (
    Means,
    _counts,
    changes,
    envelope,
    is_noise,
    quick_envelope,
    quietest,
    running_sum,
    short_means,
    smoothed,
)
from ownmark.metrics.motion.grid import Grid


def means(values, step_s=0.1, start_s=5.0, missing=()):
    """Means of one axis, the other two zero, or of three axes; some of them not measured."""
    values = np.asarray(values, dtype=float)
    if values.ndim == 1:
        values = np.stack((values, np.zeros(len(values)), np.zeros(len(values))))
    measured = np.ones(values.shape[1], bool)
    measured[list(missing)] = False
    return Means(start_s, step_s, np.where(measured, values, 0.0), measured)


# ---- lengths


@pytest.mark.parametrize(
    ("seconds", "steps", "odd"),
    [
        (0.0, 1, 1),
        (0.04, 1, 1),
        (0.07, 2, 1),
        (0.09, 2, 3),
        (0.12, 3, 3),
        (0.15, 4, 3),
        (0.17, 4, 5),
        (0.5, 12, 13),
        (1.0, 25, 25),
    ],
)
def test_lengths_are_counted_in_the_nearest_number_of_stretches_at_least_one(seconds, steps, odd):
    made = means(np.zeros(3), step_s=0.04)
    assert made.steps(seconds) == steps
    assert made.odd_steps(seconds) == odd


# ---- short means


def test_short_means_are_those_of_whole_stretches_and_begin_half_a_sample_before_the_first():
    values = np.column_stack((np.arange(10.0), 2 * np.arange(10.0), np.full(10, 7.0)))
    found = short_means(Grid(3.0, 100.0, values), 0.04)
    assert found.start_s == pytest.approx(2.995)
    assert found.step_s == pytest.approx(0.04)
    assert found.values.tolist() == [[1.5, 5.5], [3.0, 11.0], [7.0, 7.0]]  # samples 8 and 9 are left out
    assert found.measured.tolist() == [True, True]


def test_samples_further_apart_than_a_mean_are_means_of_one():
    found = short_means(Grid(0.0, 10.0, np.arange(9.0).reshape(3, 3)), 0.04)
    assert found.values.tolist() == [[0, 3, 6], [1, 4, 7], [2, 5, 8]]
    assert (found.start_s, found.step_s) == (-0.05, 0.1)


def test_a_mean_stands_with_half_of_its_samples_and_is_nought_with_fewer():
    values = np.repeat(np.arange(12.0)[:, None], 3, axis=1)
    values[[1, 2]] = np.nan  # two of four are left: 0 and 3
    values[4:7, 1] = np.nan  # one of four
    found = short_means(Grid(0.0, 100.0, values), 0.04)
    assert found.measured.tolist() == [True, False, True]
    assert found.values[0].tolist() == [1.5, 0.0, 9.5]


# ---- running means


@pytest.mark.parametrize("width", [1, 3, 5, 9])
@pytest.mark.parametrize("length", range(12))
def test_where_all_was_measured_a_windows_count_is_what_of_it_lies_inside(width, length):
    half = width // 2
    inside = [min(at + half, length - 1) - max(at - half, 0) + 1 for at in range(length)]
    assert _counts(np.ones(length, bool), width).tolist() == inside
    lost = np.arange(length) % 4 != 1
    counted = [max(sum(lost[max(at - half, 0) : at + half + 1]), 1) for at in range(length)]
    assert _counts(lost, width).tolist() == counted


def test_a_running_sum_is_cut_short_at_the_ends():
    assert running_sum(np.array([1.0, 2, 4, 8, 16]), 3).tolist() == [3, 7, 14, 28, 24]
    assert running_sum(np.array([1.0, 2, 4, 8, 16]), 5).tolist() == [7, 15, 31, 30, 28]
    assert running_sum(np.array([1.0, 2]), 5).tolist() == [3, 3]
    assert running_sum(np.empty(0), 5).tolist() == []


def test_what_was_not_measured_does_not_enter_a_running_mean():
    found = smoothed(means([1.0, 2, 99, 8, 16], missing=[2]), 0.3)
    assert found.values[0].tolist() == [1.5, 1.5, 0.0, 12.0, 12.0]
    assert found.measured.tolist() == [True, True, False, True, True]
    assert (found.start_s, found.step_s) == (5.0, 0.1)


def test_each_axis_has_its_own_running_mean():
    found = smoothed(means([[3.0, 6, 9], [1, 1, 4], [0, 0, 0]]), 0.3)
    assert found.values.tolist() == [[4.5, 6.0, 7.5], [1.0, 2.0, 2.5], [0, 0, 0]]


def test_a_running_mean_of_one_changes_nothing():
    made = means([1.0, 2, 3])
    assert smoothed(made, 0.1) is made


def test_where_nothing_around_was_measured_nothing_is_divided_by_nought():
    found = smoothed(means([1.0, 2, 3, 4], missing=[0, 1, 2, 3]), 0.3)
    assert found.values.tolist() == [[0.0] * 4] * 3


# ---- changes


def test_changes_are_as_strong_as_the_values_where_movement_is():
    made = means([0.0, 0, 4, 0, 4, 0, 0])
    going = np.array([0, 0, 1, 1, 1, 1, 0], bool)  # values 4 0 4 0: variance 4; steps 4 -4 4 -4: variance 16
    found = changes(made, going)
    assert found.values[0] == pytest.approx([0, 0, 2, -2, 2, -2, 0])
    assert (found.start_s, found.step_s) == (5.0, 0.1)
    assert found.measured.all()


def test_the_axes_of_changes_have_one_scale():
    made = means([[0.0, 4, 0, 4], [0, 3, 0, 3], [0, 0, 0, 0]])  # variances 4 and 2.25
    steps = np.array([[0.0, 4, -4, 4], [0, 3, -3, 3], [0, 0, 0, 0]])  # variances 11 and 6.1875
    assert changes(made, np.ones(4, bool)).values == pytest.approx(steps * np.sqrt(6.25 / 17.1875))


def test_a_change_beside_what_was_not_measured_is_unknown_and_nought():
    made = means([1.0, 3, 0, 7, 5, 9], missing=[2])
    assert changes(made, np.zeros(6, bool)).values[0].tolist() == [0.0, 2.0, 0.0, 0.0, -2.0, 4.0]


def test_only_measured_changes_set_the_scale():
    made = means([0.0, 4, 0, 8, 4, 0, 4], missing=[2])
    found = changes(made, np.array([0, 0, 1, 1, 1, 1, 1], bool))  # of index 4 on: values 4 0 4, steps -4 -4 4
    assert found.values[0] == pytest.approx(np.array([0, 4, 0, 0, -4, -4, 4]) * 0.5)


def test_a_level_signal_has_no_scale():
    assert changes(means([2.0, 2, 2]), np.ones(3, bool)).values.tolist() == [[0.0] * 3] * 3


# ---- the envelope


def by_hand(made, width):
    """The spread about the mean of each window, by the plain formula."""
    half, out = width // 2, []
    for middle in range(len(made.measured)):
        window = slice(max(middle - half, 0), middle + half + 1)
        part = made.values[:, window][:, made.measured[window]]
        out.append(1000 * np.sqrt(part.var(axis=1).sum()) if part.shape[1] else np.nan)
    return np.array(out)


def test_the_envelope_is_the_spread_of_all_axes_about_their_mean_within_half_a_second():
    made = means(np.random.default_rng(1).normal(0.3, 0.2, (3, 30)))
    assert envelope(made) == pytest.approx(by_hand(made, 5), rel=1e-9)
    assert envelope(made, 0.9) == pytest.approx(by_hand(made, 9), rel=1e-9)


def test_the_window_is_half_a_second():
    made = means(np.random.default_rng(5).normal(0.3, 0.2, (3, 60)), step_s=0.02)
    assert envelope(made) == pytest.approx(by_hand(made, 25), rel=1e-9)


def test_the_envelope_of_one_swing_is_its_own_size():
    # 0 and 20 mg in turn, five at a time: the variance of 0 20 0 20 0 is 96.
    assert envelope(means([0.0, 0.02] * 5))[2] == pytest.approx(np.sqrt(96))


def test_the_envelope_of_nothing_and_of_stillness():
    assert envelope(means(np.empty(0))).tolist() == []
    assert envelope(means(np.full(9, 0.7))) == pytest.approx(np.zeros(9), abs=1e-9)


def test_the_envelope_is_known_where_half_of_the_window_was_measured():
    made = means(np.random.default_rng(2).normal(0, 0.2, (3, 12)), missing=[3, 4, 6, 7])
    found = envelope(made)
    # Windows of five about 5 hold 5 alone; about 2 they hold 0 to 2, about 8 they hold 8 to 10.
    assert np.flatnonzero(np.isnan(found)).tolist() == [3, 4, 5, 6, 7]
    known = np.isfinite(found)
    assert found[known] == pytest.approx(by_hand(made, 5)[known], rel=1e-9)


def test_two_measured_of_a_window_of_five_are_too_few():
    found = envelope(means(np.arange(11.0), missing=[1, 2, 4, 6, 7]))
    assert np.flatnonzero(np.isfinite(found)).tolist() == [8, 9, 10]  # about 3 and 5 there are 3 and 5 alone


def test_a_recording_shorter_than_half_a_window_still_has_an_envelope():
    assert envelope(means([0.0, 0.02])) == pytest.approx([10.0, 10.0])
    assert envelope(means([0.0, 0.02], step_s=0.02)) == pytest.approx([10.0, 10.0])


# ---- what is too quick for posture


def test_a_parabola_is_posture_and_leaves_nothing():
    place = np.arange(30.0)
    made = means([0.01 * place**2 - 0.2 * place, 0.3 * place, np.full(30, 4.0)])
    assert quick_envelope(made, 0.7)[3:-3] == pytest.approx(np.zeros(24), abs=1e-4)


def test_a_level_far_from_nought_costs_no_digits():
    values = np.random.default_rng(6).normal(0, 0.1, (3, 25))
    assert quick_envelope(means(values + 1e6), 0.7) == pytest.approx(quick_envelope(means(values), 0.7), rel=1e-5)


def left_by_parabola(values, width):
    """Root mean square that a parabola fitted by least squares leaves in each window, ends repeated [mg]."""
    half, place = width // 2, np.arange(width)
    square = np.zeros(values.shape[1])
    for axis in np.pad(values, ((0, 0), (half, half)), mode="edge"):
        for middle in range(values.shape[1]):
            window = axis[middle : middle + width]
            square[middle] += np.mean((window - np.polyval(np.polyfit(place, window, 2), place)) ** 2)
    return 1000 * np.sqrt(square)


def test_what_is_quick_is_what_a_fitted_parabola_leaves():
    made = means(np.random.default_rng(3).normal(1.0, 0.1, (3, 25)))
    assert quick_envelope(made, 0.7) == pytest.approx(left_by_parabola(made.values, 7), rel=1e-6)


def test_gaps_are_bridged_by_straight_lines_for_what_is_quick():
    values = np.random.default_rng(4).normal(0, 0.1, (3, 25))
    made = means(values, missing=[10, 11])
    whole = values.copy()
    for place, share in ((10, 1 / 3), (11, 2 / 3)):
        whole[:, place] = values[:, 9] + share * (values[:, 12] - values[:, 9])
    found = quick_envelope(made, 0.7)
    assert np.flatnonzero(np.isnan(found)).tolist() == [10, 11]
    expected = left_by_parabola(whole, 7)
    assert found[made.measured] == pytest.approx(expected[made.measured], rel=1e-6)


def test_what_is_quick_needs_a_window_and_something_measured():
    assert np.isnan(quick_envelope(means(np.arange(6.0)), 0.7)).all()
    assert np.isfinite(quick_envelope(means(np.arange(7.0)), 0.7)).all()
    assert np.isnan(quick_envelope(means(np.arange(9.0), missing=range(9)), 0.7)).all()


# ---- the quietest stretch


def test_the_quietest_stretch_is_the_lowest_mean_of_an_unbroken_one():
    level = np.array([9.0, 9, 5, 1, 3, 9, 9, np.nan, 0, 0, 9])
    # Three in a row: 5 1 3 is the lowest that is whole; it lies about the fifth mean, 0.45 s behind the start.
    mean, begin = quietest(level, means(level), 0.3, 0.1)
    assert mean == pytest.approx(3.0)
    assert begin == pytest.approx(5.0 + 0.35 - 0.15)


def test_only_every_so_many_seconds_is_looked_at():
    level = np.array([8.0, 0, 4, 0, 2, 0, 6, 0, 8, 0])
    mean, begin = quietest(level, means(level), 0.6, 0.2)  # 8 4 2 6 8: 4 2 6
    assert mean == pytest.approx(4.0)
    assert begin == pytest.approx(5.0 + 2.5 * 0.2 - 0.3)


def test_of_a_step_longer_than_asked_for_every_value_is_looked_at():
    assert quietest(np.array([5.0, 1, 5, 5]), means(np.zeros(4)), 0.1, 0.05)[0] == pytest.approx(1.0)


def test_the_stretch_is_as_long_as_asked_for():
    level = np.array([9.0] * 8 + [3.0] * 3 + [9.0] * 4 + [4.0] * 9 + [9.0] * 8)
    mean, begin = quietest(level, means(level), 0.9, 0.1)
    assert mean == pytest.approx(4.0)
    assert begin == pytest.approx(5.0 + 1.95 - 0.45)


def test_where_every_stretch_has_a_gap_the_fullest_ones_count_and_the_gaps_are_no_part_of_them():
    level = np.array([6.0, 4, np.nan, 2, 5, np.nan, 1, np.nan, 9])
    # Three in a row hold two values at the most: 5 (of 6 4), 5 (of 6 4), 3.5 (of 2 5), 3.5; 1 stands alone.
    mean, begin = quietest(level, means(level), 0.3, 0.1)
    assert mean == pytest.approx(3.5)
    assert begin == pytest.approx(5.0 + 0.35 - 0.15)


def test_of_a_shorter_recording_there_is_as_much_as_there_is():
    for level, lowest in (([4.0, 2, 6], 4.0), ([4.0, 2, 6, 8], 4.0), ([7.0], 7.0), ([3.0, 5.0], 3.0)):
        assert quietest(np.array(level), means(level), 2.0, 0.1)[0] == pytest.approx(lowest), level


def test_without_anything_measured_there_is_no_quiet_stretch():
    assert quietest(np.empty(0), means(np.empty(0)), 2.0, 0.1) == (np.inf, 5.0)
    assert quietest(np.full(50, np.nan), means(np.zeros(50)), 2.0, 0.1)[0] == np.inf


# ---- noise


def three(column):
    return np.repeat(np.asarray(column, dtype=float)[:, None], 3, axis=1)


def alike(first=0.0, second=0.0, third=0.0, count=2000):
    """Noise with about these autocorrelations: a moving average would not do, so it is drawn in frequency."""
    frequency = np.fft.rfftfreq(count)
    power = 1 + 2 * sum(r * np.cos(2 * np.pi * k * frequency) for k, r in ((1, first), (2, second), (3, third)))
    spectrum = np.sqrt(np.maximum(power, 0)) * np.exp(2j * np.pi * np.random.default_rng(7).random(len(frequency)))
    spectrum[0] = 0
    return three(np.fft.irfft(spectrum, count))


def test_noise_has_no_regard_to_what_was_before():
    assert is_noise(alike())
    assert not is_noise(three(np.sin(np.arange(200.0))))


@pytest.mark.parametrize("lag", ["second", "third"])
@pytest.mark.parametrize("sign", [1, -1])
def test_the_squares_of_the_second_and_third_autocorrelation_stay_below_a_tenth(lag, sign):
    assert is_noise(alike(**{lag: 0.30 * sign}))  # 0.09
    assert not is_noise(alike(**{lag: 0.33 * sign}))  # 0.109


def test_the_first_may_be_three_tenths_by_resampling_but_not_below_nought():
    assert is_noise(alike(first=0.3, second=0.30))
    assert not is_noise(alike(first=0.3, second=0.33))
    assert not is_noise(alike(first=0.40, second=0.307))  # 0.01 + 0.094
    assert is_noise(alike(first=0.35, second=0.307))  # 0.0025 + 0.094
    assert is_noise(alike(first=0.36, second=0.305))
    assert not is_noise(alike(first=0.37, second=0.311))
    assert is_noise(alike(first=-0.30))
    assert not is_noise(alike(first=-0.33))


def test_drifting_posture_is_no_part_of_noise():
    drift = three(np.linspace(0, 20, 2000)) * np.array([1.0, -2.0, 0.5])
    assert is_noise(alike() + drift)
    assert is_noise(alike() + 100.0)


def test_noise_is_judged_on_twenty_five_values_without_a_gap():
    column = np.random.default_rng(12).standard_normal((60, 3))
    assert is_noise(column)
    assert is_noise(column[:25])
    assert not is_noise(column[:24])
    column[30, 1] = np.nan
    assert not is_noise(column)


def test_no_change_at_all_is_noise_of_no_size():
    assert is_noise(np.zeros((50, 3)))
