"""Heart rate and movement on one clock: what moving adds to the heart rate, and rises that no movement explains.

The heart lags: after work begins or ends it is on its way for a minute or so. The first half minute of every stretch of
moving or stillness is therefore left out where enough remains; where it does not (short bouts), all is used and the
difference comes out too small, which the note says. Even so the rate of the still time holds some of the recovery.

Both need streams on one clock to within a few seconds (``alignment``). Whose movement a sensor saw it does not know.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...words.message import Message
from ...words.render import english
from ...words.vocabulary import HIGHEST_BPM, LOWEST_BPM
from ..bounds import Bounded
from ..messages import movement as say

LEAST_S = 30.0
"""So much heart rate must be measured while moving, and while still [s]. Common practice."""
SETTLING_S = 30.0
"""The heart is on its way for this long after a change [s]. Common practice, no source."""
RISE_BPM, RISE_S = 20.0, 60.0
"""A rise of this much over rest for this long is worth a question if nothing moved. Common practice, no source."""
BEFORE_S = 120.0
"""A rise that begins within this long of a movement may be its echo [s]. Common practice, no source."""
DIP_S = 5.0
"""A rise may dip, or go unmeasured, for this long."""

Floats = NDArray[np.float64]
Span = tuple[float, float]
Spans = Sequence[Span]


@dataclass(frozen=True, slots=True)
class Together:
    """Heart rate while moving and while still.

    difference : mean while moving minus mean while still  [/min]; None if either was not measured for 30 s
    moving_bpm, still_bpm : the two means  [/min]
    moving_s, still_s : measured heart-rate time behind each  [s]
    told : what was left out, or why there is no difference
    """

    difference: Bounded | None
    moving_bpm: float | None
    still_bpm: float | None
    moving_s: float
    still_s: float
    told: Message

    @property
    def note(self) -> str:
        """What is told, in English."""
        return english(self.told)


@dataclass(frozen=True, slots=True)
class Rise:
    """A stretch with a high heart rate and no movement [s], and its mean [/min]."""

    from_s: float
    until_s: float
    mean_bpm: float


@dataclass(frozen=True, slots=True)
class _Pulse:
    """Pieces of heart rate: begin and end [s], value [/min]."""

    begin: Floats
    end: Floats
    bpm: Floats

    def within(self, span: Span) -> Floats:
        """Values of the pieces that reach into a span."""
        return self.bpm[(self.end > span[0]) & (self.begin < span[1])]

    def over(self, spans: Spans) -> tuple[float, float, float]:
        """``(measured time, its integral, length of the spans)`` [s, beats/min·s, s]."""
        measured = area = 0.0
        for begin, until in spans:
            length = np.maximum(np.minimum(self.end, until) - np.maximum(self.begin, begin), 0.0)
            measured += float(length.sum())
            area += float(length @ self.bpm)
        return measured, area, sum(until - begin for begin, until in spans)


def rate_with_movement(
    start_s: ArrayLike,
    held_s: ArrayLike,
    bpm: ArrayLike,
    moving: Spans,
    *,
    from_s: float,
    until_s: float,
    unmeasured: Spans = (),
    certain_s: ArrayLike | None = None,
) -> Together:
    """Mean heart rate while moving minus mean heart rate while still.

    Parameters
    ----------
    start_s, held_s, bpm : array_like, shape (n,)
        where each heart rate begins to stand [s], for how long [s], and its value [/min]
    moving, unmeasured : (from, until) of movement, and of time in which movement was not measured, in order  [s]
    from_s, until_s : the phase; all else in it is still  [s]
    certain_s : array_like, shape (n,); for how long of ``held_s`` the value is certain, for the bounds; all of it  [s]
    """
    pulse = _pulse(start_s, held_s, bpm)
    sure = pulse if certain_s is None else _pulse(start_s, certain_s, bpm)
    moves, unseen = _cut(moving, from_s, until_s), _cut(unmeasured, from_s, until_s)
    stills = _between(sorted((*moves, *unseen)), from_s, until_s)
    settled = _settled(moves, from_s), _settled(stills, from_s)
    enough = min(pulse.over(spans)[0] for spans in settled) >= LEAST_S
    used = settled if enough else (moves, stills)
    (moving_s, moving_area, _), (still_s, still_area, _) = (pulse.over(spans) for spans in used)
    if min(moving_s, still_s) < LEAST_S:
        too_short = say.why_too_short_moving if moving_s < LEAST_S else say.why_too_short_still
        why = too_short(min(moving_s, still_s), LEAST_S)
        return Together(None, None, None, moving_s, still_s, why)
    mean_moving, mean_still = moving_area / moving_s, still_area / still_s
    note = (say.note_settling_left_out if enough else say.note_settling_kept)(SETTLING_S)
    value = mean_moving - mean_still
    perhaps = [(begin, min(until + SETTLING_S, until_s)) for begin, until in unseen]
    low_moving, high_moving = _bounds(sure, used[0], perhaps)
    low_still, high_still = _bounds(sure, used[1], perhaps)
    difference = Bounded(value, min(low_moving - high_still, value), max(high_moving - low_still, value))
    return Together(difference, mean_moving, mean_still, moving_s, still_s, note)


def rises_without_movement(
    start_s: ArrayLike,
    held_s: ArrayLike,
    bpm: ArrayLike,
    moving: Spans,
    *,
    rest_bpm: float,
    unmeasured: Spans = (),
) -> tuple[Rise, ...]:
    """Stretches of at least 60 s with a heart rate of 20 /min over rest or more, in which nothing moved.

    The rise has to begin while nothing has moved for two minutes: what begins earlier may be recovery from work. A
    heart that goes up again before it has come down from work is therefore not found. Time in which movement was not
    measured counts as movement.

    Parameters
    ----------
    start_s, held_s, bpm : array_like, shape (n,)
        where each heart rate begins to stand [s], for how long [s], and its value [/min]
    moving, unmeasured : (from, until) in order  [s]
    rest_bpm : resting heart rate  [/min]
    """
    pulse = _pulse(start_s, held_s, bpm)
    active = sorted((*moving, *unmeasured))
    found: list[Rise] = []
    for begin, until in _high(pulse, rest_bpm + RISE_BPM):
        if any(first < begin and last > begin - BEFORE_S for first, last in active):
            continue
        end = min([first for first, _ in active if first >= begin] + [until])
        measured, area, _ = pulse.over([(begin, end)])
        if end - begin >= RISE_S:
            found.append(Rise(begin, end, area / measured))
    return tuple(found)


def rise_note(rises: Sequence[Rise], rest_bpm: float) -> Message | None:
    """What to say of rises without movement; None if there are none."""
    if not rises:
        return None
    top = max(rises, key=lambda rise: rise.mean_bpm)
    return say.found_rise_without_movement(len(rises), top.from_s, top.until_s, top.mean_bpm - rest_bpm)


def _pulse(start_s: ArrayLike, held_s: ArrayLike, bpm: ArrayLike) -> _Pulse:
    start, held, value = (np.asarray(row, dtype=np.float64) for row in (start_s, held_s, bpm))
    real = np.isfinite(value) & (held > 0)
    return _Pulse(start[real], start[real] + held[real], value[real])


def _cut(spans: Spans, from_s: float, until_s: float) -> list[Span]:
    """The parts of the spans inside a phase."""
    inside = ((max(begin, from_s), min(until, until_s)) for begin, until in spans)
    return [(begin, until) for begin, until in inside if until > begin]


def _between(spans: Spans, from_s: float, until_s: float) -> list[Span]:
    """What the spans leave of a phase."""
    edges = [from_s, *(edge for span in spans for edge in span), until_s]
    return [(begin, until) for begin, until in zip(edges[::2], edges[1::2], strict=True) if until > begin]


def _settled(spans: Spans, from_s: float) -> list[Span]:
    """Each span without its first half minute; the phase's own start is no change."""
    later = ((begin if begin <= from_s else begin + SETTLING_S, until) for begin, until in spans)
    return [(begin, until) for begin, until in later if until > begin]


def _bounds(pulse: _Pulse, spans: Spans, perhaps: Spans) -> tuple[float, float]:
    """Lowest and highest mean that a perfect pair of sensors could have shown over the spans.

    Unmeasured heart rate may be anything a heart can be; any part of ``perhaps`` may belong to the spans as well.
    """
    measured, area, length = pulse.over(spans)
    seen_s, _, more_s = pulse.over(perhaps)
    ends: list[float] = []
    for extreme, pick in ((LOWEST_BPM, min), (HIGHEST_BPM, max)):
        alone = area + max(length - measured, 0.0) * extreme
        there = [float(pick(values)) for values in (pulse.within(span) for span in perhaps) if len(values)]
        value = pick(there) if there and seen_s >= more_s - 1e-6 else extreme
        ends.append(pick(alone / length, (alone + more_s * value) / (length + more_s)))
    return ends[0], ends[1]


def _high(pulse: _Pulse, least_bpm: float) -> list[Span]:
    """Stretches at or above a rate, short dips and gaps included."""
    joined: list[Span] = []
    above = pulse.bpm >= least_bpm
    for begin, end in zip(pulse.begin[above].tolist(), pulse.end[above].tolist(), strict=True):
        if joined and begin - joined[-1][1] <= DIP_S:
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((begin, end))
    return joined
