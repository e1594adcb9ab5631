"""Which rhythm is the recording's: rests inside of a cycle, bouts of another rhythm, stops, halves as in a mirror."""

import numpy as np
import pytest
from ownmark.metrics.motion.autocorrelation import likeness
from ownmark.metrics.motion.cycle_count import variation
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.moving import moving
from ownmark.metrics.motion.rhythm import rhythm

from tests.makers.motion import Bout, Sensor, motion

RATE_HZ = 50.0


def of(*bouts, seed=0, placement="wrist"):
    """A made recording as a grid, and its true movement."""
    made = motion(bouts[-1].until_s + 10, bouts, placement=placement, sensor=Sensor(), seed=seed)
    return to_grid(made.acceleration), made.truth.moving


def noisy(values, seed=0):
    """Acceleration with gravity and a sensor's noise."""
    noise = 0.004 * np.random.default_rng(seed).standard_normal(values.shape)
    return Grid(0.0, RATE_HZ, values + noise + np.array([0.0, 0.0, 1.0]))


def pushes_and_rests(per_minute, seconds=120.0, seed=0):
    """Pushes of one second, the hand at rest between them; the grid and how many there are."""
    rng = np.random.default_rng(seed)
    at = np.arange(round((seconds + 20) * RATE_HZ)) / RATE_HZ
    pushes, begin, count = np.zeros(len(at)), 10.0, 0
    while begin < 10 + seconds:
        since = at - begin
        under = (since >= 0) & (since < 1.0)
        pushes[under] += 0.3 * np.sin(2 * np.pi * since[under])
        begin, count = begin + 60 / per_minute * (1 + 0.02 * rng.standard_normal()), count + 1
    return noisy(pushes[:, None] * np.array([0.9, 0.2, 0.3])), count


def walker(steps_per_minute, seconds, sway):
    """A trunk that rises with every step and sways with every second one."""
    at = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    phase = np.pi * steps_per_minute / 60 * at  # of a stride
    return noisy(np.stack((sway * np.cos(phase), 0.05 * np.cos(2 * phase + 1), 0.15 * np.cos(2 * phase)), axis=1))


@pytest.mark.parametrize("per_minute", [20, 25, 30, 40])
def test_a_rest_shorter_than_the_cycle_belongs_to_it_and_costs_no_push(per_minute):
    # A hand rests two of three seconds at 20 pushes a minute: without the rests two thirds of the pushes are lost.
    grid, count = pushes_and_rests(per_minute)
    spans = moving(grid, "wrist").moving
    found = rhythm(grid, spans)
    assert found.cycle_count.value == pytest.approx(count, rel=0.03)
    assert found.cadence_mean.value == pytest.approx(per_minute, rel=0.02)


def test_a_stop_longer_than_the_cycle_holds_no_cycle():
    grid, spans = of(Bout(5, 45, cadence=80), Bout(47, 87, cadence=80))
    assert rhythm(grid, spans).cycle_count.value == pytest.approx(80 / 60 * 80, rel=0.015)
    assert rhythm(grid, spans).moving_s == pytest.approx(80, abs=0.6)


def test_a_bout_of_quite_another_rhythm_is_left_out_of_mean_count_and_variation_and_told():
    grid, spans = of(Bout(5, 65, cadence=48), Bout(75, 95, cadence=21), Bout(105, 165, cadence=48))
    found = rhythm(grid, spans)
    assert found.cadence_mean.value == pytest.approx(48, rel=0.02)
    assert found.cycle_count.value == pytest.approx(96, rel=0.03)
    assert found.cadence_variation_percent < 3
    assert [(round(each.from_s), round(each.until_s)) for each in found.others] == [(75, 95)]
    assert "left out: from 75 s to 95 s, near 21 cycles a minute" in found.note
    assert np.isfinite(found.per_minute[(found.time_s > 80) & (found.time_s < 90)]).all()  # and is there to be seen
    assert found.share_percent == pytest.approx(100 * 120 / 140, abs=2)


def test_other_rhythms_count_where_they_are_no_few_or_not_far_or_in_one_bout_with_the_main_one():
    half = of(Bout(5, 65, cadence=60), Bout(75, 135, cadence=25))
    hills = of(Bout(5, 65, cadence=60), Bout(75, 95, cadence=38), Bout(105, 165, cadence=60))
    one = of(Bout(5, 125, cadence=((0, 75), (90, 75), (90, 30), (120, 30))))
    for (grid, spans), count in ((half, 85), (hills, 60 + 38 / 3 + 60), (one, 127.5)):
        found = rhythm(grid, spans)
        assert found.others == ()
        assert found.cycle_count.value == pytest.approx(count, rel=0.03)


def test_what_is_outside_of_the_phase_changes_nothing_in_it():
    grid, spans = of(Bout(5, 65, cadence=48), Bout(75, 135, cadence=75))
    alone = rhythm(grid, spans, within=(0.0, 70.0))
    assert alone.cadence_mean.value == pytest.approx(48, rel=0.02)
    assert alone.cadence_variation_percent < 3  # of both: 22 %
    assert alone.moving_s == pytest.approx(60, abs=0.5)


def test_windows_beside_a_stop_see_one_bout_alone():
    at = np.arange(60 * 12) / 12.0
    wave = np.where(at < 30, np.cos(2 * np.pi * at), np.where(at > 31, 3 * np.cos(2 * np.pi * 0.6 * at), 0.0))
    grid = Grid(0.0, 12.0, wave[:, None])
    apart = likeness(grid, 8.0, (0.4, 4.0), [(0.0, 29.9), (31.1, 60.0)])
    together = likeness(grid, 8.0, (0.4, 4.0))
    lag = np.argmin(np.abs(apart.lag_s - 1.0))
    beside = (apart.time_s > 23) & (apart.time_s < 29)
    assert (apart.values[beside, lag] > 0.85).all()
    assert together.values[beside, lag].min() < 0.6


@pytest.mark.parametrize("steps_per_minute", [80, 96, 120])
def test_steps_that_are_mirror_images_are_like_halves(steps_per_minute):
    found = rhythm(walker(steps_per_minute, 60, sway=0.1), [(0.0, 60.0)])
    assert 2 * found.cadence_mean.value == pytest.approx(steps_per_minute, rel=0.02)
    assert found.halves > 0.8
    assert f"are {steps_per_minute} halves" in found.note


def test_a_swing_to_and_fro_that_only_turns_over_has_no_like_halves():
    for sway in (0.3, 1.0):  # the sway outweighs the rise and fall
        found = rhythm(walker(96, 60, sway=sway), [(0.0, 60.0)])
        assert found.cadence_mean.value == pytest.approx(48, rel=0.02)
        assert found.halves < 0.5
    for placement in ("trunk", "wrist", "frame", "crank"):
        assert rhythm(*of(Bout(5, 65, cadence=50), placement=placement)).halves < 0


def test_aimless_bouts_with_stops_between_them_claim_no_rhythm():
    rng, count = np.random.default_rng(3), 300 * 50
    spectrum = np.fft.rfft(rng.standard_normal((count, 3)), axis=0)
    frequency = np.fft.rfftfreq(count, 1 / RATE_HZ)
    spectrum[(frequency < 0.3) | (frequency > 2.5)] = 0
    values, at = np.fft.irfft(spectrum, count, axis=0), np.arange(count) / RATE_HZ
    spans, now = [], 5.0
    while now < 280:
        spans.append((now, now + float(rng.uniform(2, 9))))
        now = spans[-1][1] + float(rng.uniform(1, 6))
    going = sum((at >= begin) & (at < until) for begin, until in spans)
    found = rhythm(noisy(values * (0.2 / values.std() * going)[:, None]), spans)
    assert found.cycle_count is None
    assert found.share_percent == 0
    assert "did not repeat itself" in found.note


def test_more_than_a_third_of_another_rhythm_is_no_exception_and_counts():
    grid, spans = of(Bout(5, 85, cadence=60), Bout(95, 145, cadence=25))
    found = rhythm(grid, spans)
    assert found.others == ()
    assert found.cycle_count.value == pytest.approx(80 + 50 * 25 / 60, rel=0.03)


def test_a_few_windows_read_as_the_double_are_no_variation_and_many_are():
    steady = 50 + np.tile([-1.0, 1.0], 50)
    few, many = (np.append(steady, np.full(count, 100.0)) for count in (6, 30))
    assert variation(few) == pytest.approx(variation(steady)) == pytest.approx(2.0)
    assert variation(many) == pytest.approx(100 * many.std() / many.mean())


def test_bouts_of_arms_in_turn_are_read_one_way_from_bout_to_bout():
    # Each bout draws its own harmonics, so that its halves are alike to 0.5 or to 0.95; bout by bout, a quarter of all
    # windows are read the other way than the rest.
    odd, whole = 0, 0
    for per_minute in (30, 45, 60):
        bouts = [
            Bout(10 + 40 * n, 32 + 40 * n, per_minute, alternating=0.75, wobble=0.3, uneven=0.04, shake_g=0.06)
            for n in range(8)
        ]
        found = rhythm(*of(*bouts, placement="frame", seed=1))
        shown = found.per_minute[np.isfinite(found.per_minute)]
        odd, whole = odd + np.count_nonzero(shown > 1.5 * per_minute), whole + len(shown)
        assert found.cadence_mean.value == pytest.approx(per_minute, rel=0.02)
    assert odd < 0.06 * whole
