"""Movement by hand: fifteen of twenty seconds, pauses, and fidgets at the ends."""

import numpy as np
import pytest
from ownmark.ingest.recording import ACCELERATION, Stream
from ownmark.metrics.motion.moving import Motion
from ownmark.metrics.phase_finding.from_movement import active_stretches, joined, movement_of, one_work, works

from tests.makers.motion import Bout, motion
from tests.makers.recordings import recording


def moving(*spans, from_s=0.0, until_s=600.0):
    return Motion(from_s, until_s, spans)


@pytest.mark.parametrize(("until", "found"), [(115.0, ((100.0, 115.0),)), (114.9, ())])
def test_fifteen_of_twenty_seconds_are_work_and_less_is_none(until, found):
    assert active_stretches(moving((100.0, until))) == found


def test_seconds_of_movement_add_up_inside_twenty():
    assert active_stretches(moving((100.0, 108.0), (113.0, 120.0))) == ((100.0, 120.0),)
    assert active_stretches(moving((100.0, 108.0), (113.1, 120.0))) == ()
    assert active_stretches(moving((100.0, 108.0), (114.0, 121.0))) == ()


def test_a_stretch_begins_and_ends_where_the_movement_does():
    assert active_stretches(moving((100.4, 299.3), from_s=0.2)) == ((100.4, 299.3),)


def test_work_with_a_pause_is_two_stretches_and_one_work():
    motion = moving((100.0, 200.0), (240.0, 400.0))
    assert active_stretches(motion) == ((100.0, 200.0), (240.0, 400.0))
    assert works(active_stretches(motion)) == ((100.0, 400.0),)


def test_short_stops_do_not_divide_a_stretch():
    assert active_stretches(moving((100.0, 200.0), (205.0, 300.0))) == ((100.0, 300.0),)


@pytest.mark.parametrize(
    ("fidget", "end"),
    [((202.0, 206.9), 200.0), ((202.0, 207.0), 207.0), ((200.5, 203.0), 203.0), ((200.6, 203.0), 200.0)],
)
def test_a_burst_under_five_seconds_apart_from_the_work_is_a_fidget(fidget, end):
    assert active_stretches(moving((100.0, 200.0), fidget)) == ((100.0, end),)
    before = (300.0 - fidget[1], 300.0 - fidget[0])
    ((begin, until),) = active_stretches(moving(before, (100.0, 200.0)))
    assert (begin, until) == (pytest.approx(300.0 - end), 200.0)


def test_bursts_alone_stay_as_they_are():
    spans = tuple((100.0 + 5 * k, 104.0 + 5 * k) for k in range(8))
    assert active_stretches(moving(*spans)) == ((100.0, 139.0),)


def test_a_recording_under_twenty_seconds_shows_no_work():
    assert active_stretches(moving((0.0, 19.0), until_s=19.0)) == ()
    assert active_stretches(moving((0.0, 20.0), until_s=20.0)) == ((0.0, 20.0),)


@pytest.mark.parametrize(("pause_s", "count"), [(90.0, 1), (90.1, 2)])
def test_pauses_of_a_minute_and_a_half_belong_to_one_work(pause_s, count):
    assert len(works(((100.0, 200.0), (200.0 + pause_s, 400.0)))) == count


def test_spans_join_up_to_a_pause():
    assert joined([(0.0, 1.0), (1.5, 2.0), (2.6, 3.0)], 0.5) == ((0.0, 2.0), (2.6, 3.0))
    assert joined([], 0.5) == ()


def test_three_stretches_stay_three_and_the_last_is_whole():
    spans = ((100.0, 160.0), (300.0, 360.0), (500.0, 560.0))
    assert active_stretches(moving(*spans)) == spans
    assert joined([*spans, (561.0, 570.0)], 1.0) == (*spans[:2], (500.0, 570.0))
    assert active_stretches(moving((100.0, 599.6), until_s=599.6)) == ((100.0, 599.6),)


def test_the_only_stretch_of_a_minute_is_the_work():
    assert one_work(((100.0, 160.0),), None) == (100.0, 160.0)
    assert one_work(((100.0, 159.9),), None) is None
    assert one_work((), None) is None
    assert one_work(((0.0, 100.0), (300.0, 500.0)), None) is None
    assert one_work(((0.0, 100.0), (300.0, 500.0)), 210.0) == (300.0, 500.0)
    assert one_work(((0.0, 40.0), (300.0, 500.0)), None) == (300.0, 500.0)


def test_a_sensor_is_taken_for_one_on_the_wrist_unless_somebody_says_otherwise():
    made = motion(120.0, [Bout(40.0, 90.0)], seed=2).acceleration
    assert movement_of(recording(made)) == movement_of(recording(made), "wrist")
    ((begin, until),) = active_stretches(movement_of(recording(made)))
    assert (begin, until) == pytest.approx((40.0, 90.0), abs=1.0)
    assert movement_of(recording(made), "frame") != movement_of(recording(made))
    with pytest.raises(KeyError):
        movement_of(recording(made), "hat")


def test_no_sensor_shows_no_movement():
    assert movement_of(recording()) is None
    empty = Stream.from_samples(ACCELERATION, [], np.empty((0, 3)))
    single = Stream.from_samples(ACCELERATION, [0.0], np.ones((1, 3)), flags=[0])
    assert movement_of(recording(empty)) is None
    assert movement_of(recording(single)) is None
