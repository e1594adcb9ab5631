"""Where a strap may have been handed from one student to the next: always *possibly*, and never to whom.

Between two students a strap lies on no skin for a while. What is left of that in the file is one of four: the sensor
says that it has no contact, it writes nothing (or zeros), rates that leap, or it holds its last value. A jump of the
rate tells nothing: two people at rest differ by less than 8 /min more often than not, and the heart of one person jumps
as far. So whose heart it is cannot be read from a recording; where it may have changed can, at the price of some false
alarms.

A strap that sits badly loses contact, too. A loss is possibly a hand-over where

- it is longer than any ordinary dropout, but for one amid an effort that goes on behind it as high as before, or
- it is long enough to change straps in a hurry, and lies in a rest between two efforts.

So what is *not* found is a strap changed within ``SURELY_OFF_S`` where one of the two students did no trial on it, or
where the second worked at once; and one changed within ``AMID_WORK_S`` at the height of both efforts.

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
from .hand_over_surroundings import amid_work, rest_between, sides
from .messages import phase_finding as say
from .timeline import hold, own_span
from .wild_rates import wild

CONTACT, GAP, LEAPS, EQUAL = "contact", "gap", "leaps", "equal"
"""What a possible hand-over is known by, surest first."""
LEAST_S = 12.0
"""In less a strap does not change hands. Common practice."""
SURELY_OFF_S = 40.0
"""To take a strap off, hand it on, wet it, put it on and find the next heart takes about so long: a longer loss may be
a hand-over wherever it lies, a shorter one between two efforts only [s]. Our own reasoning, nobody has timed it. Two
dropouts of up to 20 s that meet are seldom as long."""
AMID_WORK_S = 60.0
"""A shorter loss amid one effort is a bad contact: nobody changes straps there [s]. Our own reasoning."""
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
    seen : ``CONTACT``, ``GAP``, ``LEAPS`` or ``EQUAL``
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
        named = {
            CONTACT: say.hand_over_contact,
            GAP: say.hand_over_gap,
            LEAPS: say.hand_over_leaps,
            EQUAL: say.hand_over_equal,
        }
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


class _Loss(NamedTuple):
    """From when until when a strap was lost, how much of that holds no usable value [s], and what it is known by."""

    from_s: float
    until_s: float
    lost_s: float
    seen: str


def hand_overs(pulse: Stream) -> tuple[HandOver, ...]:
    """Where the strap of a heart rate was possibly handed on, in order; its beginning and end are no such places."""
    if not pulse.usable.any():
        return ()
    pulse, leaps = _without_leaps(pulse)
    good = pulse.time[(pulse.flags & _LOST) == 0]
    first, last = float(good[0]), float(good[-1])
    lost = [each for each in _losses(pulse, leaps) if each.from_s > first and each.until_s <= last]
    found = [each for each in lost if each.lost_s >= LEAST_S - _TINY_S]
    found += [_Loss(*span, span[1] - span[0], EQUAL) for span in _equal(pulse)]
    joined = _apart(sorted(found, key=lambda each: each.from_s))
    return tuple(HandOver(each.from_s, each.until_s, each.seen) for each in joined if _may_be(each, joined, pulse))


def _may_be(loss: _Loss, losses: list[_Loss], pulse: Stream) -> bool:
    """Whether a loss may be a hand-over, by its length and by what the heart rate does on both sides.

    In one rest a strap is handed on once: of shorter losses there the longest is taken.
    """
    usable = pulse.usable
    around = sides(pulse.time[usable], pulse.values[usable], loss.from_s, loss.until_s)
    if loss.lost_s >= SURELY_OFF_S - _TINY_S:
        return around is None or loss.lost_s >= AMID_WORK_S - _TINY_S or not amid_work(*around)
    rest = None if around is None else rest_between(*around)
    if rest is None:
        return False
    return loss == max((each for each in losses if rest[0] < each.from_s < rest[1]), key=lambda each: each.lost_s)


def stretches(pulse: Stream, found: tuple[HandOver, ...]) -> tuple[Stretch, ...]:
    """The stretches between possible hand-overs, each with how much of it was measured."""
    if not len(pulse):
        return ()
    begin, end = own_span(pulse)
    edges = [begin, *(moment for each in found for moment in (each.from_s, each.until_s)), end]
    spans = zip(edges[::2], edges[1::2], strict=True)
    return tuple(Stretch(a, b, hold(pulse, a, b).measured_s) for a, b in spans if b > a)


def _without_leaps(pulse: Stream) -> tuple[Stream, Floats]:
    """A heart rate with the values set aside that leap as no heart does, and when these were [s]."""
    usable = np.flatnonzero((pulse.flags & _LOST) == 0)
    leaping = usable[wild(pulse.time[usable], pulse.values[usable])]
    flags = pulse.flags.copy()
    flags[leaping] |= np.uint16(Flag.TOO_FAST)
    calm = replace(pulse, flags=flags)
    return (calm, pulse.time[leaping]) if calm.usable.any() else (pulse, pulse.time[:0])


def _losses(pulse: Stream, leaps: Floats) -> list[_Loss]:
    """Stretches without a usable value, joined where less than ``FUMBLE_S`` of values lie between.

    Values that merely stand still are no loss here.
    """
    moving = replace(pulse, flags=pulse.flags & ~np.uint16(Flag.FROZEN))
    joined: list[tuple[float, float, float]] = []
    for from_s, until_s in hold(moving, *own_span(pulse)).gaps():
        if joined and from_s - joined[-1][1] < FUMBLE_S:
            first_s, _, before_s = joined[-1]
            joined[-1] = (first_s, until_s, before_s + until_s - from_s)
        else:
            joined.append((from_s, until_s, until_s - from_s))
    return [_Loss(*each, _seen(pulse, leaps, each[0], each[1])) for each in joined]


def _seen(pulse: Stream, leaps: Floats, from_s: float, until_s: float) -> str:
    """What a stretch is known by: the sensor said that it had no contact, the rate leapt, or nothing was measured."""
    inside = (pulse.time >= from_s - _TINY_S) & (pulse.time < until_s)
    if ((pulse.flags[inside] & _OFF) != 0).any():
        return CONTACT
    return LEAPS if ((leaps >= from_s - _TINY_S) & (leaps < until_s)).any() else GAP


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


def _apart(found: list[_Loss]) -> list[_Loss]:
    """Losses that touch or overlap as one, known by what is surest."""
    joined: list[_Loss] = []
    rank = (CONTACT, GAP, LEAPS, EQUAL)
    for each in found:
        if joined and each.from_s - joined[-1].until_s < FUMBLE_S:
            before = joined.pop()
            until_s = max(before.until_s, each.until_s)
            lost_s = min(before.lost_s + each.lost_s, until_s - before.from_s)
            joined.append(_Loss(before.from_s, until_s, lost_s, min(before.seen, each.seen, key=rank.index)))
        else:
            joined.append(each)
    return joined
