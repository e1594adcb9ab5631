"""Where a strap may have been handed from one student to the next: always *possibly*, and never to whom.

Between two students a strap lies on no skin for a while. What is left of that in the file is one of three: the sensor
says that it has no contact, it writes nothing (or zeros), or it holds its last value. A jump of the rate tells nothing:
two people at rest differ by less than 8 /min more often than not, and the heart of one person jumps as far. So whose
heart it is cannot be read from a recording; where it may have changed can, at the price of some false alarms.

A steady heart writes one value for 12 s now and then, too. Equal values count only where they last clearly longer than
in the rest of the recording, or where another rate stands behind them. ``tests/bench/hand_over_accuracy.py`` measures
what is found, and how often falsely.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..ingest.flags import REJECTING, Flag
from ..ingest.recording import Stream
from ..words.message import Message
from .messages import phase_finding as say
from .timeline import hold, own_span

CONTACT, GAP, EQUAL = "contact", "gap", "equal"
"""What a possible hand-over is known by, surest first."""
LEAST_S = 12.0
"""Ordinary dropouts of straps last up to 10 s, a strap that changes hands is off for longer. Common practice."""
FUMBLE_S = 5.0
"""Values for less than this between two losses are a strap that is being put on or off [s]. Common practice."""
LEAST_EQUAL = 12
"""So many equal values at least, however slowly the recorder writes."""
OTHER_BPM = 4.0
"""Behind held values a heart that differs by this is another one, or has gone on for a while [/min]."""
CLEARLY = 1.9
"""Else the run has to be longer by this factor than the longest that chance makes in such a recording: lengths of equal
runs fall off exponentially, and the longest of n is about median + mean excess · ln(n / 2)."""
_MOST_EXCESS_S = 12.0  # a longer one may be a hand-over itself, and tells nothing about the usual ones
SHORTEST_S = 60.0
"""A shorter stretch holds no trial [s]."""
LEAST_MEASURED = 0.5
"""A stretch of which less was measured holds no trial."""

_LOST = np.uint16(REJECTING & ~Flag.FROZEN)
_TINY_S = 1e-6
_OFF = np.uint16(Flag.NO_CONTACT)

Span = tuple[float, float]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class HandOver:
    """A strap that was possibly handed on.

    from_s, until_s : nothing certain was measured between  [s] from the recording's start
    seen : ``CONTACT``, ``GAP`` or ``EQUAL``
    """

    from_s: float
    until_s: float
    seen: str

    @property
    def length_s(self) -> float:
        """How long it lasted [s]."""
        return self.until_s - self.from_s

    def message(self) -> Message:
        """The possible hand-over for a person."""
        named = {CONTACT: say.hand_over_contact, GAP: say.hand_over_gap, EQUAL: say.hand_over_equal}
        return named[self.seen](self.from_s, self.length_s)


@dataclass(frozen=True, slots=True)
class Stretch:
    """What lies between two possible hand-overs: worn by one student as far as can be told.

    from_s, until_s : between which moments  [s]
    measured_s : how much of it holds a usable value  [s]
    """

    from_s: float
    until_s: float
    measured_s: float

    def can_hold(self, needed_s: float = SHORTEST_S) -> bool:
        """Whether a trial of such a length fits in."""
        length = self.until_s - self.from_s
        return length >= max(needed_s, SHORTEST_S) and self.measured_s >= LEAST_MEASURED * length


def hand_overs(pulse: Stream) -> tuple[HandOver, ...]:
    """Where the strap of a heart rate was possibly handed on, in order; its beginning and end are no such places."""
    if not pulse.usable.any():
        return ()
    good = pulse.time[(pulse.flags & _LOST) == 0]
    first, last = float(good[0]), float(good[-1])
    lost = [each for each in _losses(pulse) if each.from_s > first and each.until_s <= last]
    found = [
        HandOver(each.from_s, each.until_s, CONTACT if _off(pulse, each) else GAP)
        for each in lost
        if each.lost_s >= LEAST_S - _TINY_S
    ]
    found += [HandOver(*span, EQUAL) for span in _equal(pulse)]
    return tuple(_apart(sorted(found, key=lambda each: each.from_s)))


def stretches(pulse: Stream, found: tuple[HandOver, ...]) -> tuple[Stretch, ...]:
    """The stretches between possible hand-overs, each with how much of it was measured."""
    if not len(pulse):
        return ()
    begin, end = own_span(pulse)
    edges = [begin, *(moment for each in found for moment in (each.from_s, each.until_s)), end]
    spans = zip(edges[::2], edges[1::2], strict=True)
    return tuple(Stretch(a, b, hold(pulse, a, b).measured_s) for a, b in spans if b > a)


class _Loss(NamedTuple):
    """From when until when a strap was lost, and how much of that holds no usable value [s]."""

    from_s: float
    until_s: float
    lost_s: float


def _losses(pulse: Stream) -> list[_Loss]:
    """Stretches without a usable value, joined where less than ``FUMBLE_S`` of values lie between.

    Values that merely stand still are no loss here.
    """
    moving = replace(pulse, flags=pulse.flags & ~np.uint16(Flag.FROZEN))
    joined: list[_Loss] = []
    for from_s, until_s in hold(moving, *own_span(pulse)).gaps():
        loss = _Loss(from_s, until_s, until_s - from_s)
        if joined and from_s - joined[-1].until_s < FUMBLE_S:
            before = joined.pop()
            loss = _Loss(before.from_s, until_s, before.lost_s + loss.lost_s)
        joined.append(loss)
    return joined


def _off(pulse: Stream, loss: _Loss) -> bool:
    """Whether the sensor said in a stretch that it had no contact."""
    inside = (pulse.time >= loss.from_s - _TINY_S) & (pulse.time < loss.until_s)
    return bool(((pulse.flags[inside] & _OFF) != 0).any())


def _equal(pulse: Stream) -> list[Span]:
    """Stretches of one value that no heart of this recording holds for so long [s]."""
    usable = (pulse.flags & _LOST) == 0
    time, bpm = pulse.time[usable], pulse.values[usable]
    first = np.append(0, np.flatnonzero(np.diff(bpm) != 0) + 1)
    behind = np.append(first[1:], len(bpm))
    step_s = own_span(pulse)[1] - float(pulse.time[-1])
    begins, ends = time[first], time[behind - 1] + step_s
    lasts = ends - begins
    jump = np.append(np.abs(np.diff(bpm[first])), 0.0)
    other = (jump >= OTHER_BPM) | (lasts >= _longest_by_chance(lasts))
    odd = (lasts >= LEAST_S - _TINY_S) & (behind - first >= LEAST_EQUAL) & other
    odd[[0, -1]] = False
    return [(float(begin), float(end)) for begin, end in zip(begins[odd], ends[odd], strict=True)]


def _longest_by_chance(lasts: Floats) -> float:
    """How long a run of equal values may last in a recording with such runs, with room [s]; the longest is left out."""
    others = np.sort(lasts)[:-1]
    usual = float(np.median(others)) if len(others) else 0.0
    excess = np.minimum(others[others > usual] - usual, _MOST_EXCESS_S)
    mean = float(excess.mean()) if len(excess) else 0.0
    return usual + CLEARLY * mean * float(np.log(max(len(lasts) / 2.0, 2.0)))


def _apart(found: list[HandOver]) -> list[HandOver]:
    """Hand-overs that touch or overlap as one, known by what is surest."""
    joined: list[HandOver] = []
    rank = (CONTACT, GAP, EQUAL)
    for each in found:
        if joined and each.from_s - joined[-1].until_s < FUMBLE_S:
            before = joined[-1]
            seen = min(before.seen, each.seen, key=rank.index)
            joined[-1] = HandOver(before.from_s, max(before.until_s, each.until_s), seen)
        else:
            joined.append(each)
    return joined
