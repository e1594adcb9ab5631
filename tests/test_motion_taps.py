"""Three taps on a sensor: how uneven a hand may be, and what chance knocks may pass for."""

import numpy as np
import pytest
from ownmark.metrics.motion.grid import to_grid
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
