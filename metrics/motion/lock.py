"""Cadence lock: stretches in which an optical heart-rate sensor shows the rhythm of the movement instead of the pulse.

A reported rate that stays within 3 /min of the cadence, or of twice the cadence, for more than 30 s is suspect (trade
tables 6.9, common practice). A true heart can pass there by chance, and when a heart is paced by work near twice the
cadence it does so often. So a suspect stretch is weighed by three things:

- how close it lies: the root mean square distance; a sensor that counts pushes is off by less than 1 /min
- whether it moves along: the changes over 16 s, of heart rate and of the multiple of the cadence. Unlike means their
  difference is as large as both together (ratio 1), alike means that nothing is left of it (ratio 0)
- how long it lasts

    ln(1.6 / distance) + 0.3 ln(1 / ratio) + 0.3 ln(length / 30 s)  above 0.85  is a lock.

A sensor writes what it saw some seconds ago; the delay under which most speaks for locks is taken for the recording.
The weights are set on made hearts and cadences (``tests/bench/rhythm_accuracy.py`` prints what they find), no source.

Limits: a true heart that stands still within 1 /min of a metronome's multiple is called a lock; no arithmetic can tell
them apart, a chest electrode can. A lock of under half a minute, or on a rhythm that the movement sensor did not see
(the other arm), is not found. Only optical sensors lock; nobody should ask this of a chest electrode.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .pulse import mean_around

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
CHANGE_S = 16.0
DISTANCE_BPM, ALONG, LENGTH, ENOUGH = 1.6, 0.3, 0.3, 0.85
"""The weights of the rule above."""
_RATIOS = (0.05, 1.5)

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Lock:
    """Where heart rate follows the movement.

    intervals : (from, until) of locked stretches, in order, which do not overlap  [s], on the clock of the heart rate
    near : the same for stretches that were suspect and not called a lock
    compared_s : time for which both heart rate and cadence were known  [s]
    note : what the reader of a figure should know; empty if nothing
    """

    intervals: tuple[Span, ...]
    near: tuple[Span, ...]
    compared_s: float
    note: str

    @property
    def locked_s(self) -> float:
        """Time in locked stretches [s]."""
        return sum(until - begin for begin, until in self.intervals)

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
        return Lock((), (), 0.0, "")
    step = float(time[1] - time[0])
    hearts = {late: mean_around(start_s, held_s, bpm, time + late, HALF_WINDOW_S) for late in LATE_S}
    found = {late: _locked(heart, cadence, multiples, step) for late, heart in hearts.items()}
    late = max(LATE_S, key=lambda delay: found[delay][0])
    _, locked, near = found[late]
    compared = float(np.count_nonzero(np.isfinite(hearts[late] + cadence))) * step
    spans = _spans(locked, time + late, step)
    return Lock(spans, _spans(near & ~locked, time + late, step), compared, _note(spans, compared))


def _locked(heart: Floats, cadence: Floats, multiples: Sequence[int], step: float) -> tuple[float, Bools, Bools]:
    """What speaks for locks in all, which windows are locked, and which are only close for long; shape (w,)."""
    total, locked, near = 0.0, np.zeros(len(heart), bool), np.zeros(len(heart), bool)
    for multiple in multiples:
        with np.errstate(invalid="ignore"):
            close = np.abs(heart - multiple * cadence) <= CLOSE_BPM
        for first, last in _runs(_bridged(close, np.isfinite(heart + cadence), round(HOLE_S / step))):
            part = slice(first, last)
            if (last - first) * step <= LEAST_S:
                continue
            weight = _weight(heart[part], multiple * cadence[part], step)
            if weight > ENOUGH:
                locked[part] = True
                total += weight * (last - first)
            else:
                near[part] = True
    return total, locked, near


def _bridged(close: Bools, known: Bools, longest: int) -> Bools:
    """The mask with its short holes closed, where both were known."""
    out = close.copy()
    for first, last in _runs(~close):
        if first > 0 and last < len(close) and last - first <= longest and known[first:last].all():
            out[first:last] = True
    return out


def _weight(heart: Floats, rhythm: Floats, step: float) -> float:
    """What speaks for a lock, by the rule of the module."""
    distance = max(float(np.sqrt(np.mean((heart - rhythm) ** 2))), 1e-3)
    apart = round(CHANGE_S / step)
    pulse, pace = heart[apart:] - heart[:-apart], rhythm[apart:] - rhythm[:-apart]
    both = float(np.sum(pulse**2 + pace**2))
    ratio = float(np.sum((pulse - pace) ** 2)) / both if both > 0 else 1.0
    lasting = len(heart) * step / LEAST_S
    return float(np.log(DISTANCE_BPM / distance) - ALONG * np.log(np.clip(ratio, *_RATIOS)) + LENGTH * np.log(lasting))


def _runs(mask: Bools) -> list[tuple[int, int]]:
    """First and one-past-last index of each stretch of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return [(int(first), int(last)) for first, last in zip(edges[::2], edges[1::2], strict=True)]


def _spans(mask: Bools, middle_s: Floats, step: float) -> tuple[Span, ...]:
    return tuple(
        (float(middle_s[first]) - step / 2, float(middle_s[last - 1]) + step / 2) for first, last in _runs(mask)
    )


def _note(spans: tuple[Span, ...], compared_s: float) -> str:
    if not spans:
        return ""
    locked = sum(until - begin for begin, until in spans)
    return (
        f"For {locked:.0f} of {compared_s:.0f} s heart rate keeps to the rhythm of the movement, or to twice it: there "
        "the sensor most likely counts movements, not heart beats. Look at these stretches before using a figure, and "
        "wear a chest electrode for rhythmic arm work."
    )
