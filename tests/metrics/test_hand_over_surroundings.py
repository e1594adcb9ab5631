"""Both sides of a loss, by hand: efforts of 8 /min, two minutes between them, and work on both sides."""

import numpy as np
import pytest
from ownmark.metrics import hand_over_surroundings as around
from ownmark.metrics.hand_over_surroundings import Side, amid_work, rest_between, sides


def side(*bpm, step=10.0, at=0.0, behind=False):
    """Means 10 s apart, written from far to near; ``behind``: a side behind a loss at ``at``."""
    time = at + (np.arange(len(bpm))[::-1] + 0.5) * step if behind else at - (np.arange(len(bpm))[::-1] + 0.5) * step
    return Side(np.asarray(time, dtype=float), np.array(bpm, dtype=float))


def test_means_are_laid_away_from_the_loss_and_empty_ones_are_left_out():
    time = np.array([0.0, 1.0, 15.0, 16.0, 29.0, 30.0, 60.0, 65.0, 70.0, 95.0])
    bpm = np.arange(10.0)
    found = sides(time, bpm, 30.0, 60.0)
    assert found is not None
    before, behind = found
    # before 30: 20 to 30 holds 29 (4); 10 to 20 holds 15 and 16 (2.5); 0 to 10 holds 0 and 1 (0.5)
    assert before.time_s.tolist() == [5.0, 15.0, 25.0]
    assert before.bpm.tolist() == [0.5, 2.5, 4.0]
    # from 60 on: 60 and 65 (6.5), 70 (8), 95 (9), from far to near
    assert (behind.time_s.tolist(), behind.bpm.tolist()) == ([95.0, 75.0, 65.0], [9.0, 8.0, 6.5])


def test_fewer_than_three_means_on_a_side_tell_nothing():
    time = np.arange(100.0)
    assert sides(time, time, 21.0, 50.0) is not None
    assert sides(time, time, 20.0, 50.0) is None
    assert sides(time, time, 50.0, 79.0) is not None
    assert sides(time, time, 50.0, 80.0) is None
    assert sides(time, time, 0.0, 50.0) is None


def test_the_level_beside_a_loss_is_the_middle_of_three_means():
    assert side(50, 70, 80, 200).beside_bpm == 80.0


def test_an_effort_is_a_rise_that_comes_down_towards_the_loss():
    assert side(80, 100, 90).effort_bpm(85.0) == (15.0, 100.0)  # 20 up, 15 down to the valley
    assert side(80, 100, 90).effort_bpm(70.0) == (20.0, 100.0)
    assert side(120, 100, 80).effort_bpm(80.0) == (0.0, 120.0)  # came in warm: never rose
    assert side(120, 70, 90, 70).effort_bpm(70.0) == (20.0, 90.0)


def efforts(first=20.0, second=20.0, gap=30.0, rest=45.0):
    """Efforts of such heights; the high ends of both are so far from the loss's edges [s]."""
    quiet = [80.0] * round(rest / 10.0 - 0.5)
    before = side(80, 80 + first, *quiet, at=100.0)
    return before, side(80, 80 + second, *quiet, at=100.0 + gap, behind=True)


@pytest.mark.parametrize(("first", "second", "is_so"), [(8, 8, True), (7.9, 8, False), (8, 7.9, False)])
def test_both_efforts_are_at_least_eight_beats_high(first, second, is_so):
    assert (rest_between(*efforts(first, second)) is not None) is is_so


@pytest.mark.parametrize(("gap", "is_so"), [(30.0, True), (29.9, False)])
def test_between_them_lie_two_minutes(gap, is_so):
    # the last high means lie 45 s before the loss and 45 s behind it: with 30 s of loss 120 s
    assert (rest_between(*efforts(gap=gap)) is not None) is is_so


def test_low_is_less_than_half_of_the_lower_effort():
    quiet = [80.0] * 4
    before = side(80, 120, 90, *quiet, at=100.0)  # of the lower effort, 20, half is 90: not above it
    behind = side(80, 100, *quiet, at=120.0, behind=True)
    assert rest_between(before, behind) == (45.0, 165.0)
    raised = side(80, 120, 90.1, *quiet, at=100.0)
    assert rest_between(raised, behind) is None  # 45 + 20 + 45


def test_the_valley_is_the_lower_of_both_levels():
    # the strap comes off at 118 and the next heart is at 80: the first effort counts from the next rest
    before = side(80, 118, 118, 118, 118, at=100.0)
    behind = side(80, 120, *[80.0] * 13, at=120.0, behind=True)
    assert rest_between(before, behind) == (95.0, 255.0)
    assert rest_between(before, side(80, 120, *[80.0] * 8, at=120.0, behind=True)) is None  # 5 + 20 + 85


def work(low=80.0, high=100.0, beside=100.0, *, behind=False):
    return side(low, high, *[beside] * 3, at=200.0, behind=behind)


def test_amid_work_both_sides_are_high_and_alike():
    assert amid_work(work(), work(behind=True))
    assert not amid_work(work(beside=80.0), work(behind=True))
    assert not amid_work(work(), work(beside=80.0, behind=True))


@pytest.mark.parametrize(("beside", "high"), [(90.0, True), (89.9, False)])
def test_work_is_half_way_up(beside, high):
    assert work(beside=beside).at_work is high


@pytest.mark.parametrize(("top", "high"), [(92.0, True), (91.9, False)])
def test_a_side_that_rises_by_less_than_twelve_shows_no_work(top, high):
    assert work(high=top, beside=top).at_work is high


@pytest.mark.parametrize(("other", "alike"), [(115.0, True), (115.1, False)])
def test_alike_is_within_fifteen_beats(other, alike):
    assert amid_work(work(), work(high=other, beside=other, behind=True)) is alike
    assert amid_work(work(high=other, beside=other), work(behind=True)) is alike


def test_a_heart_that_was_never_seen_above_a_level_was_low_from_the_far_end_on():
    assert side(80, 81, 82, at=100.0).low_since_s(90.0) == 75.0
    assert side(80, 91, 82, at=100.0).low_since_s(90.0) == 85.0
    assert side(80, 90, 82, at=100.0).low_since_s(90.0) == 75.0


def test_constants_are_those_that_were_measured():
    assert (around.BIN_S, around.BESIDE_BINS, around.EFFORT_BPM, around.REST_S) == (10.0, 3, 8.0, 120.0)
    assert (around.HIGH_SHARE, around.AMID_RISE_BPM, around.AMID_BPM) == (0.5, 12.0, 15.0)
