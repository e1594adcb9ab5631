"""The rhythm of pushes, cranks, arm circles and strides: cadence, how steady it is, and how many cycles there were.

A *cycle* is what repeats: one push, one turn of the crank, one stride. Where left and right move in turn it is both
together: a walker of 96 steps a minute has 48 cycles. How like the halves of a cycle are stands beside the cadence,
because a cycle of two equal halves cannot be told from two short ones by any movement sensor.

The way: band of 0.2 to 3.3 Hz (``band``), likeness over 8 s windows 2 s apart (``likeness``), its peak (``cycles``),
and windows joined to stretches of one rhythm. No rhythm is an answer as well. Accuracy on made signals is printed by
``tests/bench/rhythm_accuracy.py``; a published count of wheelchair strokes from accelerometers was 10 % off (RESNA
2012, 13 people with a spinal cord injury), and in 30 people wrist step counters 46 % and more at 30 strokes a minute
(Kressler 2018).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..bounds import Bounded
from .band import rhythm_band
from .cycles import LEAST_PAIRS, Cycles, cycles
from .grid import Grid
from .likeness import Likeness, likeness

SLOWEST, FASTEST = 15.0, 130.0
"""Cadences looked for [/min]. Arm movements and pushes: 20 to 120 (common practice), and a margin."""
WINDOW_S = 8.0
"""Middles of the pairs that a window holds; it sees one cycle more, so that three cycles of 20 /min fit."""
SAMPLES_A_CYCLE = 8.0
"""Four to each cycle of the second harmonic: with fewer, a cadence is not given. Common practice, no source."""
SURE, FAIR = 0.6, 0.4
"""A stretch of rhythm holds a window at least this much like itself, and none less than this. Set on noise of several
bands, rolling without a rhythm and real racket play, which stay below, and real walks, which reach it."""
LEAST_G = 0.005
"""Root mean square below which a movement is a sensor's noise or a heart beat. Common practice, no source."""
_STEP_S = WINDOW_S / 4
_STEADY = 0.15  # neighbouring windows of one stretch differ by less than this share
_FEWEST = 3  # windows in a stretch
_FEWEST_BESIDE = 5  # ... and beside another: a change of rhythm lies in four, which may show a common multiple
_REACH_S = WINDOW_S / 2  # a window speaks for its own length
_FAR_S = WINDOW_S  # ... and further where the windows hold too little that was measured to say anything else
_LIKE_HALVES = 0.5
_EVERY_SECOND = 1.03  # likeness two cycles later over one later: 1 or less where every cycle is alike
_MOST_TOO_FAST = 0.1  # of the rhythmic windows; with more, the rest says nothing of the trial
_COUNT_HZ = 4.0  # cadence is added up in steps of a quarter of a second
_MARGIN = 0.03  # of the count, where something was not measured: the accuracy that was found on made signals

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Span = tuple[float, float]
Spans = Sequence[Span]


@dataclass(frozen=True, eq=False)
class Rhythm:
    """Rhythm of a recording, or why there is none (``note``).

    time_s : middle of each window, shape (w,)  [s]
    per_minute : cadence in it, shape (w,)  [/min]; NaN without a rhythm, or where too little was measured
    confidence : how like itself the movement is one cycle later, 0 to 1, shape (w,); NaN where per_minute is
    cadence_mean : mean over the rhythmic time  [/min]; None without a rhythm
    cadence_variation_percent : standard deviation over the windows, as a share of the mean  [%]. A window holds
        several cycles: the difference from one cycle to the next is not in it
    cycle_count : cycles in the rhythmic time  [1]; None without a rhythm
    rhythmic_s : time with movement and a rhythm  [s]
    halves : how like the two halves of a cycle are, 1 for equal ones; None if unknown
    """

    time_s: Floats
    per_minute: Floats
    confidence: Floats
    cadence_mean: Bounded | None
    cadence_variation_percent: float | None
    cycle_count: Bounded | None
    rhythmic_s: float
    halves: float | None
    note: str


def cadence_of(cycle_s: float) -> float:
    """Cadence of a cycle's length [/min]: 60 / length."""
    return 60.0 / cycle_s


def resolution(span_s: float) -> float:
    """Difference of cadence that a stretch can show [/min]: 60 / span. A smaller change is none to report."""
    return 60.0 / span_s


def fastest_at(rate_hz: float) -> float:
    """The highest cadence that a sampling rate allows [/min]."""
    return min(FASTEST, 60.0 * rate_hz / SAMPLES_A_CYCLE)


def rhythm(
    grid: Grid,
    moving: Spans,
    *,
    within: Span | None = None,
    up_to: float | None = None,
) -> Rhythm:
    """Find the rhythm of a movement.

    Parameters
    ----------
    grid : acceleration, values of shape (n, 3) or (n,)  [g]
    moving : (from, until) of movement, in order; only they count  [s]
    within : phase over which cycles are counted and bounds are taken  [s]; None: the grid
    up_to : a cadence that must be found if it is there  [/min]; a sampling rate too low for it gives no number
    """
    fastest = fastest_at(grid.rate_hz)
    if fastest < max(up_to or 0.0, 2 * SLOWEST):
        return _none(_too_slow(grid.rate_hz, fastest, up_to))
    band = rhythm_band(grid)
    if len(band.values) < WINDOW_S * band.rate_hz:
        return _none(f"No rhythm is given: {WINDOW_S:.0f} s of movement have to be measured.")
    like = likeness(band, WINDOW_S, (0.5 * 60.0 / FASTEST, 60.0 / SLOWEST * 1.02))
    found = cycles(like, 60.0 / FASTEST / 1.03, 60.0 / SLOWEST, FAIR)
    per_minute = 60.0 / found.length_s
    rhythmic = _in_stretches(per_minute, found, like)
    inside = _in_spans(like.time_s, [(begin - _STEP_S / 2, until + _STEP_S / 2) for begin, until in moving])
    too_fast = rhythmic & (per_minute > fastest)
    note = _fast_note(grid.rate_hz, fastest) if (too_fast & inside).any() else ""
    if np.count_nonzero(too_fast & inside) > _MOST_TOO_FAST * np.count_nonzero(rhythmic & inside):
        rhythmic[:] = False
    good = rhythmic & ~too_fast
    counted = _count(band, like, np.where(good, per_minute, np.nan), moving, within)
    counted = replace(counted, unknown_s=counted.unknown_s + _STEP_S * np.count_nonzero(too_fast & inside))
    good &= inside
    shown, sure = (np.where(good, row, np.nan) for row in (per_minute, found.likeness))
    notes = (note, _turns_note(found.doubles[good], counted)) if counted.rhythmic_s > 0 else (note,)
    return _told(like.time_s, shown, sure, found.halves[good], counted, [each for each in notes if each])


def _in_stretches(per_minute: Floats, found: Cycles, like: Likeness) -> Bools:
    """Windows that belong to a stretch of one rhythm, shape (w,)."""
    fair = (found.likeness >= FAIR) & (like.size_g >= LEAST_G)
    with np.errstate(invalid="ignore"):
        joined = fair[1:] & fair[:-1] & (np.abs(np.diff(np.log(per_minute))) < _STEADY)
    beside = fair[1:] & fair[:-1] & ~joined
    stretch = np.append(0, np.cumsum(~joined))
    sizes, tops = np.bincount(stretch, weights=fair), np.zeros(stretch[-1] + 1)
    np.maximum.at(tops, stretch, np.where(fair, found.likeness, 0.0))
    fewest = np.full(len(sizes), _FEWEST)
    fewest[stretch[1:][beside]] = fewest[stretch[:-1][beside]] = _FEWEST_BESIDE
    return fair & ((sizes >= fewest) & (tops >= SURE))[stretch]


@dataclass(frozen=True)
class _Counted:
    cycle_count: float
    rhythmic_s: float
    unknown_s: float


def _count(band: Grid, like: Likeness, per_minute: Floats, moving: Spans, within: Span | None) -> _Counted:
    """Add up cadence over the measured, moving, rhythmic time of the phase."""
    every = max(int(band.rate_hz / _COUNT_HZ), 1)
    time, step = band.time_s[::every], every / band.rate_hz
    from_s, until_s = within or (band.start_s, band.start_s + len(band.values) / band.rate_hz)
    known = np.isfinite(band.values[::every, 0]) & (time >= from_s) & (time < until_s)
    unknown_s = max(until_s - from_s - step * np.count_nonzero(known), 0.0)
    nearest = np.rint((time - like.time_s[0]) / (like.time_s[1] - like.time_s[0])).astype(np.int64)
    few = (like.pairs[:, 0] < LEAST_PAIRS)[np.minimum(nearest, len(like.time_s) - 1)]
    good = np.flatnonzero(np.isfinite(per_minute))
    if not len(good):
        return _Counted(0.0, 0.0, unknown_s + step * np.count_nonzero(known & few))
    centres = like.time_s[good]
    behind = np.searchsorted(centres, time)
    before, after = centres[np.maximum(behind - 1, 0)], centres[np.minimum(behind, len(good) - 1)]
    apart = np.minimum(np.abs(time - before), np.abs(time - after))
    counts = known & (apart <= np.where(few, _FAR_S, _REACH_S))
    unknown_s += step * np.count_nonzero(known & few & ~counts)
    counts &= _in_spans(time, moving)
    cadence = np.interp(time[counts], centres, per_minute[good])
    return _Counted(float(cadence.sum()) * step / 60.0, step * int(np.count_nonzero(counts)), float(unknown_s))


def _in_spans(time: Floats, spans: Spans) -> Bools:
    """Which moments lie in one of the spans, which are in order and do not overlap."""
    edges = np.array(spans, dtype=np.float64).ravel()
    return np.searchsorted(edges, time, side="right") % 2 == 1


def _told(
    time_s: Floats, per_minute: Floats, confidence: Floats, halves: Floats, counted: _Counted, notes: list[str]
) -> Rhythm:
    """Put the answer together."""
    if counted.rhythmic_s <= 0:
        why = notes or ["No rhythm was found: the movement did not repeat itself evenly for 8 s or longer."]
        return Rhythm(time_s, per_minute, confidence, None, None, None, 0.0, None, " ".join(why))
    mean = 60.0 * counted.cycle_count / counted.rhythmic_s
    shown = per_minute[np.isfinite(per_minute)]
    halves = halves[np.isfinite(halves)]
    half = float(np.median(halves)) if len(halves) else None
    if half is not None and half >= _LIKE_HALVES:
        notes.append(
            f"Each cycle holds two halves that are alike, as steps are, or left and right arm in turn: {mean:.0f} "
            f"cycles a minute are {2 * mean:.0f} halves."
        )
    notes.append(
        f"A change of cadence of less than {resolution(counted.rhythmic_s):.1f} /min is below what "
        f"{counted.rhythmic_s:.0f} s can show."
    )
    return Rhythm(
        time_s,
        per_minute,
        confidence,
        _mean_bounds(mean, counted),
        100.0 * float(shown.std()) / float(shown.mean()),
        _count_bounds(counted),
        counted.rhythmic_s,
        half,
        " ".join(notes),
    )


def _turns_note(doubles: Floats, counted: _Counted) -> str:
    """Say so where every second cycle is a little different: the double, just not by enough to be taken."""
    doubles = doubles[np.isfinite(doubles)]
    if not len(doubles) or np.median(doubles) < _EVERY_SECOND:
        return ""
    return (
        f"Every second cycle differs a little from the one between: if left and right move in turn, two of them are "
        f"one, and {counted.cycle_count:.0f} are {counted.cycle_count / 2:.0f}."
    )


def _count_bounds(counted: _Counted) -> Bounded:
    """Unmeasured time may hold no cycle, or the fastest there are."""
    value = counted.cycle_count
    if counted.unknown_s < 1e-6:
        return Bounded(value, value, value)
    high = value + counted.unknown_s * FASTEST / 60.0
    return Bounded(value, value * (1 - _MARGIN), high + value * _MARGIN)


def _mean_bounds(mean: float, counted: _Counted) -> Bounded:
    """Unmeasured time may hold the slowest or the fastest rhythm."""
    if counted.unknown_s < 1e-6:
        return Bounded(mean, mean, mean)
    known, unknown = counted.rhythmic_s, counted.unknown_s
    low = (mean * (1 - _MARGIN) * known + SLOWEST * unknown) / (known + unknown)
    high = (mean * (1 + _MARGIN) * known + FASTEST * unknown) / (known + unknown)
    return Bounded(mean, min(low, mean), max(high, mean))


def _none(note: str) -> Rhythm:
    empty = np.empty(0)
    return Rhythm(empty, empty, empty, None, None, None, 0.0, None, note)


def _too_slow(rate_hz: float, fastest: float, up_to: float | None) -> str:
    wanted = up_to or 2 * SLOWEST
    return (
        f"No rhythm is given: at {rate_hz:.3g} samples a second a cadence above {fastest:.0f} /min cannot be told. Set "
        f"the sensor to at least {np.ceil(wanted * SAMPLES_A_CYCLE / 60.0):.0f} samples a second."
    )


def _fast_note(rate_hz: float, fastest: float) -> str:
    return (
        f"Some of the movement seems faster than {fastest:.0f} /min, the most that {rate_hz:.3g} samples a second can "
        f"show: no cadence is given there. Set the sensor to at least {np.ceil(FASTEST * SAMPLES_A_CYCLE / 60.0):.0f}."
    )
