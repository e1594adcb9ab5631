"""For how long each sample stands: lengths worked out by hand, at the edges of every rule."""

from dataclasses import replace

import numpy as np
import pytest
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import ACCELERATION, Stream
from ownmark.metrics import timeline
from ownmark.metrics.sampling import sampling
from ownmark.metrics.timeline import Held, hold, sampling_of, whole_span

from tests.makers.recordings import pulse


def lengths(stream, until_s, **more):
    held = hold(stream, 0.0, until_s, **more)
    return held.certain_s.tolist(), held.held_s.tolist()


def row(*steps):
    """A stream with these steps between its stamps, the values going up by one."""
    time = np.append(0.0, np.cumsum(np.asarray(steps, dtype=float)))
    return pulse(time, 100.0 + np.arange(len(time)) // 2)


REGULAR = [1.0] * 20


@pytest.mark.parametrize(("step", "certain"), [(1.5, 1.5), (1.5000001, 1.0), (2.0, 1.0), (0.9, 0.9)])
def test_a_step_of_up_to_one_and_a_half_usual_ones_has_no_gap(step, certain):
    # Half a step more is a late stamp; from there on a value is missing, and one step is all that is vouched for.
    held = hold(row(*REGULAR, step, *REGULAR), 0.0, 60.0)
    assert held.held_s[20] == pytest.approx(certain)
    assert len(held.gaps()) == (1 if step <= 1.5 else 2)  # one behind the last value


def test_a_value_before_a_gap_stands_for_the_usual_step_and_vouches_for_the_shortest():
    certain, held = lengths(row(*[5.0] * 10, 4.0, *[5.0] * 10, 15.0), 200.0)
    assert (certain[-2:], held[-2:]) == ([4.0, 4.0], [5.0, 5.0])
    assert (certain[9:12], held[9:12]) == ([5.0, 4.0, 5.0], [5.0, 4.0, 5.0])


@pytest.mark.parametrize(("step_s", "stands_s"), [(9.0, 9.0), (10.0, 10.0), (11.0, 10.0), (60.0, 10.0)])
def test_no_value_vouches_for_more_than_ten_seconds(step_s, stands_s):
    certain, held = lengths(row(*[step_s] * 12), 1000.0)
    assert set(certain) == set(held) == {stands_s}


def test_a_value_that_holds_longer_as_asked_moves_what_it_stands_for_and_no_bound():
    stream = pulse([0.0, 1.0, 2.0, 7.0, 8.0], [100.0, 101, 102, 103, 104])
    assert lengths(stream, 10.0) == ([1, 1, 1, 1, 1], [1, 1, 1, 1, 1])
    assert hold(stream, 0.0, 10.0).gaps() == [(3.0, 7.0), (9.0, 10.0)]
    assert lengths(stream, 10.0, hold_s=5.0) == ([1, 1, 1, 1, 1], [1, 1, 5, 1, 1])
    assert lengths(stream, 10.0, hold_s=4.9) == ([1, 1, 1, 1, 1], [1, 1, 1, 1, 1])


def test_a_value_written_on_change_stands_until_the_next_for_ten_seconds_at_the_most():
    time = np.append(np.cumsum([0, *[1, 2] * 20]), [70.0, 80.1])  # the last steps are 10 and 10.1 s
    stream = pulse(time, 100.0 + np.arange(len(time)) % 2)
    assert sampling_of(stream).kind == "on_change"
    certain, held = lengths(stream, 100.0)
    assert set(certain) == {1.0}
    assert held[-4:] == [2.0, 10.0, 1.0, 1.0]
    assert lengths(stream, 100.0, hold_s=3.0)[1][-4:] == [2.0, 1.0, 1.0, 1.0]


def test_a_single_value_stands_for_nothing():
    assert hold(pulse([3.0], [100.0]), 0.0, 10.0).coverage_percent == 0.0
    assert whole_span(pulse([3.0], [100.0])) == (3.0, 3.0)


def test_a_sample_that_is_rejected_ends_the_one_before_it_and_stands_for_nothing():
    flags = np.zeros(21, np.uint16)
    flags[5] = Flag.DROPOUT
    held = hold(pulse(np.arange(21.0), np.full(21, 100.0), flags=flags), 0.0, 21.0)
    assert held.gaps() == [(5.0, 6.0)]
    assert held.measured_s == 20.0
    assert held.unknown_s == 1.0
    assert held.coverage_percent == pytest.approx(100 * 20 / 21)


def test_of_two_samples_with_one_stamp_one_counts():
    time = np.array([0.0, 1, 2, 2, *range(3, 21)])
    held = hold(pulse(time, np.append([100.0, 100, 0], np.full(19, 100.0))), 0.0, 21.0)
    assert len(held.bpm) == 21
    assert set(held.certain_s) == {1.0}
    assert held.measured_s == 21.0


def test_a_phase_cuts_the_samples_at_its_ends():
    held = hold(row(*REGULAR), 2.5, 5.25)
    assert (held.start_s.tolist(), held.held_s.tolist()) == ([2.5, 3, 4, 5], [0.5, 1, 1, 0.25])
    assert held.certain_s.tolist() == held.held_s.tolist()
    assert held.span_s == 2.75
    assert held.coverage_percent == 100.0
    inner = held.part(3.5, 4.75)
    assert (inner.start_s.tolist(), inner.held_s.tolist(), inner.span_s) == ([3.5, 4], [0.5, 0.75], 1.25)
    assert inner.bpm.tolist() == held.bpm[1:3].tolist()


def test_a_part_keeps_what_is_vouched_for_apart_from_what_is_held():
    held = Held(*map(np.array, ([0.0, 5.0], [1.0, 1.0], [4.0, 1.0], [100.0, 110.0])), 0.0, 6.0)
    part = held.part(2.0, 5.5)
    assert (part.start_s.tolist(), part.certain_s.tolist(), part.held_s.tolist()) == ([2, 5], [0, 0.5], [2, 0.5])


def test_lengths_of_a_phase():
    held = Held(*map(np.array, ([0.0, 5.0], [1.0, 1.0], [4.0, 1.0], [100.0, 110.0])), 0.0, 8.0)
    assert (held.span_s, held.measured_s, held.unknown_s, held.coverage_percent) == (8.0, 5.0, 6.0, 62.5)
    assert held.gaps() == [(4.0, 5.0), (6.0, 8.0)]
    assert Held(*[np.empty(0)] * 4, 3.0, 3.0).coverage_percent == 0.0
    assert Held(*[np.empty(0)] * 4, 3.0, 4.0).gaps() == [(3.0, 4.0)]


@pytest.mark.parametrize(
    ("moment_s", "found"),
    [
        (-0.1, None),
        (0.0, (100.0, True)),
        (0.99, (100.0, True)),
        (1.0, (100.0, False)),
        (3.99, (100.0, False)),
        (4.0, None),
        (5.0, (110.0, True)),
        (6.0, None),
    ],
)
def test_the_value_at_a_moment_and_whether_it_is_vouched_for(moment_s, found):
    held = Held(*map(np.array, ([0.0, 5.0], [1.0, 1.0], [4.0, 1.0], [100.0, 110.0])), 0.0, 8.0)
    assert held.at(moment_s) == found


def test_a_stretch_of_a_millionth_of_a_second_is_no_gap():
    held = Held(*map(np.array, ([0.0, 1.0 + 0.9e-6, 3.0], [1.0] * 3, [1.0] * 3, [100.0] * 3)), 0.0, 4.0)
    assert held.gaps() == [(pytest.approx(2.0, abs=1e-5), 3.0)]


def test_the_whole_span_ends_with_the_last_step_and_ten_seconds_at_the_most():
    assert whole_span(row(*REGULAR)) == (0.0, 21.0)
    assert whole_span(row(*[60.0] * 12)) == (0.0, 730.0)
    assert whole_span(pulse([], [])) == (0.0, 0.0)
    beats = pulse([1.0, 1.5, 3.0], [100.0, 90, 80], cover_s=[0.5, 9.0, np.nan])
    assert whole_span(beats) == (1.0, 10.5)


def test_beats_stand_for_their_own_interval_and_never_into_the_next():
    beats = pulse([1.0, 1.5, 3.0], [100.0, 90, 80], cover_s=[0.25, 9.0, np.nan])
    assert lengths(beats, 20.0) == ([0.25, 1.5], [0.25, 1.5])


def test_steps_of_an_unclear_recorder_are_not_stretched():
    # Four readings: a second is assumed, and the 1.013 s to the next are not taken to be one late step.
    assert lengths(row(1.013, 4.2, 2.8), 10.0)[0] == [0.75, 0.75, 0.75, 0.75]


def test_what_is_vouched_for_before_the_phase_counts_for_nothing_in_it():
    held = hold(pulse([0.0, 4.0, 5.0, 6.0], [100.0, 101, 102, 103]), 2.5, 7.0, hold_s=5.0)
    assert held.start_s.tolist() == [2.5, 4, 5, 6]
    assert held.held_s.tolist() == [1.5, 1, 1, 1]
    assert held.certain_s.tolist() == [0, 1, 1, 1]


def test_a_sample_that_ends_where_the_phase_begins_is_not_of_it():
    held = hold(row(*REGULAR), 3.0, 6.0)
    assert held.start_s.tolist() == [3, 4, 5]
    assert held.part(4.0, 5.0).start_s.tolist() == [4]


def test_nothing_is_unknown_where_all_is_vouched_for_and_never_less_than_nothing():
    assert hold(row(*REGULAR), 3.0, 6.0).unknown_s == 0.0
    assert Held(*map(np.array, ([0.0], [2.5], [2.5], [100.0])), 0.0, 2.0).unknown_s == 0.0
    assert hold(row(*REGULAR), 3.0, 3.5).coverage_percent == 100.0


def test_movement_is_never_written_on_change():
    time = np.cumsum([0.0, *np.resize([1.0, 2.0], 40)])
    values = np.resize([1.0, 2.0], (41, 3))
    assert sampling_of(Stream.from_samples(ACCELERATION, time, values)).kind == "regular"


@pytest.mark.parametrize(
    ("ran_s", "span"),
    [
        (None, (10, 34)),
        ((7, 35), (10, 34)),  # a step and a half before the first value, half a step behind the end of the last one's
        ((6.9, 35), (6.9, 34)),
        ((7, 35.1), (10, 35.1)),
        ((20, 30), (10, 34)),
    ],
)
def test_a_file_that_ran_longer_than_a_step_beyond_its_values_lost_some(ran_s, span):
    # One value every 2 s from 10 to 32 s.
    stream = replace(pulse(10.0 + 2.0 * np.arange(12), np.full(12, 100.0)), ran_s=ran_s)
    assert whole_span(stream) == span


@pytest.mark.parametrize(("ran_s", "span"), [((7, 31), (10, 28)), ((6.9, 31), (6.9, 28)), ((7, 31.1), (10, 31.1))])
def test_behind_beats_a_file_may_run_for_a_beat_and_a_half(ran_s, span):
    # Beats of 2, 2, 2 and 12 s; one of no length does not count for the usual one.
    beats = pulse([10.0, 10.0001, 12.0, 14.0, 16.0], np.full(5, 30.0), cover_s=[2.0, 0.0, 2.0, 2.0, 12.0])
    assert whole_span(replace(beats, ran_s=ran_s)) == span


def test_long_or_no_beats_are_taken_for_ten_seconds_or_none():
    beats = pulse([20.0, 50.0], [30.0, 30.0], cover_s=[20.0, 20.0])
    assert whole_span(replace(beats, ran_s=(5.0, 70.0))) == (20.0, 70.0)  # 15 s before the first
    assert whole_span(replace(beats, ran_s=(4.9, 70.0))) == (4.9, 70.0)
    none = pulse([20.0, 50.0], [30.0, 30.0], cover_s=[0.0, 0.0])
    assert whole_span(replace(none, ran_s=(19.9, 50.1))) == (19.9, 50.1)
    assert whole_span(replace(pulse([], []), ran_s=(1.0, 2.0))) == (0.0, 0.0)


@pytest.mark.parametrize(("left_s", "unknown_s"), [(0.95e-6, 0.0), (1.05e-6, 1.05e-6)])
def test_what_rounding_leaves_is_not_unknown(left_s, unknown_s):
    held = Held(*map(np.array, ([0.0], [1.0], [1.0], [100.0])), 0.0, 1.0 + left_s)
    assert held.unknown_s == pytest.approx(unknown_s)


def test_how_a_stream_was_written_is_worked_out_once_for_it_and_anew_for_any_other(monkeypatch):
    asked = []
    monkeypatch.setattr(timeline, "sampling", lambda *given: asked.append(given) or sampling(*given))
    even, changing = row(*REGULAR), pulse(np.append(np.cumsum([0, *[1, 2] * 20]), 70.0), 100.0 + np.arange(42) % 2)
    assert [sampling_of(each).kind for each in (even, even, changing, even)] == ["regular"] * 2 + [
        "on_change",
        "regular",
    ]
    assert len(asked) == 2
    twice = replace(even, flags=even.flags | np.uint16(Flag.DUPLICATE_STAMP) * (np.arange(len(even)) % 2 == 1))
    assert sampling_of(twice).step_s == 2.0
    assert sampling_of(even).step_s == 1.0
