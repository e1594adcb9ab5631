"""Extra, missed and premature beats: exact cases at the limits, and what no bound may claim because of them."""

import numpy as np
import pytest
from ownmark.ingest.cleaning.beat_patterns import local_median, neighbourhood, patterns
from ownmark.ingest.cleaning.judge import clean, with_heart_rate
from ownmark.ingest.cleaning.rr_interval import LONGEST_S, SHORTEST_S, rr_flags
from ownmark.ingest.flags import REJECTING, Flag
from ownmark.metrics import Asked, choose_basis, effort

from tests.makers.beats import heart, intervals, spoiled

EVEN = [1.0] * 8


def found(rr_s):
    """Places of missed, extra and premature intervals."""
    rr_s = np.array(rr_s)
    told = patterns(rr_s, (rr_s >= SHORTEST_S) & (rr_s <= LONGEST_S))
    return tuple(np.flatnonzero(each).tolist() for each in told)


def kept(rr_s):
    """Places of the intervals that figures use."""
    return np.flatnonzero((rr_flags(np.array(rr_s)) & np.uint16(REJECTING)) == 0).tolist()


def between(*rr_s):
    """These intervals between eight of 1 s on each side: the first stands at 8, and each is its own share."""
    return [*EVEN, *rr_s, *EVEN]


# Neighbourhoods.


def test_the_local_median_is_of_eleven_and_of_fewer_at_the_ends():
    values = np.arange(20.0)
    values[10] = 100.0
    # By hand: of 0 to 5; of 0 to 9 and 100; of 5 to 15 without 10; of 14 to 19.
    assert local_median(values)[[0, 5, 10, 19]].tolist() == [2.5, 5.0, 11.0, 16.5]


def test_the_neighbourhood_is_made_of_plausible_intervals_only():
    rr_s = np.array([0.8] * 5 + [0.1] * 7 + [0.8] * 5)
    assert neighbourhood(rr_s, rr_s > 0.26).tolist() == [0.8] * 17


def test_an_interval_that_is_not_plausible_has_the_neighbourhood_of_the_next_that_is():
    rr_s = np.array([0.5] * 11 + [0.1] + [0.9] * 11 + [0.1])
    near = neighbourhood(rr_s, rr_s > 0.26)
    assert near[[10, 11, 12, 23]].tolist() == [0.5, 0.9, 0.9, 0.9]


def test_at_the_end_the_last_neighbourhood_is_its_own():
    assert neighbourhood(np.arange(1.0, 13.0), np.ones(12, bool))[[0, 10, 11]].tolist() == [3.5, 9.0, 9.5]


def test_two_plausible_intervals_make_no_neighbourhood():
    assert found([0.8, 0.1, 0.8]) == ([], [], [])
    assert found([0.8, 0.1, 0.7, 0.8]) == ([], [0, 1, 2], [])


# An extra beat.


@pytest.mark.parametrize("bpm", [40, 60, 95, 120, 150, 180, 210])
@pytest.mark.parametrize("cut", [0.05, 0.2, 0.3, 0.4, 0.5, 0.7, 0.9])
def test_a_beat_cut_in_two_leaves_no_rate_that_never_was(bpm, cut):
    # At 120 /min 0.5 s is cut into 0.2 s, under any limit of plausibility, and 0.3 s, which is 200 /min.
    whole = 60 / bpm
    rr_s = [whole] * 8 + [whole * cut, whole * (1 - cut)] + [whole] * 8
    assert not {8, 9} & set(kept(rr_s))
    assert np.ptp(np.array(rr_s)[kept(rr_s)]) == 0


def test_an_implausible_part_of_a_beat_has_both_names():
    flags = rr_flags(np.array([0.5] * 8 + [0.2, 0.3] + [0.5] * 8)) & ~np.uint16(Flag.VARYING)
    assert flags[[8, 9]].tolist() == [Flag.EXTRA_BEAT | Flag.IMPLAUSIBLE, Flag.EXTRA_BEAT]


def test_the_pieces_of_a_beat_are_taken_and_neither_neighbour():
    assert found(between(0.45, 0.55)) == ([], [8, 9], [])
    assert found(between(0.4, 0.2, 0.4)) == ([], [8, 9, 10], [])


@pytest.mark.parametrize(("second", "places"), [(0.45, [8, 9]), (0.44, [7, 8, 9, 10]), (0.74, [8, 9])])
def test_pieces_that_make_one_beat_to_15_percent_leave_their_neighbours(second, places):
    assert found(between(0.4, second))[1] == places


def test_pieces_that_make_more_than_one_beat_and_15_percent_do_not():
    assert found(between(0.42, 0.74))[1] == [7, 8, 9, 10]
    assert found(between(0.4, 0.74))[1] == [8, 9]


def test_each_run_of_pieces_is_summed_by_itself():
    assert found(between(0.45, 0.55, 1.0, 1.0, 1.0, 0.5, 0.5))[1] == [8, 9, 13, 14]


def test_three_or_more_pieces_may_make_two_beats():
    assert found(between(0.45, 0.55, 0.5, 0.5)) == ([], [8, 9, 10, 11], [])
    assert found(between(0.65, 0.6, 0.6)) == ([], [8, 9, 10], [])  # 1.85
    assert found(between(0.64, 0.6, 0.6)) == ([], [7, 8, 9, 10, 11], [])  # 1.84
    assert found(between(0.72, 0.72, 0.72)) == ([], [7, 8, 9, 10, 11], [])  # 2.16
    assert found(between(0.74, 0.74)) == ([], [7, 8, 9, 10], [])  # two make no two beats


def test_a_short_interval_alone_may_be_of_either_neighbour():
    assert found(between(0.1, 0.9)) == ([], [7, 8, 9], [])
    assert found(between(0.3)) == ([], [7, 8, 9], [])


def test_an_interval_of_three_quarters_of_a_beat_is_not_short():
    wavering = [1.0, 0.9, 1.0, 1.1] * 3  # where steps of 0.1 are usual, one of 0.25 is no pause behind a premature beat
    assert found([*wavering, 0.75, *wavering]) == ([], [], [])
    assert found([*wavering, 0.74, *wavering]) == ([], [11, 12, 13], [])


@pytest.mark.parametrize(("beside", "taken"), [(0.86, False), (0.84, True), (1.14, False), (1.16, True)])
def test_an_uneven_neighbour_of_pieces_may_hold_one_itself(beside, taken):
    assert found(between(beside, 0.45, 0.55))[1] == [*([8] if taken else []), 9, 10]
    assert found(between(0.45, 0.55, beside))[1] == [8, 9, *([10] if taken else [])]


def test_a_tiny_piece_at_the_edge_of_three_may_be_its_neighbours():
    assert found(between(0.4, 0.2, 0.39))[1] == [8, 9, 10, 11]
    assert found(between(0.39, 0.2, 0.4))[1] == [7, 8, 9, 10]
    assert found(between(0.39, 0.22, 0.39))[1] == [7, 8, 9, 10, 11]
    assert found(between(0.39, 0.61))[1] == [8, 9]  # of two, the second says whose it is


def test_at_the_ends_of_a_recording_nothing_lies_beside():
    assert found([0.45, 0.55, *EVEN])[1] == [0, 1]
    assert found([0.1, *EVEN])[1] == [0, 1]
    assert found([*EVEN, 0.1])[1] == [7, 8]


# A missed beat.


@pytest.mark.parametrize("bpm", [40, 60, 95, 120, 150, 180, 210])
@pytest.mark.parametrize("beats", [2, 3, 4])
def test_an_interval_of_several_beats_is_missed_at_every_rate(bpm, beats):
    rr_s = [60 / bpm] * 8 + [beats * 60 / bpm] + [60 / bpm] * 8
    assert found(rr_s) == ([8], [], [])


def test_an_interval_from_one_and_a_half_beats_on_is_no_single_one():
    assert found(between(1.5)) == ([8], [], [])
    assert found(between(1.49)) == ([], [], [])


# A premature beat.


def test_a_premature_beat_and_its_pause_are_taken_together():
    assert found(between(0.6, 1.4)) == ([], [], [8, 9])
    assert found(between(0.8, 1.2)) == ([], [], [8, 9])  # neither is out of bounds alone


@pytest.mark.parametrize(("pause", "taken"), [(1.54, []), (1.56, [7]), (1.26, []), (1.24, [7])])
def test_a_short_one_that_makes_no_two_beats_with_its_pause_may_be_a_piece(pause, taken):
    assert found(between(0.6, pause)) == ([], taken, [8, 9])


def test_what_is_not_short_is_no_piece():
    assert found(between(0.8, 1.5)) == ([], [], [8, 9])
    assert found(between(0.75, 1.5)) == ([], [], [8, 9])


def test_at_the_ends_a_premature_beat_is_told_by_what_is_there():
    assert found([0.6, 1.4, *EVEN]) == ([], [], [0, 1])
    # The steps around the last pair: 0, 0, 0, 0.06, 0.21, 0.22, and none behind the last interval.
    assert found([*EVEN, 1.06, 0.85, 1.07])[2] == [9, 10]


def test_a_premature_beat_that_comes_after_a_short_one_may_be_a_piece():
    assert found(between(0.84, 0.6, 1.4))[1:] == ([8], [9, 10])
    assert found(between(0.85, 0.6, 1.4))[1:] == ([], [9, 10])
    assert found(between(0.86, 0.6, 1.4))[1:] == ([], [9, 10])


@pytest.mark.parametrize(
    ("around", "least"),
    [([1.0, 1.0, 1.0, 1.0], 0.2), ([1.0, 0.95, 1.0, 1.05], 0.3), ([1.0, 0.9, 1.0, 1.1], 0.45)],
)
def test_the_step_to_the_pause_is_held_against_the_steps_around(around, least):
    # Their median is 0, 0.05 and 0.1: six times that, from 0.2 to 0.45.
    for step, taken in ((least + 0.01, [12, 13]), (least - 0.01, [])):
        assert found([*around * 3, 0.85, 0.85 + step, *around * 3])[2] == taken, step


def test_an_interval_near_to_a_whole_one_is_not_premature():
    assert found(between(0.89, 1.4))[2] == [8, 9]
    assert found(between(0.90, 1.4))[2] == []


def test_an_interval_under_0_4_of_a_beat_is_a_piece_and_not_premature():
    assert found(between(0.40, 1.6)) == ([], [], [8, 9])
    assert found(between(0.39, 1.6)) == ([], [7, 8, 9], [])


def test_a_pause_that_leaves_two_beats_far_behind_is_none():
    assert found(between(0.85, 1.84))[2] == [8, 9]
    assert found(between(0.85, 1.86)) == ([9], [], [])
    assert found(between(0.5, 0.8)) == ([], [7], [8, 9])  # 1.3: short of two by 0.7
    assert found(between(0.5, 0.79)) == ([], [7, 8, 9], [])


def test_behind_a_short_interval_nothing_is_premature():
    assert found(between(0.75, 0.8, 1.2))[2] == [9, 10]
    assert found(between(0.45, 0.55, 1.3)) == ([], [8, 9, 10], [])


# Hearts.


@pytest.mark.parametrize("name", ["rr_short.npy", "rr_long.npy"])
@pytest.mark.parametrize("share", [1.0, 0.5, 0.2])
def test_no_interval_of_real_hearts_is_taken_for_a_pattern(real_dir, name, share):
    # pyhrv 0.5, young and strongly varying; drawn together they vary as hearts at work do.
    rr_s = np.load(real_dir / name) / 1000
    assert found(rr_s.mean() + share * (rr_s - rr_s.mean())) == ([], [], [])


def assert_bounds_hold(rng, rr_s, **by):
    """Every figure of the spoiled recording holds what the perfect one gives, without exception."""
    ceiling = float(rng.uniform(60, 200))
    basis, asked = choose_basis(rest_bpm=50, measured_max_bpm=205, sex="male"), Asked(ceiling_bpm=ceiling)
    perfect = effort(with_heart_rate(intervals(rr_s, judged=True)), basis, asked=asked)
    partly = effort(with_heart_rate(clean(intervals(spoiled(rng, rr_s, **by)))), basis, asked=asked)
    for name, figure in partly.figures.items():
        true = perfect.figures[name].value
        if figure.low is not None and true is not None and name != "coverage_heart_rate":
            assert figure.low - 1e-6 <= true <= figure.high + 1e-6, (name, figure.low, true, figure.high, by)
    return partly


def test_bounds_hold_with_extra_missed_and_premature_beats():
    for seed in range(40):
        rng = np.random.default_rng(seed)
        rr_s = heart(rng, *rng.uniform(40, 210, 2))
        by = dict(zip(("extra", "missed", "premature"), rng.uniform(0, 0.02, 3), strict=True))
        assert_bounds_hold(rng, rr_s, **by)


@pytest.mark.parametrize("bpm", range(40, 211, 10))
def test_an_even_heart_with_extra_beats_is_never_proven_faster(bpm):
    rng = np.random.default_rng(bpm)
    rr_s = heart(rng, bpm, bpm, 200.0)
    ceiling = float((60 / rr_s).max()) + 1e-6
    spoilt = with_heart_rate(clean(intervals(spoiled(rng, rr_s, extra=0.02))))
    sheet = effort(spoilt, asked=Asked(ceiling_bpm=ceiling))
    assert sheet.figures["time_above_ceiling"].low == 0
    assert sheet.figures["first_above_ceiling"].value is None
