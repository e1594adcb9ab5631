"""When a strap was worn, by the list of straps, against when the student worked: asked where they contradict."""

from collections.abc import Sequence
from typing import TypeAlias

from ..errors import UsageError
from ..ingest.clock_times import on_the_wall, parse_moment
from ..ingest.recording import Recording
from ..metrics.figure import EffortSheet
from ..words.message import Quoted
from ..words.numbers import clock
from . import guard_messages as say
from .guards import YES, Question

Wearing: TypeAlias = tuple[str, str]
"""From when until when a strap was worn, clock times as written; empty where nobody wrote one."""

WRITTEN_WITHIN_S = 60.0
"""Times of wearing are written down to the minute [s]. Our own choice."""
_DAY_S = 86_400.0


def of_worn(sheet: EffortSheet, whole: Recording, zone: str | None, worn: Sequence[Wearing]) -> tuple[Question, ...]:
    """What is asked where the work phase lies outside of every time at which the student wore the strap.

    whole : the clock of the trial's files; nothing is asked where they state none
    zone : in which the school's clocks are
    """
    at_start = _at_start(whole, zone)
    spans = [(_seconds(since, 0.0), _seconds(until, _DAY_S)) for since, until in worn]
    if at_start is None or not spans or any(since is None or until is None for since, until in spans):
        return ()
    begin, end = (at_start + each for each in sheet.provenance.phases.work)
    for since, until in spans:
        if (
            since is not None
            and until is not None
            and since <= begin + WRITTEN_WITHIN_S
            and end <= until + WRITTEN_WITHIN_S
        ):
            return ()
    written = "; ".join(f"{since or '…'}-{until or '…'}" for since, until in worn)
    return (Question(say.guard_worn(Quoted(f"{clock(begin)}-{clock(end)}"), Quoted(written)), (YES,)),)


def _at_start(whole: Recording, zone: str | None) -> float | None:
    """The time of day at second 0  [s after midnight]."""
    if whole.start is None:
        return whole.clock_s
    start = on_the_wall(whole.start, zone)
    return start.hour * 3600.0 + start.minute * 60.0 + start.second + start.microsecond / 1e6


def _seconds(text: str, otherwise: float) -> float | None:
    """A written clock time  [s after midnight]; None if it is none."""
    if not text.strip():
        return otherwise
    try:
        return parse_moment(f"@{text.strip().lstrip('@')}").seconds
    except UsageError:
        return None
