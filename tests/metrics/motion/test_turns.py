"""Turns of a chair: sides, angles and times on made slaloms, with a sensor mounted any way and off its zero."""

import numpy as np
import pytest
from ownmark.ingest.recording import ANGULAR_RATE
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.turns import turns

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
