"""Bounds of a mean by how far a heart in its own rhythm can move across a short gap: by hand, attacked, held out."""

import numpy as np
import pytest
from ownmark.ingest.flags import Flag
from ownmark.metrics import Asked, Phases, choose_basis, effort
from ownmark.metrics.conditions import CONDITIONS
from ownmark.metrics.kinetics import NOT_IN, mean_within_reach, reach

from tests.bench.gap_bounds import outside
from tests.makers.gap_events import OTHER_RHYTHM, OWN_RHYTHM, events, smoothed
from tests.makers.recordings import pulse, recording


def with_gap(before=120.0, after=120.0, gap_s=10, *, left_s=50, right_s=50, flags=None):
    """Level stretches on both sides of a gap, one value a second from 0 on."""
    time = np.append(np.arange(left_s), left_s + gap_s + np.arange(right_s)).astype(float)
    return pulse(time, np.append(np.full(left_s, before), np.full(right_s, after)), flags=flags)


def bounds_of(stream, from_s=50.0, until_s=60.0, **more):
    return mean_within_reach(stream, from_s, until_s, **more)


# --- by hand ---


def test_a_heart_moves_by_fifty_at_once_and_six_in_each_further_second():
    assert [reach(0.0), reach(1.0), reach(10.0)] == [50, 56, 110]


def test_a_gap_between_equal_levels_is_a_roof_over_them():
    # 10 s at 120: 170 at its ends, 200 in its middle, 185 on the mean; the same below.
    assert bounds_of(with_gap()) == pytest.approx((55, 185))


def test_the_rest_of_the_phase_counts_as_it_was_measured():
    # 90 s at 120 beside it: (90 · 120 + 10 · 185) / 100.
    assert bounds_of(with_gap(), 10.0, 110.0) == pytest.approx((113.5, 126.5))


def test_what_was_set_aside_outside_the_phase_widens_no_gap_of_it():
    # Ten seconds under a roof and forty of which nothing is known, between level stretches of 50, 40 and 10 s.
    time = np.concatenate((np.arange(50.0), np.arange(60.0, 100.0), np.arange(140.0, 200.0)))
    odd = time == 180
    stream = pulse(time, np.where(odd, 250.0, 120.0), flags=np.where(odd, 4, 0).astype(np.uint16))
    known = 100 * 120
    found = bounds_of(stream, 0.0, 150.0)
    assert found == pytest.approx(((known + 10 * 55 + 40 * 30) / 150, (known + 10 * 185 + 40 * 230) / 150))
    # Inside the phase it does: one more second is lost, between stretches that are good, and it was rejected.
    found = bounds_of(stream, 0.0, 200.0)
    assert found[1] == pytest.approx((149 * 120 + 10 * 185 + 41 * 250) / 200)


def test_readings_that_contradict_each_other_count_by_their_ends_beside_a_gap_and_in_the_sum():
    stream = with_gap()
    twice = pulse(np.append(stream.time, 45.0), np.append(stream.values, 110.0))
    # From 110 down below, from 120 up above: on the left 60 falls by 6 and meets 70 - 6 (10 - t) at 4.17 s and 35.
    low = (50 / 12 * (60 + 35) / 2 + 70 / 12 * (35 + 70) / 2) / 10
    assert bounds_of(twice) == pytest.approx((low, 185))
    assert bounds_of(twice, 40.0, 60.0) == pytest.approx(((low * 10 + 9 * 120 + 110) / 20, (1850 + 1200) / 20))


def test_a_good_stretch_beside_a_gap_is_five_seconds_to_the_millionth():
    for left_s, narrowed in ((5, True), (4, False)):
        assert (bounds_of(with_gap(left_s=left_s), float(left_s), left_s + 10.0) is not None) == narrowed


def test_no_roof_is_higher_than_a_heart_goes():
    # From 170: 220 at the ends, 6 a second more reaches 230 after 1.67 s: 10 · 230 less two triangles of 1.67 · 10 / 2.
    assert bounds_of(with_gap(170.0, 170.0))[1] == pytest.approx((2300 - 2 * 10 * 10 / 6 / 2) / 10)
    # From 100 down: 50 at the ends, 30 after 3.33 s: 10 · 30 and two triangles of 3.33 · 20 / 2.
    assert bounds_of(with_gap(100.0, 100.0))[0] == pytest.approx((300 + 2 * 20 * 20 / 6 / 2) / 10)
    assert bounds_of(with_gap(60.0, 60.0))[0] == 30.0


def test_between_two_levels_the_roof_leans():
    # 120 to 150 in 10 s. From 170 rising by 6 meets 200 + 6 · (10 - t) at t = 7.5 and 215; mean of (170 + 215) / 2 over
    # 7.5 s and (215 + 200) / 2 over 2.5 s. Below: 70 falling meets 100 - 6 · (10 - t) at 2.5 and 55.
    high = (7.5 * (170 + 215) / 2 + 2.5 * (215 + 200) / 2) / 10
    low = (2.5 * (70 + 55) / 2 + 7.5 * (55 + 100) / 2) / 10
    assert bounds_of(with_gap(120.0, 150.0)) == pytest.approx((low, high))
    assert bounds_of(with_gap(150.0, 120.0)) == pytest.approx((low, high))


def test_a_phase_that_begins_or_ends_in_a_gap_takes_its_part_of_the_roof():
    assert bounds_of(with_gap(), 50.0, 55.0) == pytest.approx((55, 185))  # 170 to 200 over 5 s
    assert bounds_of(with_gap(), 58.0, 60.0) == pytest.approx((64, 176))  # 182 to 170
    assert bounds_of(with_gap(), 40.0, 52.0) == pytest.approx(((1200 + 2 * 64) / 12, (1200 + 2 * 176) / 12))


def test_the_level_beside_a_gap_is_the_least_and_the_most_of_ten_seconds():
    time = np.append(np.arange(50.0), np.arange(60.0, 110.0))
    bpm = np.full(100, 120.0)
    bpm[40] = bpm[59] = 130.0  # the first and the last second of the 10 s on each side
    assert bounds_of(pulse(time, bpm)) == pytest.approx((55, 195))
    bpm[[40, 59]], bpm[[39, 60]] = 120.0, 130.0
    assert bounds_of(pulse(time, bpm)) == pytest.approx((55, 185))


# --- where it holds ---


@pytest.mark.parametrize(("gap_s", "given"), [(30, True), (31, False)])
def test_only_gaps_of_up_to_half_a_minute_are_narrowed(gap_s, given):
    found = bounds_of(with_gap(gap_s=gap_s), 50.0, 50.0 + gap_s)
    assert (found is not None) == given


@pytest.mark.parametrize(("measured_s", "given"), [(5, True), (4, False)])
def test_five_of_the_ten_seconds_on_each_side_must_be_measured(measured_s, given):
    # Regular by 40 s of one value a second further off; between, nothing for longer than may be narrowed.
    for mirrored in (False, True):
        far, near, behind = np.arange(40.0), 100.0 - measured_s + np.arange(measured_s), 110.0 + np.arange(40.0)
        time = np.concatenate((far, near, behind))
        time = np.sort(209.0 - time) if mirrored else time
        found = bounds_of(pulse(time, np.full(len(time), 100.0)), *((99.0, 109.0 + 1) if mirrored else (100.0, 110.0)))
        assert (found is not None) == given


def test_gaps_without_a_stretch_on_both_sides_may_hold_anything():
    stream = with_gap()
    assert mean_within_reach(stream, -10.0, 5.0) is None
    assert mean_within_reach(stream, 105.0, 115.0) is None
    # 10 s before the first value may be 30 to 230; the gap of 10 s is narrowed.
    assert mean_within_reach(stream, -10.0, 60.0) == pytest.approx(((300 + 6000 + 550) / 70, (2300 + 6000 + 1850) / 70))


@pytest.mark.parametrize(("after", "given"), [(210.0, True), (211.0, False)])
def test_a_heart_that_moved_further_than_it_can_is_not_in_its_own_rhythm(after, given):
    assert (bounds_of(with_gap(100.0, after)) is not None) == given  # 110 in 10 s
    assert (bounds_of(with_gap(after, 100.0)) is not None) == given


@pytest.mark.parametrize("flag", [each for each in Flag if each not in (Flag.BACKWARD_STAMP, Flag.VARYING)])
def test_values_that_were_rejected_beside_the_gap_forbid_it_and_lost_ones_do_not(flag):
    lost = flag in (Flag.DROPOUT, Flag.NO_CONTACT, Flag.DUPLICATE_STAMP)
    used = flag in (Flag.SATURATED, Flag.UNPROVEN)  # nothing was rejected; the seconds vouched for are counted apart
    for second in (40, 55, 69):
        flags = np.zeros(110, np.uint16)
        flags[50:60] = Flag.DROPOUT
        flags[second] = flag
        stream = pulse(np.arange(110.0), np.full(110, 100.0), flags=flags)
        assert (bounds_of(stream) is not None) == (lost or used), second
    for second in (39, 71):
        flags = np.zeros(110, np.uint16)
        flags[50:60] = Flag.DROPOUT
        flags[second] = flag
        assert bounds_of(pulse(np.arange(110.0), np.full(110, 100.0), flags=flags)) is not None


def test_a_gap_that_begins_half_a_minute_before_the_phase_is_seen_whole():
    # A gap of 30 s that ends 2 s into the phase, and the 10 s before it.
    stream = with_gap(gap_s=30)
    assert mean_within_reach(stream, 78.0, 100.0) == pytest.approx(((2 * 64 + 2400) / 22, (2 * 176 + 2400) / 22))
    assert mean_within_reach(stream, 30.0, 52.0) == pytest.approx(((2 * 64 + 2400) / 22, (2 * 176 + 2400) / 22))


def test_the_values_next_to_the_gap_tell_how_far_the_heart_moved():
    # A second further off it was at 60, 111 under what follows; next to the gap it was not.
    time = np.append(np.arange(50.0), np.arange(60.0, 110.0))
    bpm = np.append(np.full(50, 60.0), np.full(50, 171.0))
    assert bounds_of(pulse(time, bpm)) is None
    bpm[49] = 61.0
    assert bounds_of(pulse(time, bpm)) is not None


@pytest.mark.parametrize(("values", "given"), [(10, True), (9, False)])
def test_a_good_stretch_is_counted_in_time(values, given):
    # Each value stands for half a second; before the ones beside the gap nothing for half a minute.
    time = np.concatenate((np.arange(0, 15, 0.5), 50 - 0.5 * np.arange(values, 0, -1), np.arange(60, 100, 0.5)))
    assert (bounds_of(pulse(time, np.full(len(time), 120.0))) is not None) == given


def test_single_beats_swing_too_far():
    time = np.append(np.arange(50.0), np.arange(60.0, 110.0))
    assert bounds_of(pulse(time, np.full(100, 100.0), cover_s=np.ones(100))) is None


def test_conditions_in_which_a_heart_leaves_its_own_rhythm_have_no_narrower_bounds():
    assert set(CONDITIONS) >= NOT_IN
    for name in NOT_IN:
        assert bounds_of(with_gap(), conditions=[name, "shunt"]) is None
    assert bounds_of(with_gap(), conditions=["shunt", "cerebral-palsy"]) is not None


def test_nothing_is_narrowed_where_nothing_is_missing():
    assert mean_within_reach(with_gap(), 10.0, 40.0) is None


# --- attacked: what a heart does in its own rhythm stays inside ---


@pytest.mark.parametrize("event", OWN_RHYTHM)
def test_no_event_of_a_heart_in_its_own_rhythm_leaves_the_bounds(event):
    assert missed(event, range(60)) == []


@pytest.mark.parametrize("event", OTHER_RHYTHM)
def test_another_rhythm_breaks_them_and_is_why_they_are_told_apart(event):
    assert missed(event, range(60))


def missed(event, seeds):
    """Trials in which the true mean of a gap lies outside its bounds, with the seconds that the recorder averages."""
    found = []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        gap_s = int(rng.integers(1, 31))
        course = events(gap_s, rng)[event]
        found += [(seed, over_s) for over_s in (1, 3, 8) if (outside(smoothed(course, over_s), gap_s) or 0) > 1e-6]
    return found


@pytest.mark.parametrize("name", ["rr_long.npy", "rr_short.npy"])
def test_gaps_cut_into_real_hearts_hold_their_mean(real_dir, name):
    # Young, strongly varying hearts (RR series of an open package), at each second, as a strap averages over 3 and 8 s.
    beats_s = np.load(real_dir / name) / 1000.0
    begin = np.cumsum(beats_s) - beats_s
    seconds = np.arange(int(begin[-1]))
    course = 60.0 / beats_s[np.searchsorted(begin, seconds, side="right") - 1]
    for over_s in (3, 8):
        rates = smoothed(course, over_s)
        for place, first in enumerate(range(0, len(rates) - 200, 17)):
            assert not outside(rates[first : first + 200], (1, 2, 5, 10, 20, 30)[place % 6])


# --- on the sheet ---


def test_the_sheet_shows_both_bounds_of_every_mean():
    stream = with_gap(100.0, 100.0, 10, left_s=100, right_s=90)
    basis = choose_basis(rest_bpm=70, measured_max_bpm=170)
    sheet = effort(recording(stream), basis, Phases(work=(0.0, 200.0)), Asked(distance_m=100))
    mean = sheet.figures["heart_rate_mean"]
    assert (mean.value, mean.low, mean.high) == pytest.approx((100, (19000 + 300) / 200, (19000 + 2300) / 200))
    assert (mean.own_rhythm_low, mean.own_rhythm_high) == pytest.approx(((19000 + 366.667) / 200, (19000 + 1650) / 200))
    for name, slope, offset in (
        ("heart_rate_rise", 1, -70),
        ("reserve_mean", 1, -70),
        ("cost_index", 200 / 60 / 100, -70 * 200 / 60 / 100),
        ("beats_total", 200 / 60, 0),
        ("beats_per_metre", 200 / 60 / 100, 0),
    ):
        figure = sheet.figures[name]
        assert figure.own_rhythm_low == pytest.approx(mean.own_rhythm_low * slope + offset)
        assert figure.own_rhythm_high == pytest.approx(mean.own_rhythm_high * slope + offset)
    others = [figure for name, figure in sheet.figures.items() if figure.own_rhythm_low is not None]
    assert len(others) == 6


def test_the_value_lies_inside_the_narrower_bounds_too():
    # 100 measured on the mean; the gap lies in a stretch at 180, so that the truth cannot be as low.
    bpm = np.full(200, 90.0)
    bpm[90:120] = 180.0
    keep = np.ones(200, bool)
    keep[100:110] = False
    stream = pulse(np.flatnonzero(keep).astype(float), bpm[keep])
    mean = effort(recording(stream), None, Phases(work=(0.0, 200.0))).figures["heart_rate_mean"]
    assert mean.low < mean.value == mean.own_rhythm_low < mean.own_rhythm_high <= mean.high


def test_a_rhythm_disorder_keeps_the_sheet_to_what_any_heart_can_do():
    sheet = effort(recording(with_gap()), choose_basis(conditions=["pacemaker"]), Phases(work=(0.0, 100.0)))
    assert sheet.figures["heart_rate_mean"].low is not None
    assert sheet.figures["heart_rate_mean"].own_rhythm_low is None
