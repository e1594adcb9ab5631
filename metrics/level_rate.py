"""A heart rate that stands level for minutes, and the student whose heart it is.

``ingest`` flags it as frozen where nothing in the file vouches for it, and knows no student. Where a device sets the
rate a level one is no fault and is used; elsewhere it stays aside, and the sheet says what was found.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..ingest.flags import Flag
from ..ingest.level_rate import level_runs
from ..ingest.recording import HEART_RATE, Recording, Stream
from ..words.message import Message
from .conditions import Condition
from .messages import trial as say
from .timeline import own_span

_FROZEN = np.uint16(Flag.FROZEN)
MOST_TOLD = 3
"""So many stretches are named; the rest are counted."""


@dataclass(frozen=True, slots=True)
class Level:
    """A stretch of one heart rate: from when until when [s], and the rate [beats/min]."""

    from_s: float
    until_s: float
    bpm: float

    @property
    def length_s(self) -> float:
        """How long it stood [s]."""
        return self.until_s - self.from_s

    def message(self) -> Message:
        """The stretch for a person."""
        return say.level_stretch(self.bpm, how_long(self.length_s), self.from_s, self.until_s)


def how_long(seconds: float) -> Message:
    """A length of time: 75 s, 5 min, 5 min 20 s."""
    minutes, rest = divmod(round(seconds), 60)
    if minutes < 2:
        return say.level_seconds(round(seconds))
    return say.level_minutes_seconds(minutes, rest) if rest else say.level_minutes(minutes)


def level_stretches(pulse: Stream) -> tuple[Level, ...]:
    """What the rule "frozen" set aside, each stretch with its first sample and the step of its last."""
    runs = level_runs(pulse)
    if not runs:
        return ()
    step = own_span(pulse)[1] - float(pulse.time[-1])
    return tuple(
        Level(float(pulse.time[first]), float(pulse.time[last]) + step, float(pulse.values[first]))
        for first, last in runs
    )


def settled(recording: Recording, conditions: Sequence[Condition]) -> tuple[Recording, list[Message]]:
    """The recording with level heart rates in use where a condition sets the rate, and what is to be said of them."""
    sets = next((each for each in conditions if each.sets_rate), None)
    first = next(iter(recording.all(HEART_RATE)), None)
    found = () if first is None else level_stretches(first)
    if not found:
        return recording, []
    if sets is None:
        return recording, [say.found_level_set_aside(_listed(found))]
    streams = tuple(_in_use(stream) if stream.name == HEART_RATE else stream for stream in recording.streams)
    return replace(recording, streams=streams), [say.found_level_used(_listed(found), sets.name)]


def level_within(pulse: Stream, from_s: float, until_s: float) -> Level | None:
    """The level stretch that takes up most of a time; None if none lies in it."""
    shared = [
        (min(each.until_s, until_s) - max(each.from_s, from_s), -place, each)
        for place, each in enumerate(level_stretches(pulse))
    ]
    longest = max(shared, default=None)
    return longest[2] if longest is not None and longest[0] > 0 else None


def _in_use(stream: Stream) -> Stream:
    return replace(stream, flags=stream.flags & ~_FROZEN)


def _listed(found: Sequence[Level]) -> tuple[Message, ...]:
    named = tuple(each.message() for each in found[:MOST_TOLD])
    more = len(found) - MOST_TOLD
    return (*named, say.level_more(more)) if more > 0 else named
