"""Adding cadence up to cycles: over which time it counts, which rhythm is the recording's, and what could be missing.

A trial has one main rhythm, that of most of its rhythmic time. Now and then another movement repeats itself as well:
someone bends five times between two walks. A mean over both is the cadence of neither, so a bout with a rhythm far from
the main one is left out and told, as long as such bouts are few. A rhythm that changes within a bout, however far, is
the same work and counts.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..bounds import Bounded
from .autocorrelation import Likeness
from .cycle_length import LEAST_PAIRS
from .grid import Grid

SLOWEST, FASTEST = 15.0, 130.0
"""Cadences looked for [/min]. Arm movements and pushes: 20 to 120 (common practice), and a margin."""
FAR = 1.8
"""A rhythm this many times as fast or slow as the main one is another: less than a half or a double, more than hills
and fatigue do. Common practice, no source."""
FEW = 1 / 3
"""Bouts of another rhythm are left out if they hold no more than this share of the rhythmic time; with more of it
there is no main rhythm."""
MISREAD = 0.1
"""... and single windows that far away are taken as misread, in the variation alone, up to this share of them."""
_COUNT_HZ = 4.0  # cadence is added up in steps of a quarter of a second
_MARGIN = 0.03  # of the count, where something was not measured: the accuracy that was found on made signals

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Span = tuple[float, float]
Spans = Sequence[Span]


@dataclass(frozen=True, slots=True)
class Counted:
    """Cycles over the rhythmic time, that time, time that could hold more, and measured movement in the phase [s]."""

    cycle_count: float
    rhythmic_s: float
    unknown_s: float
    moving_s: float


@dataclass(frozen=True, slots=True)
class Other:
    """A bout of another rhythm: (from, until) [s] and its middle cadence [/min]."""

    from_s: float
    until_s: float
    per_minute: float


def count(band: Grid, like: Likeness, per_minute: Floats, moving: Spans, within: Span | None, reach_s: Span) -> Counted:
    """Add up cadence over the measured, moving, rhythmic time of the phase.

    Parameters
    ----------
    per_minute : cadence of each window, NaN where none counts, shape (w,)  [/min]
    reach_s : for how long a window speaks, and for how long where the windows around hold too little to say else  [s]
    """
    every = max(int(band.rate_hz / _COUNT_HZ), 1)
    time, step = band.time_s[::every], every / band.rate_hz
    from_s, until_s = within or (band.start_s, band.start_s + len(band.values) / band.rate_hz)
    known = np.isfinite(band.values[::every, 0]) & (time >= from_s) & (time < until_s)
    unknown_s = max(until_s - from_s - step * np.count_nonzero(known), 0.0)
    inside = known & in_spans(time, moving)
    moving_s = step * int(np.count_nonzero(inside))
    nearest = np.rint((time - like.time_s[0]) / (like.time_s[1] - like.time_s[0])).astype(np.int64)
    few = (like.measured < LEAST_PAIRS)[np.minimum(nearest, len(like.time_s) - 1)]
    good = np.flatnonzero(np.isfinite(per_minute))
    if not len(good):
        return Counted(0.0, 0.0, float(unknown_s + step * np.count_nonzero(known & few)), moving_s)
    centres = like.time_s[good]
    behind = np.searchsorted(centres, time)
    before, after = centres[np.maximum(behind - 1, 0)], centres[np.minimum(behind, len(good) - 1)]
    apart = np.minimum(np.abs(time - before), np.abs(time - after))
    near = apart <= np.where(few, reach_s[1], reach_s[0])
    unknown_s += step * np.count_nonzero(known & few & ~near)
    counts = inside & near
    cadence = np.interp(time[counts], centres, per_minute[good])
    rhythmic_s = step * int(np.count_nonzero(counts))
    return Counted(float(cadence.sum()) * step / 60.0, rhythmic_s, float(unknown_s), moving_s)


def others(time_s: Floats, per_minute: Floats, bouts: Spans, within: Span | None) -> tuple[Other, ...]:
    """Bouts of another rhythm than the main one, if they are few.

    Parameters
    ----------
    time_s, per_minute : middle of each window [s] and its cadence [/min], NaN where there is none, shape (w,)
    bouts : (from, until) in order, apart by more than a window sees of both  [s]
    within : the phase; only its windows are weighed  [s]
    """
    there = np.flatnonzero(np.isfinite(per_minute) & in_phase(time_s, within))
    if not len(there) or len(bouts) < 2:
        return ()
    main = float(np.median(per_minute[there]))
    begin, until = np.array(bouts, dtype=np.float64).T
    bout = np.searchsorted(0.5 * (until[:-1] + begin[1:]), time_s[there])
    found: list[Other] = []
    share = 0
    for number in np.unique(bout).tolist():
        cadence = per_minute[there[bout == number]]
        usual = float(np.median(cadence))
        if far(usual, main):
            found.append(Other(float(begin[number]), float(until[number]), usual))
            share += len(cadence)
    return tuple(found) if share <= FEW * len(there) else ()


def far(per_minute: Floats | float, main: float) -> Bools:
    """Whether a cadence is another than the main one, or a half or double of it."""
    return np.asarray(np.abs(np.log(per_minute / main)) > np.log(FAR))


def variation(per_minute: Floats) -> float:
    """Standard deviation as a share of the mean; a few windows read as half or double do not enter [%]."""
    off = far(per_minute, float(np.median(per_minute)))
    kept = per_minute[~off] if np.mean(off) <= MISREAD else per_minute
    return 100.0 * float(kept.std()) / float(kept.mean())


def in_spans(time: Floats, spans: Spans) -> Bools:
    """Which moments lie in one of the spans, which are in order and do not overlap."""
    edges = np.array(spans, dtype=np.float64).ravel()
    return np.searchsorted(edges, time, side="right") % 2 == 1


def in_phase(time: Floats, within: Span | None) -> Bools:
    """Which moments lie in the phase."""
    return np.ones(len(time), bool) if within is None else (time >= within[0]) & (time < within[1])


def joined(spans: Spans, pause_s: Floats | float) -> list[Span]:
    """Spans in order, neighbours joined over pauses shorter than ``pause_s``, one for all or one for each pause [s]."""
    if not len(spans):
        return []
    begin, until = np.array(spans, dtype=np.float64).T
    apart = begin[1:] - until[:-1] >= pause_s
    first, last = begin[np.append(True, apart)], until[np.append(apart, True)]
    return list(zip(first.tolist(), last.tolist(), strict=True))


def through_pauses(moving: Spans, time_s: Floats, length_s: Floats, reach_s: float) -> Spans:
    """Movement with the pauses in it that are shorter than the cycle around them, as of a hand at rest between pushes.

    Parameters
    ----------
    time_s, length_s : middle of each window, and its cycle, NaN without a rhythm, shape (w,)  [s]
    reach_s : a window speaks for pauses no further away  [s]
    """
    known = np.isfinite(length_s)
    if len(moving) < 2 or not known.any():
        return moving
    middles, cycle_s = time_s[known], length_s[known]
    begin, until = np.array(moving, dtype=np.float64).T
    pause: Floats = 0.5 * (until[:-1] + begin[1:])
    behind = np.searchsorted(middles, pause)
    before, after = middles[np.maximum(behind - 1, 0)], middles[np.minimum(behind, len(middles) - 1)]
    near = np.minimum(np.abs(pause - before), np.abs(after - pause)) <= reach_s
    return joined(moving, np.where(near, np.interp(pause, middles, cycle_s), 0.0))


def count_bounds(counted: Counted) -> Bounded:
    """Unmeasured time may hold no cycle, or the fastest there are."""
    value = counted.cycle_count
    if counted.unknown_s < 1e-6:
        return Bounded(value, value, value)
    high = value + counted.unknown_s * FASTEST / 60.0
    return Bounded(value, value * (1 - _MARGIN), high + value * _MARGIN)


def mean_bounds(mean: float, counted: Counted) -> Bounded:
    """Unmeasured time may hold the slowest or the fastest rhythm."""
    if counted.unknown_s < 1e-6:
        return Bounded(mean, mean, mean)
    known, unknown = counted.rhythmic_s, counted.unknown_s
    low = (mean * (1 - _MARGIN) * known + SLOWEST * unknown) / (known + unknown)
    high = (mean * (1 + _MARGIN) * known + FASTEST * unknown) / (known + unknown)
    return Bounded(mean, float(min(low, mean)), float(max(high, mean)))
