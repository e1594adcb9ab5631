"""Another level for a while, and intervals amid false ones: exact cases at the limits, and what must not be proven."""

from itertools import pairwise

import numpy as np
import pytest
from ownmark.ingest.cleaning.beat_levels import _back, amid_false, other_levels
from ownmark.ingest.cleaning.rr_interval import rr_flags
from ownmark.ingest.flags import REJECTING, Flag

from tests.makers.beats import STRETCHES, heart, in_stretches

LONG = [1.0] * 80  # over a minute, so that the rule for the ends is silent


def found(*rr_s):
    """``(first, last, way)`` of each stretch of another level."""
    signs = other_levels(np.array(rr_s))
    edges = np.flatnonzero(np.diff(np.concatenate(([0], signs, [0]))))
    return [(int(begin), int(end) - 1, int(signs[begin])) for begin, end in pairwise(edges) if signs[begin]]


@pytest.mark.parametrize("count", [6, 7, 20, 40])
@pytest.mark.parametrize(("of", "way"), [(0.5, -1), (1 / 3, -1), (2.0, 1)])
def test_a_level_that_is_entered_and_left_abruptly_is_found_to_the_interval(count, of, way):
    # Three beats cut in half are six intervals: more than half of the eleven that a neighbourhood has.
    if of * count <= 60:
        assert found(*LONG, *[of] * count, *LONG) == [(80, 79 + count, way)]


def test_a_heart_that_changes_by_less_is_its_own():
    for of, away in ((0.69, True), (0.7, False), (0.71, False), (1.42, False), (1.44, True)):
        assert bool(found(*LONG, *[of] * 12, *LONG)) == away, of


def test_what_does_not_come_back_to_three_quarters_is_a_lasting_change():
    for after, back in ((0.75, True), (0.74, False), (1.33, True), (1.34, False)):
        assert found(*LONG, *[0.5] * 12, *[after] * 120) == ([(80, 91, -1)] if back else []), after


def test_what_lasts_over_a_minute_is_left():
    assert found(*LONG, *[0.5] * 120, *LONG) == [(80, 199, -1)]
    assert found(*LONG, *[0.5] * 121, *LONG) == []
    assert found(*LONG, *[2.0] * 30, *LONG) == [(80, 109, 1)]
    assert found(*LONG, *[2.0] * 31, *LONG) == []


def test_the_old_level_must_stay_for_five_intervals():
    assert found(*LONG, *[0.5] * 10, *[1.0] * 5, *[0.5] * 10, *LONG) == [(80, 89, -1), (95, 104, -1)]
    assert found(*LONG, *[0.5] * 10, *[1.0] * 8) == [(80, 89, -1)]


@pytest.mark.parametrize(("second", "third", "back"), [(90, 95, 1), (90, 94, 2), (90, 145, 1), (141, 150, None)])
def test_a_cut_back_counts_where_its_level_stays_and_a_minute_is_not_over(second, third, back):
    # Intervals of 1 s: the second is the way back if it is 5 before the third and no more than 60 behind the first.
    cuts = [80, second, third]
    assert _back(cuts, [float(second) for second in range(200)], [1.0, 0.5, 1.0], [0.5, 1.0, 1.0], 0) == back
    assert _back(cuts, [float(second) for second in range(200)], [1.0, 0.5, 1.0], [0.5, 1.0, 1.0], 2) is None


def test_a_stretch_may_have_several_levels():
    assert found(*LONG, *[0.5] * 8, *[0.25] * 8, *LONG) == [(80, 95, -1)]
    assert found(*LONG, *[0.5] * 8, *[2.0] * 8, *LONG) == [(80, 95, -1)]


def test_after_a_lasting_change_the_new_level_is_what_counts():
    assert found(*LONG, *[0.5] * 200, *[0.25] * 8, *[0.5] * 200) == [(280, 287, -1)]
    assert found(*LONG, *[0.5] * 200, *[1.0] * 8, *[0.5] * 200) == [(280, 287, 1)]


def test_of_two_levels_at_an_end_the_shorter_is_taken_if_it_is_under_a_minute():
    assert found(*[0.5] * 20, *LONG) == [(0, 19, -1)]
    assert found(*[2.0] * 20, *LONG) == [(0, 19, 1)]
    assert found(*LONG, *[0.5] * 20) == [(80, 99, -1)]
    assert found(*LONG, *[2.0] * 20) == [(80, 99, 1)]
    assert found(*[0.5] * 39, *[1.0] * 20) == [(0, 38, -1)]
    assert found(*[0.5] * 40, *[1.0] * 20) == []  # 20 s each
    assert found(*[0.5] * 41, *[1.0] * 20) == [(41, 60, 1)]
    assert found(*[0.5] * 119, *LONG) == [(0, 118, -1)]
    assert found(*[0.5] * 120, *LONG) == []
    assert found(*LONG, *[0.5] * 119) == [(80, 198, -1)]
    assert found(*LONG, *[0.5] * 120) == []


def test_at_an_end_the_piece_beside_it_must_be_true_itself():
    # 10 s at 0.5, away for 5 s at 0.25 and back: the first is not shorter than a piece that is false.
    assert found(*[0.5] * 20, *[0.25] * 60, *[0.5] * 300) == [(20, 79, -1)]
    # 40 s at 1.0, of which 20 s are found: the last 30 s are more than what is left, the last 19 s less.
    rr_s = [1.0] * 10 + [0.5] * 20 + [1.0] * 10
    assert found(*rr_s, *[0.5] * 42) == [(10, 29, -1)]
    assert found(*rr_s, *[0.5] * 38) == [(10, 29, -1), (40, 77, -1)]


def test_an_end_is_held_against_the_piece_beside_it_and_no_other():
    assert found(*[0.5] * 20, *LONG, *[0.5] * 10, *LONG) == [(0, 19, -1), (100, 109, -1)]
    assert found(*LONG, *[0.5] * 10, *LONG, *[2.0] * 20) == [(80, 89, -1), (170, 189, 1)]
    assert found(*[1.0] * 30, *[0.5] * 40, *[0.25] * 400) == []  # 30 s beside 20 s
    assert found(*[1.0] * 30, *[0.5] * 70, *[0.25] * 400) == [(0, 29, 1)]  # 30 s beside 35 s


def test_few_intervals_have_no_levels():
    assert found() == []
    assert found(*[1.0] * 4) == []
    assert found(*[1.0] * 5, *[0.5] * 4) == []
    assert found(*[1.0] * 5, *[0.5] * 5) == [(5, 9, -1)]
    assert found(*[1.0] * 10) == []


def amid(text):
    """Of a row of ``x`` (false), ``-`` (another level) and ``.``."""
    signs = np.array([-1 if sign == "-" else 0 for sign in text], np.int8)
    return "".join("x" if each else "." for each in amid_false(np.array([sign == "x" for sign in text], bool), signs))


@pytest.mark.parametrize(
    ("given", "taken"),
    [
        ("....x..x....", "....xxxx...."),
        ("....x...x...", "....x...x..."),
        ("..x.........", "..x........."),
        (".x........x.", ".x........x."),
        ("...xxxx.....", "...xxxx....."),
        ("...xxxxx....", ".xxxxxxxxx.."),
        (".xxxxx......", "xxxxxxxx...."),
        ("......xxxxx.", "....xxxxxxxx"),
        ("xxxxx.......", "xxxxxxx....."),
        ("...xx..x....", ".xxxxxxxxx.."),  # with what lies between they are five
        ("....-.......", "..xxxxx....."),
        ("-..........-", "xxx......xxx"),
        (".xxxxx....xxxxx.", "xxxxxxxxxxxxxxxx"),  # two beside each, and none is left
        (".xxxxx.....xxxxx.", "xxxxxxxxxxxxxxxxx"),  # one is left, between false ones
        (".xxxxx.......xxxxx.", "xxxxxxxx...xxxxxxxx"),
        ("............", "............"),
        ("", ""),
    ],
)
def test_a_few_amid_false_ones_and_two_beside_many_are_taken(given, taken):
    assert amid(given) == taken


def test_a_doubted_interval_is_called_what_it_may_be():
    flags = rr_flags(np.array([*LONG, *[0.5] * 12, *LONG])) & ~np.uint16(Flag.VARYING)
    assert set(flags[80:92].tolist()) == {Flag.EXTRA_BEAT}
    assert np.flatnonzero(flags).tolist() == list(range(78, 94))  # two beside so many
    flags = rr_flags(np.array([*LONG, *[1.9] * 12, *LONG])) & ~np.uint16(Flag.VARYING)
    assert set(flags[80:92].tolist()) == {Flag.MISSED_BEAT}
    assert set(flags[[78, 79, 92, 93]].tolist()) == {Flag.EXTRA_BEAT}


def test_premature_beats_make_no_level():
    # Six early beats and their pauses, three good ones between: the heart has one level all the time.
    rr_s = np.array([*LONG, *[0.6, 1.4, 1.0, 1.0, 1.0] * 6, *LONG])
    flags = rr_flags(rr_s) & ~np.uint16(Flag.VARYING)
    assert set(flags[80:110].tolist()) == {Flag.PREMATURE_BEAT, 0}


def test_a_lost_interval_takes_no_part():
    rr_s = np.array([*LONG, 0.0, *[0.5] * 12, 0.0, *LONG])
    flags = rr_flags(rr_s)
    assert flags[[80, 93]].tolist() == [Flag.DROPOUT] * 2
    assert (flags[81:93] & Flag.EXTRA_BEAT).all()


@pytest.mark.parametrize("how", STRETCHES)
@pytest.mark.parametrize("bpm", [40, 60, 90, 120, 150, 180, 210])
def test_stretches_that_go_wrong_prove_no_rate_that_never_was(how, bpm):
    # Before there were levels: in 45 of 100 such recordings, of up to 140 s.
    for seed in range(4):
        rng = np.random.default_rng([seed, bpm])
        rr_s = heart(rng, bpm, bpm)
        written = in_stretches(rng, rr_s, how)
        kept = written[(rr_flags(written) & np.uint16(REJECTING)) == 0]
        assert kept.min() >= rr_s.min() - 1e-9
        assert kept.max() <= rr_s.max() + 1e-9


@pytest.mark.parametrize(("name", "percent"), [("rr_short.npy", 100.0), ("rr_long.npy", 99.69)])
def test_real_hearts_lose_hardly_anything(real_dir, name, percent):
    rr_s = np.load(real_dir / name) / 1000
    kept = (rr_flags(rr_s) & np.uint16(REJECTING)) == 0
    assert 100 * rr_s[kept].sum() / rr_s.sum() == pytest.approx(percent, abs=0.05)


def test_a_day_of_intervals_that_change_all_the_time_is_judged_in_seconds():
    import time as clock

    rr_s = np.random.default_rng(1).choice([0.3, 0.5, 0.9], 331_200)
    begin = clock.process_time()
    other_levels(rr_s)
    assert clock.process_time() - begin < 10
