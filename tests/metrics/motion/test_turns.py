"""Turns of a chair: sides, angles and times on made slaloms, with a sensor mounted any way and off its zero."""

import numpy as np
import pytest
from ownmark.ingest.recording import ANGULAR_RATE
from ownmark.metrics.motion.envelope import Means, short_means
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.turns import _about_vertical, _bias, _one_way, _smoothed, _up, turns

from tests.makers.motion import Bout, Sensor, Turn, motion, stream

ROLLING = [Bout(4, 116, cadence=None, shake_g=0.03, shove_g=0.03)]


def slalom(seed):
    """Turns to both sides of 60 to 270 degrees, and bends of 10 to 35 degrees between them, which are none."""
    rng = np.random.default_rng(seed)
    made, at = [], 6.0
    while at < 105:
        degrees = float(rng.choice([-1, 1]) * rng.choice([60, 90, 120, 180, 270]))
        length = max(rng.uniform(0.8, 5.0), abs(degrees) / 200)
        made.append(Turn(at, at + length, degrees))
        at += length + rng.uniform(1.2, 5.0)
        if rng.random() < 0.4:
            made.append(Turn(at, at + 1.5, float(rng.choice([-1, 1]) * rng.uniform(10, 35))))
            at += 1.5 + rng.uniform(1.2, 2.0)
    return made


def ride(seed, ways, **sensor):
    rng = np.random.default_rng(seed)
    bias = tuple(rng.uniform(-3, 3, 3))
    made = Sensor(rate_hz=[25.0, 50.0, 100.0][seed % 3], gyro_bias=bias, gyro_noise=0.5, drift_deg=0.5, **sensor)
    return motion(120, ROLLING, turns=ways, placement="frame", sensor=made, seed=seed)


@pytest.mark.parametrize("seed", range(12))
def test_every_turn_of_a_slalom_is_found_with_its_side_and_angle(seed):
    made = ride(seed, slalom(seed))
    true = [turn for turn in made.truth.turns if abs(turn.degrees) >= 45]
    found = turns(to_grid(made.angular_rate), to_grid(made.acceleration))
    assert [turn.side for turn in found] == ["left" if turn.degrees > 0 else "right" for turn in true]
    for seen, turn in zip(found, true, strict=True):
        assert seen.degrees == pytest.approx(turn.degrees, abs=5)
        assert seen.from_s == pytest.approx(turn.from_s, abs=1)
        assert seen.until_s == pytest.approx(turn.until_s, abs=1)


@pytest.mark.parametrize("seed", range(4))
def test_without_gravity_the_turns_are_found_but_not_their_side(seed):
    made = ride(seed, slalom(seed))
    true = np.array([turn.degrees for turn in made.truth.turns if abs(turn.degrees) >= 45])
    found = turns(to_grid(made.angular_rate))
    assert {turn.side for turn in found} == {None}
    degrees = np.array([turn.degrees for turn in found])
    assert np.abs(degrees) == pytest.approx(np.abs(true), abs=5)
    assert len(set(np.sign(degrees * true))) == 1  # the two sides are told apart, only not named


def test_left_is_counter_clockwise_seen_from_above():
    # A sensor that lies flat, its z axis up: a right-handed rotation about z is to the left.
    time = np.arange(0, 10, 0.02)
    rate = Grid(0.0, 50.0, np.column_stack((0 * time, 0 * time, np.where((time >= 4) & (time < 6), 45.0, 0.0))))
    upright = Grid(0.0, 50.0, np.tile([0.0, 0.0, 1.0], (500, 1)))
    (turn,) = turns(rate, upright)
    assert (turn.side, round(turn.degrees)) == ("left", 90)
    (turned_over,) = turns(rate, Grid(0.0, 50.0, -upright.values))
    assert turned_over.side == "right"


def test_the_nod_of_each_push_is_no_turn_and_cuts_none():
    made = ride(5, [Turn(20, 24, 120.0), Turn(40, 43, -90.0)])
    time = made.angular_rate.time
    nod = 25 * np.sin(2 * np.pi * 1.1 * time) * ((time > 5) & (time < 115))  # 7 degrees, left and right
    up = made.truth.mounting[:, 2]
    shaken = stream(ANGULAR_RATE, time, made.angular_rate.values + nod[:, None] * up)
    found = turns(to_grid(shaken), to_grid(made.acceleration))
    assert [round(turn.degrees, -1) for turn in found] == pytest.approx([120, -90], abs=10)


def test_a_wide_curve_is_no_turn_and_a_smaller_turn_can_be_asked_for():
    made = ride(7, [Turn(20, 60, 90.0), Turn(70, 72, 35.0)])
    rate, acceleration = to_grid(made.angular_rate), to_grid(made.acceleration)
    assert turns(rate, acceleration) == ()
    (turn,) = turns(rate, acceleration, least_deg=30)
    assert turn.degrees == pytest.approx(35, abs=4)


def test_two_turns_to_one_side_are_two():
    made = ride(8, [Turn(20, 22, 90.0), Turn(24, 26, 90.0)])
    assert len(turns(to_grid(made.angular_rate), to_grid(made.acceleration))) == 2


def test_a_turn_counts_for_what_was_measured_of_it():
    made = ride(9, [Turn(20, 24, 180.0), Turn(50, 52, 90.0)], gaps=((22.0, 23.0), (49.0, 53.0)))
    found = turns(to_grid(made.angular_rate), to_grid(made.acceleration))
    assert len(found) == 1
    assert found[0].degrees == pytest.approx(90, abs=12)
    assert found[0].until_s == pytest.approx(22.0, abs=0.2)


def test_rest_and_nothing_hold_no_turns():
    made = motion(60, [], placement="frame", sensor=Sensor(gyro_bias=(3, -2, 1), gyro_noise=1.0), seed=1)
    assert turns(to_grid(made.angular_rate), to_grid(made.acceleration)) == ()
    assert turns(Grid(0.0, 50.0, np.full((500, 3), np.nan))) == ()
    assert turns(Grid(0.0, 50.0, np.zeros((0, 3)))) == ()


# ---- by hand


UPRIGHT = np.array([0.0, 0.0, 1.0])


def rolled(*pieces, rate_hz=100.0, axis=2, start_s=0.0):
    """Angular rate about one axis from (seconds, degrees a second) pieces, and the gravity of a flat sensor."""
    about = np.concatenate([np.full(round(seconds * rate_hz), float(rate)) for seconds, rate in pieces])
    values = np.zeros((len(about), 3))
    values[:, axis] = about
    return Grid(start_s, rate_hz, values), Grid(start_s, rate_hz, np.tile(UPRIGHT, (len(about), 1)))


@pytest.mark.parametrize("rate", [90.0, -90.0])
def test_a_turn_lasts_as_long_as_it_shows_in_means_over_half_a_second(rate):
    # Means of 0.05 s, smoothed over nine: the turn from 4 to 5 s shows four means early and late. A mean begins half a
    # sample before its first one.
    (turn,) = turns(*rolled((4, 0), (1, rate), (5, 0), start_s=2.0))
    assert turn.from_s == pytest.approx(2.0 + 3.8 - 0.005)
    assert turn.until_s == pytest.approx(2.0 + 5.2 - 0.005)
    assert turn.degrees == pytest.approx(rate)
    assert turn.side == ("left" if rate > 0 else "right")


def test_at_25_samples_a_second_the_means_of_half_a_second_are_thirteen():
    (turn,) = turns(*rolled((4, 0), (1, 90), (5, 0), rate_hz=25.0))
    assert (turn.from_s, turn.until_s) == (pytest.approx(4 - 6 * 0.04 - 0.02), pytest.approx(5 + 6 * 0.04 - 0.02))


def test_a_turn_at_the_beginning_and_one_at_the_end_are_counted_whole():
    first, last = turns(*rolled((1, 50), (5, 0), (1, -60)))
    assert (first.degrees, last.degrees) == (pytest.approx(50), pytest.approx(-60))
    assert first.from_s == pytest.approx(-0.005)
    assert last.until_s == pytest.approx(6.995)


def test_a_turn_is_one_from_45_degrees_on():
    assert len(turns(*rolled((4, 0), (1, 45), (5, 0)))) == 1
    assert turns(*rolled((4, 0), (1, 44.9), (5, 0))) == ()
    assert turns(*rolled((4, 0), (1, -44.9), (5, 0))) == ()
    assert len(turns(*rolled((4, 0), (1, 30), (5, 0)), least_deg=30)) == 1


def test_rotation_below_45_degrees_in_8_seconds_is_none():
    assert len(turns(*rolled((40, 0), (20, 5.64), (40, 0)))) == 1
    assert turns(*rolled((40, 0), (20, 5.61), (40, 0)), least_deg=10) == ()


@pytest.mark.parametrize("sign", [1, -1])
def test_what_counts_is_the_most_within_the_time(sign):
    ride = rolled((6, 0), (2, 20 * sign), (1, 50 * sign), (2, 30 * sign), (6, 0))
    for within_s, most in ((1.0, 50), (2.0, 80), (3.0, 110), (9.0, 150)):
        (turn,) = turns(*ride, within_s=within_s, least_deg=most - 0.1)
        assert turn.degrees == pytest.approx(150 * sign)
        assert turns(*ride, within_s=within_s, least_deg=most + 0.1) == ()


def test_the_time_may_be_as_long_as_the_rotation_and_as_short_as_a_mean():
    # 28 means show the rotation of a second: 29 sums stand at their edges.
    ride = rolled((4, 0), (1, 90), (5, 0))
    for within_s in (1.36, 1.41, 1.46, 1.51):
        assert len(turns(*ride, within_s=within_s, least_deg=89.9)) == 1
    assert len(turns(*ride, within_s=0.01, least_deg=4.49)) == 1
    assert turns(*ride, within_s=0.01, least_deg=4.51) == ()
    grown = rolled((4, 0), (1, 20), (0.05, 100))  # the last mean of the recording holds the most
    assert len(turns(*grown, within_s=0.01, least_deg=4.99)) == 1


def test_a_gap_in_gravity_hides_no_turn_and_none_at_all_hides_the_vertical():
    rate, gravity = rolled((4, 0), (1, 90), (5, 0))
    some = gravity.values.copy()
    some[100:] = np.nan
    assert [turn.degrees for turn in turns(rate, Grid(0.0, 100.0, some))] == [pytest.approx(90)]
    assert turns(rate, Grid(0.0, 100.0, np.full((1000, 3), np.nan))) == ()


def test_means_that_were_not_measured_do_not_turn():
    rate, gravity = rolled((4, 3), (1, 93), (5, 3))
    rate.values[420:440] = np.nan
    about = _about_vertical(short_means(rate, 0.05), gravity)
    assert about[84:88].tolist() == [0.0] * 4
    assert about[80:84] == pytest.approx([90.0] * 4)  # the bias of 3 is taken off
    assert about[:80] == pytest.approx([0.0] * 80, abs=1e-9)


@pytest.mark.parametrize(
    ("way", "seen"), [((0.0, 0.6, 0.8), 1), ((0.8, -0.6, 0.0), 1), ((-0.8, 0.6, 0.0), -1), ((0.6, 0.0, -0.8), -1)]
)
def test_without_gravity_the_axis_of_most_rotation_is_taken_the_way_of_its_largest_part(way, seen):
    time = np.arange(400) / 20
    about = np.where((time > 8) & (time < 10), 60.0, 0.0)
    nod = np.where(np.arange(400) % 2, 1.0, -1.0)
    other = np.cross(way, [0.48, 0.64, 0.6])
    values = about[:, None] * way + 3 * nod[:, None] * other / np.linalg.norm(other)
    found = _about_vertical(short_means(Grid(0.0, 20.0, values), 0.05), None)
    assert found == pytest.approx(seen * about, abs=0.5)


def leaning(rate_hz, at_s, seconds=20.0):
    """Gravity along z, then along x."""
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    return Grid(0.0, rate_hz, np.where((time >= at_s)[:, None], [1.0, 0, 0], UPRIGHT))


def test_up_is_the_mean_of_gravity_over_4_seconds():
    # Means of 0.25 s from -0.025 s on; seventeen are averaged. Gravity leans from the 40th on, 10 s.
    rate = Grid(0.0, 20.0, np.zeros((400, 3)))
    up = _up(short_means(rate, 0.05), leaning(20.0, 10.0))
    middle = -0.025 + 0.25 * (np.arange(80) + 0.5)
    x = np.clip(np.arange(80) - 31, 0, 17) / np.minimum(np.minimum(np.arange(80) + 9, 88 - np.arange(80)), 17)
    x = np.where(np.arange(80) > 48, 1.0, x)
    at = np.arange(400) / 20
    raw = np.stack((np.interp(at, middle, x), np.zeros(400), np.interp(at, middle, 1 - x)))
    assert up == pytest.approx(raw / np.linalg.norm(raw, axis=0), abs=1e-9)


def test_up_of_a_slow_sensor_is_averaged_over_as_many_means_as_come_nearest():
    # Two samples of 7 a second: means of 0.286 s, 13 of them are nearest to 4 s; leaning from the 35th on.
    means = short_means(Grid(0.0, 7.0, np.zeros((140, 3))), 0.05)
    up = _up(means, leaning(7.0, 10.0))
    leans = np.flatnonzero(up[0] > 1e-9)
    assert means.start_s + (leans[0] + 0.5) * means.step_s == pytest.approx(1 / 14 + 2 / 7 * 28.25 + 0.01, abs=0.15)


def test_one_mean_of_gravity_is_enough():
    gravity = np.full((400, 3), np.nan)
    gravity[200:205] = (0.0, 2.0, 0.0)
    up = _up(short_means(Grid(0.0, 20.0, np.zeros((400, 3))), 0.05), Grid(0.0, 20.0, gravity))
    assert up == pytest.approx(np.tile([[0.0], [1.0], [0.0]], 400))


def bias(*pieces, rate_hz=20.0, axis=0):
    """Of (seconds, offset, alternating by so much) pieces on one axis."""
    parts = [
        offset + by * np.where(np.arange(round(seconds * rate_hz)) % 2, 1.0, -1.0) for seconds, offset, by in pieces
    ]
    values = np.zeros((sum(map(len, parts)), 3))
    values[:, axis] = np.concatenate(parts)
    return _bias(short_means(Grid(0.0, rate_hz, values), 0.05))


@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("sign", [1, -1])
def test_a_steady_rate_under_8_is_what_a_gyroscope_reads_at_rest(axis, sign):
    expected = np.zeros(3)
    expected[axis] = 7.9 * sign
    assert bias((20, 7.9 * sign, 0), axis=axis) == pytest.approx(expected)
    assert bias((20, 8.1 * sign, 0), axis=axis).tolist() == [0.0, 0.0, 0.0]
    assert bias((20, 3 * sign, 0), (5, 50, 0), (20, 3 * sign, 0), axis=axis)[axis] == pytest.approx(3 * sign)


def test_the_steadiest_seconds_vary_up_to_half_again_the_tenth_quietest():
    assert bias((15, 1, 0.100), (30, 2, 0.145), (55, 3, 0.155)) == pytest.approx([2, 0, 0], abs=0.01)


def test_rest_is_where_half_of_a_second_was_measured():
    # Of 21 means, 11 are the half.
    for count, expected in ((11, 2.0), (10, 0.0)):
        values = np.full((400, 3), np.nan)
        values[200 : 200 + count] = 2.0
        assert _bias(short_means(Grid(0.0, 20.0, values), 0.05)).tolist() == [expected] * 3
    assert _bias(short_means(Grid(0.0, 1.0, np.full((20, 3), 3.0)), 0.05)).tolist() == [3.0] * 3


def test_a_second_is_as_many_means_as_come_nearest():
    # Of 0.04 s: 25. In 13 of them is the half, in 12 not.
    for count, expected in ((13, 2.0), (12, 0.0)):
        values = np.full((400, 3), np.nan)
        values[200 : 200 + count] = 2.0
        assert _bias(short_means(Grid(0.0, 25.0, values), 0.05)).tolist() == [expected] * 3


def test_a_smoothed_rate_is_the_mean_of_what_was_measured():
    means = short_means(
        Grid(0.0, 20.0, np.where(np.isin(np.arange(60), [30, 50])[:, None], 1.0, np.nan) * np.ones(3)), 0.05
    )
    smooth = _smoothed(means.values[0] * 5, means, 0.5)
    assert np.flatnonzero(smooth).tolist() == [*range(26, 35), *range(46, 55)]
    assert smooth[smooth != 0] == pytest.approx([5.0] * 18)


def one_way(*pieces, step_s=0.05):
    """Runs of direction out of (means, direction, degrees in all, measured) pieces."""
    count = [piece[0] for piece in pieces]
    direction = np.repeat([float(piece[1]) for piece in pieces], count)
    about = np.repeat([piece[2] / piece[0] / step_s for piece in pieces], count)
    measured = np.repeat([len(piece) < 4 for piece in pieces], count)
    means = Means(0.0, step_s, np.zeros((3, len(about))), measured)
    found = _one_way(direction, about, means)
    return [(int(first), int(last), int(state)) for first, last, state in zip(*found, strict=True)]


def test_a_rotation_of_under_8_degrees_is_a_nod():
    assert one_way((10, 0, 0), (5, 1, 8.1), (10, 0, 0), (5, -1, -8.1), (9, 0, 0)) == [
        *((0, 10, 0), (10, 15, 1), (15, 25, 0), (25, 30, -1), (30, 39, 0)),
    ]
    assert one_way((10, 0, 0), (5, 1, 7.9), (10, 0, 0), (5, -1, -7.9), (9, 0, 0)) == [(0, 39, 0)]


def test_rotation_that_goes_on_within_8_tenths_is_one():
    for side in (1, -1):
        turn = (20, side, 60 * side)
        assert one_way(turn, (16, 0, 0), turn) == [(0, 56, side)]
        assert one_way(turn, (17, 0, 0), turn) == [(0, 20, side), (20, 37, 0), (37, 57, side)]
        assert one_way(turn, (6, 0, 0), (4, -side, -7.0 * side), (6, 0, 0), turn) == [(0, 56, side)]  # over a nod
        assert len(one_way(turn, (10, 0, 0), (20, -side, -60 * side))) == 3
        assert len(one_way(turn, (4, 0, 0), (2, 0, 0, "lost"), (4, 0, 0), turn)) == 3
        assert len(one_way(turn, (9, side, 0, "lost"), turn)) == 3  # what is lost has no direction


def test_nothing_is_joined_over_the_ends_of_a_recording():
    turn = (20, 1, 60)
    assert one_way((5, 0, 0), turn, (30, 0, 0), turn) == [(0, 5, 0), (5, 25, 1), (25, 55, 0), (55, 75, 1)]
    assert one_way(turn, (30, 0, 0), turn, (5, 0, 0)) == [(0, 20, 1), (20, 50, 0), (50, 70, 1), (70, 75, 0)]
