"""Heart rate as an even series: time-weighted means by hand."""

import numpy as np
import pytest
from ownmark.metrics.motion.heart_rate_series import mean_around

NAN = np.nan


def around(middle, half_s=2.0, start=(0.0, 2.0, 4.0), held=(2.0, 2.0, 2.0), bpm=(60.0, 80.0, 120.0)):
    return mean_around(start, held, bpm, np.array([float(middle)]), half_s)[0]


def test_a_mean_is_weighted_by_time():
    assert around(2.0) == pytest.approx(70.0)
    assert around(3.0) == pytest.approx((60 + 2 * 80 + 120) / 4)
    assert around(3.0, 1.0) == pytest.approx(80.0)


def test_half_of_the_time_is_enough_and_less_is_not():
    assert around(0.0) == pytest.approx(60.0)
    assert np.isnan(around(-0.01))
    assert around(6.0) == pytest.approx(120.0)
    assert np.isnan(around(6.01))


def test_half_of_the_time_may_be_a_millionth_of_a_second_less_by_rounding():
    for missing, enough in ((0.95e-6, True), (1e-6, True), (1.05e-6, False)):
        found = around(0.0, start=(0.0,), held=(2.0 - missing,), bpm=(60.0,))
        assert bool(np.isfinite(found)) is enough, missing


def test_gaps_are_no_part_of_a_mean():
    assert around(3.0, start=(0.0, 4.0), held=(2.0, 2.0), bpm=(60.0, 120.0)) == pytest.approx(90.0)
    assert around(2.0, start=(0.0, 4.0), held=(2.0, 2.0), bpm=(60.0, 120.0)) == pytest.approx(60.0)
    assert np.isnan(around(3.0, 1.0, start=(0.0, 4.0), held=(2.0, 2.0), bpm=(60.0, 120.0)))


def test_values_that_are_none_and_that_stand_for_no_time_do_not_enter():
    assert around(3.0, bpm=(60.0, NAN, 120.0)) == pytest.approx(90.0)
    assert around(3.0, held=(2.0, 0.0, 2.0)) == pytest.approx(90.0)
    assert around(3.0, held=(2.0, -1.0, 2.0)) == pytest.approx(90.0)
    assert around(3.0, held=(2.0, -0.5, 2.0)) == pytest.approx(90.0)
    assert around(3.0, held=(2.0, 0.5, 2.0)) == pytest.approx((60 + 0.5 * 80 + 120) / 2.5)


def test_without_any_there_is_no_mean():
    assert np.isnan(mean_around([], [], [], np.array([1.0, 2.0]), 1.0)).tolist() == [True, True]
