"""Values with bounds for what was not measured: means, peaks, times, longest stays and sums over a phase.

The doctrine, once: a *value* says what was measured (means are over the measured time; times and sums count the
measured time only; the beats of a phase are no such sum but its mean times its length, for no heart stands still in a
gap). *Low* and *high* let every unmeasured second be whatever a heart can be, 30 to 230 /min or as far
beyond as a reading that was set aside, and so always contain what the same recorder would have given without a loss.
Of readings that contradict each other at one moment they take the least and the highest. What the heart did between
two readings of a recorder that writes every 5 s is not in them. Nothing is filled in.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .timeline import Held

PEAK_WINDOW_S = 15.0
"""The peak is the highest mean over this long, so that one odd beat is none. Common practice, no source."""
_TINY_S = 1e-6

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


class Bounded(NamedTuple):
    """A value, and the range in which the same recorder's lies without a loss; ``value`` None: nothing measured."""

    value: float | None
    low: float
    high: float

    def through(self, formula: Callable[[float], float]) -> "Bounded":
        """The same after a formula that rises with its value."""
        value = None if self.value is None else float(formula(self.value))
        return Bounded(value, float(formula(self.low)), float(formula(self.high)))


def mean(held: Held) -> Bounded:
    """Time-weighted mean over the phase [beats/min]."""
    value = float(held.held_s @ held.bpm) / float(held.held_s.sum()) if held.measured_s > 0 else None
    low = (float(held.certain_s @ held.least) + held.unknown_s * held.lowest_bpm) / held.span_s
    high = (float(held.certain_s @ held.bpm) + held.unknown_s * held.highest_bpm) / held.span_s
    return _settled(value, low, high)


def peak(held: Held, window_s: float = PEAK_WINDOW_S) -> Bounded:
    """Highest mean over any stretch of ``window_s`` inside the phase [beats/min].

    The value is the highest over the stretches that were measured whole; a stretch measured in part raises it
    only as far as it is proven. None if the phase is shorter than the window.
    """
    if held.span_s < window_s - _TINY_S:
        return Bounded(None, held.lowest_bpm, held.highest_bpm)
    low = float(_window_means(held, held.certain_s, held.least, held.lowest_bpm, window_s).max())
    high = float(_window_means(held, held.certain_s, held.bpm, held.highest_bpm, window_s).max())
    seen = _window_means(held, held.held_s, held.bpm, 0.0, window_s)
    whole = _window_means(held, held.held_s, np.ones(len(held.bpm)), 0.0, window_s) >= 1 - _TINY_S / window_s
    value = float(seen[whole].max()) if whole.any() else None
    return _settled(value, low, high)


def _window_means(held: Held, length_s: Floats, values: Floats, fill: float, window_s: float) -> Floats:
    """Mean over every window that begins or ends where the value changes, unmeasured time taken as ``fill``.

    What a window reaches beyond the phase counts as 0, so that one inside is never less.
    """
    edges, area = _running_area(held, length_s, values, fill)
    starts = np.concatenate((edges, edges - window_s))
    return (np.interp(starts + window_s, edges, area) - np.interp(starts, edges, area)) / window_s


def _running_area(held: Held, length_s: Floats, values: Floats, fill: float) -> tuple[Floats, Floats]:
    """The integral of a piecewise constant rate from the phase's start, at every edge."""
    begin, end = held.start_s, held.start_s + length_s
    edges = np.empty(2 * len(begin) + 2)
    edges[0], edges[-1] = held.from_s, held.until_s
    edges[1:-1:2], edges[2:-1:2] = begin, end
    rate = np.full(2 * len(begin) + 1, fill)
    rate[1::2] = values
    return edges, np.append(0.0, np.cumsum(rate * np.diff(edges)))


def above(held: Held, edge_bpm: float) -> tuple[Held, Bools]:
    """Which samples are above an edge; where readings of one moment lie on both sides, none vouches for it."""
    inside = held.bpm > edge_bpm
    return held.without(inside & (held.least <= edge_bpm)), inside


def within(held: Held, low_bpm: float, high_bpm: float) -> tuple[Held, Bools]:
    """Which samples lie in a band, edges included; where readings of one moment differ in it, none vouches for it."""
    below, over = held.least < low_bpm, held.bpm > high_bpm
    straddles = (below | over) & (held.bpm >= low_bpm) & (held.least <= high_bpm)
    return held.without(straddles), (held.bpm >= low_bpm) & ~over


def time_where(held: Held, inside: Bools) -> Bounded:
    """Time for which a condition holds [s].

    inside : ndarray of bool, shape (n,), the condition for each of ``held``'s samples
    """
    low = float(held.certain_s[inside].sum())
    return _settled(float(held.held_s[inside].sum()), low, low + held.unknown_s)


def share_where(held: Held, inside: Bools) -> Bounded:
    """Share of the measured time for which a condition holds [%]."""
    time = time_where(held, inside)
    value = 100.0 * time.value / held.measured_s if time.value is not None and held.measured_s > 0 else None
    return _settled(value, 100.0 * time.low / held.span_s, 100.0 * time.high / held.span_s)


def longest_where(held: Held, inside: Bools, tolerance_s: float = 0.0) -> Bounded:
    """Longest stay for which a condition holds, dips of up to ``tolerance_s`` included [s].

    Unmeasured time counts as a dip for the value and the low bound, as a stay for the high bound.
    """
    start, certain, held_s = held.start_s[inside], held.certain_s[inside], held.held_s[inside]
    value = _longest(start, start + held_s, tolerance_s)
    low = _longest(start, start + certain, tolerance_s)
    outside = ~inside
    off = held.start_s[outside]
    begin = np.append(held.from_s, off + held.certain_s[outside])
    end = np.append(off, held.until_s)
    return _settled(value, low, _longest(begin, end, tolerance_s))


def _longest(begin: Floats, end: Floats, tolerance_s: float) -> float:
    """Longest of the stays left after joining those that lie no further apart than the tolerance [s]."""
    real = end - begin > _TINY_S
    begin, end = begin[real], end[real]
    if not len(begin):
        return 0.0
    broken = np.flatnonzero(begin[1:] - end[:-1] > tolerance_s + _TINY_S) + 1
    return float((end[np.append(broken - 1, len(end) - 1)] - begin[np.append(0, broken)]).max())


def stretches_where(held: Held, inside: Bools) -> tuple[tuple[float, float], ...]:
    """From when until when a condition holds, unmeasured time left out, in order [s].

    inside : ndarray of bool, shape (n,), the condition for each of ``held``'s samples
    """
    begin, end = held.start_s[inside], held.start_s[inside] + held.held_s[inside]
    real = end - begin > _TINY_S
    begin, end = begin[real], end[real]
    if not len(begin):
        return ()
    broken = np.flatnonzero(begin[1:] - end[:-1] > _TINY_S) + 1
    firsts, lasts = begin[np.append(0, broken)], end[np.append(broken - 1, len(end) - 1)]
    return tuple(zip(firsts.tolist(), lasts.tolist(), strict=True))


def total(held: Held, per_second: Callable[[Floats], Floats]) -> Bounded:
    """Sum over the measured time of a rate that never falls as the heart rate rises and is 0 at the lowest rate.

    A rate that is more than 0 at every heart rate is a formula of the mean: see ``cost.heart_beats``.

    per_second : the rate at each of these heart rates, shape (n,)
    """
    most = float(per_second(np.array([held.highest_bpm]))[0])
    high = float(held.certain_s @ per_second(held.bpm)) + held.unknown_s * most
    return _settled(float(held.held_s @ per_second(held.bpm)), float(held.certain_s @ per_second(held.least)), high)


def first_where(held: Held, inside: Bools) -> Bounded | None:
    """When a condition first holds, from the start of the phase; None if it was never seen to [s].

    The low bound is the first moment before it that no sample vouches for.
    """
    found = np.flatnonzero(inside)
    if not len(found):
        return None
    seen = float(held.start_s[found[0]])
    edge = np.append(held.from_s, held.start_s + held.certain_s)[: found[0] + 1]
    after = held.start_s[: found[0] + 1]
    unseen = np.flatnonzero(after - edge > _TINY_S)
    earliest = float(edge[unseen[0]]) if len(unseen) else seen
    return Bounded(seen - held.from_s, earliest - held.from_s, seen - held.from_s)


def _settled(value: float | None, low: float, high: float) -> Bounded:
    """Take the rounding of sums out: the value never lies a hair outside its own bounds."""
    if value is None:
        return Bounded(None, low, high)
    return Bounded(float(min(max(value, low), high)), low, high)
