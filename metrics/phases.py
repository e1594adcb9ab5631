"""Rest, work and recovery: which part of a recording is which, and how that was decided."""

import math
from collections.abc import Sequence
from dataclasses import InitVar, dataclass
from datetime import datetime

from ..errors import BasisError
from ..ingest.clock_times import moment_told, span_told
from ..ingest.recording import Mark
from ..words.message import Message
from .messages import trial as say

Span = tuple[float, float]
_TOUCH_S = 1.0  # phases that meet may share a second
NAMES = ("rest", "work", "recovery")
MARGIN_S = 120.0
"""What is seen of a recording before a trial's first phase and after its last [s]. Common practice, no source: long
enough for the fall of heart rate in the first minute after work, and for a device that writes slowly."""


@dataclass(frozen=True, slots=True)
class Phases:
    """Phases of a trial in seconds from the recording's start; None: not stated.

    With ``work`` None the whole recording is work; ``how`` says so on the sheet.
    """

    rest: Span | None = None
    work: Span | None = None
    recovery: Span | None = None
    how: Message = say.PHASES_GIVEN
    wall: InitVar[datetime | None] = None
    """What the clock on the wall shows at second 0, to tell a refusal by; it is not kept."""

    def __post_init__(self, wall: datetime | None) -> None:
        for name in NAMES:
            span = getattr(self, name)
            if span is not None and not span[0] < span[1]:
                raise BasisError(
                    f"the {name} phase ends at {moment_told(span[1], wall)}, before it begins at "
                    f"{moment_told(span[0], wall)}.",
                    mend="Give it as FROM-UNTIL.",
                )
        if self.work and self.recovery and self.recovery[0] < self.work[1] - _TOUCH_S:
            begins, ends = (moment_told(at_s, wall) for at_s in (self.recovery[0], self.work[1]))
            raise BasisError(
                f"the recovery phase begins at {begins}, before the work ends at {ends}.",
                mend="Recovery comes after work.",
            )
        if self.work and self.rest and self.work[0] + _TOUCH_S < self.rest[1] and self.rest[0] < self.work[1]:
            rest, work = (span_told(span, wall) for span in (self.rest, self.work))
            raise BasisError(
                f"the rest phase, {rest}, and the work phase, {work}, overlap.", mend="Rest comes before work."
            )

    def span(self, others: Sequence[Span] = (), margin_s: float = MARGIN_S, free: Span | None = None) -> Span | None:
        """What of the recording belongs to the trial; None where the whole recording is work.

        Parameters
        ----------
        others : further stretches that belong to it, as one in which the chair stood still  [s]
        margin_s : before the first stretch and after the last one  [s]
        free : what no other trial of the same recording holds; the margin never reaches out of it  [s]
        """
        if self.work is None:
            return None
        stated = [span for span in (self.rest, self.work, self.recovery, *others) if span is not None]
        return with_margin(stated, margin_s, free)


def with_margin(stated: Sequence[Span], margin_s: float = MARGIN_S, free: Span | None = None) -> Span:
    """From a margin before the first stretch to a margin after the last one; as ``Phases.span``  [s]."""
    begin, end = min(span[0] for span in stated), max(span[1] for span in stated)
    low, high = free or (-math.inf, math.inf)
    return max(begin - margin_s, min(low, begin)), min(end + margin_s, max(high, end))


def from_laps(marks: Sequence[Mark], names: Sequence[str]) -> Phases:
    """Name a recording's laps in order: ``("rest", "work", "recovery")``; "-" leaves a lap out.

    Raises
    ------
    BasisError
        If there are fewer laps than names, a name is not a phase, or is given twice.
    """
    laps = [mark for mark in marks if mark.kind == "lap"]
    if len(laps) < len(names):
        raise BasisError(f"laps were named {len(names)} times, but the recording holds {len(laps)}.")
    found: dict[str, Span] = {}
    for position, (lap, named) in enumerate(zip(laps, names, strict=False)):
        name = named.lower()
        if name == "-":
            continue
        if name not in NAMES or name in found:
            raise BasisError(f"“{name}” cannot name a lap here.", mend="Use rest, work, recovery, each once, or -.")
        until = laps[position + 1].time_s if position + 1 < len(laps) else lap.until_s
        if until is None:
            raise BasisError("the last lap has no end.", mend="Give the phase by its times instead.")
        found[name] = (lap.time_s, until)
    return Phases(found.get("rest"), found.get("work"), found.get("recovery"), how=say.PHASES_LAPS)
