"""The rules for heart rate: what they flag, and what they must leave alone."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.ingest.clean_heart_rate import frozen, heart_rate_flags, too_fast
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import HEART_RATE, Stream


def found(bpm, flag, time=None):
    time = np.arange(len(bpm), dtype=float) if time is None else np.array(time, dtype=float)
    return np.flatnonzero(heart_rate_flags(time, np.array(bpm, dtype=float)) & flag).tolist()


def wandering(seconds, seed=1, around=110.0):
    return np.rint(around + np.cumsum(np.random.default_rng(seed).normal(0, 0.6, seconds)))


def test_zero_and_no_value_are_dropouts():
    assert found([90, 0, 91, np.nan, 92], Flag.DROPOUT) == [1, 3]


@pytest.mark.parametrize(
    ("bpm", "odd"), [(29, True), (29.9, True), (30, False), (230, False), (230.1, True), (254, True), (256, True)]
)
def test_the_limits_of_what_a_student_shows(bpm, odd):
    # Tables row 6.2, common practice: 30 to 230.
    assert found([90, bpm, 90], Flag.IMPLAUSIBLE) == ([1] if odd else [])
    assert found([90, bpm, 90], Flag.DROPOUT) == []


@pytest.mark.parametrize("code", [255, 65535])
def test_all_bits_of_a_byte_or_two_are_no_reading_of_any_heart(code):
    # Tables row 6.2: 0 and 255 are common codes for "no data".
    assert found([90, code, 90], Flag.DROPOUT) == [1]
    assert found([90, code, 90], Flag.IMPLAUSIBLE) == []


def test_a_code_for_no_data_never_stands_for_a_value_of_the_same_moment():
    both = Stream.from_samples(HEART_RATE, [0, 1, 1, 2], [90, 255, 91, 92])
    assert both.values.tolist() == [90, 255, 91, 92]
    assert [bool(flag & Flag.DUPLICATE_STAMP) for flag in both.flags] == [False, True, False, False]


def test_the_published_example_of_a_spike():
    # Tables row 6.3, common practice: 92, 93, 147, 94: the third is a spike.
    assert found([92, 93, 147, 94], Flag.TOO_FAST) == [2]


def test_a_spike_of_one_sample_is_found_in_a_recording_of_5_s_steps():
    bpm = wandering(120)
    bpm[60] += 75
    assert found(bpm, Flag.TOO_FAST, np.arange(120) * 5.0) == [60]


def test_an_excursion_of_several_seconds_is_flagged_whole():
    bpm = wandering(120)
    bpm[50:58] = 205
    assert found(bpm, Flag.TOO_FAST) == list(range(50, 58))


def test_a_lasting_change_of_level_is_left_for_a_person_to_judge():
    bpm = np.append(wandering(60, around=90), wandering(60, around=140))
    assert found(bpm, Flag.TOO_FAST) == []


def test_a_spike_at_either_end_is_flagged():
    bpm = wandering(60)
    bpm[:2], bpm[-2:] = 180, 40
    assert found(bpm, Flag.TOO_FAST) == [0, 1, 58, 59]


def test_a_fast_true_rise_is_kept():
    # From 80 to 170 in 20 s, as at the start of hard work.
    assert found(np.linspace(80, 170, 21), Flag.TOO_FAST) == []


def test_a_long_gap_allows_any_level_behind_it():
    assert found([90, 91, 150, 151], Flag.TOO_FAST, [0, 1, 60, 61]) == []


def test_a_value_that_stands_still_for_over_a_minute_is_frozen():
    bpm = wandering(600)
    bpm[200:270] = 121
    first = 200 - (bpm[199] == 121)
    assert found(bpm, Flag.FROZEN) == list(range(first + 1, 270))


def test_a_minute_at_one_value_is_not_yet_frozen():
    bpm = wandering(600)
    bpm[200:259] = bpm[199] + 1
    assert found(bpm, Flag.FROZEN) == []


def test_a_coarse_recorder_is_not_called_frozen_at_once():
    # 5 s means that stand for minutes each, as in the worked example of tables row 2.11.
    time = np.arange(120) * 5.0
    bpm = np.repeat([100.0, 120, 130, 150, 185], [24, 36, 24, 24, 12])
    assert found(bpm, Flag.FROZEN, time) == []
    assert found([130.0] * 400, Flag.FROZEN) == list(range(1, 400))


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.one_of(st.integers(0, 260), st.just(float("nan"))), min_size=0, max_size=80),
    st.integers(0, 2**32 - 1),
)
def test_rules_never_fail_and_never_judge_a_dropout_twice(values, seed):
    steps = np.random.default_rng(seed).choice([0.2, 1.0, 5.0, 40.0], len(values))
    flags = heart_rate_flags(np.cumsum(steps), np.array(values, dtype=float))
    gone = (flags & Flag.DROPOUT) != 0
    assert not (flags[gone] & ~np.uint16(Flag.DROPOUT)).any()


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(40, 200), min_size=2, max_size=200), st.floats(0, 1e6))
def test_rules_do_not_depend_on_when_the_recording_began(values, begin):
    time, bpm = np.arange(len(values), dtype=float), np.array(values, dtype=float)
    assert (too_fast(time, bpm) == too_fast(time + begin, bpm)).all()
    assert (frozen(time, bpm) == frozen(time + begin, bpm)).all()
