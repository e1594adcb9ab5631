"""The rules for heart rate: what they flag, and what they must leave alone."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.ingest.cleaning.heart_rate import frozen, heart_rate_flags, reach_bpm, too_fast
from ownmark.ingest.cleaning.judge import clean
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import HEART_RATE, Recording, Stream


def found(bpm, flag, time=None):
    time = np.arange(len(bpm), dtype=float) if time is None else np.array(time, dtype=float)
    return np.flatnonzero(heart_rate_flags(time, np.array(bpm, dtype=float)) & flag).tolist()


def wandering(seconds, seed=1, around=110.0):
    return np.rint(around + np.cumsum(np.random.default_rng(seed).normal(0, 0.6, seconds)))


def test_zero_and_no_value_are_dropouts():
    assert found([90, 0, 91, np.nan, 92, -1, 93], Flag.DROPOUT) == [1, 3, 5]
    assert found([90, 0.5, 91], Flag.DROPOUT) == []  # some number, if no heart's


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


# By hand, at the edges. Each case stands in the middle of long level pieces, so that the rule for the ends is silent.


def between(*bpm, before=90.0, behind=90.0, step_s=1.0):
    """Places, from 0, of the values flagged too fast between 20 samples on each side, all a step apart."""
    whole = [before + n % 2 for n in range(20)] + list(bpm) + [behind + n % 2 for n in range(20)]
    return [place - 20 for place in found(whole, Flag.TOO_FAST, 700 + step_s * np.arange(len(whole)))]


def reached(steps):
    return [float(reach_bpm(step)) for step in steps]


def test_how_far_a_heart_goes():
    # README: 20 /min in 1 s, 5 more in each further second. In less than a second no less, because beats are whole.
    assert reached([0.1, 1.0, 1.5, 2.0, 4.0, 15.0]) == [20, 20, 22.5, 25, 35, 90]
    assert reach_bpm(np.array([0.0, 3.0])).tolist() == [20, 30]


@pytest.mark.parametrize(
    ("step_s", "most"), [(0.25, 20), (1.0, 20), (2.0, 25), (3.0, 30), (5.0, 40)], ids=lambda value: f"{value:g}"
)
def test_a_step_at_the_limit_is_a_hearts_and_one_beyond_is_not(step_s, most):
    # The level before it ends with 91, the one behind begins with 90.
    for sign in (1, -1):
        assert between(91 + sign * most, before=90, behind=91, step_s=step_s) == []
        assert between(91 + sign * (most + 0.5), before=90, behind=91, step_s=step_s) == [0]


def test_the_value_behind_an_excursion_must_be_in_reach_from_before_it():
    # 91 at 0 s, five seconds at 200, the next at 6 s: 20 + 5 * 5 = 45 /min away at the most, up or down.
    assert between(*[200] * 5, behind=136) == [0, 1, 2, 3, 4]
    assert between(*[200] * 5, behind=136.5) == []
    assert between(*[180] * 5, before=120, behind=76) == [0, 1, 2, 3, 4]
    assert between(*[180] * 5, before=120, behind=75.5) == []


def test_an_excursion_lasts_under_15_s():
    assert between(*[150] * 14) == list(range(14))
    assert between(*[150] * 15) == []
    assert between(*[150] * 7, step_s=2.0) == list(range(7))
    assert between(*[150] * 8, step_s=2.0) == []
    assert between(*[200] * 7, step_s=2.125) == list(range(7))  # 14.875 s
    assert between(*[200] * 6, step_s=2.5) == []


def test_an_excursion_may_have_several_levels():
    assert between(150, 200, 150, 200) == [0, 1, 2, 3]
    assert between(*[150] * 7, *[200] * 7) == list(range(14))
    assert between(*[150] * 7, *[200] * 8) == list(range(7, 15))  # 15 s away: 150 stays, and 200 is left for 90 in 8 s
    assert between(*[150] * 8, *[210] * 8, behind=150) == list(range(8, 16))


def test_after_a_lasting_change_the_new_level_is_what_counts():
    assert between(*[140] * 30, 200, 201, *[140] * 30) == [30, 31]
    assert between(*[140] * 30, 90, 91, *[140] * 30, behind=140) == [30, 31]


def test_each_of_several_excursions_is_flagged_by_itself():
    assert between(150, 90, 91, 150, 151, 90, 40) == [0, 3, 4, 6]
    assert between(150, 90, 150, 90, 150) == [0, 2, 4]


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("edge", "beside", "flagged"),
    [
        ([0, 4.875], 15.0, True),
        ([0, 5.0], 15.0, False),
        ([0], 15.0, True),
        ([0, 1], 14.875, False),
        ([0, 5.0], 14.875, False),
        ([0, 5.0], 40.0, False),
    ],
)
def test_at_an_end_a_piece_under_5_s_beside_15_s_of_another_level_is_flagged(edge, beside, flagged, turned):
    # Behind the neighbour a third level, out of reach of all others, so that nothing is an excursion.
    time = np.array([*edge, *(edge[-1] + 1 + np.linspace(0, beside, 31)), *(edge[-1] + beside + 2 + np.arange(30))])
    bpm = np.array([210.0] * len(edge) + [140.0] * 31 + [40.0] * 30)
    if turned:
        time, bpm = time[-1] - time[::-1], bpm[::-1]
    places = set(range(len(edge)))
    if turned:
        places = {len(bpm) - 1 - place for place in places}
    assert set(np.flatnonzero(too_fast(time, bpm)).tolist()) == (places if flagged else set())


def test_two_short_pieces_tell_nothing_of_each_other():
    assert found([180] * 4 + [90] * 4, Flag.TOO_FAST) == []
    assert found([180] * 20 + [90] * 20, Flag.TOO_FAST) == []
    assert found([180] * 4 + [90] * 16, Flag.TOO_FAST) == [0, 1, 2, 3]
    assert found([90] * 16 + [180] * 4, Flag.TOO_FAST) == [16, 17, 18, 19]


def level(seconds, of, first=0.0):
    """How many values are frozen where one stands for so long, by steps of half a second, in a recording so long."""
    time = first + np.arange(2 * of + 1) / 2
    bpm = 100.0 + np.arange(len(time)) % 2
    bpm[20 : 21 + round(2 * seconds)] = 120.0
    places = np.flatnonzero(frozen(time, bpm)).tolist()
    assert places in ([], list(range(21, 21 + round(2 * seconds))))
    return bool(places)


@pytest.mark.parametrize("first", [0.0, 5000.0])
def test_a_level_stretch_is_frozen_when_it_lasts_longer_than_its_limit(first):
    assert not level(60.0, 600, first)
    assert level(60.5, 600, first)
    # Half of the recording makes no coarse recorder, more does; then over 300 s.
    assert level(100.0, 200, first)
    assert not level(100.5, 200, first)
    assert not level(300.0, 400, first)
    assert level(300.5, 400, first)


def test_level_stretches_of_over_a_minute_are_added_up_to_tell_a_coarse_recorder():
    bpm = 100.0 + np.arange(400) % 2
    bpm[100:162] = 120.0
    bpm[200:262] = 120.0  # 61 s each
    assert found(bpm[60:305], Flag.FROZEN) == [*range(41, 102), *range(141, 202)]  # 122 of 244 s
    assert found(bpm[60:304], Flag.FROZEN) == []  # 122 of 243 s
    assert found(bpm[60:260], Flag.FROZEN) == [*range(41, 102)]  # 59 s of the second do not count: 61 of 199 s


def test_one_value_is_neither_and_two_may_be():
    assert found([90], Flag.FROZEN | Flag.TOO_FAST) == []
    assert found([90, 90], Flag.FROZEN, [0, 301]) == [1]
    assert found([], Flag.FROZEN) == []


def test_values_that_are_none_are_passed_over_and_lie_in_no_piece():
    assert found([90, 0, 150, 240, 90, 91], Flag.TOO_FAST) == [2]
    assert heart_rate_flags(np.arange(3.0), np.array([0.0, 240.0, 90.0])).tolist() == [
        Flag.DROPOUT,
        Flag.IMPLAUSIBLE,
        0,
    ]


def test_a_value_without_contact_is_not_judged_and_stands_in_no_course():
    flags = np.full(6, Flag.UNCHECKED, np.uint16)
    flags[[2, 3]] |= np.uint16(Flag.NO_CONTACT)
    stream = Stream.from_samples(HEART_RATE, np.arange(6.0), [90, 91, 0, 150, 90, 91], flags=flags)
    (judged,) = clean(Recording(streams=(stream,))).streams
    assert judged.flags.tolist() == [0, 0, Flag.NO_CONTACT, Flag.NO_CONTACT, 0, 0]


def test_a_level_stretch_far_from_the_rest_is_frozen_and_no_excursion():
    bpm = np.append(wandering(600), np.full(62, 200.0))
    assert found(bpm, Flag.FROZEN) == list(range(601, 662))
    assert found(bpm, Flag.TOO_FAST) == []
