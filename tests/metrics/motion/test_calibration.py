"""Gain and offset from still postures, and one scale where they do not allow more: made sensors, and edges by hand."""

import numpy as np
import pytest
from ownmark.metrics.motion.calibration import (
    Calibration,
    _closest_sphere,
    _error_mg,
    _postures,
    _spread_enough,
    calibrate,
)
from ownmark.metrics.motion.gravity import Still, still_stretches
from ownmark.metrics.motion.grid import to_grid

from tests.makers.motion import Bout, motion
from tests.makers.real_motion import at_rate


def postures(count, seed, *, gain=(1, 1, 1), offset=(0, 0, 0), noise_g=0.005, seconds=3, rate_hz=50):
    """Readings of a sensor laid down in so many random ways, turned over quickly in between."""
    rng = np.random.default_rng(seed)
    ways = rng.standard_normal((count, 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    true = np.repeat(ways, seconds * rate_hz, axis=0)
    read = (true - np.array(offset)) / np.array(gain)
    return at_rate(read + noise_g * rng.standard_normal(read.shape), rate_hz), ways


@pytest.mark.parametrize("seed", range(6))
def test_gain_and_offset_of_a_turned_sensor_are_found(seed):
    # The error before is that of van Hees 2014 (tables 7.5: 16.6 to 76.7 mg); after it, theirs was 3.0 to 8.0 mg.
    gain, offset = (1.03, 0.97, 1.015), (0.03, -0.02, 0.04)
    read, ways = postures(20, seed, gain=gain, offset=offset)
    found = calibrate(still_stretches(to_grid(read)))
    assert found.method == "axes"
    assert found.postures >= 15
    assert found.gain == pytest.approx(gain, abs=0.003)
    assert found.offset_g == pytest.approx(offset, abs=0.003)
    assert found.error_before_mg > 16
    assert found.error_after_mg < 1.0
    checked = found.apply(read.values).reshape(20, -1, 3).mean(axis=1)
    assert np.abs(checked - ways).max() < 0.005


def test_a_trial_in_one_posture_is_scaled_and_no_more():
    read = at_rate(np.array([0.3, 0.4, 0.9]) + 0.003 * np.random.default_rng(1).standard_normal((600, 3)), 50)
    found = calibrate(still_stretches(to_grid(read)))
    length = np.sqrt(0.09 + 0.16 + 0.81)
    assert found.method == "scale"
    assert found.gain == pytest.approx((1 / length,) * 3, abs=1e-3)
    assert found.offset_g == (0, 0, 0)
    assert found.error_before_mg == pytest.approx(1000 * (length - 1), abs=1)
    assert found.error_after_mg < 0.5


def test_postures_that_leave_one_axis_level_do_not_calibrate_it():
    angle = np.repeat(np.linspace(0, 2 * np.pi, 20, endpoint=False), 150)
    flat = np.column_stack((1.05 * np.cos(angle), np.sin(angle), np.zeros(len(angle))))
    assert calibrate(still_stretches(to_grid(at_rate(flat, 50)))).method != "axes"


def test_a_sensor_within_10_mg_is_left_alone():
    read, _ = postures(1, 3, gain=(1.005, 1.005, 1.005))
    found = calibrate(still_stretches(to_grid(read)))
    assert found.method == "none"
    assert np.array_equal(found.apply(read.values), read.values)
    assert found.error_after_mg == found.error_before_mg == pytest.approx(5.0, abs=0.5)


def test_without_stillness_nothing_is_calibrated():
    made = motion(30, [Bout(-5, 40, size_g=0.5)], seed=2)
    found = calibrate(still_stretches(to_grid(made.acceleration)))
    assert (found.method, found.postures, found.error_before_mg) == ("none", 0, None)


# ---- by hand


def still(*rows):
    return Still(np.arange(float(len(rows))), np.array(rows, dtype=float).reshape(-1, 3))


def ways():
    """The 26 directions of a cube's faces, edges and corners, of length 1."""
    found = np.array(
        [(x, y, z) for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if x or y or z], dtype=float
    )
    return found / np.linalg.norm(found, axis=1, keepdims=True)


def test_seconds_nearer_than_15_hundredths_are_one_posture():
    found = _postures(np.array([[0, 0, 1.0], [0.16, 0, 1.0], [0.149, 0, 1.0]]))
    assert found == pytest.approx(np.array([[0.0745, 0, 1.0], [0.16, 0, 1.0]]))
    assert _postures(np.array([[0, 0, 1.0], [0, 0.151, 1.0]])).shape == (2, 3)
    assert len(_postures(np.array([[0, 0, 0], [0.15, 0, 0]]))) == 2
    assert len(_postures(np.zeros((0, 3)))) == 0


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_nine_postures_that_reach_3_tenths_both_ways_on_each_axis_are_enough(axis):
    points = np.zeros((9, 3))
    points[0], points[1] = 0.301, -0.301
    assert _spread_enough(points)
    assert not _spread_enough(points[:8])
    for row, value in ((0, 0.3), (1, -0.3)):
        less = points.copy()
        less[row, axis] = value
        assert not _spread_enough(less)


def test_the_error_is_the_mean_distance_from_1_g():
    assert _error_mg(np.array([[0.0, 0, 1.02], [0.6, 0.72, 0]])) == pytest.approx(
        (20 + 1000 - 1000 * np.hypot(0.6, 0.72)) / 2
    )


@pytest.mark.parametrize("gain", [(1.0, 1.0, 1.0), (1.2, 1.1, 1.05), (0.8, 0.9, 0.95), (1.1, 0.9, 1.0)])
@pytest.mark.parametrize("offset", [(0.0, 0.0, 0.0), (0.1, 0.05, 0.02), (-0.02, -0.05, -0.1)])
def test_the_sphere_is_found_to_the_last_millionth(gain, offset):
    found = _closest_sphere((ways() - offset) / gain)
    assert found[0] == pytest.approx(gain, abs=1e-8)
    assert found[1] == pytest.approx(offset, abs=1e-8)


def test_axes_are_set_right_where_that_leaves_a_smaller_error():
    gain, offset = (1.05, 0.96, 1.02), (0.03, -0.02, 0.04)
    read = (ways() - offset) / gain
    found = calibrate(still(*read))
    assert (found.method, found.postures) == ("axes", 26)
    assert found.gain == pytest.approx(gain, abs=1e-8)
    assert found.offset_g == pytest.approx(offset, abs=1e-8)
    assert found.error_before_mg == pytest.approx(1000 * np.abs(np.linalg.norm(read, axis=1) - 1).mean())
    assert found.error_after_mg == pytest.approx(0.0, abs=1e-5)


def test_one_scale_is_that_of_the_middle_second_and_its_error_that_of_the_postures():
    # Three seconds of 1.05 g in one posture, one of 1.03 g in another.
    found = calibrate(still((0, 0, 1.05), (0, 0, 1.05), (0, 1.03, 0), (0, 0, 1.05)))
    assert (found.method, found.postures, found.offset_g) == ("scale", 2, (0.0, 0.0, 0.0))
    assert found.gain == pytest.approx((1 / 1.05,) * 3)
    assert found.error_before_mg == pytest.approx(40.0)
    assert found.error_after_mg == pytest.approx(1000 * (1 - 1.03 / 1.05) / 2)


@pytest.mark.parametrize(
    ("length", "method"), [(1.0101, "scale"), (1.0099, "none"), (0.9901, "none"), (0.9899, "scale")]
)
def test_a_scale_is_set_where_gravity_is_off_by_more_than_10_mg(length, method):
    found = calibrate(still((0, length, 0)))
    error = 1000 * abs(length - 1)
    assert found.method == method
    assert found.error_before_mg == pytest.approx(error)
    assert found.error_after_mg == pytest.approx(0.0 if method == "scale" else error, abs=1e-9)
    assert found.gain == pytest.approx((1 / length if method == "scale" else 1.0,) * 3)


def test_a_scale_that_makes_more_postures_wrong_is_not_set():
    # The middle second is 20 mg too long, two other postures 20 mg too short: 39 mg after it.
    assert calibrate(still((0, 0, 1.02), (0, 0, 1.02), (0, 0, 1.02), (0, 0.98, 0), (0.98, 0, 0))) == Calibration(
        "none", (1.0, 1.0, 1.0), (0.0, 0.0, 0.0), pytest.approx(20.0), pytest.approx(20.0), 3
    )


def test_postures_without_an_error_are_left_alone():
    face = np.eye(3)
    points = np.concatenate((face, -face, [[0.6, 0.8, 0], [-0.6, -0.8, 0], [0, 0.6, 0.8], [0, -0.6, -0.8]]))
    assert calibrate(still(*points)) == Calibration("none", (1.0, 1.0, 1.0), (0.0, 0.0, 0.0), 0.0, 0.0, 10)


def test_no_stillness_is_no_posture():
    assert calibrate(still()) == Calibration("none", (1.0, 1.0, 1.0), (0.0, 0.0, 0.0), None, None, 0)


def test_values_are_stretched_and_then_moved():
    made = Calibration("axes", (2.0, 3.0, 4.0), (0.1, 0.2, 0.3), 1.0, 0.0, 9)
    assert made.apply(np.array([[1.0, 1.0, 1.0], [0.0, -1.0, 0.5]])) == pytest.approx(
        np.array([[2.1, 3.2, 4.3], [0.1, -2.8, 2.3]])
    )
