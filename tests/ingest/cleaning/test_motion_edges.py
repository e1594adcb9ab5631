"""The limits of what is frozen and saturated, by hand: each value on both sides of its edge."""

import numpy as np
import pytest
from ownmark.ingest.cleaning.motion import frozen, motion_flags, saturated
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import ACCELERATION, ANGULAR_RATE, WAVEFORM

HUNG = 5.0  # a value that the sensor shows nowhere else


def hangs(moving, rate_hz=10.0, *, name=ACCELERATION, seconds=2.0, gap_s=0.0):
    """Whether the stretch of one value behind the moving samples of one axis is called frozen, the other two are 0."""
    moving = np.asarray(moving, float)
    still = np.full(round(seconds * rate_hz) + 1, HUNG)
    axis = np.concatenate((moving, still))
    time = np.arange(len(axis)) / rate_hz
    time[len(axis) // 2 :] += gap_s
    found = np.flatnonzero(frozen(name, time, np.column_stack((axis, 0 * axis, 0 * axis)))).tolist()
    assert found in ([], list(range(len(moving) + 1, len(axis))))
    return bool(found)


def swing(size, count=100):
    """Up and down by so much from one sample to the next: its standard deviation is the size."""
    return size * np.where(np.arange(count) % 2, 1.0, -1.0)


@pytest.mark.parametrize(("name", "size", "hung"), [(ACCELERATION, 0.019, True), (ACCELERATION, 0.021, False),
                                                    (ANGULAR_RATE, 1.9, True), (ANGULAR_RATE, 2.1, False)])  # fmt: skip
def test_seconds_of_less_than_a_limit_are_quiet_and_asked(name, size, hung):
    # Where none is quiet the steps are, and twice the size is coarse.
    assert hangs(swing(size), name=name) == hung


def coarse(step, large, small_ones, count=400):
    """Moves of a large size, of which so many are small."""
    moves = np.full(count, large)
    moves[np.linspace(10, count - 10, small_ones).astype(int)] = step
    return np.cumsum(moves * np.where(np.arange(count) % 2, 1.0, -1.0))


@pytest.mark.parametrize(
    ("name", "step", "large", "hung"),
    [
        (ACCELERATION, 0.0039, 0.3, True),
        (ACCELERATION, 0.0041, 0.3, False),
        (ANGULAR_RATE, 0.24, 30.0, True),
        (ANGULAR_RATE, 0.26, 30.0, False),
    ],
)
def test_without_a_quiet_second_steps_finer_than_the_noise_tell(name, step, large, hung):
    assert hangs(coarse(step, large, 40), name=name) == hung


@pytest.mark.parametrize(("small_ones", "hung"), [(1, False), (6, True)])
def test_the_step_is_that_which_one_in_a_hundred_is_smaller_than(small_ones, hung):
    assert hangs(coarse(0.001, 0.3, small_ones)) == hung


@pytest.mark.parametrize(("dead", "hung"), [(9, True), (10, False), (11, False)])
def test_most_quiet_seconds_must_be_alive(dead, hung):
    # Twenty seconds of ten values: the dead ones hold one value each, and last 0.9 s.
    seconds = [np.full(10, 0.01 * number) for number in range(dead)] + [swing(0.01, 10)] * (20 - dead)
    assert hangs(np.concatenate(seconds)) == hung


def test_a_second_has_as_many_samples_as_the_usual_step_says():
    tens, pairs = np.repeat(swing(0.01, 20), 10), np.repeat(swing(0.01, 100), 2)
    assert not hangs(tens)  # each second holds one value
    assert hangs(pairs)
    assert hangs(pairs, gap_s=1000.0)  # the usual step, not the mean one
    assert not hangs(np.repeat(swing(0.01, 20), 2), 1.0, seconds=3.0)  # at 1 Hz two samples are looked at together
    assert hangs(swing(0.01, 40), 1.0, seconds=3.0)


@pytest.mark.parametrize(("rate_hz", "size"), [(10.0, 10), (2000.0, 1000), (1.0, 2)])
def test_less_than_a_second_of_life_tells_nothing(rate_hz, size):
    # The first of the still samples counts as alive. Large moves: where they are asked, the sensor is coarse.
    for alive, hung in ((size, False), (size - 1, True)):
        assert hangs(swing(0.3, alive - 1), rate_hz, seconds=3.0) == hung


@pytest.mark.parametrize(("seconds", "hung"), [(1.0, False), (1.1, True)])
def test_a_second_is_not_over_a_second(seconds, hung):
    assert hangs(swing(0.01), seconds=seconds) == hung


def at_limit(name, limit, runs, *, rest=0.0, count=60):
    """Places of saturation where one axis stands at its limit for runs of so many samples."""
    axis = rest + 0.01 * np.sin(np.arange(count))
    begin, places = 5, []
    for length in runs:
        axis[begin : begin + length] = limit
        places += range(begin, begin + length)
        begin += length + 4
    axes = np.column_stack((0.001 * np.cos(np.arange(count)), axis))
    found = np.flatnonzero(saturated(name, axes)).tolist()
    return found, places


@pytest.mark.parametrize(
    ("name", "limit", "runs", "all_of_them"),
    [
        (ACCELERATION, 1.51, [3], True),
        (ACCELERATION, 1.5, [3], True),
        (ACCELERATION, 1.49, [3], False),
        (ACCELERATION, -1.6, [3], True),
        (ACCELERATION, 2.0, [2], False),
        (ACCELERATION, 2.0, [4, 3], True),
        (ANGULAR_RATE, 101.0, [3], True),
        (ANGULAR_RATE, 99.0, [3], False),
        (ANGULAR_RATE, -101.0, [5], True),
        (WAVEFORM, 0.5, [3], False),
        (WAVEFORM, 0.5, [3, 3], True),
        (WAVEFORM, 0.5, [3, 2], False),
        (WAVEFORM, -0.5, [3, 4], True),
    ],
)
def test_samples_at_a_limit_are_saturated(name, limit, runs, all_of_them):
    found, places = at_limit(name, limit, runs)
    assert found == (places if all_of_them else [])


def test_of_the_runs_only_those_of_three_are_saturated():
    assert at_limit(ACCELERATION, 2.0, [3, 2])[0] == [5, 6, 7]


def test_flags_stand_where_their_samples_do():
    # A value that is missing lies in the still stretch and does not part it: 0.6 s on each side.
    axis = np.concatenate((swing(0.01, 100), np.full(13, 2.0), swing(0.01, 20)))
    values = np.column_stack((axis, axis, axis))
    values[106, 1] = np.nan
    flags = motion_flags(ACCELERATION, np.arange(len(axis)) / 10, values)
    both = Flag.FROZEN | Flag.SATURATED
    expected = [0] * 100 + [Flag.SATURATED] + [both] * 5 + [Flag.DROPOUT] + [both] * 6 + [0] * 20
    assert flags.tolist() == expected


def test_from_four_samples_on_movement_is_judged():
    for count, flag in ((3, 0), (4, Flag.SATURATED)):
        values = np.array([[2.0, 0.0, 0.1 * number] for number in range(count)])
        assert set(motion_flags(ACCELERATION, np.arange(count) / 10, values).tolist()) == {flag}
