"""The length of a cycle in each window: the peak of its likeness curve, found to a fraction of a sample.

Half and double are the two ways to be wrong. A strong harmonic, or left and right arm in turn, makes a peak at half a
cycle; every whole number of cycles makes one as well. So the shortest lag counts whose peak comes near the highest
one, and windows that could be read both ways are read one way throughout a recording.
"""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from .autocorrelation import Likeness

NEAR_HIGHEST, NOISE_SHARE = 0.92, 0.2
"""A peak is a whole cycle if it reaches 0.92 of the highest one, less 0.2 of what that one lacks to 1: noise lowers
peaks and makes them unequal. Halves told apart by a fundamental of over 0.2 of the harmonic's amplitude a stay below:
(1 - a²) / (1 + a²) = 0.92. Set on made rhythms of both kinds, arms in turn and weak movement in noise."""
EITHER = 0.75
"""Above this share of the whole cycle's likeness, half of it could be the cycle as well; all windows with about that
shortest reading are read one way."""
TURNED = 0.95
"""They are halves, left and right nearly alike, if the likeness one of them later is below this share of that two of
them later, by the middle window and less the share for noise. Of cycles that are all one, made with sizes that vary by
0.3, the middle window of 12 s and more showed 0.959 and above."""
TOLD_APART = 0.3
"""From this share up to that one, the halves are alike and yet surely two: steps, or arms in turn."""
CLEAR = 0.7
"""... if the whole is at least this like itself: in noise the likeness of half and whole differ by chance."""
UNSURE = (0.8, 0.97)
"""Between these shares, half the cycle against the whole, a window could be read both ways: a minute around it says."""
LEAST_PAIRS = 0.4
"""At least this share of a window's pairs must be measured."""
_CLOSE, _WIDE = 5, 30  # windows to either side whose middle value a window is held against
_SAME = 0.12  # lags that differ by less are of one rhythm
_FAMILY = 0.3  # cycles whose lengths differ by less, on a scale of logarithms, may be of one movement
_SELDOM = 0.25  # fewer windows than this share that are told apart may be chance
_ENOUGH = 0.7  # the other reading must be this like, as a share of the own one

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Cycles:
    """The cycle of each window, shape (w,), NaN without a peak.

    length_s : its length  [s]
    likeness : of the movement to itself one cycle later
    doubles : the likeness two cycles later, as a share of that; NaN beyond the lags there are
    """

    length_s: Floats
    likeness: Floats
    doubles: Floats


def cycles(like: Likeness, shortest_s: float, longest_s: float, least: float) -> Cycles:
    """Find the cycle of every window.

    Parameters
    ----------
    shortest_s, longest_s : range of a cycle's length  [s]
    least : a likeness below this counts for nothing when windows follow their neighbours
    """
    values = np.where(like.pairs >= LEAST_PAIRS, like.values, np.float32(0))
    step = float(like.lag_s[1] - like.lag_s[0])
    place, height = _peaks(values)  # of the inner lags
    lag = like.lag_s[1:-1] + step * place
    height[(lag < shortest_s) | (lag > longest_s)] = -1.0
    highest = height.max(axis=1)
    enough = NEAR_HIGHEST * highest - NOISE_SHARE * (1.0 - highest)
    first = np.argmax(height >= enough[:, None], axis=1)
    rows = np.arange(len(values))
    first = _one_reading(values, like.lag_s, lag, height, first, least)
    first = _settled(lag, height, first, _CLOSE, least, np.ones(len(rows), bool))
    share = _second_reading(values, like.lag_s, lag[rows, first], height[rows, first])
    unsure = (share > UNSURE[0]) & (share < UNSURE[1])
    first = _settled(lag, height, first, _WIDE, least, unsure)
    found = height[rows, first]
    length = _refined(values, like.lag_s, lag[rows, first])
    none = highest <= 0.0
    double = _at(values, like.lag_s, length * 2.0) / np.maximum(found, 1e-9)
    return Cycles(*(np.where(none, np.nan, row) for row in (length, np.minimum(found, 1.0), double)))


def _peaks(values: Singles) -> tuple[Singles, Singles]:
    """Parabola through each inner lag and its neighbours: top's place, in lags from the middle one, and height.

    A height of -1 where the middle one is no local maximum. Shapes (w, lags - 2).
    """
    left, middle, right = values[:, :-2], values[:, 1:-1], values[:, 2:]
    slope, bend = left - right, left - 2.0 * middle + right
    peak = (middle > left) & (middle >= right)
    place = np.divide(0.5 * slope, bend, out=np.zeros_like(bend), where=peak)
    return place, np.where(peak, middle - 0.25 * slope * place, -1.0)


def _one_reading(values: Singles, lag_s: Floats, lag: Floats, height: Singles, first: Ints, least: float) -> Ints:
    """Read all windows that could be half or whole one way.

    A window alone is read by its noise: of left and right nearly alike, one window would be counted double and the
    next not. So windows of about one unit, the shortest lag that could be the cycle, are read together. They are whole
    cycles if many others of that length show halves that are alike but told apart, for left and right in turn do not
    become one from bout to bout; or if, by the middle one of them, every second unit differs from the one between.
    Windows that are sure keep their reading, so a rhythm that does change to its double is followed. Where twice a unit
    is longer than the lags there are, its likeness is NaN, and by that none of its kind is turned.
    """
    rows = np.arange(len(lag))
    own, own_height = lag[rows, first], height[rows, first]
    share = _at(values, lag_s, own / 2.0) / np.maximum(own_height, 1e-9)
    known = own_height >= least
    unit = np.where(share > EITHER, own / 2.0, own)
    double = np.maximum(_at(values, lag_s, 2.0 * unit), 1e-9)
    turned = _at(values, lag_s, unit) / double
    told = known & (share > TOLD_APART) & (share <= EITHER) & (own_height >= CLEAR)
    read, left = own.copy(), known.copy()
    while left.any():
        usual = _middle(unit[left])
        alike = left & (np.abs(np.log(unit / usual)) < _FAMILY)
        left &= ~alike
        sure = np.count_nonzero(told & (np.abs(np.log(own / (2.0 * usual))) < _FAMILY))
        enough = TURNED - NOISE_SHARE * (1.0 / _middle(double[alike]) - 1.0)
        whole = sure >= _SELDOM * np.count_nonzero(alike) or bool(np.median(turned[alike]) < enough)
        read[alike] = unit[alike] * (2.0 if whole else 1.0)
    return _moved(lag, height, first, read, known & (np.abs(np.log(own / read)) > _SAME), least)


def _middle(values: Floats) -> float:
    """The middle one of the values, or the upper one of two: one that is there."""
    return float(np.sort(values)[len(values) // 2])


def _settled(lag: Floats, height: Singles, first: Ints, side: int, least: float, where: Bools) -> Ints:
    """Where a window's lag is far from the middle one of its neighbours, take its own peak near that, if fair."""
    if not where.any():
        return first
    rows = np.arange(len(lag))
    own, own_height = lag[rows, first], height[rows, first]
    usual = _running_median(np.where(own_height >= least, own, np.inf), side)
    usual = np.where(np.isfinite(usual), usual, own)
    return _moved(lag, height, first, usual, where & (np.abs(np.log(own / usual)) > _SAME), least)


def _moved(lag: Floats, height: Singles, first: Ints, usual: Floats, odd: Bools, least: float) -> Ints:
    """In odd windows take the highest peak near the usual lag, if it is fair and not much lower than the own one."""
    if not odd.any():
        return first
    near = np.abs(np.log(lag[odd] / usual[odd, None])) <= _SAME
    fitting = np.where(near, height[odd], -1.0)
    best = np.argmax(fitting, axis=1)
    tall = fitting[np.arange(len(best)), best]
    good = (tall >= least) & (tall >= _ENOUGH * height[odd, first[odd]])
    out = first.copy()
    out[np.flatnonzero(odd)[good]] = best[good]
    return out


def _running_median(values: Floats, side: int) -> Floats:
    """Median of the finite values up to ``side`` windows away; inf where fewer than three are finite."""
    padded = np.pad(values, side, constant_values=np.inf)
    ordered = np.sort(sliding_window_view(padded, 2 * side + 1), axis=1)
    count = np.isfinite(ordered).sum(axis=1)
    middle = ordered[np.arange(len(values)), (count - 1) // 2]
    return np.where(count >= 3, middle, np.inf)


def _second_reading(values: Singles, lag_s: Floats, lag: Floats, height: Singles) -> Floats:
    """The likeness at half the cycle over that at the whole, or, if that is higher, at the whole over the double."""
    half, double = _at(values, lag_s, lag / 2.0), _at(values, lag_s, 2.0 * lag)
    top = np.maximum(height, 1e-9)
    return np.where(double > top, top / np.maximum(double, 1e-9), half / top)


def _refined(values: Singles, lag_s: Floats, length: Floats) -> Floats:
    """Sharpen a cycle's length at 2, 4 and 8 cycles: a peak there is placed as well, and its error divided."""
    step, last = float(lag_s[1] - lag_s[0]), len(lag_s) - 2
    rows, out = np.arange(len(values)), length.copy()
    for cycle_count in (2, 4, 8):
        near = np.rint((out * cycle_count - lag_s[0]) / step)
        reachable = near < last
        middle = np.clip(near, 2, last - 1).astype(np.int64)
        around = values[rows[:, None], middle[:, None] + np.arange(-2, 3)]
        place, height = _peaks(around)
        best = np.argmax(height, axis=1)
        at = lag_s[middle] + step * (best - 1 + place[rows, best])
        sharper = at / cycle_count
        use = reachable & (height[rows, best] > 0.3) & (np.abs(sharper / out - 1.0) < 0.5 / cycle_count)
        out = np.where(use, sharper, out)
    return out


def _at(values: Singles, lag_s: Floats, lag: Floats) -> Singles:
    """Highest likeness within a lag or so of the one given, shape (w,); NaN beyond the lags there are."""
    place = np.rint((lag - lag_s[0]) / float(lag_s[1] - lag_s[0]))
    middle = np.clip(place, 2, len(lag_s) - 3).astype(np.int64)
    around = values[np.arange(len(values))[:, None], middle[:, None] + np.arange(-2, 3)]
    top = np.maximum(_peaks(around)[1].max(axis=1), around[:, 1:4].max(axis=1))
    return np.where((place >= 0) & (place < len(lag_s)), top, np.float32(np.nan))
