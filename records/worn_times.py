"""When a strap was worn, by the list of straps, against when the student worked: asked where they contradict."""

import math
from collections.abc import Sequence

from ..ingest.clock_times import on_the_wall
from ..ingest.recording import Recording, Span
from ..metrics.figure import EffortSheet
from ..words.message import Quoted
from ..words.numbers import clock
from . import guard_messages as say
from .guards import YES, Question
from .wearing import Wearing, holds, margins_by, seconds


def of_worn(sheet: EffortSheet, whole: Recording, zone: str | None, worn: Sequence[Wearing]) -> tuple[Question, ...]:
    """What is asked where the work phase lies outside of every time at which the student wore the strap.

    whole : the clock of the trial's files; nothing is asked where they state none
    zone : in which the school's clocks are
    """
    at_start, mine = time_of_day(whole, zone), [each for each in worn if not each.by_another]
    spans = [(seconds(each.since), seconds(each.until)) for each in mine]
    if at_start is None or not mine or any(_unreadable(each) for each in mine):
        return ()
    begin, end = (at_start + each for each in sheet.provenance.phases.work)
    if any(holds(since, until, (begin, end)) for since, until in spans):
        return ()
    written = "; ".join(f"{each.since or '…'}-{each.until or '…'}" for each in mine)
    return (Question(say.guard_worn(Quoted(f"{clock(begin)}-{clock(end)}"), Quoted(written)), (YES,)),)


def margins(own: Span, work: Span, whole: Recording, zone: str | None, worn: Sequence[Wearing]) -> Span:
    """How far a trial's margins may reach by the list of straps; infinite where it says nothing  [s].

    own : from the trial's first phase to its last, on the clock of its files  [s]
    work : its work phase, on the same clock  [s]
    whole, zone : as ``of_worn``
    """
    at_start = time_of_day(whole, zone)
    if at_start is None:
        return -math.inf, math.inf
    low, high = margins_by(worn, (own[0] + at_start, own[1] + at_start), (work[0] + at_start, work[1] + at_start))
    return low - at_start, high - at_start


def _unreadable(worn: Wearing) -> bool:
    return any(text.strip() and seconds(text) is None for text in (worn.since, worn.until))


def time_of_day(whole: Recording, zone: str | None) -> float | None:
    """The time of day at second 0  [s after midnight]."""
    if whole.start is None:
        return whole.clock_s
    start = on_the_wall(whole.start, zone)
    return start.hour * 3600.0 + start.minute * 60.0 + start.second + start.microsecond / 1e6
