"""Cadence lock: stretches in which an optical heart-rate sensor shows the rhythm of the movement instead of the pulse.

A reported rate that stays within 3 /min of the cadence, or of twice the cadence, for more than 30 s is suspect (trade
tables 6.9, common practice). A true heart can lie there by chance, and one that is paced by work near twice the cadence
does so for minutes. So equality alone is no proof: a suspect stretch is weighed by three things, of which the last can
make no more than two thirds of what is needed.

- whether both move together: means over 10 s, their changes over 16 s. What is alike in them, as a share of both, is a
  correlation r from -1 to 1; atanh(r) times the root of how many such changes lie in the stretch varies by about 1
  where heart and rhythm have nothing to do with each other (Fisher's transformation)
- whether heart rate leaps onto the multiple, or from it, as no heart does: its change over 14 s before and after
- how close it lies: the root mean square distance; a sensor that counts pushes is off by less than 1 /min

    together + 0.3 (leap - 9, up to 10) + 4 ln(1.15 / distance, up to 1.35)  above 1.8  is a lock, if the distance is
    under 1.6 /min.

A sensor writes what it saw some seconds ago; the delay under which most speaks for locks is taken for the recording.
The weights are set on made hearts and cadences (``tests/bench/lock_accuracy.py`` prints what they find), no source.

Limits: where the cadence keeps to a metronome and the sensor's number is within some 10 /min of the true rate, nothing
moves that could prove a lock. Such a stretch is used, and told as unsure; a chest electrode would settle it. A lock of
under half a minute, or on a rhythm that the movement sensor did not see (the other arm), is not found. Only optical
sensors lock; nobody should ask this of a chest electrode.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...words.message import Message
from ...words.render import english, joined
from ..messages import movement as say
from .heart_rate_series import mean_around

CLOSE_BPM = 3.0
"""Heart rate lies at a multiple of the cadence if it is no further from it [/min]. Trade tables 6.9."""
LEAST_S = 30.0
"""... for longer than this [s]. Trade tables 6.9."""
MULTIPLES = (1, 2)
LATE_S = (2.0, 4.0, 6.0, 8.0, 10.0)
"""Delays that are tried [s]: optical sensors average over some seconds. Common practice, no source."""
HOLE_S = 4.0
"""Heart rate may leave the multiple for this long in between [s]."""
HALF_WINDOW_S = 4.0
"""Heart rate is averaged over as long as a rhythm's window [s]."""
SMOOTH_S, CHANGE_S = 10.0, 16.0
"""Means over the first, so that what a window misreads goes, and their changes over the second [s]."""
LEAP_S, LEAP_FROM_BPM, LEAP_MOST_BPM, LEAP = 14.0, 9.0, 19.0, 0.3
"""A heart that settles at the multiple was no more than 8 to 10 /min from it 14 s before."""
DISTANCE_BPM, FURTHEST_BPM, EQUAL, CLOSENESS = 1.15, 1.6, 0.3, 4.0
"""Closeness speaks for a lock below the first distance, against it above; up to 1.15 / exp(0.3) = 0.85 /min."""
ENOUGH = 1.8
"""The weights of the rule above."""
_ALIKE = 0.95  # more is not told from a correlation of 1

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Lock:
    """Where heart rate follows the movement.

    intervals : (from, until) of locked stretches, in order, which do not overlap  [s], on the clock of the heart rate
    near : the same for stretches that were suspect and not called a lock
    unsure : those of them that lie as close as a lock would, so that a sensor may count movements there
    compared_s : time for which both heart rate and cadence were known  [s]
    notes : what the reader of a figure should know
    """

    intervals: tuple[Span, ...]
    near: tuple[Span, ...]
    unsure: tuple[Span, ...]
    compared_s: float
    notes: tuple[Message, ...] = ()

    @property
    def note(self) -> str:
        """The notes in English."""
        return joined(map(english, self.notes))

    def covers(self, time_s: ArrayLike) -> Bools:
        """Which moments lie in a locked stretch, shape as given."""
        edges = np.array(self.intervals, dtype=np.float64).ravel()
        return np.searchsorted(edges, np.asarray(time_s, dtype=np.float64), side="right") % 2 == 1


def find_lock(
    start_s: ArrayLike,
    held_s: ArrayLike,
    bpm: ArrayLike,
    time_s: ArrayLike,
    per_minute: ArrayLike,
    multiples: Sequence[int] = MULTIPLES,
) -> Lock:
    """Find the stretches in which heart rate follows a rhythm.

    Parameters
    ----------
    start_s, held_s, bpm : array_like, shape (n,)
        where each heart rate begins to stand [s], for how long [s], and its value [/min]
    time_s, per_minute : array_like, shape (w,)
        evenly spaced middles of a rhythm's windows [s] and cadence [/min], NaN where there was none
    multiples : of the cadence. Where a cycle holds two like halves (steps), add 4: twice the steps
    """
    time, cadence = np.asarray(time_s, dtype=np.float64), np.asarray(per_minute, dtype=np.float64)
    if len(time) < 2:
        return Lock((), (), (), 0.0)
    step = float(time[1] - time[0])
    delayed = time + np.array(LATE_S)[:, None]
    around, near = (mean_around(start_s, held_s, bpm, delayed, half) for half in (HALF_WINDOW_S, HALF_WINDOW_S / 2))
    hearts, sharper = (dict(zip(LATE_S, rows, strict=True)) for rows in (around, near))
    found = {late: _judged(heart, sharper[late], cadence, multiples, step) for late, heart in hearts.items()}
    late = max(LATE_S, key=lambda delay: found[delay].weight)
    compared = float(np.count_nonzero(np.isfinite(hearts[late]) & np.isfinite(cadence))) * step
    judged = found[late]
    spans, near, unsure = (_spans(mask, time + late, step) for mask in (judged.locked, judged.near, judged.unsure))
    return Lock(spans, near, unsure, compared, _notes(spans, unsure, compared))


@dataclass(frozen=True, slots=True)
class _Judged:
    """What speaks for locks in all, and which windows are locked, suspect and not locked, and unsure, shape (w,)."""

    weight: float
    locked: Bools
    near: Bools
    unsure: Bools


def _judged(heart: Floats, sharp: Floats, cadence: Floats, multiples: Sequence[int], step: float) -> _Judged:
    """Judge every stretch in which heart rate stays near a multiple.

    Parameters
    ----------
    heart, sharp : heart rate over a window of the rhythm, and over half of one, shape (w,)  [/min]
    """
    weight, (locked, near, unsure) = 0.0, np.zeros((3, len(heart)), bool)
    for multiple in multiples:
        rhythm = multiple * cadence
        with np.errstate(invalid="ignore"):
            close = np.abs(heart - rhythm) <= CLOSE_BPM
        for first, last in _runs(_bridged(close, np.isfinite(heart) & np.isfinite(cadence), round(HOLE_S / step))):
            part = slice(first, last)
            if (last - first) * step <= LEAST_S:
                continue
            distance = float(np.sqrt(np.mean((heart[part] - rhythm[part]) ** 2)))
            changes = _leaps(heart, sharp, np.isfinite(rhythm), first, last, round(LEAP_S / step))
            own = together(heart[part], rhythm[part], step) + leap(changes) + closeness(distance)
            if own > ENOUGH and distance < FURTHEST_BPM:
                locked[part] = True
                weight += own * (last - first)
            else:
                near[part] = True
                unsure[part] |= distance < DISTANCE_BPM
    return _Judged(weight, locked, near, unsure)


def _leaps(heart: Floats, sharp: Floats, known: Bools, first: int, last: int, away: int) -> Floats:
    """By how much heart rate changed within so many windows up to a stretch, and behind it  [/min]; NaN if unknown.

    A true heart falls where the movement ends: behind a rhythm's end only a rise is a leap.

    Parameters
    ----------
    known : where there was a rhythm, shape (w,)
    first, last : of the stretch, one past its last window
    """
    before, after, out = first - away, last - 1 + away, np.full(2, np.nan)
    if before >= 0:
        out[0] = abs(heart[first] - sharp[before])
    if after < len(sharp):
        rise = sharp[after] - heart[last - 1]
        out[1] = abs(rise) if known[after] else rise
    return out


def together(heart: Floats, rhythm: Floats, step: float) -> float:
    """How surely two series move together; varies by about 1 around 0 where they do not.

    Parameters
    ----------
    heart, rhythm : evenly spaced, shape (n,), without gaps  [/min]
    step : between two values  [s]
    """
    width, apart = max(round(SMOOTH_S / step), 1), max(round(CHANGE_S / step), 1)
    if len(heart) < width + apart:
        return 0.0
    pulse, pace = (np.convolve(row, np.ones(width), "valid") for row in (heart, rhythm))  # only their ratio counts
    pulse, pace = pulse[apart:] - pulse[:-apart], pace[apart:] - pace[:-apart]
    both = float(np.sum(pulse**2 + pace**2))
    alike = 2.0 * float(np.sum(pulse * pace)) / both if both > 0 else 0.0
    changes = (len(heart) - width) / apart
    return float(np.arctanh(np.clip(alike, -_ALIKE, _ALIKE)) * np.sqrt(changes))


def leap(changes: Floats) -> float:
    """What the larger change says that heart rate makes shortly before or after a stretch [/min]; NaN says nothing."""
    furthest = float(np.nanmax(changes)) if np.isfinite(changes).any() else 0.0
    return LEAP * (min(max(furthest, LEAP_FROM_BPM), LEAP_MOST_BPM) - LEAP_FROM_BPM)


def closeness(distance: float) -> float:
    """What a root mean square distance says [/min]: for a lock below 1.15, against it above."""
    return CLOSENESS * min(float(np.log(DISTANCE_BPM / max(distance, 1e-3))), EQUAL)


def _bridged(close: Bools, known: Bools, longest: int) -> Bools:
    """The mask with its short holes closed, where both were known."""
    out = close.copy()
    for first, last in _runs(~close):
        if first > 0 and last < len(close) and last - first <= longest and known[first:last].all():
            out[first:last] = True
    return out


def _runs(mask: Bools) -> list[tuple[int, int]]:
    """First and one-past-last index of each stretch of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False]))))
    return [(int(first), int(last)) for first, last in zip(edges[::2], edges[1::2], strict=True)]


def _spans(mask: Bools, middle_s: Floats, step: float) -> tuple[Span, ...]:
    return tuple(
        (float(middle_s[first]) - step / 2, float(middle_s[last - 1]) + step / 2) for first, last in _runs(mask)
    )


def _notes(spans: tuple[Span, ...], unsure: tuple[Span, ...], compared_s: float) -> tuple[Message, ...]:
    locked = (say.found_locked(_length(spans), compared_s),) if spans else ()
    return (*locked, say.found_perhaps_locked(_length(unsure), compared_s)) if unsure else locked


def _length(spans: tuple[Span, ...]) -> float:
    return sum(until - begin for begin, until in spans)
