"""Bounds contain what the recorder would have given without a loss, whatever is missing; no second counts twice."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from ownmark.ingest.combine import combine
from ownmark.metrics import Asked, Band, Phases, bounds, choose_basis, effort
from ownmark.metrics.timeline import Held
from ownmark.words.vocabulary import ZONE_FIGURES

from tests.makers.recordings import every_second, pulse, recording

BASIS = choose_basis(rest_bpm=70, measured_max_bpm=200, sex="female")
ASKED = Asked(distance_m=500, target=Band(110, 140, "/min"), ceiling_bpm=150)
RATES = arrays.arrays(np.int64, st.integers(60, 400), elements=st.integers(31, 229))


@settings(max_examples=100, deadline=None)
@given(RATES, st.data())
def test_zone_times_and_unmeasured_time_add_up_to_the_phase(bpm, data):
    # Tables row 2.11: the sum of the bands and the invalid time is the recorded time.
    flags = np.where(
        data.draw(arrays.arrays(np.bool_, len(bpm), elements=st.booleans(), fill=st.just(False))), 2, 0
    ).astype(np.uint16)
    made = recording(pulse(np.arange(len(bpm), dtype=float), bpm.astype(float), flags=flags))
    sheet = effort(made, BASIS, Phases(work=(0.0, float(len(bpm)))))
    gaps = sum(until - begin for begin, until in sheet.provenance.unmeasured)
    assert sheet.figures["coverage_heart_rate"].value == pytest.approx(100 * (1 - gaps / len(bpm)))
    if sheet.figures["time_moderate"].value is not None:
        times = sum(sheet.figures[name].value for name in ZONE_FIGURES)
        assert times + gaps == pytest.approx(len(bpm))


@settings(max_examples=60, deadline=None)
@given(RATES, st.randoms(use_true_random=False), st.data())
def test_nothing_depends_on_the_order_of_samples_or_on_where_a_file_is_split(bpm, random, data):
    time = np.arange(len(bpm), dtype=float)
    order = list(range(len(bpm)))
    random.shuffle(order)
    cut = data.draw(st.integers(1, len(bpm) - 1))
    whole = effort(every_second(bpm), BASIS, None, ASKED)
    shuffled = effort(recording(pulse(time[order], bpm[order].astype(float))), BASIS, None, ASKED)
    parts = [recording(pulse(time[part], bpm[part].astype(float))) for part in (slice(cut), slice(cut, None))]
    joined = combine([parts[0], _other_file(parts[1])])
    assert shuffled.figures == whole.figures
    assert effort(joined, BASIS, None, ASKED).figures == whole.figures


def _other_file(made):
    return replace(made, sources=(replace(made.sources[0], sha256="1" * 64, path="second.csv"),))


def test_a_dropout_of_40_s_widens_a_zone_by_40_s():
    # The design's own example: 40 s lost of 12 minutes make 352 s in moderate 352 to 392 s.
    bpm = np.full(720, 100.0) + np.arange(720) % 2
    bpm[100:492] = 130
    keep = np.ones(720, bool)
    keep[200:240] = False
    made = recording(pulse(np.flatnonzero(keep).astype(float), bpm[keep]))
    figure = effort(made, BASIS, Phases(work=(0.0, 720.0))).figures["time_moderate"]
    assert (figure.value, figure.low, figure.high) == pytest.approx((352, 352, 392))


def test_means_weigh_by_time_and_not_by_sample():
    # Tables row 1.10: 100 /min for 30 s, then 150 for 90 s is 137.5, though more samples say 100.
    time = np.concatenate((np.arange(0, 30, 0.5), np.arange(30, 120, 1.0)))
    made = recording(pulse(time, np.where(time < 30, 100.0, 150.0)))
    sheet = effort(made, BASIS, Phases(work=(0, 119)), Asked(hold_s=1))  # else the second half looks half lost
    assert sheet.figures["heart_rate_mean"].value == pytest.approx((30 * 100 + 89 * 150) / 119)


def test_one_reading_a_minute_is_no_recording():
    # A value vouches for 10 s at the most, however seldom a recorder writes (common practice).
    made = recording(pulse(np.arange(20) * 60.0, np.full(20, 120.0)))
    sheet = effort(made, BASIS)
    assert sheet.figures["coverage_heart_rate"].value == pytest.approx(100 * 200 / 1150)
    assert sheet.figures["heart_rate_mean"].value is None


def test_a_lost_reading_at_the_end_of_work_widens_the_recovery_or_withholds_it():
    bpm = np.concatenate((np.full(300, 150.0) + np.arange(300) % 2, np.linspace(150, 100, 90)))
    keep = np.ones(390, bool)
    keep[360] = False
    made = recording(pulse(np.flatnonzero(keep).astype(float), bpm[keep]))
    assert effort(made, None, Phases(work=(0, 300))).figures["recovery_60s"].value is None
    figure = effort(made, None, Phases(work=(0, 300)), Asked(hold_s=5)).figures["recovery_60s"]
    assert figure.low < bpm[300] - bpm[360] < figure.high


# --- tight bounds, by hand: 20 s, of which 100 /min stand for 4 s, 160 for 3 (a further 2 held), 120 for 5 ---

LAID = Held(*map(np.array, ([2.0, 6.0, 12.0], [4.0, 3.0, 5.0], [4.0, 5.0, 5.0], [100.0, 160, 120])), 0.0, 20.0)
ABOVE = LAID.bpm > 110


def test_the_mean_is_as_tight_as_what_is_known():
    # Vouched: 400 + 480 + 600 = 1480 in 12 s; 8 s may be 30 to 230. Held: 400 + 800 + 600 = 1800 in 14 s.
    assert bounds.mean(LAID) == pytest.approx((1800 / 14, (1480 + 240) / 20, (1480 + 1840) / 20))


def test_the_mean_of_nothing_is_anything_a_heart_can_be():
    nothing = Held(*[np.empty(0)] * 4, 0.0, 20.0)
    assert bounds.mean(nothing) == (None, 30.0, 230.0)


def test_a_mean_that_rests_on_held_values_stays_inside_its_bounds():
    # Held for 10 s and vouched for 1 in 10: the value is the level, and the rest may be anything.
    held = Held(*map(np.array, ([0.0], [1.0], [10.0], [100.0])), 0.0, 10.0)
    assert bounds.mean(held) == pytest.approx((100, (100 + 270) / 10, (100 + 2070) / 10))


def test_a_sum_counts_what_was_measured_and_its_bounds_what_may_have_been():
    beats = bounds.total(LAID, lambda bpm: bpm / 60)
    assert beats == pytest.approx((1800 / 60, 1480 / 60, (1480 + 8 * 230) / 60))


def test_a_time_and_its_share():
    # Above 110: held 5 + 5 s, vouched 3 + 5 s; 8 s are unknown. The share is of the 14 s that were measured.
    assert bounds.time_where(LAID, ABOVE) == pytest.approx((10, 8, 16))
    assert bounds.share_where(LAID, ABOVE) == pytest.approx((1000 / 14, 40, 80))
    nothing = Held(*[np.empty(0)] * 4, 0.0, 20.0)
    assert bounds.share_where(nothing, np.empty(0, bool)) == (None, 0, 100)


def test_the_longest_stay_joins_what_lies_close():
    # Held: 6 to 11 and 12 to 17; vouched: 6 to 9 and 12 to 17. Only 2 to 6 is known to be outside.
    assert bounds.longest_where(LAID, ABOVE) == pytest.approx((5, 5, 14))
    assert bounds.longest_where(LAID, ABOVE, 0.9) == pytest.approx((5, 5, 14))
    assert bounds.longest_where(LAID, ABOVE, 1.0) == pytest.approx((11, 5, 14))
    assert bounds.longest_where(LAID, ABOVE, 2.9) == pytest.approx((11, 5, 14))
    assert bounds.longest_where(LAID, ABOVE, 3.0) == pytest.approx((11, 11, 14))
    assert bounds.longest_where(LAID, ABOVE, 4.0) == pytest.approx((11, 11, 20))  # the dip from 2 to 6 s is bridged
    assert bounds.longest_where(LAID, np.zeros(3, bool)) == pytest.approx((0, 0, 3))
    assert bounds.longest_where(LAID, np.ones(3, bool)) == pytest.approx((9, 7, 20))


THREE = Held(*map(np.array, ([0.0, 4.0, 8.0], [2.0, 0.0, 2.0], [2.0, 0.5, 2.0], [120.0, 120, 120])), 0.0, 12.0)
ALL = np.ones(3, bool)


def test_a_value_that_vouches_for_nothing_bridges_no_dip():
    # Held: 0 to 2, 4 to 4.5, 8 to 10 s; vouched: 0 to 2 and 8 to 10.
    assert bounds.longest_where(THREE, ALL, 2.0)[:2] == pytest.approx((4.5, 2))
    assert bounds.longest_where(THREE, ALL, 3.5)[:2] == pytest.approx((10, 2))
    assert bounds.longest_where(THREE, ALL, 6.0)[:2] == pytest.approx((10, 10))


def test_three_stretches_are_three():
    assert bounds.stretches_where(THREE, ALL) == ((0, 2), (4, 4.5), (8, 10))
    joined = Held(*map(np.array, ([0.0, 2.0, 4.0], [2.0] * 3, [2.0] * 3, [120.0] * 3)), 0.0, 6.0)
    assert bounds.stretches_where(joined, ALL) == ((0, 6),)
    nothing_held = replace(THREE, held_s=np.array([2.0, 1e-7, 2.0]))
    assert bounds.stretches_where(nothing_held, ALL) == ((0, 2), (8, 10))


def test_half_a_second_is_measured_too():
    short = Held(*map(np.array, ([0.0, 0.5], [0.5, 0.25], [0.5, 0.25], [100.0, 130])), 0.0, 1.0)
    assert bounds.share_where(short, short.bpm > 110).value == pytest.approx(100 / 3)
    assert bounds.mean(short).value == pytest.approx(110)
    assert bounds.longest_where(short, short.bpm < 110).high == 0.5


def test_a_value_that_vouches_for_nothing_is_no_dip():
    held = Held(*map(np.array, ([0.0, 4.0, 6.0], [4.0, 0.0, 4.0], [4.0, 2.0, 4.0], [120.0, 90, 120])), 0.0, 10.0)
    assert bounds.longest_where(held, held.bpm > 110) == pytest.approx((4, 4, 10))


def test_stretches_are_told_by_what_is_held():
    assert bounds.stretches_where(LAID, ABOVE) == ((6, 11), (12, 17))
    assert bounds.stretches_where(LAID, np.ones(3, bool)) == ((2, 11), (12, 17))
    assert bounds.stretches_where(LAID, np.zeros(3, bool)) == ()


def test_when_it_first_was_seen_and_from_when_it_may_have_been():
    assert bounds.first_where(LAID, ABOVE) == (6, 0, 6)  # nothing is known before 2 s
    assert bounds.first_where(LAID, LAID.bpm == 120) == (12, 0, 12)  # nor from 9 to 12 s
    later = replace(LAID, from_s=2.0)
    assert bounds.first_where(later, ABOVE) == (4, 4, 4)  # from 2 s on every moment before it is vouched for
    assert bounds.first_where(later, LAID.bpm == 120) == (10, 7, 10)  # 9 to 12 s are not
    assert bounds.first_where(later, LAID.bpm > 200) is None
    assert bounds.first_where(later, LAID.bpm == 100) == (0, 0, 0)


@pytest.mark.parametrize(
    ("window_s", "value", "low", "high"),
    [
        # 6 to 11 s held at 160; vouched: 4 to 9 s with 2 at 100 and 3 at 160; at most: 7 to 12 s, 3 of them unknown
        (5.0, 160, (2 * 100 + 3 * 160) / 5, (2 * 160 + 3 * 230) / 5),
        # 2 to 11 s held; the same with its last 2 s at 30; at most: 6 to 15 s, 3 of them unknown
        (9.0, (4 * 100 + 5 * 160) / 9, (4 * 100 + 3 * 160 + 2 * 30) / 9, (3 * 160 + 3 * 230 + 3 * 120) / 9),
        (20.0, None, (1480 + 8 * 30) / 20, (1480 + 8 * 230) / 20),
        (20.0000001, None, (1480 + 8 * 30) / 20, (1480 + 8 * 230) / 20),
        (20.1, None, 30, 230),
    ],
)
def test_the_peak_is_the_highest_mean_of_a_window(window_s, value, low, high):
    found = bounds.peak(LAID, window_s)
    assert found.value == (None if value is None else pytest.approx(value))
    assert found.low == pytest.approx(low)
    assert found.high == pytest.approx(high)


def test_a_peak_is_of_fifteen_seconds():
    # 14 s at 160 among 100: (14 · 160 + 100) / 15.
    time = np.arange(60.0)
    held = Held(time, np.ones(60), np.ones(60), np.where((time >= 20) & (time < 34), 160.0, 100.0), 0.0, 60.0)
    assert bounds.peak(held) == pytest.approx([(14 * 160 + 100) / 15] * 3)


def test_a_stretch_measured_in_part_raises_the_peak_only_as_far_as_it_is_proven():
    # 200 /min for 10 s before a gap proves a mean of (10 · 200 + 5 · 30) / 15 = 143.3, more than the 100 seen whole.
    bpm = np.append(np.full(30, 100.0), np.full(10, 200.0))
    held = Held(np.arange(40.0), np.ones(40), np.ones(40), bpm, 0.0, 60.0)
    found = bounds.peak(held)
    assert found.value == pytest.approx((5 * 100 + 10 * 200) / 15)
    alone = Held(np.append(np.arange(30.0), np.arange(40.0, 50)), np.ones(40), np.ones(40), bpm, 0.0, 60.0)
    found = bounds.peak(alone)
    assert found == pytest.approx((found.low, (10 * 200 + 5 * 30) / 15, (5 * 200 + 10 * 230) / 15))


def test_a_straight_line_moves_value_and_bounds():
    assert bounds.Bounded(10, 5, 20).through(lambda x: 2 * x + 1) == (21, 11, 41)
    assert bounds.Bounded(10, 5, 20).through(lambda x: 2 * x) == (20, 10, 40)
    assert bounds.Bounded(None, 5, 20).through(lambda x: 2 * x + 1) == (None, 11, 41)


def test_bounds_are_those_of_the_same_recorder_and_not_of_every_second():
    # A heart that goes from 100 to 130 and back within each 10 s, written every 5 s without a loss.
    second = np.arange(600)
    bpm = 100.0 + 30.0 * (second % 10 >= 6)
    seen = effort(recording(pulse(second[::5].astype(float), bpm[::5])), BASIS).figures["heart_rate_mean"]
    true = effort(every_second(bpm), BASIS).figures["heart_rate_mean"].value
    assert (seen.low, seen.value, seen.high) == (100, 100, 100)
    assert true == pytest.approx(112)


@pytest.mark.parametrize(("stay_s", "longest_s"), [(0.95e-6, 0.0), (1.05e-6, 1.05e-6)])
def test_a_millionth_of_a_second_is_no_stay(stay_s, longest_s):
    held = Held(*map(np.array, ([0.0], [stay_s], [stay_s], [120.0])), 0.0, 1.0)
    assert bounds.longest_where(held, held.bpm > 110).value == longest_s


def test_the_edges_of_times_are_the_edges():
    held = Held(*map(np.array, ([0.0, 1, 2], [1.0] * 3, [1.0] * 3, [100.0, 110, 120])), 0.0, 3.0)
    assert bounds.above(held, 110.0)[1].tolist() == [False, False, True]
    assert bounds.within(held, 100.0, 110.0)[1].tolist() == [True, True, False]
    assert bounds.within(held, 100.1, 120.0)[1].tolist() == [False, True, True]
    assert bounds.above(held, 110.0)[0] is held
    assert bounds.within(held, 100.0, 110.0)[0] is held


def test_a_moment_on_both_sides_of_an_edge_vouches_for_nothing():
    least = np.array([100.0, 100.0, 110.0, 90.0, 125.0])
    most = np.array([110.0, 111.0, 120.0, 99.0, 130.0])
    held = replace(Held(np.arange(5.0), np.ones(5), np.ones(5), most, 0.0, 5.0), least_bpm=least)
    settled, inside = bounds.above(held, 110.0)
    assert (inside.tolist(), settled.certain_s.tolist()) == ([False, True, True, False, True], [1, 0, 0, 1, 1])
    settled, inside = bounds.within(held, 100.0, 110.0)
    assert (inside.tolist(), settled.certain_s.tolist()) == ([True, False, False, False, False], [1, 0, 0, 1, 1])
    settled, inside = bounds.within(held, 99.0, 125.0)
    assert (inside.tolist(), settled.certain_s.tolist()) == ([True, True, True, True, False], [1, 1, 1, 0, 0])
    assert settled.held_s.tolist() == [1] * 5


def test_a_phase_as_long_as_the_window_has_a_peak_and_a_shorter_one_has_none():
    for span_s, has_one in ((15.0, True), (15.0 - 0.5e-6, True), (15.0 - 2e-6, False), (14.9, False)):
        held = Held(*map(np.array, ([0.0], [span_s], [span_s], [100.0])), 0.0, span_s)
        assert (bounds.peak(held).value is not None) == has_one
    short = replace(held, lowest_bpm=20.0, highest_bpm=250.0)
    assert bounds.peak(short) == (None, 20, 250)


def test_a_wider_heart_widens_what_is_not_known():
    wide = replace(LAID, lowest_bpm=20.0, highest_bpm=250.0)
    assert bounds.mean(wide) == pytest.approx((1800 / 14, (1480 + 8 * 20) / 20, (1480 + 8 * 250) / 20))
    assert bounds.total(wide, lambda bpm: bpm / 60).high == pytest.approx((1480 + 8 * 250) / 60)
    assert bounds.peak(wide, 5.0) == pytest.approx((160, (2 * 100 + 3 * 160) / 5, (2 * 160 + 3 * 250) / 5))
    assert bounds.peak(wide, 2.0).low == 160
    assert bounds.peak(wide, 2.0).high == 250
