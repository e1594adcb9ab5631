"""Three taps on a sensor: how uneven a hand may be, and what chance knocks may pass for."""

import numpy as np
import pytest
from ownmark.metrics.motion.grid import Grid, to_grid
from ownmark.metrics.motion.taps import EVEN, find_taps

from tests.bench.taps_accuracy import hits, knocked, tapped, untapped
from tests.makers import two_clocks
from tests.makers.motion import Sensor, motion


def row_on_still_ground(taps, rate_hz=100.0):
    made = motion(40.0, [], sensor=Sensor(rate_hz=rate_hz), seed=1)
    return to_grid(two_clocks.tapped(made.acceleration, taps, rate_hz, np.random.default_rng(1)))


@pytest.mark.parametrize(("longer", "count"), [(0.5, 1), (1.0, 1), (1.08, 1), (1.15, 0), (1.3, 0)])
def test_one_pause_may_be_2_2_times_the_other_in_either_order(longer, count):
    for pauses in ((0.5, longer), (longer, 0.5)):
        taps = (10.0, 10.0 + pauses[0], 10.0 + sum(pauses))
        assert len(find_taps(row_on_still_ground(taps))) == count


def test_every_row_of_a_hand_off_by_15_percent_and_four_fifths_of_one_off_by_30_are_found():
    for spread, least in ((0.15, 1.0), (0.3, 0.8)):
        found, wrong = hits([tapped(1000 + seed, spread) for seed in range(30)], EVEN)
        assert found >= least * 30
        assert wrong == 0


def test_an_hour_of_lessons_without_taps_holds_none():
    assert not any(find_taps(untapped(6000 + seed)) for seed in range(15))


def test_fewer_than_a_fifth_of_runs_of_knocks_at_random_pass_for_a_row():
    # The limit: three knocks that happen to be even are three taps. The other sensor has to show the same row.
    taken = sum(bool(find_taps(knocked(8000 + seed))) for seed in range(120))
    assert 0 < taken < 0.2 * 120


# ---- by hand: a still sensor at 100 Hz that jumps for a single sample


def rows(*jumps, rate_hz=100.0, seconds=20.0, start_s=3.0, missing=()):
    """What is found where the first axis jumps at these samples by so much [g]."""
    values = np.zeros((round(rate_hz * seconds), 3))
    values[:, 2] = 1.0
    for place, size in jumps:
        values[place, 0] += size
    values[list(missing)] = np.nan
    return find_taps(Grid(start_s, rate_hz, values))


def taps(first=500, second=560, third=620, sizes=(1.0, 1.0, 1.0)):
    return tuple(zip((first, second, third), sizes, strict=True))


def test_moments_are_on_the_sensors_clock_and_the_weakest_jump_is_told():
    # A sample that jumps up and down again is one tap, at the sample before it: the step from there is as large.
    (found,) = rows(*taps(sizes=(1.0, 0.5, 0.7)))
    assert found.time_s == pytest.approx((7.99, 8.59, 9.19))
    assert found.size_g == 0.5


@pytest.mark.parametrize(("size", "count"), [(0.15, 1), (0.149, 0)])
def test_a_tap_jumps_by_15_hundredths(size, count):
    assert len(rows(*taps(sizes=(size, size, size)))) == count


@pytest.mark.parametrize(
    ("second", "third", "count"),
    [(525, 550, 1), (524, 549, 0), (524, 550, 0), (526, 550, 0), (650, 800, 1), (651, 801, 0), (650, 801, 0)],
)
def test_taps_lie_a_quarter_to_one_and_a_half_seconds_apart(second, third, count):
    assert len(rows(*taps(500, second, third))) == count


@pytest.mark.parametrize(("longer", "count"), [(110, 1), (111, 0)])
def test_one_pause_is_at_most_2_2_times_the_other(longer, count):
    assert len(rows(*taps(500, 550, 550 + longer))) == count
    assert len(rows(*taps(500, 500 + longer, 550 + longer))) == count


@pytest.mark.parametrize(("strongest", "count"), [(1.0, 1), (1.01, 0)])
def test_the_strongest_is_at_most_five_times_the_weakest(strongest, count):
    for sizes in ((0.2, strongest, 0.2), (strongest, 0.2, 0.2), (0.2, 0.2, strongest)):
        assert len(rows(*taps(sizes=sizes))) == count


def test_what_jumps_within_a_fifth_of_a_second_belongs_to_the_tap_and_the_highest_is_it():
    assert rows(*taps(), (510, 0.8))[0].time_s == pytest.approx((7.99, 8.59, 9.19))
    assert rows(*taps(), (503, 1.2))[0].time_s[0] == pytest.approx(8.02)
    assert rows(*taps(), (518, 0.8), (578, 0.8), (638, 0.8))[0].size_g == 1.0
    assert rows(*taps(), (522, 0.8)) == ()


@pytest.mark.parametrize(("size", "count"), [(0.4, 1), (0.41, 0)])
def test_between_and_around_nothing_jumps_by_more_than_two_fifths_of_the_weakest(size, count):
    for place in (400, 540, 600, 700):
        assert len(rows(*taps(sizes=(1.0, 2.0, 3.0)), (place, size))) == count, place


@pytest.mark.parametrize(
    ("place", "count"),
    [(347, 1), (348, 0), (494, 0), (495, 1), (638, 1), (639, 0), (769, 0), (770, 1)],
)
def test_the_ground_is_quiet_for_one_and_a_half_seconds_before_and_behind(place, count):
    assert len(rows(*taps(), (place, 0.9))) == count


def test_a_gap_is_no_tap_and_steps_beside_it_are_none():
    assert len(rows(*taps(), missing=range(700, 720))) == 1
    assert rows(*taps(), missing=[500]) == ()
    assert rows(*taps(), missing=[499, 501]) == ()


def test_few_samples_and_two_taps_are_no_row():
    assert find_taps(Grid(0.0, 100.0, np.zeros((0, 3)))) == ()
    assert find_taps(Grid(0.0, 100.0, np.zeros((2, 3)))) == ()
    assert rows((500, 1.0), (560, 1.0)) == ()


def test_two_rows_are_two():
    found = rows(*taps(), *taps(1200, 1260, 1320))
    assert [each.time_s[0] for each in found] == pytest.approx([7.99, 14.99])
    assert len(rows((500, 1.0), (560, 1.0), (620, 1.0), (680, 1.0))) == 0  # four are no row


def test_all_axes_make_a_jump():
    values = np.zeros((2000, 3))
    for place in (500, 560, 620):
        values[place] = (0.1, 0.1, 0.06)  # 0.154 together
    assert len(find_taps(Grid(0.0, 100.0, values))) == 1
    assert find_taps(Grid(0.0, 100.0, values * [1, 1, 0])) == ()  # 0.141


def test_at_25_hertz_a_tap_rises_over_three_samples():
    at = {"rate_hz": 25.0}
    assert len(rows(*taps(125, 140, 155), **at)) == 1
    assert len(rows(*taps(125, 140, 155), (123, 0.9), **at)) == 1  # belongs to the rise
    assert rows(*taps(125, 140, 155), (116, 0.9), **at) == ()
