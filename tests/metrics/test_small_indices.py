"""Recovery, cost of a metre, and effort above rest, against worked and published examples (tables, 4 and 5)."""

import math

import numpy as np
import pytest
from ownmark.errors import BasisError
from ownmark.metrics import bounds
from ownmark.metrics.above_rest import PAHR_FACTORS, above_rest_per_second
from ownmark.metrics.cost import beats_per_metre, cost_index, heart_beats
from ownmark.metrics.recovery import RECOVERY_S, recovery
from ownmark.metrics.timeline import hold

from tests.makers.recordings import pulse


def beats_above_rest(bpm, held_s, rest_bpm):
    return float(np.sum(above_rest_per_second(bpm, rest_bpm) * held_s))


def beats_total(bpm, held_s):
    seconds = np.broadcast_to(held_s, np.shape(bpm))
    return float(np.sum([heart_beats(rate, held) for rate, held in zip(np.ravel(bpm), np.ravel(seconds), strict=True)]))


# Tables rows 1.9 and 5.7: readings at 0, 60 ... 240 s, rest 80; a trapezoid is the mean of neighbours, each for 60 s.
READINGS = np.array([80, 110, 120, 115, 100])
MINUTE_MEANS = (READINGS[1:] + READINGS[:-1]) / 2


@pytest.mark.parametrize(("end", "later", "fall"), [(150, 122, 28), (168, 131, 37), (120, 124, -4)])
def test_recovery_is_the_fall_over_the_first_minute(end, later, fall):
    # Definition: Cole 1999. Examples: reference section 4, tables row 5.12; a rise is negative.
    assert recovery(end, later) == fall
    assert RECOVERY_S == 60


def test_recovery_without_a_second_reading_is_unknown():
    assert math.isnan(recovery(150, math.nan))


@pytest.mark.parametrize(("factor", "percent"), [(1.25, 62.5), (1.50, 25.0)])
def test_share_above_rest_of_the_worked_series(factor, percent):
    # PAHR, Logan 2000; reference section 2 and tables row 4.7. 100 and 120 stand exactly on the limits of rest 80:
    # only what is strictly above counts.
    assert factor in PAHR_FACTORS
    rates = [78, 95, 101, 119, 121, 130, 100, 120]
    held = hold(pulse(np.arange(8.0), rates), 0.0, 8.0)
    assert bounds.share_where(*bounds.above(held, factor * 80)).value == percent


def test_extra_and_total_beats_of_the_worked_trial():
    # Tables row 5.7, after Hood 2002: 115 extra beats, 435 in all.
    assert beats_above_rest(MINUTE_MEANS, 60.0, 80) == pytest.approx(115.0)
    assert beats_total(MINUTE_MEANS, 60.0) == pytest.approx(435.0)


def test_time_below_rest_takes_no_beats_away():
    assert beats_above_rest([70, 100], [60, 60], 80) == 20


def test_unmeasured_time_makes_a_sum_of_beats_unknown_and_never_zero():
    assert math.isnan(beats_above_rest([100, math.nan], [60, 60], 80))
    assert math.isnan(beats_total([100, math.nan], [60, 60]))


@pytest.mark.parametrize(
    ("mean_bpm", "minutes", "metres", "index"),
    [
        (120, 12, 900, 1.6),  # reference section 4, total heart beat index
        (110, 6, 420, 1.5714),  # tables row 5.11
    ],
)
def test_total_heart_beat_index(mean_bpm, minutes, metres, index):
    assert beats_per_metre(beats_total(mean_bpm, 60 * minutes), metres) == pytest.approx(index, abs=5e-5)


def test_extra_beats_per_metre():
    # Tables row 5.11, the version above a rest of 80.
    assert beats_per_metre(beats_above_rest(110, 360, 80), 420) == pytest.approx(0.4286, abs=5e-5)


def test_cost_index_takes_speed_in_metres_per_minute():
    # Tables row 5.8: 120 at work, rest 80, 60 m/min.
    assert cost_index(120, 80, metres=60, seconds=60) == pytest.approx(0.6667, abs=5e-5)
    assert cost_index(120, 80, metres=360, seconds=360) == pytest.approx(0.6667, abs=5e-5)
    assert cost_index(120, 80, metres=30, seconds=60) == pytest.approx(1.3333, abs=5e-5)


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf])
def test_a_distance_or_time_that_is_none_is_refused(bad):
    with pytest.raises(BasisError, match=rf"the distance is {bad:g} m\."):
        beats_per_metre(400, bad)
    with pytest.raises(BasisError, match=rf"the distance is {bad:g} m\."):
        cost_index(120, 80, metres=bad, seconds=60)
    with pytest.raises(BasisError, match=rf"the time is {bad:g} s\."):
        cost_index(120, 80, metres=60, seconds=bad)


@pytest.mark.parametrize("rest", [0, -70, math.nan])
def test_a_rest_that_is_no_heart_rate_is_refused(rest):
    with pytest.raises(BasisError, match="resting heart rate"):
        beats_above_rest([100], [60], rest)


def test_half_a_metre_is_a_distance():
    assert beats_per_metre(3.0, 0.5) == 6.0
