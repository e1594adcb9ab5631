"""What still stretches say: wrong units, missing gravity, dead and clipped axes."""

import numpy as np
import pytest
from ownmark.ingest.recording import ACCELERATION, Stream
from ownmark.metrics.motion.gravity import (
    Still,
    _clip_findings,
    _length_findings,
    _seconds,
    _usual_length,
    still_stretches,
    unit_check,
)
from ownmark.metrics.motion.grid import Grid, to_grid

from tests.makers.motion import Bout, Sensor, motion, stream
from tests.makers.real_motion import at_rate, in_g, pieces, shank, table

BOUTS = [Bout(5, 20, size_g=0.4), Bout(25, 40, cadence=30), Bout(45, 55, cadence=100)]


def codes(made):
    return [finding.code for finding in unit_check(made)]


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
    assert "80 milli-g" in finding.sentence


def test_a_dead_axis_and_a_copied_axis_are_told():
    made = motion(60, BOUTS, sensor=Sensor(mounted_at_random=False), seed=4).acceleration
    dead, twin = made.values.copy(), made.values.copy()
    dead[:, 1] = 0.0
    twin[:, 1] = twin[:, 0]
    (finding,) = unit_check(stream(ACCELERATION, made.time, dead))
    assert finding.code == "constant_axis"
    assert "y axis" in finding.sentence
    assert "same_axes" in codes(stream(ACCELERATION, made.time, twin))
    once = made.values.copy()
    once[0] = once[0, 0]  # the first sample alone is no copy
    assert "same_axes" not in codes(stream(ACCELERATION, made.time, once))
    twin[-1, 1] += 0.001
    assert "same_axes" not in codes(stream(ACCELERATION, made.time, twin))


def test_a_sensor_at_its_limit_is_told_and_a_peak_is_not():
    made = motion(60, [Bout(5, 50, size_g=3.0)], sensor=Sensor(mounted_at_random=False), seed=4).acceleration
    assert codes(made) == []
    clipped = stream(ACCELERATION, made.time, np.clip(made.values, -2, 2))
    found = [finding for finding in unit_check(clipped) if finding.code == "clipped"]
    assert found
    assert all("limit of" in finding.sentence and " 2 g" in finding.sentence.replace("−", " ") for finding in found)


def test_a_resting_sensor_that_repeats_its_reading_is_not_at_a_limit():
    made = motion(60, BOUTS, sensor=Sensor(noise_g=0.0), seed=4).acceleration
    assert codes(stream(ACCELERATION, made.time, np.round(made.values, 2))) == []


# ---- by hand


def seconds(*pieces, rate_hz=10.0, start_s=0.0, axis=0):
    """A grid of whole seconds (mean, spread) on one axis: samples at equal distances above and below the mean."""
    size = round(rate_hz)
    sign = np.where(np.arange(size) % 2, 1.0, -1.0) * np.sqrt((size - 1) / size)
    values = np.zeros((len(pieces) * size, 3))
    values[:, axis] = np.concatenate([mean + spread * sign for mean, spread in pieces])
    return Grid(start_s, rate_hz, values)


def shared(*shares, length=1.0):
    """Seconds of one length that vary by these shares of it."""
    return seconds(*((length, length * share) for share in shares))


@pytest.mark.parametrize("length", [0.102, 1.0, 9.81])
def test_a_second_is_still_up_to_13_thousandths_of_gravity_in_any_unit(length):
    found = still_stretches(shared(0.0131, 0.001, 0.0129, length=length))
    assert found.time_s.tolist() == [1.0, 2.0]
    assert found.mean_g == pytest.approx(np.array([[length, 0, 0]] * 2), abs=1e-9)
    assert found.gravity_g == pytest.approx(length)


def test_the_quietest_seconds_of_a_noisy_sensor_are_still_up_to_3_hundredths():
    assert still_stretches(shared(0.016, 0.0235, 0.0245)).time_s.tolist() == [0.0, 1.0]  # half as much again
    assert still_stretches(shared(0.025, 0.0295, 0.0305)).time_s.tolist() == [0.0, 1.0]
    assert still_stretches(shared(0.031, 0.032)).gravity_g is None


@pytest.mark.parametrize(("count", "place"), [(49, 0), (50, 1), (98, 1), (99, 1), (100, 2), (149, 2), (150, 3)])
def test_the_quietest_second_is_that_of_one_in_fifty(count, place):
    # 1.5 · 0.016 = 0.024; a quieter one would make 0.021 of it, the next one 0.03.
    rest = [0.02, 0.0235, 0.027]
    shares = [0.014] * place + [0.016] + (rest * count)[: count - place - 1]
    expected = [at for at, share in enumerate(shares) if share < 0.024]
    assert still_stretches(shared(*shares)).time_s.tolist() == expected


def test_the_axis_that_varies_most_tells_and_nothing_at_all_is_no_gravity():
    values = np.zeros((30, 3))
    values[:, 0] = 1.0
    values[10:20, 2] = np.tile([0.02, -0.02], 5)
    values[20:] = 0.0
    assert still_stretches(Grid(5.0, 10.0, values)).time_s.tolist() == [5.0]


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_second_counts_only_if_all_of_it_was_measured(axis):
    values = np.tile([0.0, 0.6, 0.8], (35, 1))
    values[17, axis] = np.nan
    found = still_stretches(Grid(3.0, 10.0, values))
    assert found.time_s.tolist() == [3.0, 5.0]
    assert found.mean_g == pytest.approx(np.array([[0, 0.6, 0.8]] * 2))


def test_a_second_of_a_slow_sensor_is_two_samples():
    assert still_stretches(Grid(0.0, 1.0, np.ones((7, 3)))).time_s.tolist() == [0.0, 2.0, 4.0]
    assert still_stretches(Grid(0.0, 1.0, np.ones((1, 3)))).gravity_g is None


def test_gravity_is_the_middle_length():
    three = Still(np.arange(3.0), np.array([[0.6, 0.8, 0.0], [0.0, 0.0, 1.02], [1.2, 0.0, 0.0]]))
    assert three.gravity_g == pytest.approx(1.02)
    assert Still(np.zeros(0), np.zeros((0, 3))).gravity_g is None


def told(gravity, grid=None):
    """Code and factor of what a length of gravity says."""
    return [(each.code, each.factor) for each in _length_findings(grid or seconds((1.0, 0.0)), gravity)]


@pytest.mark.parametrize("factor", [9.80665, 1 / 9.80665, 1000, 1000 / 9.80665, 0.001])
def test_a_unit_is_told_within_a_fifth_of_its_factor(factor):
    for share in (0.801, 1.199):
        assert told(share * factor) == [("wrong_unit", pytest.approx(factor))]
    for share in (0.799, 1.201):
        ((code, _),) = told(share * factor)
        assert code == ("off_scale" if factor > 1 else "no_gravity")


def test_a_sensor_is_off_from_50_mg_on_and_has_no_gravity_under_half():
    assert told(1.0) == told(1.049) == told(0.951) == []
    assert told(1.051) == [("off_scale", 1.051)]
    assert told(0.949) == [("off_scale", 0.949)]
    assert told(0.5) == [("off_scale", 0.5)]
    assert told(0.499) == [("no_gravity", None)]


def test_without_stillness_only_a_unit_that_makes_more_of_gravity_is_told():
    assert told(None, shared(0.2)) == [("no_stillness", None)]
    assert told(None, shared(0.2, length=9.8)) == [("wrong_unit", 9.80665)]
    assert told(None, shared(0.2, length=0.102)) == [("no_gravity", None)]


def test_the_usual_length_is_the_middle_one_of_the_quieter_half():
    # The middle spread is 0.3: of √1.01, √4.04 and √25.09 the middle one.
    pieces = (5.0, 0.3), (1.0, 0.1), (6.0, 0.35), (2.0, 0.2), (7.0, 0.9)
    assert _usual_length(seconds(*pieces)) == pytest.approx(np.sqrt(4.04))
    assert _usual_length(seconds(*pieces, axis=2)) == pytest.approx(np.sqrt(4.04))
    lost = seconds(*pieces, (1.0, 0.0))
    lost.values[-1, 1] = np.nan
    assert _usual_length(lost) == pytest.approx(np.sqrt(4.04))
    short = np.array([[3.0, 4, 0], [0, np.nan, 0], [0, 0, 1], [0, 2, 0]])
    assert _usual_length(Grid(0.0, 10.0, short)) == pytest.approx(2.0)


@pytest.mark.parametrize(("first", "second"), [(0, 1), (0, 2), (1, 2)])
def test_each_pair_of_equal_axes_is_told_unless_they_are_dead(first, second):
    values = np.random.default_rng(0).uniform(0, 0.1, (100, 3)) + [0, 0, 1]
    values[:, second] = values[:, first]
    assert [each for each in codes(at_rate(values, 50)) if each.endswith("axes")] == ["same_axes"]
    values[:, [first, second]] = 0.1
    found = [each for each in codes(at_rate(values, 50)) if each.endswith(("axes", "axis"))]
    assert found == ["constant_axis", "constant_axis"]


def test_a_stream_is_judged_by_the_samples_that_are_good():
    values = np.random.default_rng(0).normal(0, 0.002, (100, 3)) + [0, 0, 1]
    values[:, 1] = 0.0
    assert codes(at_rate(values, 50)) == ["constant_axis"]
    values[30, 1] = 9.0
    assert codes(at_rate(values, 50)) == []
    flags = np.zeros(100, np.uint16)
    flags[30] = 1
    made = Stream.from_samples(ACCELERATION, np.arange(100) / 50, values, flags=flags)
    assert codes(made) == ["constant_axis"]


def test_a_grid_and_its_stillness_that_are_at_hand_are_used():
    two = at_rate(np.array([[0.0, 0.1, 1.0], [0.1, 0.0, 1.0]]), 50)
    assert unit_check(two) == ()
    found = unit_check(two, shared(0.001, length=1.1))
    assert [(each.code, each.factor) for each in found if each.code != "constant_axis"] == [
        ("off_scale", pytest.approx(1.1))
    ]
    still = Still(np.zeros(1), np.array([[0.0, 1.2, 0.0]]))
    found = unit_check(at_rate(np.random.default_rng(0).normal(0, 0.002, (100, 3)) + [0, 0, 1], 50), still=still)
    assert [(each.code, each.factor) for each in found] == [("off_scale", pytest.approx(1.2))]


def clipped(values, gravity=1.0, axis=0):
    """How often an axis is told to be at its limit."""
    columns = np.zeros((len(values), 3))
    columns[:, axis] = values
    extremes = [(float(each.max()), float(each.min())) for each in columns.T]
    found = _clip_findings(columns, extremes, gravity)
    assert {each.code for each in found} <= {"clipped"}
    return len(found)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_three_samples_at_a_limit_in_a_row_are_cut_off(axis):
    assert clipped([2.0, 0, 2.0, 2.0, 0, 2.0], axis=axis) == 0
    assert clipped([0, 2.0, 2.0, 0, 2.0, 2.0, 2.0, 0, 2.0], axis=axis) == 1
    assert clipped([2.0, 2.0, 2.0, 0], axis=axis) == 1
    assert clipped([0.5, -2.0, -2.0, -2.0], axis=axis) == 1
    assert clipped([2.0, 2.0, 2.0, 0, -2.0, -2.0, -2.0], axis=axis) == 2
    assert clipped([2.0] * 5, axis=axis) == 0  # a dead axis is told elsewhere


@pytest.mark.parametrize(("gravity", "most"), [(None, 1.8), (1.0, 1.8), (1.1, 1.98), (9.8, 17.64)])
def test_a_limit_lies_beyond_1_8_times_gravity(gravity, most):
    for sign in (1, -1):
        assert clipped(sign * np.array([0, most + 0.01, most + 0.01, most + 0.01]), gravity) == 1
        assert clipped(sign * np.array([0, most - 0.01, most - 0.01, most - 0.01]), gravity) == 0
    assert clipped([0, 1.8, 1.8, 1.8]) == 0


def test_values_within_a_ten_thousandth_are_at_the_limit():
    assert clipped([1.5, 2.0, 1.99981, 1.99981]) == 1
    assert clipped([1.5, 2.0, 1.99979, 1.99979]) == 0


@pytest.mark.parametrize("order", ["C", "F"])
def test_a_second_has_the_mean_and_the_spread_of_its_samples_however_they_lie_in_memory(order):
    values = np.random.default_rng(2).normal(0, [0.01, 0.1, 0.3], (1037, 3)) + [0.2, -0.4, 0.9]
    values[512] = np.nan  # the sixth second is not measured throughout
    time_s, mean, spread = _seconds(Grid(3.0, 100.0, np.array(values, order=order)))
    kept = [second for second in range(10) if second != 5]
    by_hand = values[:1000].reshape(10, 100, 3)[kept]
    assert time_s.tolist() == [3.0 + second for second in kept]
    assert mean == pytest.approx(by_hand.mean(axis=1), abs=1e-14)
    assert spread == pytest.approx(by_hand.std(axis=1, ddof=1).max(axis=1), abs=1e-14)


def test_of_samples_that_lie_one_after_the_other_the_sum_is_taken_in_their_order():
    values = np.random.default_rng(3).normal(0, 1, (300, 3))
    _, mean, _ = _seconds(Grid(0.0, 100.0, values))
    for second in range(3):
        for axis in range(3):
            total = 0.0
            for sample in values[100 * second : 100 * second + 100, axis].tolist():
                total += sample
            assert mean[second, axis] == total / 100


def test_a_recording_of_under_a_second_has_none():
    for order in ("C", "F"):
        time_s, mean, spread = _seconds(Grid(0.0, 100.0, np.ones((99, 3), order=order)))
        assert (len(time_s), mean.shape, len(spread)) == (0, (0, 3), 0)


@pytest.mark.parametrize("seconds", [1, 2])
@pytest.mark.parametrize("order", ["C", "F"])
def test_the_samples_stay_as_they_are(seconds, order):
    values = np.array(np.random.default_rng(4).normal(0, 1, (100 * seconds, 3)), order=order)
    kept = values.copy()
    values.setflags(write=False)
    _seconds(Grid(0.0, 100.0, values))
    values.setflags(write=True)
    _seconds(Grid(0.0, 100.0, values))
    assert (values == kept).all()
