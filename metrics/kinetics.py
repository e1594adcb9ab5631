"""Narrower bounds for a mean: how far a heart in its own rhythm can move across a short gap between good stretches.

A heart cannot be at 60 /min and at 200 /min five seconds apart. Between two stretches that were measured, a gap of up
to 30 s is let hold anything that lies within ``reach`` of both sides: 50 /min at once and 6 /min in each further
second, up or down, and never outside what a heart can be. That is well beyond the fastest that is known, all from
memory but the last: a startle, up to 30 /min; the vagal answer to the first seconds of work, about 30 /min in 4 s; a
sprint from rest, 5 to 6 /min a second for 15 s; standing up, 40 /min in 10 s; recovery of children after hard work, a
time constant of 23 s with a standard deviation of 7 s (abstract), about 5 /min a second at first.

It does not hold for a heart that leaves its own rhythm: a run of another rhythm, or a pause, that begins and ends
inside the gap. So it is never given where a condition makes these likely, nor where values beside the gap were
rejected, and it is always told apart from the bounds that hold whatever the heart does.
"""

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from ..ingest.flags import REJECTING, Flag
from ..ingest.recording import Stream
from .timeline import Held, hold

AT_ONCE_BPM, PER_SECOND_BPM = 50.0, 6.0
LONGEST_GAP_S = 30.0
BESIDE_S, MEASURED_BESIDE_S = 10.0, 5.0
"""A good stretch: at least 5 s vouched for in the 10 s beside the gap. Common practice, no source."""
NOT_IN = frozenset(
    {
        "pacemaker",
        "heart-transplant",
        "heart-rhythm-disorder",
        "heart-condition",
        "autonomic-disorder",
        "spinal-injury-t6-or-above",
        "spinal-injury-level-unknown",
    }
)
"""Conditions in which a heart may leave its own rhythm, or fall by reflex faster than it does after work."""
_LOST = Flag.DROPOUT | Flag.NO_CONTACT | Flag.DUPLICATE_STAMP  # nothing was measured, so nothing was rejected
_TINY_S = 1e-6

Floats = NDArray[np.float64]


def mean_within_reach(
    stream: Stream, from_s: float, until_s: float, conditions: Collection[str] = ()
) -> tuple[float, float] | None:
    """``(low, high)`` of the time-weighted mean over a phase [beats/min]; None where no gap can be narrowed.

    Parameters
    ----------
    stream : heart rate as a recorder wrote it, with flags set; single beats swing too far
    from_s, until_s : the phase  [s]
    conditions : names of the student's conditions
    """
    if stream.cover_s is not None or NOT_IN & set(conditions):
        return None
    margin_s = LONGEST_GAP_S + BESIDE_S
    around = hold(stream, from_s - margin_s, until_s + margin_s)
    rejected = stream.time[(stream.flags & np.uint16(REJECTING & ~_LOST)) != 0]
    inside = hold(stream, from_s, until_s)
    low, high = float(inside.certain_s @ inside.least), float(inside.certain_s @ inside.bpm)
    narrowed = False
    for place, begin, end in _gaps(around):
        first, last = max(begin, from_s), min(end, until_s)
        if first >= last:
            continue
        sides = _sides(around, place, begin, end, rejected)
        if sides is None:
            low, high = low + inside.lowest_bpm * (last - first), high + inside.highest_bpm * (last - first)
            continue
        narrowed = True
        (least_before, most_before), (least_after, most_after) = sides
        low -= _most(-least_before, -least_after, -inside.lowest_bpm, (begin, end), (first, last))
        high += _most(most_before, most_after, inside.highest_bpm, (begin, end), (first, last))
    span_s = until_s - from_s
    return (low / span_s, high / span_s) if narrowed else None


def reach(seconds: float) -> float:
    """How far a heart in its own rhythm can move in a time [beats/min]."""
    return AT_ONCE_BPM + PER_SECOND_BPM * seconds


def _gaps(around: Held) -> list[tuple[int, float, float]]:
    """Stretches that no sample vouches for: ``(number of samples before it, from, until)`` [s]."""
    begin = np.append(around.from_s, around.start_s + around.certain_s)
    end = np.append(around.start_s, around.until_s)
    return [(int(place), float(begin[place]), float(end[place])) for place in np.flatnonzero(end - begin > _TINY_S)]


def _sides(
    around: Held, place: int, begin: float, end: float, rejected: Floats
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Least and most of the values beside a gap, before it and after it; None where the gap cannot be narrowed."""
    if not 0 < place < len(around.bpm) or end - begin > LONGEST_GAP_S:
        return None
    if abs(around.bpm[place] - around.bpm[place - 1]) > reach(end - begin):
        return None
    near = np.searchsorted(rejected, [begin - BESIDE_S, end + BESIDE_S])
    if near[0] != near[1]:
        return None
    first, last = np.searchsorted(around.start_s, [begin - BESIDE_S, end + BESIDE_S])
    before, after = slice(int(first), place), slice(place, int(last))
    if min(around.certain_s[before].sum(), around.certain_s[after].sum()) < MEASURED_BESIDE_S - _TINY_S:
        return None
    least, most = around.least, around.bpm
    left = float(least[before].min()), float(most[before].max())
    return left, (float(least[after].min()), float(most[after].max()))


def _most(before: float, after: float, cap: float, gap: tuple[float, float], part: tuple[float, float]) -> float:
    """Area under the highest course through a part of a gap between two levels.

    The course leaves one level and comes to the other at the fastest, and stays under the cap.
    """
    (begin, end), (first, last) = gap, part
    meet = (begin + end) / 2 + (after - before) / (2 * PER_SECOND_BPM)
    up = begin + (cap - before - AT_ONCE_BPM) / PER_SECOND_BPM
    down = end - (cap - after - AT_ONCE_BPM) / PER_SECOND_BPM
    at = np.sort(np.clip([first, last, meet, up, down], first, last))
    rising, falling = before + reach(0.0) + PER_SECOND_BPM * (at - begin), after + reach(end) - PER_SECOND_BPM * at
    return float(np.trapezoid(np.minimum(np.minimum(rising, falling), cap), at))
