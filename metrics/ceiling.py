"""The therapist's ceiling over the whole trial, rest and recovery included: what stood above it, and what may have.

What was not recorded of a phase that begins before the recording, or ends after it, is unknown: it may have been above.

A reading that a cleaning rule set aside is in no figure, and yet it may have been the heart: a true tachycardia is
"implausible" over 230 /min and "too fast" when it comes in a second. So each one above the ceiling is told as a
possible crossing, with its time and the rules that set it aside. A dropout is none, because it is no reading at all: 0,
empty, or a code for "no value" such as 255. A second sensor, whose readings the figures do not use, can tell of a
possible crossing too. RR intervals beside a heart rate are not looked at (``--pulse-from rr_interval`` does): single
beats of a heart that stays below its ceiling pass it all the time.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..ingest.flags import REJECTING, Flag
from ..ingest.recording import HEART_RATE, Recording, Stream
from ..words.message import Message
from ..words.vocabulary import CEILING_FIGURES as NAMES
from . import bounds
from .figure import PossibleCrossing
from .messages import heart_rate as say
from .phases import Phases
from .settings import Asked
from .sheet_builder import Drafts
from .timeline import Held, hold, whole_span

OTHER_SENSOR, ALONE = "other_sensor", "alone"
"""Why a reading above the ceiling is in no figure, beside the cleaning rules: it comes from a sensor that is not used,
or it is the only one of its recording, so that nobody knows for how long it stood."""
BEYOND_RULES = (OTHER_SENSOR, ALONE)

_DUPLICATE, _DROPOUT = np.uint16(Flag.DUPLICATE_STAMP), np.uint16(Flag.DROPOUT)
_NO_PHASES = Phases()
_TINY_S = 1e-6
_ROUNDING = 1e-6

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Spans = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Above:
    """What of a recording stood, or may have stood, above the ceiling of ``ceiling_bpm`` [beats/min].

    held : the usable readings over the whole recording; where two of one moment disagree, none vouches for it
    inside : shape (n,), which of them are above
    possible : readings above it that are in no figure, in order of time
    """

    ceiling_bpm: float
    held: Held
    inside: Bools
    possible: tuple[PossibleCrossing, ...]

    @property
    def stretches(self) -> Spans:
        """From when until when usable readings stood above, in order [s]."""
        return bounds.stretches_where(self.held, self.inside)

    @cached_property
    def possible_s(self) -> float:
        """How long the possible crossings last together, each moment once [s]."""
        total, reached = 0.0, -np.inf
        for each in self.possible:
            total += max(each.until_s - max(each.from_s, reached), 0.0)
            reached = max(reached, each.until_s)
        return total


def look_above(recording: Recording, pulse: Stream | None, asked: Asked, phases: Phases = _NO_PHASES) -> Above | None:
    """Find what stood above the ceiling; None where no ceiling is set or no heart rate was recorded.

    Parameters
    ----------
    recording : for the heart rates that the figures do not use
    pulse : the one that they do use, with every flag set
    phases : of the trial, on the clock of ``pulse``; what it did not see of them counts as not measured
    """
    ceiling = asked.ceiling_bpm
    if ceiling is None or pulse is None or not len(pulse):
        return None
    stated = [phase for phase in (phases.rest, phases.work, phases.recovery) if phase is not None]
    spans = (whole_span(pulse), *stated)
    held = hold(pulse, min(begin for begin, _ in spans), max(end for _, end in spans), asked.hold_s)
    found = list(_possible(pulse, ceiling, asked.hold_s, used=True))
    for other in _others(recording, pulse):
        found += _possible(other, ceiling, asked.hold_s, used=False)
    found.sort(key=lambda each: (each.from_s, each.until_s))
    return Above(ceiling, *bounds.above(held, ceiling), tuple(found))


def add_ceiling_figures(drafts: Drafts, above: Above | None) -> None:
    """Add the ceiling's figures, given or withheld. ``above`` is None where no ceiling is set."""
    if above is None:
        for name in NAMES:
            drafts.withhold(name, say.WHY_NO_CEILING)
        return
    whole, inside, covered = above.held, above.inside, above.held.coverage_percent
    share = 100.0 if covered > 100.0 - _ROUNDING else covered
    counted = say.note_above(above.ceiling_bpm, share)
    if whole.measured_s > 0:
        drafts.give(NAMES[0], bounds.time_where(whole, inside), note=counted, coverage=covered)
        drafts.give(NAMES[1], bounds.longest_where(whole, inside), note=counted, coverage=covered)
    else:
        for name in NAMES[:2]:
            drafts.withhold(name, say.WHY_NEVER_MEASURED, refused=True)
    first = bounds.first_where(whole, inside)
    if first is not None:
        drafts.give(NAMES[2], first.through(lambda after_s: whole.from_s + after_s), note=counted, coverage=covered)
    else:
        drafts.withhold(NAMES[2], _why_no_first(above, share))
    drafts.state(NAMES[3], above.possible_s, note=_where(above.possible), coverage=covered)


def _why_no_first(above: Above, share: float) -> Message:
    """What can be said where no usable reading was above the ceiling."""
    if above.possible:
        return say.why_no_certain_crossing(share)
    return say.why_no_crossing(share) if above.held.measured_s > 0 else say.WHY_NEVER_MEASURED


def _where(possible: tuple[PossibleCrossing, ...]) -> Message | None:
    """How many there are, when the first was and how high they go."""
    if not possible:
        return None
    return say.note_possible(len(possible), possible[0].from_s, max(each.highest_bpm for each in possible))


def _others(recording: Recording, pulse: Stream) -> list[Stream]:
    """Heart rates that the figures do not use."""
    streams = [each for each in recording.all(HEART_RATE) if len(each)]
    same = (place for place, each in enumerate(streams) if _kind(each) == _kind(pulse))
    used = next(same, None)
    return [each for place, each in enumerate(streams) if place != used]


def _kind(stream: Stream) -> tuple[str, str | None]:
    return stream.source, stream.derived_from


def _possible(stream: Stream, ceiling: float, hold_s: float | None, *, used: bool) -> Iterator[PossibleCrossing]:
    """Stretches of readings above the ceiling that are in no figure.

    Readings of one moment are taken together, at the highest of them and with every rule.
    """
    time, usable = stream.time, stream.usable
    standing = np.searchsorted(time, time, side="right") - 1  # the last of those with one stamp has its length
    over = np.flatnonzero((stream.values > ceiling) & ((stream.flags & _DROPOUT) == 0))
    if used and len(np.unique(time)) > 1:
        over = over[~usable[standing[over]]]
    if not len(over):
        return
    highest, rules = np.zeros(len(time)), np.zeros(len(time), np.uint16)
    np.maximum.at(highest, standing[over], stream.values[over])
    np.bitwise_or.at(rules, standing[over], stream.flags[over])
    marked = np.unique(standing[over])
    length = _lengths(stream, marked, hold_s)
    ends = time[marked] + length
    breaks = np.flatnonzero(time[marked][1:] - ends[:-1] > _TINY_S) + 1
    for run in np.split(np.arange(len(marked)), breaks):
        yield PossibleCrossing(
            from_s=float(time[marked[run[0]]]),
            until_s=float(ends[run[-1]]),
            highest_bpm=float(highest[marked[run]].max()),
            rules=_reasons(int(np.bitwise_or.reduce(rules[marked[run]])), used=used),
        )


def _lengths(stream: Stream, marked: NDArray[np.intp], hold_s: float | None) -> Floats:
    """How long readings that were set aside stand, as if they were usable, shape as ``marked`` [s]."""
    held = hold(replace(stream, flags=stream.flags & _DUPLICATE), *whole_span(stream), hold_s)
    length = np.zeros(len(stream))
    length[np.searchsorted(stream.time, held.start_s, side="right") - 1] = held.held_s
    return length[marked]


def _reasons(flags: int, *, used: bool) -> tuple[str, ...]:
    """Names of the rules that set readings aside, and what else keeps them out of the figures."""
    rules = [str(flag.name).lower() for flag in Flag if flags & flag & REJECTING]
    if not used:
        rules.append(OTHER_SENSOR)
    return tuple(rules) or (ALONE,)
