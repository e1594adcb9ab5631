"""Time, longest stay, stops and coverage from stretches: worked examples, and bounds that hold whatever is lost."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.metrics.motion.bouts import (
    assisted,
    coverage,
    length,
    longest_moving,
    merged,
    moving_time,
    stop_count,
    told_percent,
    within,
    without,
)
from ownmark.metrics.motion.moving import Motion


def seen(pieces):
    """A Motion of (letter, seconds): M moving, S still, U unmeasured, X left out, m and s the doubtful ones."""
    at, spans = 0.0, {"M": [], "S": [], "U": [], "X": [], "doubtful": []}
    for state, seconds in pieces:
        spans[state.upper()].append((at, at + seconds))
        if state.islower():
            spans["doubtful"].append((at, at + seconds))
        at += seconds
    moving, unsure = (merged(spans[name]) for name in ("M", "doubtful"))
    return Motion(0.0, at, moving, tuple(spans["U"]), left_out=tuple(spans["X"]), doubtful=unsure)


def stops(*pieces):
    return tuple(stop_count(seen(pieces)))


def test_a_stop_is_stillness_of_three_seconds_between_two_movements():
    # The design: stillness before the first and after the last movement is none.
    assert stops(("S", 20), ("M", 5), ("S", 3), ("M", 5), ("S", 2.9), ("M", 5), ("S", 30)) == (1, 1, 1)
    assert stops(("S", 20)) == (0, 0, 0)
    assert stops(("S", 20), ("M", 5), ("S", 20)) == (0, 0, 0)


def test_an_unmeasured_stretch_is_no_stop_and_may_hold_stops():
    assert stops(("M", 5), ("U", 10), ("M", 5)) == (0, 0, 3)  # three stops of 3 s fit into 10 s
    assert stops(("M", 5), ("S", 2), ("U", 1), ("M", 5)) == (0, 0, 1)
    assert stops(("M", 5), ("S", 4), ("U", 1), ("S", 4), ("M", 5)) == (1, 1, 2)  # one long one, or two
    assert stops(("U", 4), ("S", 4), ("M", 5)) == (0, 0, 2)  # if it moved at once and again behind 3 s
    assert stops(("M", 5), ("S", 4), ("U", 0.5)) == (0, 0, 1)
    assert stops(("U", 9)) == (None, 0, 3)


def test_doubtful_time_is_counted_as_seen_and_widens_the_bounds():
    motion = seen([("M", 10), ("m", 2), ("s", 1), ("S", 20), ("M", 5)])
    assert tuple(moving_time(motion)) == pytest.approx((17, 15, 18))
    assert coverage(motion).value == pytest.approx(100)  # it was measured
    assert told_percent(motion) == pytest.approx(100 * 35 / 38)


def test_a_stop_whose_edges_are_doubtful_may_be_a_pause_and_the_reverse():
    assert stops(("M", 5), ("s", 0.1), ("S", 2.9), ("M", 5)) == (1, 0, 1)
    assert stops(("M", 5), ("m", 0.1), ("S", 2.9), ("M", 5)) == (0, 0, 1)
    assert stops(("M", 5), ("s", 0.1), ("S", 3), ("s", 0.1), ("M", 5)) == (1, 1, 1)
    assert stops(("M", 5), ("m", 0.1), ("S", 2.8), ("M", 5)) == (0, 0, 0)


def test_a_doubtful_movement_in_a_stop_may_split_it():
    assert stops(("M", 20), ("S", 10), ("s", 1.5), ("S", 10), ("M", 20)) == (1, 1, 2)
    assert stops(("M", 20), ("S", 10), ("m", 1.5), ("S", 10), ("M", 20)) == (2, 1, 2)
    assert stops(("M", 20), ("S", 2), ("m", 1.5), ("S", 2), ("M", 20)) == (0, 0, 1)


def test_the_last_movement_may_be_none_and_then_no_stop_was_ended_by_it():
    assert stops(("M", 20), ("S", 10), ("m", 5)) == (1, 0, 2)
    assert stops(("m", 20), ("S", 10), ("M", 5)) == (
        1,
        0,
        7,
    )  # six in 20 s if it moves at once and never long, and one more


def test_doubtful_pauses_and_movements_join_or_end_a_stay():
    assert tuple(longest_moving(seen([("M", 10), ("s", 2), ("M", 20)]))) == pytest.approx((20, 20, 32))
    assert tuple(longest_moving(seen([("M", 10), ("m", 2), ("M", 20)]))) == pytest.approx((32, 20, 32))
    assert tuple(longest_moving(seen([("M", 10), ("m", 1), ("M", 20)]))) == pytest.approx(
        (31, 31, 31)
    )  # a pause at most
    assert tuple(longest_moving(seen([("M", 10), ("s", 0.1), ("S", 1.0), ("M", 20)]))) == pytest.approx((20, 20, 31.1))


def test_help_leaves_doubtful_time_out_and_a_phase_cuts_it():
    motion = seen([("M", 10), ("m", 10), ("S", 10)])
    assert assisted(motion, [(5, 15)]).doubtful == ((15, 20),)
    assert tuple(moving_time(assisted(motion, [(5, 15)]))) == pytest.approx((10, 5, 10))
    assert within(motion, 12, 25).doubtful == ((12, 20),)
    assert told_percent(within(motion, 12, 28)) == pytest.approx(50)


def test_told_is_what_is_neither_unmeasured_nor_doubtful_of_the_time_that_counts():
    assert told_percent(seen([("M", 10), ("U", 5), ("m", 5)])) == pytest.approx(50)
    assert told_percent(seen([("M", 10), ("X", 10), ("s", 5)])) == pytest.approx(100 * 10 / 15)
    assert told_percent(seen([("X", 5)])) is None
    both = Motion(0.0, 10.0, (), ((0.0, 6.0),), doubtful=((4.0, 8.0),))  # an overlap counts once
    assert told_percent(both) == pytest.approx(20)


def test_pauses_up_to_the_tolerance_do_not_end_a_stay():
    motion = seen([("M", 10), ("S", 1.0), ("M", 20), ("S", 1.2), ("M", 5)])
    assert tuple(longest_moving(motion)) == pytest.approx((31, 31, 31))
    assert longest_moving(motion, pause_s=1.2).value == pytest.approx(37.2)
    assert longest_moving(motion, pause_s=0.0).value == pytest.approx(20)


def test_unmeasured_time_may_join_stays():
    motion = seen([("M", 10), ("U", 4), ("M", 20), ("S", 5), ("U", 3)])
    assert tuple(longest_moving(motion)) == pytest.approx((20, 20, 34))
    assert tuple(moving_time(motion)) == pytest.approx((30, 30, 37))
    assert coverage(motion).value == pytest.approx(100 * 35 / 42)


def test_assisted_stretches_are_left_out_and_counted():
    motion = seen([("S", 5), ("M", 30), ("S", 5), ("U", 5), ("M", 15)])
    own = assisted(motion, [(20, 30), (43, 50), (55, 90)])
    assert own.moving == ((5, 20), (30, 35), (50, 55))
    assert own.unmeasured == ((40, 43),)
    assert length(own.left_out) == pytest.approx(22)
    assert tuple(moving_time(own)) == pytest.approx((25, 25, 28))
    assert longest_moving(own, pause_s=60).value == pytest.approx(15)  # help ends a stay, however short it is
    assert coverage(own).value == pytest.approx(100 * 35 / 38)


def test_help_is_no_stillness():
    assert stops(("M", 5), ("S", 2), ("X", 8), ("S", 2), ("M", 5)) == (0, 0, 0)
    assert stops(("M", 5), ("S", 4), ("X", 8), ("M", 5)) == (1, 1, 1)


def test_a_phase_reaching_beyond_the_recording_is_unmeasured_there():
    motion = within(seen([("S", 5), ("M", 30), ("U", 5)]), 20, 50)
    assert motion.moving == ((20, 35),)
    assert motion.unmeasured == ((35, 50),)
    assert coverage(motion).value == pytest.approx(50)


@pytest.mark.parametrize(("more_s", "unmeasured"), [(0.09, 0), (0.11, 1)])
def test_half_a_sample_at_the_ends_is_not_unmeasured(more_s, unmeasured):
    motion = within(seen([("M", 10), ("S", 10), ("M", 10), ("S", 10)]), -more_s, 40)
    assert len(motion.unmeasured) == unmeasured
    assert stop_count(motion).high == 1
    motion = within(seen([("M", 10), ("S", 10), ("M", 10), ("S", 10)]), 0, 40 + more_s)
    assert len(motion.unmeasured) == unmeasured
    assert stop_count(motion).high == 1 + unmeasured  # there may be a movement


def test_nothing_measured_gives_no_value():
    motion = seen([("U", 30)])
    assert tuple(moving_time(motion)) == (None, 0, 30)
    assert tuple(longest_moving(motion)) == (None, 0, 30)
    assert coverage(motion).value == 0
    assert coverage(seen([("X", 5)])).value is None


SPANS = st.lists(st.tuples(st.floats(0, 100), st.floats(0.1, 20)), max_size=8).map(
    lambda found: merged((begin, min(begin + size, 100.0)) for begin, size in found)
)


@settings(max_examples=400, deadline=None)
@given(SPANS, SPANS, SPANS, st.sampled_from([0.5, 3.0, 7.0]), st.sampled_from([0.0, 1.0, 4.0]))
def test_bounds_contain_the_truth_whatever_is_lost(moving, lost, helped, stop_s, pause_s):
    truth = assisted(Motion(0.0, 100.0, moving), helped)
    partly = assisted(Motion(0.0, 100.0, without(moving, lost), lost), helped)
    for figure in (moving_time, lambda m: longest_moving(m, pause_s), lambda m: stop_count(m, stop_s)):
        true, bounded = figure(truth), figure(partly)
        if true.value is None:
            continue
        assert true.low == pytest.approx(true.value)
        assert true.high == pytest.approx(true.value)
        assert bounded.low - 1e-6 <= true.value <= bounded.high + 1e-6
        assert bounded.value is None or bounded.low <= bounded.value <= bounded.high


@settings(max_examples=400, deadline=None)
@given(st.lists(st.sampled_from("MSUms"), min_size=1, max_size=11))
def test_no_filling_of_unmeasured_or_doubtful_seconds_leaves_the_bounds(letters):
    # Every way to fill the unmeasured and the doubtful seconds with movement and stillness, whole seconds each.
    bounded = stop_count(seen([(letter, 1.0) for letter in letters]), stop_s=2.0)
    unknown = [index for index, letter in enumerate(letters) if letter in "Ums"]
    counts = set()
    for choice in range(2 ** len(unknown)):
        filled = list(letters)
        for bit, index in enumerate(unknown):
            filled[index] = "MS"[choice >> bit & 1]
        counts.add(int(_plain_count("".join(filled))))
    assert bounded.low <= min(counts)
    assert max(counts) <= bounded.high
    if not unknown:
        assert bounded.low == bounded.high == counts.pop()


def _plain_count(letters):
    between = letters.strip("S")
    return sum(len(still) >= 2 for still in between.split("M"))


@settings(max_examples=200, deadline=None)
@given(SPANS, SPANS)
def test_what_is_excluded_and_what_is_left_make_up_the_whole(spans, excluded):
    left = without(spans, excluded)
    taken = without(spans, left)
    assert length(left) + length(taken) == pytest.approx(length(spans))
    assert length(merged((*left, *excluded))) == pytest.approx(length(merged((*spans, *excluded))))
    assert all(not (begin < b and a < until) for a, b in left for begin, until in excluded)


def test_hours_with_thousands_of_gaps_are_counted_at_once():
    edges = np.arange(0, 28_800, 4.0)
    motion = Motion(0.0, 28_800.0, tuple((a, a + 1) for a in edges), tuple((a + 1, a + 1.5) for a in edges))
    assert tuple(stop_count(motion)) == (0, 0, 7199)
    assert tuple(stop_count(motion, stop_s=2.5)) == (7199, 7199, 7199)
