"""Rules for movement and waveforms, and stamps that are coarser than the sampling; real recordings beside made ones."""

import gzip
import math

import numpy as np
import pytest
from ownmark.ingest.cleaning.judge import clean
from ownmark.ingest.cleaning.motion import motion_flags
from ownmark.ingest.flags import REJECTING, Flag
from ownmark.ingest.recording import ACCELERATION, ANGULAR_RATE, WAVEFORM, Recording, Source, Stream
from ownmark.ingest.table import reader as table
from ownmark.ingest.table.coarse_stamps import spread

from tests.makers.sheets import texts


def sensor(seconds=60, rate=50, *, noise=0.004, step=0.001, still=(20, 40), limit=None, rest=1.0):
    """Acceleration of an arm that rests in the middle; values in whole steps of the sensor."""
    time = np.arange(seconds * rate) / rate
    chance = np.random.default_rng(5)
    moving = (time < still[0]) | (time >= still[1])
    swing = moving * np.sin(2 * np.pi * time)
    values = np.column_stack((0.8 * swing, 0.3 * swing, rest + 0.5 * swing)) + chance.normal(0, noise, (len(time), 3))
    values = np.round(values / step) * step
    return time, values if limit is None else np.clip(values, -limit, limit)


def flagged(name, time, values, flag):
    return np.flatnonzero(motion_flags(name, time, values) & np.uint16(flag))


def test_an_axis_without_a_value_is_a_dropout():
    time, values = sensor()
    values[100, 1] = math.nan
    values[101] = math.nan
    assert flagged(ACCELERATION, time, values, Flag.DROPOUT).tolist() == [100, 101]
    assert motion_flags(ACCELERATION, time, values)[102] == 0


def test_a_judged_sample_is_no_longer_unchecked_and_keeps_what_its_stamp_said():
    time, values = sensor(seconds=10)
    time[[50, 51]] = time[[51, 50]]
    streams = tuple(Stream.from_samples(name, time, values) for name in (ACCELERATION, ANGULAR_RATE))
    streams += (Stream.from_samples(WAVEFORM, time, values[:, 0]),)
    for stream in clean(Recording(streams=streams)).streams:
        assert stream.flag_counts() == {"backward_stamp": 1}
        assert stream.usable.all()


def test_a_sensor_that_hangs_is_frozen_while_the_rest_of_its_recording_shows_noise():
    # The 3 s begin in the rest: a living sensor at rest changes by its noise, this one does not change by a bit.
    time, values = sensor()
    values[1250:1400] = values[1250]
    found = flagged(ACCELERATION, time, values, Flag.FROZEN)
    assert found.tolist() == list(range(1251, 1400))
    assert Flag.FROZEN & REJECTING


def test_a_sensor_that_hangs_in_the_middle_of_a_movement_is_frozen():
    time, values = sensor(still=(0, 0))
    values[400:500] = values[400]
    assert flagged(ACCELERATION, time, values, Flag.FROZEN).tolist() == list(range(401, 500))


def test_stillness_of_a_coarse_sensor_is_stillness():
    # Steps of 16 mg hide a noise of 2 mg: at rest such a sensor repeats itself to the bit, which is a true finding.
    time, values = sensor(step=0.016, noise=0.002, rest=0.992)
    assert (np.diff(values[1000:2000], axis=0) == 0).all(axis=1).mean() > 0.9
    assert len(flagged(ACCELERATION, time, values, Flag.FROZEN)) == 0


def test_a_coarse_sensor_whose_quiet_seconds_live_can_hang_too():
    time, values = sensor(step=0.005, noise=0.006)
    values[1250:1400] = values[1250]
    assert len(flagged(ACCELERATION, time, values, Flag.FROZEN)) == 149


def test_one_second_is_not_yet_frozen():
    time, values = sensor()
    values[1250:1301] = values[1250]  # 51 samples span exactly 1 s
    assert len(flagged(ACCELERATION, time, values, Flag.FROZEN)) == 0
    values[1250:1302] = values[1250]
    assert len(flagged(ACCELERATION, time, values, Flag.FROZEN)) == 51


@pytest.mark.parametrize(("name", "shape"), [(ACCELERATION, (600, 3)), (ANGULAR_RATE, (600, 3)), (WAVEFORM, (600,))])
def test_a_recording_that_never_changes_is_dead(name, shape):
    assert len(flagged(name, np.arange(600) / 50, np.full(shape, 0.5), Flag.FROZEN)) == 599


def test_a_flat_stretch_of_a_wave_is_frozen():
    time = np.arange(2000) / 100
    values = np.sin(2 * np.pi * 1.2 * time)
    values[500:900] = 0.25
    assert flagged(WAVEFORM, time, values, Flag.FROZEN).tolist() == list(range(501, 900))


def test_samples_at_the_limit_of_the_sensor_are_saturated_and_still_used():
    time, values = sensor(limit=1.5, still=(0, 0))
    values *= 4 / 3  # a sensor of 2 g whose z axis swings beyond it
    values[:, 2] = np.minimum(values[:, 2] + 0.9, 2.0)
    found = flagged(ACCELERATION, time, values, Flag.SATURATED)
    assert set(found) <= set(np.flatnonzero(values[:, 2] == 2.0))
    assert len(found) > 300
    assert not Flag.SATURATED & REJECTING


def test_a_single_largest_value_is_no_limit():
    time, values = sensor(limit=None, still=(0, 0))
    values[300] = [0.0, 0.0, 7.9]
    assert len(flagged(ACCELERATION, time, values, Flag.SATURATED)) == 0


def test_the_largest_values_of_a_quiet_sensor_are_no_limit():
    # At rest a coarse axis stands on its largest value for many samples; no sensor has a range of under 1.5 g.
    time, values = sensor(step=0.016, noise=0.002, still=(0, 60), rest=0.992)
    assert len(flagged(ACCELERATION, time, values, Flag.SATURATED)) == 0


def test_a_rate_of_turn_at_its_limit_is_saturated():
    time = np.arange(500) / 50
    values = np.column_stack([np.clip(300 * np.sin(time), -250, 250), 0 * time + time % 0.1, time % 0.2])
    found = flagged(ANGULAR_RATE, time, values, Flag.SATURATED)
    assert found.tolist() == np.flatnonzero(np.abs(values[:, 0]) == 250).tolist()


def test_a_wave_must_reach_its_limit_twice():
    time = np.arange(3000) / 100
    once = np.sin(2 * np.pi * time) + 0.01 * np.sin(0.3 * time)
    once[50:55] = 1.5
    assert len(flagged(WAVEFORM, time, once, Flag.SATURATED)) == 0
    clipped = np.minimum(once, 0.95)
    assert len(flagged(WAVEFORM, time, clipped, Flag.SATURATED)) > 100


def real_acceleration(real_dir):
    """Every real recording of acceleration [g], with its rate."""
    walks = gzip.decompress((real_dir / "waist_walks_50hz.csv.gz").read_bytes()).decode().splitlines()[100:]
    yield "waist", 50, np.loadtxt(walks, delimiter=",", usecols=(1, 2, 3))
    for name in ("walking_20hz", "not_walking_20hz", "still", "moving"):
        yield name, 20, np.loadtxt(real_dir / f"{name}.csv", delimiter=",", skiprows=1)[:, :3]
    lines = gzip.decompress((real_dir / "shank_120hz.txt.gz").read_bytes()).decode().splitlines()
    begin = next(number for number, line in enumerate(lines) if line.startswith("Counter")) + 1
    yield "shank", 120, np.loadtxt(lines[begin:], usecols=(1, 2, 3)) / 9.80665


def test_real_movement_and_real_stillness_are_neither_frozen_nor_saturated(real_dir):
    # README of the folder: near-perfect stillness between three walks, a still sensor, a moving one, walks.
    for name, rate, values in real_acceleration(real_dir):
        assert not motion_flags(ACCELERATION, np.arange(len(values)) / rate, values).any(), name


def test_twenty_minutes_of_100_samples_a_second_are_judged_in_a_moment():
    import time as clock

    time, values = sensor(seconds=1200, rate=100)
    begin = clock.process_time()
    motion_flags(ACCELERATION, time, values)
    assert clock.process_time() - begin < 0.5


# Stamps that are coarser than the sampling


def test_samples_under_whole_seconds_are_spread_evenly_in_the_order_of_the_file():
    true_s = np.arange(25 * 20) / 25
    values = np.sin(true_s)
    found, note = spread(np.floor(true_s), values)
    np.testing.assert_allclose(found, true_s, atol=1e-9)
    assert note == pytest.approx(25, abs=0.5)


def test_a_recording_that_begins_inside_a_second_begins_late_in_it():
    true_s = 0.6 + np.arange(25 * 20) / 25
    found, _ = spread(np.floor(true_s), np.sin(true_s))
    np.testing.assert_allclose(found, true_s, atol=1e-9)


def test_a_gap_is_not_filled_with_the_samples_before_it():
    true_s = np.concatenate((np.arange(250) / 25, 30 + np.arange(250) / 25))
    found, _ = spread(np.floor(true_s), np.sin(true_s))
    np.testing.assert_allclose(found, true_s, atol=1e-9)


def test_a_clock_that_ticks_more_slowly_than_the_sampling_loses_no_sample():
    # The third example recording of heartpy 1.2.7 (MIT): a clock of 15.6 ms, 100.4 samples a second, 24,775 repeats.
    true_s = np.arange(6000) / 100.4
    ticks = np.floor(true_s / 0.015625) * 0.015625
    found, note = spread(ticks, np.sin(true_s))
    assert note is not None
    assert (np.diff(found) > 0).all()
    assert np.abs(found - true_s).max() < 0.016


def test_stamps_that_repeat_by_accident_stay():
    time = np.arange(1000) / 50
    values = np.sin(time)
    time[500] = time[499]
    found, note = spread(time, values)
    assert note is None
    np.testing.assert_array_equal(found, time)
    assert Stream.from_samples(WAVEFORM, found, values).flag_counts()["duplicate_stamp"] == 1


def test_rows_that_are_written_twice_are_duplicates():
    time = np.repeat(np.arange(500) / 50, 2)
    assert spread(time, np.repeat(np.sin(np.arange(500)), 2))[1] is None


def test_of_two_samples_of_movement_with_one_stamp_the_larger_is_not_better():
    # Ranked by length, the larger of two would always stand: a bias. The last complete one stands.
    values = [[0, 0, 1.0], [0, 0, 3.0], [0, 0, 0.5], [0, math.nan, 9.0], [0, 0, 1.0]]
    stream = Stream.from_samples(ACCELERATION, [0.0, 0.02, 0.02, 0.02, 0.04], values)
    standing = (stream.flags & Flag.DUPLICATE_STAMP) == 0
    assert stream.values[standing, 2].tolist() == [1.0, 0.5, 1.0]


def test_a_table_with_25_rows_under_each_second_keeps_them_all():
    true_s = np.arange(25 * 40) / 25
    swing = np.sin(2 * np.pi * 0.8 * true_s)
    lines = ["time (s),acc x (g),acc y (g),acc z (g)"]
    lines += [f"{int(now)},{wave:.4f},{wave / 2:.4f},1.0000" for now, wave in zip(true_s, swing, strict=True)]
    recording = clean(table.read("\n".join(lines).encode(), Source("wrist.csv")))
    stream = recording[ACCELERATION]
    assert stream.flag_counts() == {}
    np.testing.assert_allclose(stream.time, true_s, atol=1e-6)
    np.testing.assert_allclose(stream.values[:, 0], swing, atol=1e-4)
    assert any("spread evenly" in note for note in texts(recording.notes))
