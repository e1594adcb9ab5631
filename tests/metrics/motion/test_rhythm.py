"""Rhythm: cadence, cycles, the half and the double, and when there is none."""

import csv
import gzip
import itertools
import tracemalloc
from datetime import UTC, datetime

import numpy as np
import pytest
from ownmark.metrics.motion import rhythm as module
from ownmark.metrics.motion.autocorrelation import Likeness
from ownmark.metrics.motion.cycle_count import Other
from ownmark.metrics.motion.cycle_length import Cycles
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.rhythm import (
    FASTEST,
    Rhythm,
    _in_stretches,
    _Main,
    _seconds,
    _without,
    cadence_of,
    fastest_at,
    resolution,
    rhythm,
)

from tests.bench.rhythm_accuracy import CHANGES, SCENES, Scene, trial
from tests.makers.motion import Bout, Sensor, motion, stream

ALL = [(0.0, 1e6)]
GRAVITY = 9.81


def swing(rate_hz, seconds, hz, shape=((1, 1.0, 0.0),), noise_g=0.0, seed=0):
    """Acceleration on three axes: waves at multiples of a frequency, as (multiple, size in g, phase)."""
    at = np.arange(round(rate_hz * seconds)) / rate_hz
    wave = sum(size * np.cos(2 * np.pi * multiple * hz * at + phase) for multiple, size, phase in shape)
    values = np.stack((0.3 * wave, 0.1 * wave, np.ones(len(at))), axis=1)
    return Grid(0.0, rate_hz, values + noise_g * np.random.default_rng(seed).standard_normal(values.shape))


def of(bouts, seed=0, placement="wrist", **sensor):
    """A made recording as a grid, and its truth."""
    made = motion(bouts[-1].until_s + 10, bouts, placement=placement, sensor=Sensor(**sensor), seed=seed)
    return to_grid(made.acceleration), made.truth


@pytest.mark.parametrize(("cycle_s", "per_minute"), [(1.43, 41.96), (1.31, 45.80), (1.28, 46.88)])
def test_cadence_is_60_over_the_cycle_time_as_published_for_push_cycles(cycle_s, per_minute):
    # Trade tables 7.14: cycle times over ground, on a treadmill and on an ergometer; the cadences computed from them.
    assert cadence_of(cycle_s) == pytest.approx(per_minute, abs=0.0051)  # rounded to 0.01
    found = rhythm(swing(50.0, 60.0, 1 / cycle_s), ALL)
    assert found.cadence_mean.value == pytest.approx(per_minute, rel=0.002)


def test_a_peak_between_two_samples_is_found_between_them():
    # Trade tables 7.15: 45 /min at 50 Hz has a lag of 66.667 samples; whole lags read 44.776 and 45.455, a parabola
    # through 66 to 68 reads 44.95. Ours may be off by no more than that parabola.
    found = rhythm(swing(50.0, 30.0, 0.75), ALL)
    assert found.cadence_mean.value == pytest.approx(45.0, abs=0.05)


@pytest.mark.parametrize(("span_s", "per_minute"), [(30.0, 2.0), (20.0, 3.0)])
def test_a_change_below_60_over_the_length_is_none_to_report(span_s, per_minute):
    # Trade tables 7.16.
    assert resolution(span_s) == per_minute
    assert f"less than {60 / span_s:.1f} /min" in rhythm(swing(50.0, span_s, 1.0), ALL).note


@pytest.mark.parametrize(
    ("scene", "per_minute"),
    [(scene, each) for scene, each in itertools.product(SCENES[:12], (20, 45, 80, 120))],
    ids=lambda value: value.words if isinstance(value, Scene) else str(value),
)
def test_cycles_within_3_and_cadence_within_2_percent_from_20_to_120_a_minute(scene, per_minute):
    # The goal of the trial; noise, wobble, vibration of 0.06 to 0.15 g, tremor, every mounting, 20 to 100 Hz.
    made = trial(per_minute, scene, seed=7, seconds=60.0)
    assert made.found.cycle_count.value == pytest.approx(made.cycles, rel=0.03)
    assert made.found.cadence_mean.value == pytest.approx(made.per_minute, rel=0.02)
    assert made.found.rhythmic_s == pytest.approx(60.0, abs=1.0)


@pytest.mark.parametrize("per_minute", [20, 60, 120])
@pytest.mark.parametrize("scene", SCENES[12:], ids=lambda scene: scene.words)
def test_lost_samples_are_not_counted_and_the_bounds_hold_what_they_could_have_been(scene, per_minute):
    for seed in range(3):
        made = trial(per_minute, scene, seed)
        found = made.found
        assert found.cadence_mean.value == pytest.approx(made.per_minute, rel=0.02)
        assert found.cycle_count.value == pytest.approx(made.cycles, rel=0.03)
        assert found.cycle_count.low <= made.cycles_whole <= found.cycle_count.high
        assert found.cadence_mean.low <= made.per_minute_whole <= found.cadence_mean.high


def test_windows_without_samples_have_no_cadence():
    grid, truth = of([Bout(5, 125, cadence=60)], gaps=((50.0, 75.0),))
    found = rhythm(grid, truth.moving)
    inside = (found.time_s > 54) & (found.time_s < 71)
    assert np.isnan(found.per_minute[inside]).all()
    assert np.isnan(found.confidence[inside]).all()
    assert np.isfinite(found.per_minute[(found.time_s > 10) & (found.time_s < 46)]).all()


def test_a_window_of_which_little_was_measured_says_nothing():
    grid, truth = of([Bout(5, 125, cadence=60)], gaps=((50.0, 57.0), (59.0, 66.0)))
    found = rhythm(grid, truth.moving)
    assert np.isnan(found.per_minute[(found.time_s > 53) & (found.time_s < 63)]).all()


def test_measured_movement_between_two_gaps_goes_on_in_the_rhythm_around_it():
    gaps = ((60.0, 66.0), (69.0, 75.0))
    grid, truth = of([Bout(5, 125, cadence=100)], gaps=gaps)
    found = rhythm(grid, truth.moving)
    assert found.rhythmic_s == pytest.approx(120 - 12, abs=1.0)
    assert found.cycle_count.value == pytest.approx(100 / 60 * 108, rel=0.015)


def test_nothing_lost_leaves_no_width_between_the_bounds():
    found = rhythm(swing(50.0, 60.0, 1.0), ALL)
    assert found.cycle_count.low == found.cycle_count.value == found.cycle_count.high
    assert found.cycle_count.value == pytest.approx(60.0, rel=0.005)


def test_a_phase_that_reaches_beyond_the_recording_widens_the_bounds():
    grid = swing(50.0, 60.0, 1.0)
    found = rhythm(grid, ALL, within=(0.0, 90.0))
    assert found.cycle_count.value == pytest.approx(60.0, rel=0.01)
    assert found.cycle_count.high >= 60 + 30 * FASTEST / 60
    half = rhythm(grid, ALL, within=(0.0, 30.0))
    assert half.cycle_count.value == pytest.approx(30.0, rel=0.01)


@pytest.mark.parametrize("alternating", [0.3, 0.5, 0.7])
@pytest.mark.parametrize("per_minute", [30, 50, 75])
def test_left_and_right_in_turn_make_one_cycle_of_two_peaks(alternating, per_minute):
    grid, truth = of([Bout(5, 65, cadence=per_minute, alternating=alternating)], placement="frame", seed=2)
    assert rhythm(grid, truth.moving).cadence_mean.value == pytest.approx(per_minute, rel=0.02)


@pytest.mark.parametrize("multiple", [2, 3])
def test_a_harmonic_twice_as_strong_as_the_cycle_does_not_multiply_the_cadence(multiple):
    found = rhythm(swing(50.0, 60.0, 0.6, shape=((1, 1.0, 0.0), (multiple, 2.0, 0.7)), noise_g=0.02), ALL)
    assert found.cadence_mean.value == pytest.approx(36.0, rel=0.01)


def test_a_pure_swing_is_not_read_as_half_as_fast():
    for per_minute in (40, 75, 110):
        found = rhythm(swing(50.0, 60.0, per_minute / 60, noise_g=0.05), ALL)
        assert found.cadence_mean.value == pytest.approx(per_minute, rel=0.01)


def test_cycles_of_two_like_halves_are_told_with_both_readings():
    # A fundamental of 0.4 of the harmonic: halves alike to (1 - 0.16) / (1 + 0.16) = 0.72.
    found = rhythm(swing(50.0, 60.0, 0.8, shape=((1, 0.4, 0.0), (2, 1.0, 0.5))), ALL)
    assert found.cadence_mean.value == pytest.approx(48.0, rel=0.01)
    assert found.halves == pytest.approx(0.72, abs=0.07)  # the filters weaken the harmonic by a few percent
    assert "48 cycles a minute are 96 halves" in found.note
    assert "halves" not in rhythm(swing(50.0, 60.0, 0.8), ALL).note


def test_two_quite_equal_halves_cannot_be_told_from_two_cycles():
    # The limit of any movement sensor, stated in the module: with 3 % of fundamental the cycle is the half.
    found = rhythm(swing(50.0, 60.0, 0.5, shape=((1, 0.03, 0.0), (2, 1.0, 0.5))), ALL)
    assert found.cadence_mean.value == pytest.approx(60.0, rel=0.01)


def test_two_nearly_equal_halves_read_as_cycles_are_told_as_such():
    # A fundamental of 0.15 of the harmonic: alike to 0.956. Read as 60 a minute, with the note that 30 may be meant.
    found = rhythm(swing(50.0, 60.0, 0.5, shape=((1, 0.15, 0.0), (2, 1.0, 0.5))), ALL)
    assert found.cadence_mean.value == pytest.approx(60.0, rel=0.01)
    assert "two of them make one, and 60 are 30" in found.note
    assert "Every other cycle" not in rhythm(swing(50.0, 60.0, 1.0), ALL).note


def test_windows_that_could_be_read_both_ways_follow_their_neighbours():
    # Left and right nearly alike and every cycle of another size: one window at a time, a sixth is lost or doubled.
    scene = Scene("", "frame", (("alternating", 0.7), ("wobble", 0.3), ("uneven", 0.04)))
    for seed, per_minute in itertools.product(range(3), (30, 45, 75)):
        found = trial(per_minute, scene, seed).found
        shown = found.per_minute[np.isfinite(found.per_minute)]
        assert (shown < 1.3 * per_minute).all()
        assert found.rhythmic_s >= 117


def test_a_trial_is_read_one_way_throughout_even_where_both_are_possible():
    scene = Scene("", "frame", (("alternating", 0.8), ("wobble", 0.3), ("uneven", 0.04)))
    mixed = []
    for seed, per_minute in itertools.product(range(3), (30, 45, 60)):
        found = trial(per_minute, scene, seed).found
        double = np.mean(found.per_minute[np.isfinite(found.per_minute)] > 1.5 * per_minute)
        mixed.append(min(double, 1 - double))
    assert np.mean(mixed) < 0.015  # each window for itself: 3 %


def test_weak_movement_in_noise_is_not_read_as_half_as_fast():
    scene = Scene("", "frame", (("size_g", 0.02),))
    for seed, per_minute in itertools.product(range(3), (40, 70, 100, 120)):
        found = trial(per_minute, scene, seed).found
        assert not (found.per_minute < 0.8 * per_minute).any()


def test_a_window_holds_several_cycles_and_its_cadence_is_as_exact_as_they_allow():
    found = rhythm(swing(50.0, 60.0, 80 / 60, shape=((1, 1.0, 0.0), (2, 0.5, 1.0))), ALL)
    inside = (found.time_s > 8) & (found.time_s < 52)
    np.testing.assert_allclose(found.per_minute[inside], 80.0, rtol=5e-4)


@pytest.mark.parametrize("words", CHANGES)
def test_a_rhythm_that_changes_is_followed_and_counted(words):
    # "100 to 25 at once" leaves one window in which either may be read: 3 % of the count.
    made = trial(CHANGES[words], SCENES[0], seed=3)
    assert made.found.cycle_count.value == pytest.approx(made.cycles, rel=0.031)
    assert made.found.rhythmic_s == pytest.approx(120.0, abs=1.0)


def test_each_side_of_a_change_shows_its_own_cadence():
    made = trial(((0, 60), (60, 60), (60, 90), (120, 90)), SCENES[0], seed=3).found
    before, after = (made.per_minute[(made.time_s > a) & (made.time_s < b)] for a, b in ((14, 64), (76, 126)))
    assert np.nanmedian(before) == pytest.approx(60, rel=0.02)
    assert np.nanmedian(after) == pytest.approx(90, rel=0.02)
    shown = made.per_minute[np.isfinite(made.per_minute)]
    assert (np.minimum(abs(shown / 60 - 1), abs(shown / 90 - 1)) < 0.1).all()  # nothing in between is invented


def test_variation_is_that_of_the_cadence_and_nearly_nothing_for_a_metronome():
    steady = rhythm(swing(50.0, 120.0, 1.0, noise_g=0.01), ALL)
    assert steady.cadence_variation_percent < 0.3
    halves = rhythm(*_two_rhythms(50.0, 70.0))
    # Half the time at 50 and half at 70: mean 60, deviation 10, that is 16.7 %.
    assert halves.cadence_variation_percent == pytest.approx(16.7, abs=1.5)
    assert halves.cadence_mean.value == pytest.approx(60.0, rel=0.01)


def _two_rhythms(one, other):
    grid, truth = of([Bout(5, 65, cadence=one), Bout(75, 135, cadence=other)])
    return grid, truth.moving


def test_only_the_movement_given_is_counted():
    grid, truth = of([Bout(5, 45, cadence=60), Bout(55, 95, cadence=60), Bout(105, 145, cadence=60)])
    assert rhythm(grid, truth.moving).cycle_count.value == pytest.approx(120, rel=0.02)
    assert rhythm(grid, truth.moving[1:]).cycle_count.value == pytest.approx(80, rel=0.02)
    part = rhythm(grid, [(60.0, 80.0)])
    assert part.cycle_count.value == pytest.approx(20, rel=0.02)
    assert part.rhythmic_s == pytest.approx(20.0, abs=0.5)
    assert np.isfinite(part.per_minute).sum() <= 12  # windows outside of it show none


@pytest.mark.parametrize("per_minute", [20, 40, 90, 120])
def test_short_bouts_are_counted_to_their_edges(per_minute):
    bouts = [Bout(5 + 20 * place, 17 + 20 * place, cadence=per_minute, uneven=0.0) for place in range(8)]
    grid, truth = of(bouts, seed=4)
    assert rhythm(grid, truth.moving).cycle_count.value == pytest.approx(8 * 12 * per_minute / 60, rel=0.03)


def test_however_the_sensor_is_mounted_the_answer_is_the_same():
    grid, truth = of([Bout(5, 65, cadence=55)], mounted_at_random=False)
    turn = np.linalg.qr(np.random.default_rng(1).standard_normal((3, 3)))[0]
    turned = Grid(grid.start_s, grid.rate_hz, grid.values @ turn)
    one, other = rhythm(grid, truth.moving), rhythm(turned, truth.moving)
    assert one.cycle_count.value == pytest.approx(other.cycle_count.value, rel=1e-4)
    np.testing.assert_allclose(one.per_minute, other.per_minute, rtol=1e-3)


def test_vibration_of_the_chair_stronger_than_the_pushes_changes_nothing():
    # Trade tables 7.20: 4 to 12 Hz. 0.3 g of it over pushes of 0.1 g.
    grid, truth = of([Bout(5, 65, cadence=50, size_g=0.1, shake_g=0.3)], placement="frame")
    assert rhythm(grid, truth.moving).cadence_mean.value == pytest.approx(50, rel=0.02)


def test_rolling_without_a_rhythm_has_none_and_says_why():
    for seed in range(6):
        grid, truth = of([Bout(5, 185, cadence=None, shake_g=0.1)], placement="frame", seed=seed, drift_deg=10.0)
        found = rhythm(grid, truth.moving)
        assert (found.cadence_mean, found.cycle_count, found.cadence_variation_percent) == (None, None, None)
        assert found.rhythmic_s == 0
        assert np.isnan(found.per_minute).all()
        assert "did not repeat itself" in found.note


@pytest.mark.parametrize("band_hz", [(0.05, 1.0), (0.3, 1.5), (1.0, 3.0), (0.1, 10.0)])
def test_aimless_movement_is_not_given_a_rhythm(band_hz):
    rng, count = np.random.default_rng(5), 50 * 600
    spectrum = np.fft.rfft(rng.standard_normal((count, 3)), axis=0)
    frequency = np.fft.rfftfreq(count, 0.02)
    spectrum[(frequency < band_hz[0]) | (frequency > band_hz[1])] = 0
    noise = np.fft.irfft(spectrum, count, axis=0)
    found = rhythm(Grid(0.0, 50.0, 0.2 * noise / noise.std() + np.array([0.0, 0.0, 1.0])), ALL)
    assert found.rhythmic_s <= 0.02 * 600


def test_a_still_sensor_has_no_rhythm_even_if_its_noise_has_one():
    quiet = swing(50.0, 60.0, 1.0, shape=((1, 0.005, 0.0),), noise_g=0.001)  # 1.6 mg: a heart beat against the case
    assert rhythm(quiet, ALL).cycle_count is None
    assert rhythm(swing(50.0, 60.0, 1.0, shape=((1, 0.1, 0.0),), noise_g=0.001), ALL).cycle_count is not None


def test_less_than_eight_seconds_give_a_sentence():
    assert "8 s of movement" in rhythm(swing(50.0, 7.0, 1.0), ALL).note
    assert rhythm(swing(50.0, 10.0, 1.0), ALL).cycle_count.value == pytest.approx(10, rel=0.05)


def test_nothing_measured_and_nothing_moving_give_a_sentence():
    gone = Grid(0.0, 50.0, np.full((3000, 3), np.nan))
    assert rhythm(gone, ALL).cycle_count is None
    found = rhythm(swing(50.0, 60.0, 1.0), [])
    assert found.cycle_count is None
    assert found.note


def test_one_axis_is_enough():
    grid = swing(50.0, 60.0, 1.0)
    assert rhythm(Grid(0.0, 50.0, grid.values[:, 0]), ALL).cadence_mean.value == pytest.approx(60, rel=0.005)


def test_a_sensor_too_slow_for_the_cadence_asked_gives_a_sentence_and_no_number():
    # Four samples for each cycle of the second harmonic: 12 a second allow 90 /min.
    assert fastest_at(12.0) == 90.0
    assert fastest_at(100.0) == FASTEST
    asked = rhythm(swing(12.0, 60.0, 1.0), ALL, up_to=120.0)
    assert asked.cycle_count is None
    assert "at 12 samples a second a cadence above 90 /min cannot be seen" in asked.note
    assert "at least 16 samples" in asked.note
    assert rhythm(swing(12.0, 60.0, 1.0), ALL, up_to=90.0).cadence_mean.value == pytest.approx(60, rel=0.01)
    assert "cannot be seen" in rhythm(swing(3.0, 60.0, 0.3), ALL).note


@pytest.mark.parametrize(("rate_hz", "per_minute"), [(12.0, 100), (12.0, 120), (10.0, 100), (8.0, 90), (16.0, 125)])
def test_a_rhythm_faster_than_the_sensor_allows_is_not_reported_as_half_of_it(rate_hz, per_minute):
    grid, truth = of([Bout(5, 65, cadence=per_minute)], rate_hz=rate_hz)
    found = rhythm(grid, truth.moving)
    assert found.cycle_count is None
    assert f"faster than {fastest_at(rate_hz):.0f} /min" in found.note


def test_a_trial_of_which_much_is_too_fast_for_the_sensor_gets_no_number_from_the_rest():
    grid, truth = of([Bout(5, 65, cadence=60), Bout(75, 135, cadence=120)], rate_hz=12.0)
    found = rhythm(grid, truth.moving)
    assert found.cycle_count is None
    assert "faster than 90 /min" in found.note
    little, truth = of([Bout(5, 245, cadence=60), Bout(255, 267, cadence=120)], rate_hz=12.0)
    found = rhythm(little, truth.moving)
    assert found.cadence_mean.value == pytest.approx(60, rel=0.02)
    assert found.cycle_count.low <= 240 + 24 <= found.cycle_count.high
    assert "faster than 90 /min" in found.note


@pytest.mark.parametrize(("rate_hz", "per_minute"), [(12.0, 80), (10.0, 60), (8.0, 45), (6.0, 20), (400.0, 100)])
def test_within_its_limit_a_slow_or_fast_sensor_is_as_good(rate_hz, per_minute):
    grid, truth = of([Bout(5, 65, cadence=per_minute)], rate_hz=rate_hz, jitter=0.1)
    assert rhythm(grid, truth.moving).cadence_mean.value == pytest.approx(per_minute, rel=0.02)


def test_an_hour_takes_memory_in_proportion_to_its_samples():
    peaks = []
    for seconds in (900, 3600):
        grid = swing(100.0, seconds, 1.0, noise_g=0.02)
        tracemalloc.start()
        rhythm(grid, ALL)
        peaks.append(tracemalloc.get_traced_memory()[1] / grid.values.nbytes)
        tracemalloc.stop()
    assert peaks[1] < 1.5 * peaks[0]
    assert peaks[1] < 4.0


def waist(real_dir):
    """A waist sensor's day: grid at 50 Hz on the seconds of its own clock [g]."""
    with gzip.open(real_dir / "waist_walks_50hz.csv.gz", "rt") as lines:
        rows = [line.split(",") for line in list(lines)[100:]]
    stamps = [datetime.strptime(row[0], "%Y-%m-%d %H:%M:%S:%f").replace(tzinfo=UTC).timestamp() for row in rows]
    made = stream("acceleration", np.array(stamps), np.array([[float(cell) for cell in row[1:4]] for row in rows]))
    return to_grid(made)


def test_the_strides_of_three_real_walks_are_the_references_to_2_percent(real_dir):
    # gaitpy 1.6.1 (MIT) carries the recording and its own result: stride durations between foot contacts. A stride is
    # a cycle, two steps. Both write the local clock as if it were UTC.
    grid = waist(real_dir)
    with (real_dir / "waist_walks_reference.csv").open() as lines:
        rows = list(csv.DictReader(lines))
    for walk in ("1", "2", "3"):
        mine = [row for row in rows if row["bout_number"] == walk]
        contacts = np.array([float(row["IC"]) for row in mine]) / 1000
        strides = np.array([float(row["stride_duration"]) for row in mine])
        found = rhythm(grid, [(float(contacts[0]), float(contacts[-1]))])
        assert 2 * found.cadence_mean.value == pytest.approx(120 / np.median(strides), rel=0.02)
        if walk != "1":  # the first one stops in between
            steps = len(contacts) - 1
            assert 2 * found.cycle_count.value == pytest.approx(steps, rel=0.03)


def test_a_shank_makes_one_cycle_for_two_steps(real_dir):
    # scikit-kinematics 0.10.4 (BSD): 94 steps a minute. One leg swings once in two of them: 47 cycles.
    with gzip.open(real_dir / "shank_120hz.txt.gz", "rt") as lines:
        rows = [line.split("\t")[1:4] for line in list(lines)[5:]]
    grid = Grid(0.0, 120.0, np.array(rows, dtype=float) / GRAVITY)
    found = rhythm(grid, [(3.0, 29.0)])
    assert found.cadence_mean.value == pytest.approx(47, rel=0.02)


def test_a_real_walk_has_a_rhythm_and_other_real_movement_has_none(real_dir):
    # scikit-digital-health 0.17.18 (MIT), 20 Hz, labelled walking and not walking.
    walk = Grid(0.0, 20.0, np.loadtxt(real_dir / "walking_20hz.csv", delimiter=","))
    other = Grid(0.0, 20.0, np.loadtxt(real_dir / "not_walking_20hz.csv", delimiter=","))
    found = rhythm(walk, ALL)
    assert found.rhythmic_s > 0.8 * 120
    assert found.cadence_variation_percent < 5  # and does not jump between half and double
    assert rhythm(other, ALL).cycle_count is None
    still = Grid(0.0, 20.0, np.loadtxt(real_dir / "still.csv", delimiter=",", skiprows=1))
    assert rhythm(still, ALL).cycle_count is None


def test_ten_real_seconds_of_walking_have_a_rhythm_and_of_racket_play_have_none(real_dir):
    # sktime 1.2 (BSD), 10 Hz, ten seconds each; about m/s². Standing is left out: people sway and shift in a rhythm.
    share = {"Walking": [], "Badminton": []}
    for name in ("TRAIN", "TEST"):
        with gzip.open(real_dir / f"BasicMotions_{name}.ts.gz", "rt") as lines:
            for line in lines:
                label = line.rsplit(":", 1)[-1].strip()
                if label in share and line[0] not in "#@":
                    axes = [[float(cell) for cell in part.split(",")] for part in line.split(":")[:3]]
                    found = rhythm(Grid(0.0, 10.0, np.array(axes).T / GRAVITY), ALL)
                    share[label].append(found.cycle_count is not None)
    assert len(share["Walking"]) == len(share["Badminton"]) == 20
    assert np.mean(share["Walking"]) >= 0.9
    assert not any(share["Badminton"])


# ---- from windows to stretches of one rhythm, by hand

NONE = np.empty(0)


def windows(cadence, sure=0.9, size_g=0.1):
    """Windows 2 s apart with these cadences: their cycles, and their likeness."""
    count = len(cadence)
    sure, size_g = (np.broadcast_to(np.asarray(each, float), (count,)).copy() for each in (sure, size_g))
    like = Likeness(2.0 * np.arange(count), NONE, NONE, NONE, np.ones(count), size_g)
    return Cycles(60.0 / np.asarray(cadence, float), sure, np.ones(count)), like


def stretches(cadence, **words):
    found, like = windows(cadence, **words)
    return "".join("-x"[int(each)] for each in _in_stretches(np.asarray(cadence, float), found, like))


def test_three_fair_windows_of_which_one_is_sure_are_a_stretch():
    assert stretches([60, 60, 60]) == "xxx"
    assert stretches([60, 60]) == "--"
    assert stretches([60] * 4, sure=[0.4, 0.4, 0.6, 0.4]) == "xxxx"
    assert stretches([60] * 4, sure=[0.4, 0.4, 0.5999, 0.4]) == "----"
    assert stretches([60] * 5, sure=[0.9, 0.9, 0.3999, 0.9, 0.9]) == "-----"
    assert stretches([60] * 7, sure=[0.9, 0.9, 0.9, 0.3999, 0.9, 0.9, 0.9]) == "xxx-xxx"
    assert stretches([60] * 3, size_g=0.005) == "xxx"
    assert stretches([60] * 3, size_g=0.00499) == "---"
    assert stretches([60, 60, 60, np.nan, 60, 60], sure=[0.9, 0.9, 0.9, np.nan, 0.9, 0.9]) == "xxx---"


def test_a_sure_window_beside_a_stretch_makes_no_other_one_sure():
    assert stretches([60] * 7, sure=[0.5, 0.5, 0.5, 0.1, 0.7, 0.7, 0.7]) == "----xxx"
    assert stretches([60] * 7, sure=[0.7, 0.7, 0.7, 0.1, 0.5, 0.5, 0.5]) == "xxx----"


def test_neighbours_that_differ_by_less_than_fifteen_hundredths_are_of_one_rhythm():
    # On a scale of logarithms: 60 · exp(0.15) = 69.71.
    assert stretches([60, 60, 69.7, 69.7]) == "xxxx"
    assert stretches([60, 60, 69.72, 69.72]) == "----"
    assert stretches([69.7, 69.7, 60, 60]) == "xxxx"
    assert stretches([69.72, 69.72, 60, 60]) == "----"


def test_beside_another_rhythm_a_stretch_needs_five_windows():
    assert stretches([60] * 5 + [90] * 5) == "x" * 10
    assert stretches([60] * 4 + [90] * 5) == "----xxxxx"
    assert stretches([60] * 5 + [90] * 4) == "xxxxx----"
    assert stretches([60] * 5 + [90] * 4 + [60] * 5) == "xxxxx----xxxxx"
    gap = [0.9] * 5 + [0.1] + [0.9] * 3
    assert stretches([60] * 6 + [90] * 3, sure=gap) == "xxxxx-xxx"


# ---- what is made of them, with windows that are given


@pytest.fixture
def given(monkeypatch):
    """A function: the rhythm of windows with these cadences, and what the pieces were asked."""
    asked = {}

    def made(cadence, *, rate_hz=10.0, seconds=None, struck=(), apart=(), moving=((0.0, 1e6),), sure=0.9, **words):
        found, like = windows(cadence, sure)
        seconds = 2.0 * len(cadence) if seconds is None else seconds
        grid = Grid(0.0, rate_hz, np.ones((round(rate_hz * seconds), 3)))
        mask = np.zeros(len(grid.values), bool)
        for begin, until in struck:
            mask[round(begin * rate_hz) : round(until * rate_hz)] = True

        def likeness(*each):
            asked["likeness"] = each
            return like

        def cycles(*each):
            asked["cycles"] = each
            return found

        def other(*each):
            asked["others"] = each
            return tuple(apart)

        for name, stub in (
            ("slowed", lambda grid: grid),
            ("rhythm_band", lambda grid: grid),
            ("knocks", lambda *_: mask),
            ("likeness", likeness),
            ("cycles", cycles),
            ("others", other),
            ("halves", lambda *each: asked.update(halves=each) or np.full(len(each[1]), 0.45)),
        ):
            monkeypatch.setattr(module, name, stub)
        return rhythm(grid, list(moving), **words)

    return made, asked


def test_the_search_covers_half_the_fastest_to_all_of_the_slowest_cycle(given):
    made, asked = given
    made([60] * 20, moving=[(0.0, 10.0), (13.99, 20.0), (24.0, 40.0)])
    _, window_s, lags_s, bouts = asked["likeness"]
    assert (window_s, lags_s) == (8.0, pytest.approx((30 / 130, 4.08)))
    assert bouts == [(0.0, 20.0), (24.0, 40.0)]
    assert asked["cycles"][1:] == pytest.approx((60 / 130 / 1.03, 4.0, 0.4))


def test_cadence_cycles_time_and_variation_are_those_of_the_windows(given):
    made, _ = given
    found = made([60, 60, 60, 62, 64, 64, 64, 64, 64, 64])
    assert (found.rhythmic_s, found.moving_s, found.share_percent) == (20.0, 20.0, 100.0)
    # In steps of a fifth of a second, between the windows by a straight line: 60 to 4 s, 62 at 6 s, 64 from 8 s on.
    cycles = (4.0 * 60 + 4.0 * 62 + 12.0 * 64) / 60
    assert found.cycle_count.value == pytest.approx(cycles, abs=0.02)
    assert found.cadence_mean.value == pytest.approx(60 * found.cycle_count.value / 20)
    assert found.cadence_variation_percent == pytest.approx(100 * np.std([60] * 3 + [62] + [64] * 6) / 62.6)
    assert found.halves == pytest.approx(0.5)  # 0.45 of 0.9
    assert found.per_minute.tolist() == pytest.approx([60] * 3 + [62] + [64] * 6)
    assert found.confidence.tolist() == [0.9] * 10
    assert found.knocks_s == 0.0


def test_a_window_counts_within_a_second_of_movement(given):
    made, asked = given
    found = made([60] * 20, moving=[(10.0, 20.5)])
    assert found.time_s[np.isfinite(found.per_minute)].tolist() == [10, 12, 14, 16, 18, 20]
    assert found.time_s[np.isfinite(found.confidence)].tolist() == [10, 12, 14, 16, 18, 20]
    assert asked["halves"][1].tolist() == [10, 12, 14, 16, 18, 20]
    later = made([60] * 20, moving=[(10.5, 20.9)])
    assert later.time_s[np.isfinite(later.per_minute)].tolist() == [10, 12, 14, 16, 18, 20]


def test_only_windows_of_the_phase_enter_halves_and_variation(given):
    made, asked = given
    found = made([60] * 10 + [66] * 10, within=(0.0, 20.0))
    assert found.cadence_variation_percent == pytest.approx(0.0, abs=1e-9)
    assert asked["halves"][1].tolist() == [2.0 * place for place in range(10)]
    assert asked["others"][3] == (0.0, 20.0)
    assert np.isfinite(found.per_minute).all()


def test_windows_too_fast_for_the_sensor_are_left_out_up_to_a_tenth(given):
    made, _ = given

    def of_fast(fast, others):
        cadence = [60.0] * others + [60.0] + [100.0] * fast
        return made(cadence, rate_hz=12.0, sure=[0.9] * others + [0.1] + [0.9] * fast)

    some = of_fast(3, 27)
    assert some.cadence_mean.value == pytest.approx(60.0)
    assert np.isnan(some.per_minute[-3:]).all()
    assert some.cycle_count.high > some.cycle_count.value + 2 * 3 * 130 / 60 - 1e-6
    assert of_fast(5, 43).cycle_count is None
    assert np.isnan(of_fast(5, 43).per_minute).all()
    # At the limit itself a cadence is told: 12 samples a second allow 90.
    at = made([90.0] * 10, rate_hz=12.0)
    assert at.cadence_mean.value == pytest.approx(90.0)
    # What is too fast beside all movement takes nothing away.
    still = made(
        [60.0] * 10 + [60.0] + [100.0] * 5, rate_hz=12.0, sure=[0.9] * 10 + [0.1] + [0.9] * 5, moving=[(0, 18.5)]
    )
    assert still.cadence_mean.value == pytest.approx(60.0)
    assert still.cycle_count.low == still.cycle_count.value


def test_a_bout_of_another_rhythm_and_two_seconds_around_it_do_not_count(given):
    made, asked = given
    other = Other(20.0, 27.5, 60.0)
    found = made([60.0] * 30, apart=[other], moving=[(0.0, 60.0)])
    assert found.others == (other,)
    assert np.isfinite(found.per_minute).all()
    left = [2.0 * place for place in range(30) if not 18 <= 2 * place < 29.5]
    assert asked["halves"][1].tolist() == left
    # A window speaks for 4 s to either side: 16 + 4 to 30 - 4 is silent.
    assert found.rhythmic_s == pytest.approx(60 - 6, abs=0.5)


def test_knocks_are_told_in_seconds_of_movement_in_the_phase(given):
    made, _ = given
    assert made([60.0] * 20, struck=[(5.0, 6.5), (30.0, 31.0)]).knocks_s == pytest.approx(2.5)
    assert made([60.0] * 20, struck=[(5.0, 6.5), (30.0, 31.0)], within=(0.0, 20.0)).knocks_s == pytest.approx(1.5)
    grid = Grid(3.0, 4.0, np.zeros((40, 3)))
    struck = np.zeros(40, bool)
    struck[[0, 4, 8, 9]] = True
    assert _seconds(grid, struck, [(4.0, 20.0)], None) == 0.75
    assert _seconds(grid, struck, [(4.0, 20.0)], (0.0, 5.0)) == 0.25


def test_knocks_become_gaps_before_the_band_is_taken(monkeypatch):
    asked = []
    monkeypatch.setattr(module, "rhythm_band", lambda grid: asked.append(grid) or "band")
    slow, band = Grid(0.0, 4.0, np.ones((4, 3))), Grid(0.0, 4.0, np.zeros((4, 3)))
    assert _without(slow, np.zeros(4, bool), band) is band
    assert asked == []
    assert _without(slow, np.array([False, True, False, False]), band) == "band"
    assert np.isnan(asked[0].values).all(axis=1).tolist() == [False, True, False, False]
    assert (asked[0].values[[0, 2, 3]] == 1).all()


def test_eight_seconds_and_eight_samples_a_cycle_are_needed(given):
    made, _ = given
    assert made([60.0] * 5, seconds=8.0).cycle_count is not None
    assert made([60.0] * 5, seconds=7.9).cycle_count is None
    for rate_hz, up_to, enough in (
        (4.0, None, True),
        (3.9, None, False),
        (5.0, 0.0, True),
        (12.0, 90.0, True),
        (12.0, 90.1, False),
    ):
        assert (made([20.0] * 10, rate_hz=rate_hz, up_to=up_to).cycle_count is not None) is enough, (rate_hz, up_to)
    assert (fastest_at(4.0), fastest_at(1000.0)) == (30.0, 130.0)


def test_without_a_rhythm_everything_is_none_and_the_movement_is_told(given):
    made, _ = given
    found = made([60.0] * 10, sure=0.5)
    assert (found.cadence_mean, found.cadence_variation_percent, found.cycle_count, found.halves) == (None,) * 4
    assert (found.rhythmic_s, found.moving_s, found.share_percent, found.knocks_s) == (0.0, 20.0, 0.0, 0.0)
    empty = made([60.0] * 5, seconds=1.0)
    assert (len(empty.time_s), len(empty.per_minute), len(empty.confidence)) == (0, 0, 0)
    assert (empty.cadence_mean, empty.cycle_count, empty.rhythmic_s, empty.moving_s, empty.knocks_s) == (
        None,
        None,
        0,
        0,
        0,
    )
    assert (empty.share_percent, empty.remarks, empty.others) == (None, (), ())
    assert Rhythm(NONE, NONE, NONE, None, None, None, 0.25, None, "", moving_s=0.5).share_percent == 50.0


def test_halves_are_the_middle_of_up_to_forty_windows_spread_evenly(monkeypatch):
    asked = []

    def halves(band, time_s, length_s, window_s):
        asked.append((time_s.tolist(), length_s.tolist(), window_s))
        return np.arange(1.0, len(time_s) + 1) / 10

    monkeypatch.setattr(module, "halves", halves)
    grid = Grid(0.0, 4.0, np.zeros((4, 3)))

    def main(count, mask=None):
        found, like = windows([60.0] * count, sure=0.5)
        return _Main(grid, like.time_s, found, np.ones(count, bool) if mask is None else np.array(mask))

    assert main(3).halves() == pytest.approx(0.4)  # 0.1, 0.2 and 0.3 of 0.5
    assert asked[-1] == ([0.0, 2.0, 4.0], [1.0] * 3, 8.0)
    for count, step in ((40, 1), (41, 2), (80, 2), (81, 3)):
        main(count).halves()
        assert asked[-1][0] == [2.0 * place for place in range(0, count, step)], count
    main(4, [False, True, False, True]).halves()
    assert asked[-1][0] == [2.0, 6.0]
    assert main(2, [False, False]).halves() is None
    assert main(4, [False, True, False, True]).per_minute().tolist() == [60.0, 60.0]
