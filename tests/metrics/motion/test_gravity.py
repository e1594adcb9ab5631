"""What still stretches say: wrong units, missing gravity, dead and clipped axes; gain and offset from postures."""

import numpy as np
import pytest
from ownmark.ingest.recording import ACCELERATION
from ownmark.metrics.motion.calibration import calibrate
from ownmark.metrics.motion.gravity import still_stretches, unit_check
from ownmark.metrics.motion.grid import to_grid

from tests.makers.motion import Bout, Sensor, motion, stream
from tests.makers.real_motion import at_rate, in_g, pieces, shank, table

BOUTS = [Bout(5, 20, size_g=0.4), Bout(25, 40, cadence=30), Bout(45, 55, cadence=100)]


def codes(made):
    return [finding.code for finding in unit_check(made)]


def postures(count, seed, *, gain=(1, 1, 1), offset=(0, 0, 0), noise_g=0.005, seconds=3, rate_hz=50):
    """Readings of a sensor laid down in so many random ways, turned over quickly in between."""
    rng = np.random.default_rng(seed)
    ways = rng.standard_normal((count, 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    true = np.repeat(ways, seconds * rate_hz, axis=0)
    read = (true - np.array(offset)) / np.array(gain)
    return at_rate(read + noise_g * rng.standard_normal(read.shape), rate_hz), ways


@pytest.mark.parametrize("placement", ["wrist", "trunk", "crank", "frame"])
@pytest.mark.parametrize("noise_g", [0.0, 0.005, 0.02])
def test_gravity_of_still_stretches_is_1_g_however_the_sensor_is_mounted(placement, noise_g):
    for seed, rate in enumerate((25.0, 100.0)):
        made = motion(60, BOUTS, placement=placement, sensor=Sensor(rate_hz=rate, noise_g=noise_g), seed=seed)
        still = still_stretches(to_grid(made.acceleration))
        inside = [any(a - 1 < t < b for a, b in made.truth.moving) for t in still.time_s]
        assert not any(inside[1:-1])  # seconds that touch a movement are none
        assert len(still.time_s) >= 10
        assert still.gravity_g == pytest.approx(1.0, abs=0.002)
        assert codes(made.acceleration) == []


@pytest.mark.parametrize("factor", [9.80665, 1 / 9.80665, 1000, 1000 / 9.80665, 0.001])
def test_a_wrong_unit_is_told_by_its_factor_and_nothing_is_rescaled(factor):
    # Standard gravity is 9.80665 m/s² by definition (3rd CGPM, 1901).
    made = motion(60, BOUTS, seed=4).acceleration
    wrong = stream(ACCELERATION, made.time, made.values * factor)
    (finding,) = unit_check(wrong)
    assert finding.code == "wrong_unit"
    assert finding.factor == pytest.approx(factor)
    assert still_stretches(to_grid(wrong)).gravity_g == pytest.approx(factor, rel=0.01)


def test_a_real_recording_in_metres_per_second_squared_is_told(real_dir):
    # shank_120hz (BSD, from scikit-kinematics 0.10.4) is in m/s²: the folder's README.
    (finding,) = unit_check(at_rate(shank(real_dir), 120.0))
    assert (finding.code, finding.factor) == ("wrong_unit", 9.80665)
    assert codes(at_rate(in_g(shank(real_dir)), 120.0)) == []


def test_real_recordings_without_gravity_are_told(real_dir):
    # BasicMotions (BSD, from sktime 1.2): gravity was removed, about m/s²: the folder's README. Twenty of standing.
    both = pieces(real_dir, "TRAIN") + pieces(real_dir, "TEST")
    told = [codes(at_rate(in_g(values), 10.0)) for label, values in both if label == "standing"]
    assert told == [["no_gravity"]] * 20


def test_real_recordings_in_g_pass(real_dir):
    # still.csv, walking_20hz.csv and not_walking_20hz.csv (MIT, from scikit-digital-health 0.17.18), in g.
    for name, rate in (("still", 100.0), ("walking_20hz", 20.0), ("not_walking_20hz", 20.0)):
        assert codes(table(real_dir, f"{name}.csv", rate)) == []


def test_unceasing_movement_is_said_to_leave_gravity_unchecked():
    made = motion(30, [Bout(-5, 40, size_g=0.5)], seed=2)
    assert codes(made.acceleration) == ["no_stillness"]


def test_a_sensor_that_is_off_by_8_percent_is_told():
    made = motion(60, BOUTS, seed=4).acceleration
    (finding,) = unit_check(stream(ACCELERATION, made.time, made.values * 1.08))
    assert finding.code == "off_scale"
    assert finding.factor == pytest.approx(1.08, abs=0.003)
    assert "80 mg" in finding.sentence


def test_a_dead_axis_and_a_copied_axis_are_told():
    made = motion(60, BOUTS, sensor=Sensor(mounted_at_random=False), seed=4).acceleration
    dead, twin = made.values.copy(), made.values.copy()
    dead[:, 1] = 0.0
    twin[:, 1] = twin[:, 0]
    (finding,) = unit_check(stream(ACCELERATION, made.time, dead))
    assert finding.code == "constant_axis"
    assert "y axis" in finding.sentence
    assert "same_axes" in codes(stream(ACCELERATION, made.time, twin))


def test_a_sensor_at_its_limit_is_told_and_a_peak_is_not():
    made = motion(60, [Bout(5, 50, size_g=3.0)], sensor=Sensor(mounted_at_random=False), seed=4).acceleration
    assert codes(made) == []
    clipped = stream(ACCELERATION, made.time, np.clip(made.values, -2, 2))
    found = [finding for finding in unit_check(clipped) if finding.code == "clipped"]
    assert found
    assert all("limit of" in finding.sentence and " 2 g" in finding.sentence.replace("-", " ") for finding in found)


def test_a_resting_sensor_that_repeats_its_reading_is_not_at_a_limit():
    made = motion(60, BOUTS, sensor=Sensor(noise_g=0.0), seed=4).acceleration
    assert codes(stream(ACCELERATION, made.time, np.round(made.values, 2))) == []


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
