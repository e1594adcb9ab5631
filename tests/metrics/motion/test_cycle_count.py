"""Cadence added up to cycles: exact cases by hand, at the edges of each rule."""

import numpy as np
import pytest
from ownmark.metrics.bounds import Bounded
from ownmark.metrics.motion.autocorrelation import Likeness
from ownmark.metrics.motion.cycle_count import (
    Counted,
    Other,
    count,
    count_bounds,
    far,
    in_phase,
    in_spans,
    joined,
    mean_bounds,
    others,
    through_pauses,
    variation,
)
from ownmark.metrics.motion.grid import Grid

NAN = np.nan
REACH = (3.0, 6.0)


def band(seconds=60.0, rate_hz=4.0, missing=(), start_s=0.0):
    """A band of one axis, with stretches that were not measured."""
    values = np.ones((round(seconds * rate_hz), 1))
    for begin, until in missing:
        values[round(begin * rate_hz) : round(until * rate_hz)] = NAN
    return Grid(start_s, rate_hz, values)


def like(middles, measured=1.0):
    """Windows with their middles; of each so much was measured."""
    middles = np.array(middles, dtype=float)
    share = np.broadcast_to(np.asarray(measured, dtype=np.float32), middles.shape)
    empty = np.empty((len(middles), 0), np.float32)
    return Likeness(middles, np.empty(0), empty, empty, share, share)


def counted(per_minute, *, moving=((0.0, 60.0),), within=None, grid=None, middles=None, measured=1.0):
    middles = np.arange(0.0, 61.0, 2.0) if middles is None else middles
    per_minute = np.broadcast_to(np.asarray(per_minute, dtype=float), (len(middles),))
    return count(grid or band(), like(middles, measured), per_minute, moving, within, REACH)


# ---- counting


def test_a_minute_of_one_cadence_is_as_many_cycles():
    assert counted(45.0) == Counted(pytest.approx(45.0), 60.0, 0.0, 60.0)


def test_cadence_goes_from_one_window_to_the_next_in_a_straight_line():
    middles = np.arange(0.0, 61.0, 2.0)
    # 30 to 90 over a minute, in quarters of a second from 0 to 59.75: their mean is 29.875 above.
    assert counted(30.0 + middles).cycle_count == pytest.approx(59.875)


def test_only_movement_counts_and_only_in_the_phase():
    found = counted(60.0, moving=((10.0, 20.0), (40.0, 60.0)))
    assert found == Counted(pytest.approx(30.0), 30.0, 0.0, 30.0)
    found = counted(60.0, moving=((10.0, 20.0), (40.0, 60.0)), within=(15.0, 50.0))
    assert found == Counted(pytest.approx(15.0), 15.0, 0.0, 15.0)


def test_the_phase_holds_its_begin_and_not_its_end():
    assert counted(60.0, within=(15.0, 15.25)).rhythmic_s == 0.25
    assert counted(60.0, within=(15.01, 15.25)).rhythmic_s == 0.0


def test_a_band_of_a_higher_rate_is_looked_at_in_quarters_of_a_second():
    assert counted(60.0, grid=band(rate_hz=12.0)) == Counted(pytest.approx(60.0), 60.0, 0.0, 60.0)
    # Of 14 samples a second each third: 4.67 a second, 280 of them, over 60 s.
    assert counted(60.0, grid=band(rate_hz=14.0)).rhythmic_s == pytest.approx(60.0)
    assert counted(60.0, grid=band(rate_hz=2.0)).rhythmic_s == pytest.approx(60.0)


def test_what_was_not_measured_could_hold_more():
    found = counted(60.0, grid=band(missing=[(20.0, 25.0)]))
    assert found == Counted(pytest.approx(55.0), 55.0, 5.0, 55.0)


def test_a_phase_beyond_the_recording_was_not_measured_there():
    found = counted(60.0, within=(50.0, 70.0))
    assert (found.unknown_s, found.moving_s) == (10.0, 10.0)
    assert counted(60.0, grid=band(start_s=10.0), within=(0.0, 30.0)).unknown_s == 10.0


def test_without_a_phase_it_is_the_recording():
    found = counted(60.0, grid=band(30.0, start_s=10.0), moving=((0.0, 99.0),))
    assert found == Counted(pytest.approx(30.0), 30.0, 0.0, 30.0)


def test_a_window_speaks_for_three_seconds_either_side():
    middles = np.arange(0.0, 61.0, 2.0)
    rhythm = np.where(middles == 30.0, 60.0, NAN)
    found = counted(rhythm)
    assert found.rhythmic_s == 6.25  # from 27 to 33, both in it
    assert found.unknown_s == 0.0
    assert counted(np.where(np.abs(middles - 30) == 10, 60.0, NAN)).rhythmic_s == 12.5


def test_where_windows_hold_too_little_it_speaks_for_six_and_the_rest_could_hold_more():
    middles = np.arange(0.0, 61.0, 2.0)
    rhythm = np.where(middles == 30.0, 60.0, NAN)
    found = counted(rhythm, measured=np.where(middles == 30.0, 1.0, 0.39))
    # Moments nearest to window 30 (29 to 31) are in reach; all others are of windows with too little: to 24 and 36.
    assert found.rhythmic_s == 12.25
    assert found.unknown_s == pytest.approx(60 - 12.25)
    found = counted(rhythm, measured=np.where(middles == 30.0, 1.0, 0.41))
    assert (found.rhythmic_s, found.unknown_s) == (6.25, 0.0)


def test_windows_may_begin_anywhere():
    middles = np.arange(30.0, 61.0, 2.0)
    rhythm = np.where(middles >= 50, 60.0, NAN)
    measured = np.where(middles < 40, 0.3, 1.0)  # moments before 39 are nearest to windows with too little
    found = counted(rhythm, middles=middles, measured=measured, grid=band(30.0, start_s=30.0))
    assert found == Counted(pytest.approx(13.0), 13.0, 9.25, 30.0)  # at 39 itself the even window, of 38, is taken


def test_two_fifths_of_a_window_are_enough():
    assert counted(NAN, measured=0.4).unknown_s == 0.0
    assert counted(NAN, measured=0.39).unknown_s == 60.0


def test_without_a_rhythm_there_are_no_cycles():
    assert counted(NAN, moving=((10.0, 30.0),)) == Counted(0.0, 0.0, 0.0, 20.0)


# ---- another rhythm


def another(cadence, *, bouts=((0.0, 50.0), (60.0, 100.0)), within=None):
    middles = np.arange(0.0, 100.0, 2.0)
    return others(middles, np.array([cadence(at) for at in middles], dtype=float), bouts, within)


@pytest.mark.parametrize(("times", "told"), [(1.81, True), (1.79, False), (1 / 1.81, True), (1 / 1.79, False)])
def test_a_bout_of_another_rhythm_is_one_point_eight_times_as_fast_or_slow(times, told):
    found = another(lambda at: 40.0 * times if at > 80 else 40.0, bouts=((0.0, 75.0), (80.0, 100.0)))
    assert found == ((Other(80.0, 100.0, pytest.approx(40.0 * times)),) if told else ())


def test_it_is_left_out_up_to_a_third_of_the_rhythmic_time():
    def cadence(at, first=70.0):
        return 100.0 if at >= first else (40.0 if 4 <= at <= 62 else NAN)  # 15 windows of 45

    bouts = ((0.0, 62.0), (67.0, 100.0))
    assert len(another(cadence, bouts=bouts)) == 1
    assert another(lambda at: cadence(at, 68.0), bouts=bouts) == ()


def test_windows_belong_to_the_bout_whose_pause_they_lie_behind():
    found = another(lambda at: 100.0 if at > 70 else 40.0, bouts=((0.0, 60.0), (80.0, 100.0)))
    assert [each.from_s for each in found] == [80.0]
    assert found[0].per_minute == 100.0


def test_each_of_many_bouts_is_judged_by_itself():
    bouts = ((0.0, 50.0), (55.0, 60.0), (65.0, 70.0), (75.0, 99.0))
    found = another(lambda at: 100.0 if 55 <= at <= 60 else (20.0 if 65 <= at <= 70 else 40.0), bouts=bouts)
    assert found == (Other(55.0, 60.0, 100.0), Other(65.0, 70.0, 20.0))


def test_one_bout_has_no_other_and_nothing_has_none():
    assert another(lambda at: 100.0 if at > 80 else 40.0, bouts=((0.0, 100.0),)) == ()
    assert another(lambda _: NAN) == ()


def test_only_windows_in_the_phase_are_weighed():
    def cadence(at):
        return 100.0 if at > 80 else 40.0

    assert len(another(cadence, bouts=((0.0, 75.0), (80.0, 100.0)))) == 1
    assert another(cadence, bouts=((0.0, 75.0), (80.0, 100.0)), within=(0.0, 80.0)) == ()
    assert another(cadence, bouts=((0.0, 75.0), (80.0, 100.0)), within=(64.0, 100.0)) == ()  # more than a third there


def test_far_is_on_a_scale_of_ratios():
    assert far(np.array([20.0, 22.3, 40.0, 71.9, 72.1]), 40.0).tolist() == [True, False, False, False, True]


# ---- variation


def test_variation_is_the_standard_deviation_as_a_share_of_the_mean():
    assert variation(np.array([40.0, 60.0])) == pytest.approx(20.0)


def test_up_to_a_tenth_of_misread_windows_do_not_enter():
    steady = [48.0, 52.0] * 9
    assert variation(np.array([*steady, 100.0, 100.0])) == pytest.approx(4.0)
    assert variation(np.array([*steady, 100.0, 100.0, 100.0])) > 20


# ---- stretches


def test_moments_in_spans_and_phases_hold_the_begin_and_not_the_end():
    at = np.array([0.0, 1.0, 1.5, 2.0, 3.0, 4.0])
    assert in_spans(at, ((1.0, 2.0), (3.0, 4.0))).tolist() == [False, True, True, False, True, False]
    assert in_phase(at, (1.0, 3.0)).tolist() == [False, True, True, True, False, False]
    assert in_phase(at, None).all()


def test_neighbours_are_joined_over_pauses_that_are_shorter():
    spans = ((0.0, 1.0), (2.0, 3.0), (4.5, 5.0))
    assert joined(spans, 1.0) == [(0.0, 1.0), (2.0, 3.0), (4.5, 5.0)]
    assert joined(spans, 1.1) == [(0.0, 3.0), (4.5, 5.0)]
    assert joined(spans, np.array([0.5, 2.0])) == [(0.0, 1.0), (2.0, 5.0)]
    assert joined((), 1.0) == []


def through(pause, *, cycle_s=2.0, at=10.0, reach_s=4.0):
    moving = ((0.0, 10.0), (10.0 + pause, 30.0))
    return len(through_pauses(moving, np.array([at, 90.0]), np.array([cycle_s, NAN]), reach_s))


def test_a_pause_shorter_than_the_cycle_around_it_is_part_of_the_movement():
    assert through(1.9) == 1
    assert through(2.0) == 2


def test_a_window_speaks_for_pauses_within_its_reach():
    assert through(1.0, at=6.5) == 1  # the pause's middle is 10.5
    assert through(1.0, at=6.4) == 2
    assert through(1.0, at=14.5) == 1
    assert through(1.0, at=14.6) == 2


def test_the_cycle_in_a_pause_lies_between_those_beside_it():
    moving = ((0.0, 10.0), (12.9, 30.0))  # middle 11.45
    lengths = np.array([2.0, 4.0])
    assert len(through_pauses(moving, np.array([10.0, 13.0]), lengths, 4.0)) == 1  # 2.97 there
    assert len(through_pauses(moving, np.array([10.1, 13.1]), lengths, 4.0)) == 2  # 2.9


def test_without_a_rhythm_or_a_pause_movement_stays_as_it_is():
    one, two = ((0.0, 10.0),), ((0.0, 10.0), (10.5, 30.0))
    assert through_pauses(one, np.array([5.0]), np.array([2.0]), 4.0) is one
    assert through_pauses(two, np.array([5.0]), np.array([NAN]), 4.0) is two


# ---- bounds


def test_measured_throughout_a_count_and_a_mean_are_themselves():
    assert count_bounds(Counted(40.0, 60.0, 0.0, 60.0)) == Bounded(40.0, 40.0, 40.0)
    assert mean_bounds(40.0, Counted(40.0, 60.0, 0.0, 60.0)) == Bounded(40.0, 40.0, 40.0)


def test_unmeasured_time_may_hold_nothing_or_130_a_minute_and_the_count_is_good_to_3_percent():
    assert count_bounds(Counted(40.0, 60.0, 30.0, 60.0)) == Bounded(40.0, pytest.approx(38.8), pytest.approx(106.2))


def test_a_mean_with_unmeasured_time_lies_between_the_slowest_and_the_fastest_there():
    found = mean_bounds(50.0, Counted(50.0, 60.0, 20.0, 60.0))
    assert found.low == pytest.approx((48.5 * 60 + 15 * 20) / 80)
    assert found.high == pytest.approx((51.5 * 60 + 130 * 20) / 80)


def test_a_mean_stays_inside_its_bounds():
    found = mean_bounds(15.0, Counted(1.0, 0.1, 60.0, 60.0))
    assert found.low <= 15.0
    assert mean_bounds(14.0, Counted(1.0, 0.0, 60.0, 60.0)).low == 14.0
    assert mean_bounds(134.0, Counted(1.0, 0.0, 60.0, 60.0)).high == 134.0
