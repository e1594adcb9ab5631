"""How alike the halves of a cycle are, by hand and by the definition."""

import numpy as np
import pytest
from ownmark.metrics.motion.grid import Grid
from ownmark.metrics.motion.symmetry import OUTWEIGHS, _mirrored, _top, halves


def mirrored(*rows):
    return _mirrored(np.array([rows], np.float32))[0]


def test_what_turns_over_in_one_direction_counts_where_the_rest_outweighs_it_by_half():
    assert mirrored((4, 0, 0), (0, 3, 0), (0, 0, -1)) == 8.0
    assert mirrored((1.5, 0, 0), (0, 0, 0), (0, 0, -1)) == 2.5
    assert mirrored((1.375, 0, 0), (0, 0, 0), (0, 0, -1)) == 0.375
    assert mirrored((4, 0, 0), (0, -1, 0), (0, 0, -1)) == 4.0  # 3 against 1: only the lowest one turns to its good
    assert mirrored((0.5, 0, 0), (0, 1, 0), (0, 0, 1)) == 2.5  # nothing turns over


def test_directions_lie_as_the_movement_does_and_not_as_the_sensor():
    # One axis repeats as another: half of it each way, (0 1; 1 0), which are -1 and 1 along the diagonals.
    assert mirrored((0, 2, 0), (0, 0, 0), (0, 0, 3)) == pytest.approx(5.0)
    assert mirrored((0, 0, 0), (2, 0, 0), (0, 0, 3)) == pytest.approx(5.0)


def top(*shares):
    return _top(np.array([shares]))[0]


def test_the_top_of_three_lags_is_that_of_a_parabola_where_the_middle_one_is_highest():
    assert top(0.5, 0.875, 0.625) == pytest.approx(0.875 + 0.125**2 / (8 * 0.625))
    assert top(0.75, 0.75, 0.25) == 0.8125
    assert top(0.25, 0.75, 0.75) == 0.8125
    assert top(0.75, 0.5, 0.25) == 0.75
    assert top(0.25, 0.5, 0.625) == 0.625
    assert top(0.5, 0.5, 0.5) == 0.5


def by_definition(band, time_s, length_s, window_s):
    """Window by window with noughts around the grid: what repeats at half a cycle, over the mean power of both."""
    size, samples = round(window_s * band.rate_hz), np.nan_to_num(band.values)

    def stretch(begin):
        places = np.arange(begin, begin + size)
        inside = (places >= 0) & (places < len(samples))
        return np.where(inside[:, None], samples[np.clip(places, 0, len(samples) - 1)], 0.0)

    found = []
    for time, length in zip(time_s, length_s, strict=True):
        lag = max(round(length * band.rate_hz / 2), 2)
        begin = round((time - band.start_s) * band.rate_hz) - size // 2 - lag // 2
        early, shares = stretch(begin), []
        for each in (lag - 1, lag, lag + 1):
            late = stretch(begin + each)
            whole = (np.sum(early**2) + np.sum(late**2)) / 2
            shares.append(mirrored(*(early.T @ late)) / whole if whole else 0.0)
        found.append(top(*shares))
    return np.array(found)


@pytest.mark.parametrize("window_s", [4.0, 4.2])
def test_every_window_compares_its_own_stretch_with_that_of_half_a_cycle_later(window_s):
    values = np.random.default_rng(4).normal(size=(60, 3))
    values[20:23] = np.nan
    band = Grid(7.0, 5.0, values)
    time_s = 7.0 + np.arange(14)  # to a quarter of a window behind the end
    for length_s in (np.linspace(0.3, 3.5, 14), np.full(14, 0.4), np.full(14, 8.0)):
        found = halves(band, time_s, length_s, window_s)
        assert found == pytest.approx(by_definition(band, time_s, length_s, window_s), abs=1e-5)


def half(first, second, axes=3, cycle_s=2.0, rate_hz=20.0):
    """Likeness of the halves of cycles whose first and second halves look so, shape (samples, axes) each."""
    values = np.tile(np.concatenate((first, second)), (10, 1))[:, :axes]
    (found,) = halves(Grid(0.0, rate_hz, values), np.array([10.0]), np.array([cycle_s]), 8.0)
    return found


AT = np.arange(20) / 20
UP, SIDE, FORE = (
    np.column_stack([np.sin(2 * np.pi * AT) if axis == own else np.zeros(20) for axis in range(3)]) for own in range(3)
)


def test_equal_halves_are_alike_and_opposite_ones_not():
    assert half(UP + FORE, UP + FORE) == pytest.approx(1.0, abs=1e-4)
    assert half(UP, -UP) == pytest.approx(-np.cos(np.pi / 10), abs=1e-3)  # one sample beside it, which is less unlike


def test_mirror_images_are_alike_where_what_repeats_outweighs_by_half():
    # What repeats has a² times the power of what turns over.
    for weight, alike in ((1.51, True), (1.49, False)):
        a = np.sqrt(weight)
        expected = 1.0 if alike else (weight - 1) / (weight + 1)
        assert half(a * UP + SIDE, a * UP - SIDE) == pytest.approx(expected, abs=0.01), weight
    assert OUTWEIGHS == 1.5


def test_only_one_direction_may_turn_over():
    assert half(2 * UP + SIDE + FORE, 2 * UP - SIDE - FORE) == pytest.approx(1.0 - 4 / 6 + 2 / 6, abs=0.35)


def test_halves_of_unlike_power_are_less_alike():
    # Twice as large: 2 · 2 / (1 + 4), whatever the order.
    assert half(UP, 2 * UP) == pytest.approx(0.8, abs=0.02)
    assert half(2 * UP, UP) == pytest.approx(0.8, abs=0.02)


def test_a_half_between_two_samples_is_found_between_them():
    at = np.arange(800) / 20
    values = np.column_stack((np.sin(2 * np.pi * 2 / 1.96 * at), np.zeros(800), np.zeros(800)))
    (found,) = halves(Grid(0.0, 20.0, values), np.array([20.0]), np.array([1.96]), 8.0)
    assert found == pytest.approx(1.0, abs=0.003)


def test_nothing_has_no_halves_and_gaps_count_for_nothing():
    assert halves(Grid(0.0, 20.0, np.zeros((400, 3))), np.empty(0), np.empty(0), 8.0).tolist() == []
    values = np.tile(UP, (20, 1))
    values[200:210] = np.nan
    (found,) = halves(Grid(0.0, 20.0, values), np.array([10.0]), np.array([2.0]), 8.0)
    assert 0.85 < found < 1.0
    (still,) = halves(Grid(0.0, 20.0, np.zeros((400, 3))), np.array([10.0]), np.array([2.0]), 8.0)
    assert still == 0.0
