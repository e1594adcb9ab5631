"""The cycle in a curve of likeness: parabolas, half and double, neighbours, worked out by hand."""

import numpy as np
import pytest
from ownmark.metrics.motion.autocorrelation import Likeness
from ownmark.metrics.motion.cycle_length import (
    _at,
    _middle,
    _moved,
    _one_reading,
    _peaks,
    _refined,
    _running_median,
    _second_reading,
    _settled,
    cycles,
)

NAN = np.nan
STEP_S = 0.05
LAG_S = 0.2 + STEP_S * np.arange(77)  # to 4.0 s


def curve(cycle_s, *, half=0.0, height=1.0):
    """Likeness of a movement: 1 at every cycle, ``half`` of that between two."""
    whole, double = np.cos(2 * np.pi * LAG_S / cycle_s), np.cos(4 * np.pi * LAG_S / cycle_s)
    share = (1 + half) / 2  # cos 2 has 1 at the half, cos 1 has -1 there
    return height * (share * double + (1 - share) * whole)


def like(*rows, pairs=1.0):
    values = np.array(rows)
    shares = np.broadcast_to(np.asarray(pairs, dtype=float), (len(rows),))
    return Likeness(
        np.arange(len(rows), dtype=float),
        LAG_S,
        values.astype(np.float32),
        np.repeat(shares[:, None], len(LAG_S), axis=1).astype(np.float32),
        np.ones(len(rows), np.float32),
        np.ones(len(rows), np.float32),
    )


def found(*rows, least=0.4, shortest_s=0.4, longest_s=3.8, **words):
    return cycles(like(*rows, **words), shortest_s, longest_s, least)


# ---- the pieces


def test_a_peak_is_where_the_parabola_has_its_top():
    # Through 1, 3, 2: the top is at (1 - 2) / 2 / (1 - 6 + 2) = 1/6 behind the middle, 1/4 · 1/6 above it.
    place, height = _peaks(np.array([[1.0, 3.0, 2.0]]))
    assert place[0] == pytest.approx(1 / 6)
    assert height[0] == pytest.approx(3 + 1 / 24)


def test_a_slope_is_no_peak_and_of_two_equal_ones_the_first_is():
    place, height = _peaks(np.array([[1.0, 2.0, 3.0, 3.0, 1.0]]))
    assert height[0, 0] == -1.0
    assert height[0, 1] == pytest.approx(3.125)
    assert place[0, 1] == pytest.approx(0.5)
    assert height[0, 2] == -1.0


def test_the_highest_within_a_lag_or_so():
    values = np.zeros((1, 77))
    values[0, 20] = 0.8  # at 1.2 s; its parabola is its own top
    for lag, seen in ((1.2, 0.8), (1.15, 0.8), (1.25, 0.8), (1.1, 0.0), (1.3, 0.0)):
        assert _at(values, LAG_S, np.array([lag]))[0] == pytest.approx(seen), lag
    assert np.isnan(_at(values, LAG_S, np.array([4.04]))[0])
    assert _at(values, LAG_S, np.array([4.02]))[0] == 0.0
    assert np.isnan(_at(values, LAG_S, np.array([0.16]))[0])
    assert _at(values, LAG_S, np.array([0.18]))[0] == 0.0
    assert _at(np.where(np.arange(77) == 1, 0.7, 0.0)[None], LAG_S, np.array([0.3]))[0] == pytest.approx(0.7)
    assert _at(np.where(np.arange(77) == 75, 0.7, 0.0)[None], LAG_S, np.array([4.0]))[0] == pytest.approx(0.7)


def test_the_middle_one_is_one_that_is_there():
    assert _middle(np.array([3.0, 1.0, 2.0])) == 2.0
    assert _middle(np.array([4.0, 1.0, 2.0, 3.0])) == 3.0


def test_a_running_median_needs_three():
    values = np.array([1.0, 5.0, np.inf, 2.0, np.inf, np.inf, 9.0])
    assert _running_median(values, 2).tolist() == [np.inf, 2.0, 2.0, np.inf, np.inf, np.inf, np.inf]
    assert _running_median(values, 3)[3] == 2.0  # 1 2 5 9: the lower one of two
    assert _running_median(np.array([4.0, 1.0, 3.0]), 1).tolist() == [np.inf, 3.0, np.inf]


LAG = np.array([[1.0, 1.1, 2.0, 2.2]])


def moved(heights, first=2, usual=1.0, odd=True, least=0.4):
    return int(_moved(LAG, np.array([heights]), np.array([first]), np.array([usual]), np.array([odd]), least)[0])


def test_an_odd_window_takes_the_highest_peak_near_the_usual_lag():
    assert moved([0.6, 0.7, 0.9, 0.1]) == 1
    assert moved([0.7, 0.6, 0.9, 0.1]) == 0
    assert moved([0.7, 0.6, 0.9, 0.1], odd=False) == 2
    assert moved([0.65, 0.9, 0.9, 0.1], usual=0.95) == 0  # 1.1 is further away than 0.12 on a scale of logarithms
    assert moved([0.65, 0.9, 0.9, 0.1], usual=0.98) == 1
    assert moved([0.65, 0.9, 0.9, 0.1], usual=0.97) == 0  # 0.126


def test_it_has_to_be_fair_and_seven_tenths_of_the_own_one():
    assert moved([0.39, -1, 0.4, -1]) == 2
    assert moved([0.4, -1, 0.4, -1]) == 0
    assert moved([0.69, -1, 1.0, -1]) == 2
    assert moved([0.7, -1, 1.0, -1]) == 0


def test_a_window_far_from_its_neighbours_follows_them_where_it_may():
    lag = np.tile(LAG, (7, 1))
    height = np.tile([0.8, 0.0, 0.9, 0.0], (7, 1))
    first = np.array([0, 0, 0, 2, 0, 0, 0])
    assert _settled(lag, height, first, 2, 0.4, np.ones(7, bool)).tolist() == [0] * 7
    assert _settled(lag, height, first, 2, 0.4, np.zeros(7, bool)).tolist() == first.tolist()
    assert _settled(lag, height, first, 2, 0.95, np.ones(7, bool)).tolist() == first.tolist()  # nobody to follow
    assert _settled(lag[:2], height[:2], np.array([0, 2]), 2, 0.4, np.ones(2, bool)).tolist() == [0, 2]


def test_the_second_reading_is_the_half_or_where_that_is_more_the_double():
    row = np.zeros((1, 77))
    row[0, [12, 28, 60]] = (0.6, 0.8, 0.4)  # 0.8, 1.6 and 3.2 s
    assert _second_reading(row, LAG_S, np.array([1.6]), np.array([0.8]))[0] == pytest.approx(0.75)
    row[0, 60] = 0.9
    assert _second_reading(row, LAG_S, np.array([1.6]), np.array([0.8]))[0] == pytest.approx(8 / 9)
    row[0, 60] = 0.8
    assert _second_reading(row, LAG_S, np.array([1.6]), np.array([0.8]))[0] == pytest.approx(0.75)


def test_a_length_is_sharpened_where_more_cycles_are_seen():
    row = curve(0.47)[None]
    for rough in (0.46, 0.48):
        assert _refined(row, LAG_S, np.array([rough]))[0] == pytest.approx(0.47, abs=0.0005)
    weak = np.where(LAG_S < 0.6, row, 0.2 * row)
    assert _refined(weak, LAG_S, np.array([0.46]))[0] == 0.46  # under 0.3 nothing is sure
    assert _refined(curve(3.0)[None], LAG_S, np.array([3.1]))[0] == 3.1  # two of them are beyond the lags


# ---- windows alone and together


@pytest.mark.parametrize("cycle_s", [0.5, 0.73, 1.3, 2.17, 3.5])
def test_a_plain_rhythm_is_found_with_its_likeness(cycle_s):
    row = found(curve(cycle_s, half=-1.0))
    assert row.length_s[0] == pytest.approx(cycle_s, rel=0.003)
    assert row.likeness[0] == pytest.approx(1.0, abs=0.01)
    if 2 * cycle_s < 3.9:
        assert row.doubles[0] == pytest.approx(1.0, abs=0.02)
    else:
        assert np.isnan(row.doubles[0])


def test_cycles_outside_of_the_range_are_none():
    assert np.isnan(found(curve(1.3, half=-1.0), longest_s=1.2).length_s[0])
    assert found(curve(1.3, half=-1.0), shortest_s=1.4).length_s[0] == pytest.approx(2.6, rel=0.01)


def test_too_few_pairs_and_no_peak_have_no_cycle():
    assert np.isnan(found(curve(1.3, half=-1.0), pairs=0.39).length_s[0])
    assert found(curve(1.3, half=-1.0), pairs=0.4).length_s[0] == pytest.approx(1.3, rel=0.003)
    assert found(curve(1.3, half=-1.0), pairs=0.41).length_s[0] == pytest.approx(1.3, rel=0.003)
    row = found(np.zeros(77), curve(1.3, half=-1.0))
    assert np.isnan([row.length_s[0], row.likeness[0], row.doubles[0]]).all()
    assert row.length_s[1] == pytest.approx(1.3, rel=0.003)


@pytest.mark.parametrize(("half", "length_s"), [(0.90, 1.6), (0.97, 0.8)])
def test_the_shortest_lag_counts_that_comes_near_the_highest_peak(half, length_s):
    # A peak reaches 0.92 of the highest one, and every second unit differs where it is below 0.95 of the others.
    assert found(curve(1.6, half=half)).length_s[0] == pytest.approx(length_s, rel=0.01)


def test_what_noise_lowers_may_be_lower_still():
    # Peaks of 0.6 lack 0.4 to 1: 0.92 · 0.6 - 0.2 · 0.4 = 0.472 is enough, which is 0.787 of 0.6.
    assert found(curve(1.6, half=0.82, height=0.6), least=0.7).length_s[0] == pytest.approx(0.8, rel=0.01)
    assert found(curve(1.6, half=0.74, height=0.6), least=0.7).length_s[0] == pytest.approx(1.6, rel=0.01)


def test_windows_that_could_be_read_both_ways_are_read_one_way():
    rows = [curve(1.6, half=half) for half in (0.99, 0.86, 0.99, 0.9, 0.99, 0.99, 0.88)]
    assert found(*rows).length_s == pytest.approx(np.full(7, 0.8), rel=0.02)
    rows = [curve(1.6, half=half) for half in (0.9, 0.86, 0.99, 0.9, 0.85, 0.9, 0.88)]
    assert found(*rows).length_s == pytest.approx(np.full(7, 1.6), rel=0.02)


def test_a_window_is_held_against_its_neighbours():
    # The other reading has to be 0.7 of the own one.
    steady = [curve(1.0, half=-1.0)] * 5
    for half, length_s in ((0.74, 1.0), (0.66, 2.0)):
        lengths = found(*steady, curve(2.0, half=half), *steady).length_s
        assert lengths == pytest.approx([1.0] * 5 + [length_s] + [1.0] * 5, rel=0.02)


def test_one_reading_leaves_what_is_sure_and_too_weak():
    lag, height = LAG_S[None, 1:-1], _peaks(curve(1.0, half=-1.0)[None])[1]
    first = np.array([int(np.argmax(height[0]))])
    same = _one_reading(curve(1.0, half=-1.0)[None], LAG_S, lag, height, first, 0.4)
    assert same.tolist() == first.tolist()
    assert _one_reading(curve(1.0, half=-1.0)[None], LAG_S, lag, height, first, 1.5).tolist() == first.tolist()


@pytest.mark.parametrize(("half", "length_s"), [(0.80, 1.6), (0.70, 1.6)])
def test_a_half_that_stays_well_below_is_told_apart(half, length_s):
    rows = found(*[curve(1.6, half=half)] * 3)
    assert rows.length_s == pytest.approx(np.full(3, length_s), rel=0.01)


@pytest.mark.parametrize(("height", "shortened"), [(0.29, False), (0.31, True)])
def test_a_peak_of_three_tenths_sharpens(height, shortened):
    row = height * curve(0.47)[None]
    assert bool(_refined(row, LAG_S, np.array([0.46]))[0] != 0.46) is shortened


# ---- each threshold at its edge, with likeness at single lags


def spikes(**heights):
    """A likeness of nought but at these hundredths of a second."""
    row = np.zeros(77)
    for name, height in heights.items():
        row[round((int(name[2:]) / 100 - 0.2) / STEP_S)] = height
    return row


def read(*windows, least=0.4):
    """Lags that windows are read at, from (likeness, the hundredths at which each alone is read)."""
    values = np.array([row for row, _ in windows], np.float32)
    height = _peaks(values)[1]
    lag = np.tile(LAG_S[1:-1], (len(values), 1))
    first = np.array([round((alone / 100 - 0.2) / STEP_S) - 1 for _, alone in windows])
    at = _one_reading(values, LAG_S, lag, height, first, least)
    return [round(100 * LAG_S[1 + each]) for each in at]


EQUAL = spikes(at80=1.0, at160=1.0), 80
"""A window of halves that are alike, read as such."""


def whole(share, height=1.0):
    """A window that alone is read as whole, its half as like as this share of it."""
    return spikes(at80=share * height, at160=height), 160


def test_a_half_of_over_three_quarters_is_read_as_the_others_are():
    assert read(*[EQUAL] * 5, whole(0.76)) == [80] * 6
    assert read(*[EQUAL] * 5, whole(0.74)) == [80] * 5 + [160]
    assert read(*[EQUAL] * 5, whole(0.75)) == [80] * 5 + [160]


def test_a_quarter_of_windows_that_are_told_apart_make_all_whole():
    assert read(*[EQUAL] * 4, whole(0.5)) == [160] * 5
    assert read(*[EQUAL] * 4, whole(0.75)) == [160] * 5
    assert read(*[EQUAL] * 5, whole(0.5)) == [80] * 5 + [160]
    assert read(*[EQUAL] * 40, *[whole(0.5)] * 9) == [80] * 40 + [160] * 9
    assert read(*[EQUAL] * 40, *[whole(0.5)] * 10) == [160] * 50


def test_told_apart_are_halves_of_three_tenths_of_a_whole_of_seven_tenths():
    assert read(*[EQUAL] * 4, whole(0.31)) == [160] * 5
    assert read(*[EQUAL] * 4, whole(0.29)) == [80] * 4 + [160]
    assert read(*[EQUAL] * 4, whole(0.5, 0.71)) == [160] * 5
    assert read(*[EQUAL] * 4, whole(0.5, 0.69)) == [80] * 4 + [160]
    assert read(*[EQUAL] * 4, whole(0.5, 0.75), least=0.76) == [80] * 4 + [160]


def test_told_apart_they_are_of_about_twice_the_length():
    for hundredths, of_it in ((120, True), (115, False), (210, True), (220, False)):
        other = np.zeros(77)
        other[[round((hundredths / 200 - 0.2) / STEP_S), round((hundredths / 100 - 0.2) / STEP_S)]] = 0.5, 1.0
        assert read(*[EQUAL] * 4, (other, hundredths))[:4] == [160 if of_it else 80] * 4, hundredths


def test_every_second_unit_differs_below_95_hundredths_less_what_noise_takes():
    assert read((spikes(at80=0.945, at160=1.0), 80)) == [160]
    assert read((spikes(at80=0.955, at160=1.0), 80)) == [80]
    # Of 0.8 a quarter is missing: 0.95 - 0.2 / 4 = 0.9.
    assert read((spikes(at80=0.898 * 0.8, at160=0.8), 80)) == [160]
    assert read((spikes(at80=0.902 * 0.8, at160=0.8), 80)) == [80]


def test_windows_whose_lengths_differ_by_less_than_three_tenths_are_read_together():
    differ = spikes(at80=0.9, at160=1.0), 80
    for hundredths, together in ((105, True), (110, False), (60, True), (55, False)):
        other = np.zeros(77)
        other[[round((hundredths / 100 - 0.2) / STEP_S), round((hundredths / 50 - 0.2) / STEP_S)]] = 1.0
        expected = [160] * 5 + [2 * hundredths if together else hundredths]
        assert read(*[differ] * 5, (other, hundredths)) == expected, hundredths


def test_windows_too_weak_to_be_read_stop_nobody():
    weak = spikes(at80=0.3, at160=0.35), 80
    assert read(weak, (spikes(at80=0.9, at160=1.0), 80)) == [80, 160]


STILL = np.zeros(77)


def test_a_window_is_held_against_five_to_either_side():
    odd, steady = curve(2.0, half=0.74), curve(1.0, half=-1.0)
    rest = [STILL] * 14 + [steady] * 8
    assert found(odd, *[STILL] * 3, steady, steady, *rest).length_s[0] == pytest.approx(1.0, rel=0.02)
    assert found(odd, *[STILL] * 3, steady, STILL, steady, *rest).length_s[0] == pytest.approx(2.0, rel=0.02)
    assert found(*rest[::-1], steady, steady, *[STILL] * 3, odd).length_s[-1] == pytest.approx(1.0, rel=0.02)
    assert found(*rest[::-1], steady, STILL, steady, *[STILL] * 3, odd).length_s[-1] == pytest.approx(2.0, rel=0.02)


@pytest.mark.parametrize(
    ("low", "length_s"),
    [(0.398, 0.8), (0.402, 1.6), (0.484, 1.6), (0.486, 0.8)],
)
def test_from_eight_tenths_to_97_hundredths_a_minute_to_either_side_decides(low, length_s):
    # Of a peak of 0.5 twice as late.
    either, steady = spikes(at80=low, at160=0.5), spikes(at160=1.0)
    near = found(either, *[STILL] * 28, steady, steady, least=0.3)
    assert near.length_s[0] == pytest.approx(length_s, rel=0.02)
    far = found(either, *[STILL] * 28, steady, STILL, steady, least=0.3)
    assert far.length_s[0] == pytest.approx(0.8, rel=0.02)


@pytest.mark.parametrize(("share", "length_s"), [(0.79, 0.8), (0.783, 1.6)])
def test_what_noise_takes_is_a_fifth_of_what_the_highest_lacks(share, length_s):
    # 0.92 · 0.6 - 0.2 · 0.4 is 0.7867 of 0.6.
    assert found(curve(1.6, half=share, height=0.6), least=0.7).length_s[0] == pytest.approx(length_s, rel=0.01)


def test_lengths_at_the_ends_of_the_range_belong_to_it():
    row = spikes(at80=0.9)
    for words in ({"shortest_s": float(LAG_S[12])}, {"longest_s": float(LAG_S[12])}):
        assert found(row, **words).length_s[0] == pytest.approx(0.8)
    assert np.isnan(found(row, shortest_s=float(LAG_S[12]) + 1e-9).length_s[0])
    assert np.isnan(found(row, longest_s=float(LAG_S[12]) - 1e-9).length_s[0])


def test_a_top_below_nought_is_no_cycle_and_one_above_1_counts_as_1():
    assert np.isnan(found(np.where(np.arange(77) == 12, -0.1, -0.5)).length_s[0])
    assert found(curve(1.3, half=-1.0, height=1.05)).likeness[0] == 1.0
    row = found(spikes(at80=0.5, at160=0.4))
    assert (row.length_s[0], row.likeness[0], row.doubles[0]) == pytest.approx((0.8, 0.5, 0.8))


def test_lags_with_too_few_pairs_are_like_nothing():
    made = like(curve(1.3, half=-1.0))
    made.pairs[0, LAG_S > 2.0] = 0.39
    row = cycles(made, 0.4, 3.8, 0.4)
    assert (row.length_s[0], row.doubles[0]) == (pytest.approx(1.3, rel=0.003), 0.0)


@pytest.mark.parametrize(("many", "cycle_s", "length_s"), [(2, 1.2, 1.225), (4, 0.8, 0.8125), (8, 0.4, 0.40625)])
def test_two_four_and_eight_cycles_sharpen_by_their_own_peak(many, cycle_s, length_s):
    # A peak one lag behind so many cycles.
    row = np.zeros(77)
    row[round((many * cycle_s - 0.2) / STEP_S) + 1] = 0.9
    assert _refined(row[None], LAG_S, np.array([cycle_s]))[0] == pytest.approx(length_s)


def test_a_window_moves_to_just_that_reading_and_to_no_higher_peak_beside_it():
    # Within 0.12 on a scale of logarithms: 71 to 90 hundredths, and 142 to 180.
    assert read(*[EQUAL] * 5, (spikes(at65=0.9, at80=0.76, at95=0.9, at160=1.0), 160))[-1] == 80
    told = spikes(at80=0.8, at140=1.0, at160=0.95, at185=1.0), 80
    assert read(told) == [160]


def test_a_sharper_length_is_off_by_less_than_half_a_cycle_over_all_of_them():
    # Lags of twentieths from 0.05 on. A peak at 0.3 says 0.15: by less than a quarter more than 0.121, and not 0.1185.
    lag_s = STEP_S * np.arange(1, 78)
    row = np.where(np.arange(77) == 5, 0.9, 0.0)[None]
    assert _refined(row, lag_s, np.array([0.121]))[0] == pytest.approx(0.15)
    assert _refined(row, lag_s, np.array([0.1185]))[0] == 0.1185


def test_peaks_at_the_last_lags_sharpen_nothing():
    row = np.where(np.arange(77) == 74, 0.9, 0.0)[None]
    assert _refined(row, LAG_S, np.array([1.975]))[0] == 1.975
    assert _refined(row, LAG_S, np.array([1.96]))[0] == pytest.approx(1.95)
