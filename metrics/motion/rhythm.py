"""The rhythm of pushes, cranks, arm circles and strides: cadence, how steady it is, and how many cycles there were.

A *cycle* is what repeats: one push, one turn of the crank, one stride. Where left and right move in turn it is both
together: a walker of 96 steps a minute has 48 cycles. How like the halves of a cycle are stands beside the cadence,
because a cycle of two equal halves cannot be told from two short ones by any movement sensor.

The way: band of 0.2 to 3.3 Hz (``band``), without the knocks of a floor (``knocks``), likeness over 8 s windows 2 s
apart that do not look across a stop (``likeness``), its peak (``cycles``), windows joined to stretches of one rhythm,
and bouts of another rhythm than the main one set apart (``counting``). No rhythm is an answer as well. Accuracy on
made signals is printed by ``tests/bench/rhythm_accuracy.py``; a published count of wheelchair strokes from
accelerometers was 10 % off (RESNA 2012, 13 people with a spinal cord injury), and in 30 people wrist step counters 46 %
and more at 30 strokes a minute (Kressler 2018).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ...words.message import Message
from ...words.render import english
from ...words.render import joined as in_a_row
from ..bounds import Bounded
from ..messages import movement as say
from .autocorrelation import Likeness, likeness
from .band import rhythm_band, slowed
from .cycle_count import (
    FASTEST,
    SLOWEST,
    Counted,
    Other,
    count,
    count_bounds,
    in_phase,
    in_spans,
    joined,
    mean_bounds,
    others,
    through_pauses,
    variation,
)
from .cycle_length import Cycles, cycles
from .floor_knocks import knocks
from .grid import Grid
from .rhythm_notes import (
    SAMPLES_A_CYCLE,
    fast_note,
    halves_notes,
    others_note,
    resolution,
    resolution_note,
    share_note,
    too_slow,
    turns_note,
)
from .symmetry import halves

__all__ = ["FASTEST", "SLOWEST", "Rhythm", "cadence_of", "fastest_at", "resolution", "rhythm"]

WINDOW_S = 8.0
"""Middles of the pairs that a window holds; it sees one cycle more, so that three cycles of 20 /min fit."""
SURE, FAIR = 0.6, 0.4
"""A stretch of rhythm holds a window at least this much like itself, and none less than this. Set on noise of several
bands, rolling without a rhythm and real racket play, which stay below, and real walks, which reach it."""
LEAST_G = 0.005
"""Root mean square below which a movement is a sensor's noise or a heart beat. Common practice, no source."""
_STEP_S = WINDOW_S / 4
_STEADY = 0.15  # neighbouring windows of one stretch differ by less than this share
_FEWEST = 3  # windows in a stretch
_FEWEST_BESIDE = 5  # ... and beside another: a change of rhythm lies in four, which may show a common multiple
_REACH_S = (WINDOW_S / 2, WINDOW_S)  # a window speaks for its own length; further where the others hold too little
_HALVES_SEEN = 40  # windows are enough for a middle value, however long the recording
_MOST_TOO_FAST = 0.1  # of the rhythmic windows; with more, the rest says nothing of the trial

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Span = tuple[float, float]
Spans = Sequence[Span]


@dataclass(frozen=True, eq=False)
class Rhythm:
    """Rhythm of a recording, or why there is none (the only one of its ``notes``).

    time_s : middle of each window, shape (w,)  [s]
    per_minute : cadence in it, shape (w,)  [/min]; NaN without a rhythm, or where too little was measured
    confidence : how like itself the movement is one cycle later, 0 to 1, shape (w,); NaN where per_minute is
    cadence_mean : mean over the rhythmic time of the phase  [/min]; None without a rhythm
    cadence_variation_percent : standard deviation over the windows of the phase, as a share of the mean  [%]. A window
        holds several cycles: the difference from one cycle to the next is not in it
    cycle_count : cycles in the rhythmic time  [1]; None without a rhythm
    rhythmic_s : time with movement and a rhythm in the phase  [s]
    halves : how like the two halves of a cycle are, 1 for equal ones and for mirror images; None if unknown
    moving_s : measured time with movement in the phase, pauses shorter than a cycle included  [s]
    notes : what is counted, and the remarks
    remarks : those of the notes that say more than what is counted
    others : bouts of another rhythm in the phase; in ``per_minute``, in nothing else
    knocks_s : movement in the phase left out of the search as knocks  [s]
    """

    time_s: Floats
    per_minute: Floats
    confidence: Floats
    cadence_mean: Bounded | None
    cadence_variation_percent: float | None
    cycle_count: Bounded | None
    rhythmic_s: float
    halves: float | None
    notes: tuple[Message, ...]
    remarks: tuple[Message, ...] = ()
    moving_s: float = 0.0
    others: tuple[Other, ...] = ()
    knocks_s: float = 0.0

    @property
    def note(self) -> str:
        """The notes in English."""
        return in_a_row(map(english, self.notes))

    @property
    def share_percent(self) -> float | None:
        """Rhythmic share of the moving time [%]; None without movement."""
        return 100.0 * self.rhythmic_s / self.moving_s if self.moving_s > 0 else None


def cadence_of(cycle_s: Floats) -> Floats:
    """Cadence of cycles' lengths [/min]: 60 / length, shape as given; NaN stays."""
    return 60.0 / cycle_s


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
        return _none(too_slow(grid.rate_hz, fastest, up_to))
    slow = slowed(grid)
    band = rhythm_band(slow)
    if len(band.values) < WINDOW_S * band.rate_hz:
        return _none(say.rhythm_too_short(WINDOW_S))
    struck = knocks(slow, band)
    bouts = joined(moving, 60.0 / SLOWEST)
    like = likeness(_without(slow, struck, band), WINDOW_S, (0.5 * 60.0 / FASTEST, 60.0 / SLOWEST * 1.02), bouts)
    found = cycles(like, 60.0 / FASTEST / 1.03, 60.0 / SLOWEST, FAIR)
    per_minute = cadence_of(found.length_s)
    rhythmic = _in_stretches(per_minute, found, like)
    going = through_pauses(moving, like.time_s, np.where(rhythmic, found.length_s, np.nan), _REACH_S[0])
    inside = in_spans(like.time_s, [(begin - _STEP_S / 2, until + _STEP_S / 2) for begin, until in going])
    too_fast = rhythmic & (per_minute > fastest)
    note = fast_note(grid.rate_hz, fastest) if (too_fast & inside).any() else None
    if np.count_nonzero(too_fast & inside) > _MOST_TOO_FAST * np.count_nonzero(rhythmic & inside):
        rhythmic[:] = False
    good = rhythmic & ~too_fast & inside
    apart = others(like.time_s, np.where(good, per_minute, np.nan), bouts, within)
    elsewhere = in_spans(like.time_s, [(each.from_s - _STEP_S, each.until_s + _STEP_S) for each in apart])
    main = rhythmic & ~too_fast & ~elsewhere
    counted = count(band, like, np.where(main, per_minute, np.nan), going, within, _REACH_S)
    counted = replace(counted, unknown_s=counted.unknown_s + _STEP_S * np.count_nonzero(too_fast & inside))
    shown, sure = (np.where(good, row, np.nan) for row in (per_minute, found.likeness))
    main &= inside & in_phase(like.time_s, within)
    made = _told(like.time_s, shown, sure, _Main(band, like.time_s, found, main), counted, apart, note)
    return replace(made, knocks_s=_seconds(slow, struck, going, within))


def _without(slow: Grid, struck: Bools, band: Grid) -> Grid:
    """The band with the knocks as gaps, so that nothing of them rings on in it."""
    if not struck.any():
        return band
    return rhythm_band(replace(slow, values=np.where(struck[:, None], np.nan, slow.values)))


def _seconds(slow: Grid, struck: Bools, going: Spans, within: Span | None) -> float:
    """How much of the movement in the phase a mask holds [s]."""
    at = slow.time_s[struck]
    return float(np.count_nonzero(in_spans(at, going) & in_phase(at, within))) / slow.rate_hz


def _in_stretches(per_minute: Floats, found: Cycles, like: Likeness) -> Bools:
    """Windows that belong to a stretch of one rhythm, shape (w,)."""
    fair = (found.likeness >= FAIR) & (like.size_g >= LEAST_G)
    with np.errstate(invalid="ignore"):
        alike = fair[1:] & fair[:-1] & (np.abs(np.diff(np.log(per_minute))) < _STEADY)
    beside = fair[1:] & fair[:-1] & ~alike
    stretch = np.append(0, np.cumsum(~alike))
    sizes, tops = np.bincount(stretch, weights=fair), np.zeros(stretch[-1] + 1)
    np.maximum.at(tops, stretch, np.where(fair, found.likeness, 0.0))
    fewest = np.full(len(sizes), _FEWEST)
    fewest[stretch[1:][beside]] = fewest[stretch[:-1][beside]] = _FEWEST_BESIDE
    return fair & ((sizes >= fewest) & (tops >= SURE))[stretch]


@dataclass(frozen=True)
class _Main:
    """The windows of the main rhythm, as a mask, and what they were made from."""

    band: Grid
    time_s: Floats
    found: Cycles
    mask: Bools

    def per_minute(self) -> Floats:
        return cadence_of(self.found.length_s[self.mask])

    def halves(self) -> float | None:
        """Middle likeness of the halves, as a share of that of whole cycles, over up to 40 windows spread evenly."""
        place = np.flatnonzero(self.mask)
        place = place[:: -(-len(place) // _HALVES_SEEN) or 1]
        if not len(place):
            return None
        row = halves(self.band, self.time_s[place], self.found.length_s[place], WINDOW_S) / self.found.likeness[place]
        return float(np.median(row))


def _told(
    time_s: Floats,
    per_minute: Floats,
    confidence: Floats,
    main: _Main,
    counted: Counted,
    apart: tuple[Other, ...],
    note: Message | None,
) -> Rhythm:
    """Put the answer together."""
    if counted.rhythmic_s <= 0 or not main.mask.any():
        why = note or say.RHYTHM_NONE
        return Rhythm(time_s, per_minute, confidence, None, None, None, 0.0, None, (why,), moving_s=counted.moving_s)
    mean, half = 60.0 * counted.cycle_count / counted.rhythmic_s, main.halves()
    notes = (
        share_note(counted),
        others_note(apart),
        turns_note(main.found.doubles[main.mask], counted),
        note,
        resolution_note(counted.rhythmic_s),
    )
    remarks = tuple(each for each in notes if each)
    return Rhythm(
        time_s,
        per_minute,
        confidence,
        mean_bounds(mean, counted),
        variation(main.per_minute()),
        count_bounds(counted),
        counted.rhythmic_s,
        half,
        (say.RHYTHM_CYCLES, *halves_notes(mean, half), *remarks),
        remarks,
        counted.moving_s,
        apart,
    )


def _none(why: Message) -> Rhythm:
    empty = np.empty(0)
    return Rhythm(empty, empty, empty, None, None, None, 0.0, None, (why,))
