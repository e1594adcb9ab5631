"""For how long each heart-rate sample stands: the one place where samples become time.

Every figure that time or area enters is built on ``Held``. Each usable sample has two lengths:

- ``certain_s``: what the sample itself vouches for: until the next one, or the recorder's shortest step where that is
  missing, and 10 s at the most. Bounds rest on it, so that what is left never proves more than what was recorded.
- ``held_s``: what the value is taken to stand for. The same, except for a recorder that writes only now and then,
  or where a person says that a value holds longer.

Without a loss the same recorder would have filled the rest of the phase with values of a heart, of which nothing is
known but that it beats 30 to 230 times a minute, or as fast or slowly as a reading that was set aside says.

Of several readings at one moment the highest is the value; the bounds take the least as well.
"""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from ..ingest.flags import Flag
from ..ingest.recording import HEART_RATE, Stream
from ..words.vocabulary import HIGHEST_BPM, LOWEST_BPM
from .sampling import Sampling, sampling

EVENT_HOLD_S = 10.0
"""How long a value may stand for where a recorder writes only now and then. Common practice, no source."""
MOST_CERTAIN_S = 10.0
"""No value vouches for longer than this, however seldom a recorder writes. Common practice, no source."""
FASTEST_BPM = 300.0
"""A reading above is no heart's, and widens nothing: fast rhythms of children reach 220 to 280 /min [from memory]."""
_JITTER = 0.5  # a step may be this much longer than the usual one without a sample being missing

_TINY_S = 1e-6
_ODD = np.uint16(Flag.IMPLAUSIBLE)

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Held:
    """The usable samples of a phase, each with its lengths, in order of time.

    start_s, certain_s, held_s : ndarray, shape (n,)  [s]
    bpm : ndarray, shape (n,)  [beats/min]
    from_s, until_s : the phase  [s]
    least_bpm : ndarray, shape (n,), the least reading of the same moment; None: there is only one  [beats/min]
    lowest_bpm, highest_bpm : between these a heart is where nothing vouches for it  [beats/min]
    """

    start_s: Floats
    certain_s: Floats
    held_s: Floats
    bpm: Floats
    from_s: float
    until_s: float
    least_bpm: Floats | None = None
    lowest_bpm: float = LOWEST_BPM
    highest_bpm: float = HIGHEST_BPM

    @property
    def least(self) -> Floats:
        """The least that was read at the moment of each sample, shape (n,) [beats/min]."""
        return self.bpm if self.least_bpm is None else self.least_bpm

    def without(self, doubtful: NDArray[np.bool_]) -> "Held":
        """The same, of which these samples, shape (n,), vouch for nothing."""
        return replace(self, certain_s=np.where(doubtful, 0.0, self.certain_s)) if doubtful.any() else self

    @cached_property
    def span_s(self) -> float:
        """Length of the phase [s]."""
        return self.until_s - self.from_s

    @cached_property
    def measured_s(self) -> float:
        """How much of the phase the values stand for [s]."""
        return min(float(self.held_s.sum()), self.span_s)

    @cached_property
    def unknown_s(self) -> float:
        """How much of the phase no sample vouches for; what is no longer than the rounding of sums is nothing [s]."""
        left = self.span_s - float(self.certain_s.sum())
        return left if left > _TINY_S else 0.0

    @property
    def coverage_percent(self) -> float:
        """Share of the phase that was measured [%]."""
        return 100.0 * self.measured_s / self.span_s if self.span_s > 0 else 0.0

    def at(self, moment_s: float) -> tuple[float, bool] | None:
        """The value standing at a moment, and whether a sample vouches for it; None if none stands."""
        index = int(np.searchsorted(self.start_s, moment_s, side="right")) - 1
        if index < 0 or moment_s >= self.start_s[index] + self.held_s[index]:
            return None
        alone = self.least[index] == self.bpm[index]
        return float(self.bpm[index]), bool(alone and moment_s < self.start_s[index] + self.certain_s[index])

    def part(self, from_s: float, until_s: float) -> "Held":
        """The samples of a shorter phase."""
        start = np.maximum(self.start_s, from_s)
        held = np.minimum(self.start_s + self.held_s, until_s) - start
        certain = np.minimum(self.start_s + self.certain_s, until_s) - start
        keep = held > 0
        return replace(
            self,
            start_s=start[keep],
            certain_s=np.maximum(certain[keep], 0.0),
            held_s=held[keep],
            bpm=self.bpm[keep],
            from_s=from_s,
            until_s=until_s,
            least_bpm=None if self.least_bpm is None else self.least_bpm[keep],
        )

    def gaps(self) -> list[tuple[float, float]]:
        """Stretches of the phase that no value stands for, as (from, until) [s]."""
        ends = np.append(self.from_s, self.start_s + self.held_s)
        starts = np.append(self.start_s, self.until_s)
        open_ = starts - ends > _TINY_S
        return [(float(end), float(start)) for end, start in zip(ends[open_], starts[open_], strict=True)]


def whole_span(stream: Stream) -> tuple[float, float]:
    """From when until when the file ran that holds the stream [s].

    Where its other entries, laps or streams lie no further off than a step of this stream may be long, nothing of it
    is missing there: then from its own first sample to the end of its last one's step.
    """
    first, last = own_span(stream)
    if not len(stream) or stream.ran_s is None:
        return first, last
    step = _usual_step(stream)
    behind = (1 + _JITTER) * step if stream.cover_s is not None else _JITTER * step  # the end holds a step already
    begin, end = stream.ran_s
    return begin if begin < first - (1 + _JITTER) * step else first, end if end > last + behind else last


def own_span(stream: Stream) -> tuple[float, float]:
    """From the first sample to the end of the last one's step [s]."""
    if not len(stream):
        return 0.0, 0.0
    first = float(stream.time[0])
    if stream.cover_s is not None:
        return first, float((stream.time + np.nan_to_num(stream.cover_s)).max())
    return first, float(stream.time[-1]) + _usual_step(stream)


def _usual_step(stream: Stream) -> float:
    """How long a sample usually stands, 10 s at the most [s]."""
    if stream.cover_s is not None:
        known = stream.cover_s[stream.cover_s > 0]
        return min(float(np.median(known)), MOST_CERTAIN_S) if len(known) else 0.0
    return min(sampling_of(stream).step_s or 0.0, MOST_CERTAIN_S)


@lru_cache(maxsize=2)
def sampling_of(stream: Stream) -> Sampling:
    """How the recorder of a stream wrote it; asked a dozen times of the same one, which nobody can change."""
    single = _single(stream)
    return sampling(stream.time[single], stream.values[single] if stream.name == HEART_RATE else None)


def _single(stream: Stream) -> NDArray[np.bool_]:
    """Which samples stand for their moment, shape (n,)."""
    return (stream.flags & np.uint16(Flag.DUPLICATE_STAMP)) == 0


def hold(stream: Stream, from_s: float, until_s: float, hold_s: float | None = None) -> Held:
    """Lay a stream's usable samples over a phase.

    Parameters
    ----------
    stream : with flags set; a sample with a rejecting flag ends the one before it and stands for nothing
    from_s, until_s : the phase  [s]
    hold_s : let a value stand for up to this long when the next ones are missing; None: one step, or 10 s
        where the recorder writes only now and then  [s]. It moves values and coverage, never the bounds.
    """
    single = _single(stream)
    time = stream.time[single]
    if stream.cover_s is None:
        certain, held = _lengths(time, sampling_of(stream), hold_s)
    else:
        held = np.minimum(np.nan_to_num(stream.cover_s[single]), _to_next(time))
        certain = np.where(stream.flags[single] & np.uint16(Flag.UNPROVEN), 0.0, held)
    start = np.maximum(time, from_s)
    certain = np.maximum(np.minimum(time + certain, until_s) - start, 0.0)
    held = np.minimum(time + held, until_s) - start
    keep = stream.usable[single] & (held > 0)
    least = None if single.all() else _least(stream, single)[keep]
    ends = _ends(
        stream.values[single & ((stream.flags & _ODD) != 0) & (stream.time >= from_s) & (stream.time < until_s)]
    )
    return Held(start[keep], certain[keep], held[keep], stream.values[single][keep], from_s, until_s, least, *ends)


def _least(stream: Stream, single: NDArray[np.bool_]) -> Floats:
    """The least reading of the moment of each sample that stands for its own, in order of time [beats/min]."""
    among = (stream.values >= LOWEST_BPM) & ((stream.flags & np.uint16(Flag.NO_CONTACT)) == 0)
    first = np.append(0, np.flatnonzero(single)[:-1] + 1)  # the one that stands is the last of its moment
    return np.minimum.reduceat(np.where(among | single, stream.values, np.inf), first)


def _ends(odd: Floats) -> tuple[float, float]:
    """Least and most that a heart is taken to be where values as odd as these were set aside [beats/min]."""
    known = odd[(odd > 0) & (odd <= FASTEST_BPM)]
    return float(known.min(initial=LOWEST_BPM)), float(known.max(initial=HIGHEST_BPM))


def _to_next(time: Floats) -> Floats:
    """How long it is to the next sample, shape (n,) [s]; for ever behind the last."""
    return np.append(np.diff(time), np.inf)


def _lengths(time: Floats, found: Sampling, hold_s: float | None) -> tuple[Floats, Floats]:
    """``(certain, held)`` length of every sample before the phase cuts it, shape (n,) each [s]."""
    if found.step_s is None:
        return np.zeros(len(time)), np.zeros(len(time))
    to_next = _to_next(time)
    whole = to_next <= ((1 + _JITTER) * found.step_s if found.regular else found.step_s)
    certain = np.minimum(np.where(whole, to_next, found.vouches_s), MOST_CERTAIN_S)
    held = np.minimum(np.where(whole, to_next, found.step_s), MOST_CERTAIN_S)
    if hold_s is None and not found.held_on:
        return certain, held
    longest = EVENT_HOLD_S if hold_s is None else hold_s
    return certain, np.where(to_next <= longest, np.maximum(to_next, held), held)
