"""What each placement's settings mean for the smallest movement and the loudest stillness, as they were measured with.

None of these is a published value; ``tests/bench/motion_accuracy.py`` says what holds with them. A change here asks for
that table anew.
"""

from dataclasses import astuple

import numpy as np
import pytest
from ownmark.metrics.motion.placements import NOISE, SETTINGS

# step, smooth, least, factor, most, floor most, rest most, wander, window, keep, lull, edge smooth, growing, noise from
MEASURED_WITH = {
    "frame": (0.04, 0.04, 3.5, 1.5, 0.0, 8.0, 60.0, 1.25, 0.5, 0.8, 0.6, None, 0.5, 5.0),
    "wrist": (0.05, 0.15, 12.0, 3.0, 40.0, 40.0, 100.0, 1.5, 0.5, 0.8, 0.6, None, 0.5, np.inf),
    "crank": (0.05, 0.05, 25.0, 3.0, 100.0, 40.0, 100.0, 2.0, 0.5, 0.8, 0.6, None, 0.5, np.inf),
    "trunk": (0.05, 0.15, 6.0, 1.8, 10.0, 20.0, 60.0, 1.5, 0.5, 0.8, 0.6, None, 0.5, 3.3),
}
IN_NOISE = {
    "frame": (0.04, 0.04, 3.5, 1.3, 0.0, 40.0, 60.0, 1.25, 0.7, 0.9, 0.4, 0.0, 0.2, 5.0),
    "trunk": (0.05, 0.2, 6.0, 1.6, 10.0, 40.0, 60.0, 1.5, 0.7, 0.9, 0.4, 0.0, 0.2, 3.3),
}


@pytest.mark.parametrize("place", MEASURED_WITH)
def test_settings_are_those_that_the_bench_was_measured_with(place):
    assert astuple(SETTINGS[place]) == MEASURED_WITH[place]


@pytest.mark.parametrize("place", IN_NOISE)
def test_settings_in_noise_are_those_that_the_bench_was_measured_with(place):
    assert astuple(NOISE[place]) == IN_NOISE[place]


def test_there_is_no_other_place():
    assert set(SETTINGS) == set(MEASURED_WITH)
    assert set(NOISE) == set(IN_NOISE)
