"""For how long each heart-rate sample stands: the one place where samples become time.

Every figure that time or area enters is built on ``Held``. Each usable sample has two lengths:

- ``certain_s``: what the sample itself vouches for, one step of the recorder and 10 s at the most. Bounds rest on it.
- ``held_s``: what the value is taken to stand for. The same, except for a recorder that writes only now and then,
  or where a person says that a value holds longer.

A perfect sensor would have filled all the rest of the phase with values of a heart, and nothing is known of them.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..ingest.flags import Flag
from ..ingest.recording import Stream

EVENT_HOLD_S = 10.0
"""How long a value may stand for where a recorder writes only now and then. Common practice, no source."""
MOST_CERTAIN_S = 10.0
"""No value vouches for longer than this, however seldom a recorder writes. Common practice, no source."""
_SHORTER_SHARE = 0.1  # a regular recorder that loses samples makes steps longer, hardly ever shorter
_REGULAR_SHARE = 0.4  # at least this share of steps must agree for a recorder to be called regular
_JITTER = 0.5  # a step may be this much longer than the usual one without a sample being missing
_QUANTILES = (0.05, 0.1, 0.2, 0.3, 0.5)

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Sampling:
    """How a recorder wrote its values.

    step_s : the usual step; for one that writes now and then, a short one that occurs  [s]; None for one sample
    regular : whether it wrote in equal steps (samples may be missing)
    """

    step_s: float | None
    regular: bool


_FEW_STEPS, _FEW_VOUCH_S = 100, 1.0  # a tenth of the samples left need not hold a single pair a second apart


def sampling(time_s: Floats) -> Sampling:
    """Find the usual step between time stamps in order, shape (n,).

    The usual step is the one that most steps agree with, to within a quarter. If fewer than 40 % do, or more than a
    tenth are shorter, the recorder writes when something changes; then a short step (of which 5 % are shorter) is
    all that a sample vouches for, and a second at most where there are so few steps that the short ones may all be
    lost. Removing up to six in ten samples of a regular recording at random therefore does
    not change its step.
    """
    steps = np.sort(np.diff(time_s))
    steps = steps[np.searchsorted(steps, 0.0, side="right") :]
    if not len(steps):
        return Sampling(None, True)
    candidates = steps[(np.array(_QUANTILES) * (len(steps) - 1)).astype(int)]
    share = np.searchsorted(steps, 1.25 * candidates, side="right") - np.searchsorted(steps, 0.75 * candidates)
    best = int(np.argmax(share))
    shorter = int(np.searchsorted(steps, 0.75 * candidates[best]))
    if share[best] < _REGULAR_SHARE * len(steps) or shorter > _SHORTER_SHARE * len(steps):
        few = len(steps) < _FEW_STEPS
        return Sampling(min(float(steps[0]), _FEW_VOUCH_S) if few else float(candidates[0]), regular=False)
    near = steps[(steps >= 0.75 * candidates[best]) & (steps <= 1.25 * candidates[best])]
    return Sampling(float(near[len(near) // 2]), regular=True)


@dataclass(frozen=True)
class Held:
    """The usable samples of a phase, each with its lengths, in order of time.

    start_s, certain_s, held_s : ndarray, shape (n,)  [s]
    bpm : ndarray, shape (n,)  [beats/min]
    from_s, until_s : the phase  [s]
    """

    start_s: Floats
    certain_s: Floats
    held_s: Floats
    bpm: Floats
    from_s: float
    until_s: float

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
        """How much of the phase no sample vouches for [s]."""
        return max(self.span_s - float(self.certain_s.sum()), 0.0)

    @property
    def coverage_percent(self) -> float:
        """Share of the phase that was measured [%]."""
        return 100.0 * self.measured_s / self.span_s if self.span_s > 0 else 0.0

    def at(self, moment_s: float) -> tuple[float, bool] | None:
        """The value standing at a moment, and whether a sample vouches for it; None if none stands."""
        index = int(np.searchsorted(self.start_s, moment_s, side="right")) - 1
        if index < 0 or moment_s >= self.start_s[index] + self.held_s[index]:
            return None
        return float(self.bpm[index]), bool(moment_s < self.start_s[index] + self.certain_s[index])

    def part(self, from_s: float, until_s: float) -> "Held":
        """The samples of a shorter phase."""
        start = np.maximum(self.start_s, from_s)
        held = np.minimum(self.start_s + self.held_s, until_s) - start
        certain = np.minimum(self.start_s + self.certain_s, until_s) - start
        keep = held > 0
        return Held(start[keep], np.maximum(certain[keep], 0.0), held[keep], self.bpm[keep], from_s, until_s)

    def gaps(self) -> list[tuple[float, float]]:
        """Stretches of the phase that no value stands for, as (from, until) [s]."""
        ends = np.append(self.from_s, self.start_s + self.held_s)
        starts = np.append(self.start_s, self.until_s)
        open_ = starts - ends > 1e-6
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
    return min(sampling(stream.time).step_s or 0.0, MOST_CERTAIN_S)


def hold(stream: Stream, from_s: float, until_s: float, hold_s: float | None = None) -> Held:
    """Lay a stream's usable samples over a phase.

    Parameters
    ----------
    stream : with flags set; a sample with a rejecting flag ends the one before it and stands for nothing
    from_s, until_s : the phase  [s]
    hold_s : let a value stand for up to this long when the next ones are missing; None: one step, or 10 s
        where the recorder writes only now and then  [s]. It moves values and coverage, never the bounds.
    """
    single = (stream.flags & np.uint16(Flag.DUPLICATE_STAMP)) == 0
    whole = bool(single.all())
    time = stream.time if whole else stream.time[single]
    usable = stream.usable if whole else stream.usable[single]
    values = stream.values if whole else stream.values[single]
    certain, held = _lengths(stream, time, None if whole else single, hold_s)
    start = np.maximum(time, from_s)
    certain = np.minimum(time + certain, until_s) - start
    held = np.minimum(time + held, until_s) - start
    keep = usable & (held > 0)
    if keep.all():
        return Held(start, np.maximum(certain, 0.0), held, values, from_s, until_s)
    return Held(start[keep], np.maximum(certain[keep], 0.0), held[keep], values[keep], from_s, until_s)


def _lengths(
    stream: Stream, time: Floats, single: NDArray[np.bool_] | None, hold_s: float | None
) -> tuple[Floats, Floats]:
    """``(certain, held)`` length of every sample before the phase cuts it, shape (n,) each [s]."""
    to_next = np.append(np.diff(time), np.inf)
    if stream.cover_s is not None:
        cover = stream.cover_s if single is None else stream.cover_s[single]
        certain = np.minimum(np.nan_to_num(cover), to_next)
        return certain, certain
    found = sampling(time)
    if found.step_s is None:
        return np.zeros(len(time)), np.zeros(len(time))
    if found.regular:
        certain = np.where(to_next <= (1 + _JITTER) * found.step_s, to_next, found.step_s)
    else:
        certain = np.minimum(to_next, found.step_s)
        hold_s = EVENT_HOLD_S if hold_s is None else hold_s
    certain = np.minimum(certain, MOST_CERTAIN_S)
    if hold_s is None:
        return certain, certain
    return certain, np.maximum(np.where(to_next <= hold_s, to_next, certain), certain)
