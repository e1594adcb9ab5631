"""Steps against the sway of a standing trunk: made trials with sway of 3 to 20 mg, and open recordings."""

import numpy as np
import pytest
from ownmark.metrics.motion.bouts import moving_time, stop_count, told_percent, within
from ownmark.metrics.motion.grid import to_grid
from ownmark.metrics.motion.moving import moving
from ownmark.metrics.motion.standing import _Levels, _strongest

from tests.makers.motion import Bout, Sensor, motion
from tests.makers.real_motion import table, waist

STEPS = {"cadence": 48, "size_g": 0.1, "swing_deg": 3, "alternating": 0.8, "uneven": 0.05, "impact_g": 0.15}


def walk(ends, duration_s, sway_mg, *, seed=0, rate=50.0, slope=1.0, seated=(), noise_g=0.003, **steps):
    """Steps between these moments, and a trunk that sways as the student stands."""
    sensor = Sensor(rate, noise_g=noise_g, sway_g=sway_mg / 1000, sway_slope=slope, seated=seated, drift_deg=1.0)
    bouts = [Bout(begin, until, **(STEPS | steps)) for begin, until in ends]
    return motion(duration_s, bouts, placement="trunk", sensor=sensor, seed=seed)


def see(made):
    return moving(to_grid(made.acceleration), "trunk")


def close(found, made):
    """Within 2 % and 2 s, and the bounds hold."""
    time, truth = moving_time(found), made.truth.moving_s
    assert time.value == pytest.approx(truth, abs=min(2.0, 0.02 * truth))
    assert time.low <= truth <= time.high
    assert time.high - time.low < 0.1 * (found.until_s - found.from_s)


@pytest.mark.parametrize("sway_mg", [3, 5, 10, 15, 20])
@pytest.mark.parametrize("seated", [(), ((-1.0, 55.0),)])
def test_quiet_standing_is_no_walking(sway_mg, seated):
    # 240 s of steps with two pauses of 60 s: the steps alone count, and the pauses are two stops.
    for seed, rate in ((1, 25.0), (2, 50.0), (3, 100.0)):
        made = walk([(60, 140), (200, 280), (340, 420)], 440, sway_mg, seed=seed, rate=rate, seated=seated)
        found = see(made)
        close(found, made)
        assert stop_count(found).value == 2
        assert told_percent(found) > 90


@pytest.mark.parametrize("sway_mg", [3, 8, 15])
@pytest.mark.parametrize("slope", [0.5, 1.5])
def test_stops_of_four_seconds_are_found_in_standing(sway_mg, slope):
    ends = [(10, 40), (44, 75), (79, 110), (130, 160), (162, 190)]  # the last pause, of two seconds, is no stop
    exact = []
    for seed in range(4):
        made = walk(ends, 200, sway_mg, seed=seed, slope=slope)
        found = see(made)
        time = moving_time(found)
        assert time.value == pytest.approx(150, abs=3)
        assert time.low <= 150 <= time.high
        exact.append(stop_count(found).value == 3)
        assert stop_count(found).low <= 3 <= stop_count(found).high
    assert sum(exact) >= 3


def test_steps_without_impacts_are_told_by_their_rhythm():
    for seed in range(3):
        made = walk([(60, 140), (200, 280)], 300, 10, seed=seed, seated=((-1.0, 50.0),), impact_g=0.0)
        close(see(made), made)


@pytest.mark.parametrize("sway_mg", [3, 10, 20])
def test_standing_alone_is_stillness_for_certain(sway_mg):
    for seed in range(3):
        found = see(walk([], 120, sway_mg, seed=seed))
        assert found.moving == ()
        assert moving_time(found).high < 2


def test_where_sway_is_as_loud_as_the_steps_too_little_is_told_for_a_figure():
    # Weak steps without impacts in white sway of 20 mg.
    for seed in range(4):
        weak = {"size_g": 0.04, "swing_deg": 1, "impact_g": 0.0, "cadence": 25}
        made = walk([(20, 60), (80, 120), (140, 180)], 200, 20, seed=seed, slope=0.0, **weak)
        assert told_percent(see(made)) < 70


def test_arm_work_of_a_seated_student_is_found_as_before():
    bouts = [Bout(a, a + 25, cadence=50, size_g=0.06, swing_deg=3) for a in (10, 45, 80)]
    for seed in range(3):
        found = see(motion(120, bouts, placement="trunk", sensor=Sensor(50, noise_g=0.005), seed=seed))
        assert found.threshold_mg <= 10
        assert moving_time(found).value == pytest.approx(75, abs=1.5)
        assert stop_count(found).value == 2


def test_a_recording_without_walking_holds_none(real_dir):
    # not_walking_20hz (MIT, from scikit-digital-health 0.17.18): 60 s that its library calls no gait. Restless: bursts
    # of up to 47 mg, without a rhythm.
    found = moving(to_grid(table(real_dir, "not_walking_20hz.csv", 20.0)), "trunk")
    time = moving_time(found)
    assert time.value <= 1
    assert time.high <= 3


def test_a_recording_of_walking_is_walking(real_dir):
    # walking_20hz (the same source): 120 s, with a rest of some two seconds near 10 s.
    found = moving(to_grid(table(real_dir, "walking_20hz.csv", 20.0)), "trunk")
    assert moving_time(found).value == pytest.approx(117.7, abs=2)
    assert stop_count(found) == (0, 0, 0)


def test_the_stillness_and_the_walks_of_an_open_recording_within_2_seconds(real_dir):
    # waist_walks_50hz (MIT, from gaitpy 1.6.1): the reference lists steps in these; near-perfect stillness between.
    found = moving(to_grid(waist(real_dir)), "trunk")
    for begin, end in ((31.40, 50.24), (64.54, 88.22), (124.88, 149.84)):
        assert moving_time(within(found, begin, end)).value == pytest.approx(end - begin, abs=0.5)
    for begin, end in ((55.5, 63.0), (93.5, 99.5), (116.5, 122.5)):
        assert moving_time(within(found, begin, end)).value <= 0.5


# ---- the parts


def test_the_threshold_lies_above_stillness_and_below_steps():
    assert _Levels(steps=25.0, still=10.0).threshold(6.0) == pytest.approx(14.0)  # 1.4 times the stillness
    assert _Levels(steps=14.4, still=10.0).threshold(6.0) == pytest.approx(12.0)  # halfway, as a ratio
    assert _Levels(steps=44.0, still=10.0).threshold(6.0) == pytest.approx(20.0)  # room: as far below the steps
    assert _Levels(steps=90.0, still=10.0).threshold(6.0) == pytest.approx(22.0)  # ... 2.2 times the stillness at most
    assert _Levels(steps=90.0, still=6.0).threshold(8.4) == pytest.approx(
        8.4
    )  # 1.4 · 6 is no more: no sway to speak of
    assert _Levels(steps=90.0, still=2.0).threshold(6.0) == pytest.approx(6.0)  # what served before is enough


def test_the_strongest_stillness_is_the_95th_in_a_hundred_of_one_that_swells():
    assert _strongest(np.arange(1.0, 101.0)) == 95.0
    assert _strongest(np.full(20, 3.0)) == 3.0  # noise is as loud throughout
    assert _strongest(np.empty(0)) == 0.0


def test_what_lies_above_a_hollow_is_a_movement_without_a_rhythm_and_no_sway():
    quiet, movement = np.linspace(1.0, 3.0, 80), np.full(20, 30.0)
    assert _strongest(np.concatenate((quiet, movement))) == pytest.approx(2.9, abs=0.1)


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
def test_a_trunk_recording_of_a_few_samples_is_answered_and_never_a_crash(tmp_path, count):
    from ownmark.ingest import read
    from ownmark.metrics import Asked, effort

    rows = [f"{0.04 * row:.2f},{0.993 + 0.001 * (row % 2):.3f},0.001,0.004" for row in range(count)]
    path = tmp_path / "short.csv"
    path.write_text("\n".join(["time_s,Accelerometer X (g),Accelerometer Y (g),Accelerometer Z (g)", *rows, ""]))
    sheet = effort(read(path), asked=Asked(placement="trunk"))
    assert sheet.figures["moving_time"].value in (None, 0.0)
