"""Who wore a strap, and when, by a list of straps; and how far the margins of a trial may reach by it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from ..errors import UsageError
from ..ingest.clock_times import parse_moment
from ..ingest.recording import Span

WRITTEN_WITHIN_S = 60.0
"""Times of wearing are written down to the minute [s]: 9:05 is any second from 9:05:00 to 9:05:59."""


@dataclass(frozen=True, slots=True)
class Worn:
    """Who wore a strap, and when (clock times as written; empty: all the time)."""

    strap: str
    code: str
    since: str = ""
    until: str = ""
    files: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Wearing:
    """From when until when a strap was worn, clock times as written; empty where nobody wrote one.

    by_another : not by the student whose trial it is
    """

    since: str
    until: str
    by_another: bool = False


def wearings_of(code: str, mine: Sequence[Worn], worn: Sequence[Worn]) -> tuple[Wearing, ...]:
    """When a student wore a strap, where somebody wrote it down, and that others wore the same one.

    mine : the lines of the list that are of the student's trial
    worn : the whole list
    """
    straps = {each.strap.casefold() for each in mine if each.strap}
    others = [each for each in worn if each.code != code and each.strap.casefold() in straps]
    return tuple(
        Wearing(each.since, each.until, by_another)
        for lines, by_another in ((mine, False), (others, True))
        for each in lines
        if each.since or each.until or by_another
    )


def margins_by(worn: Sequence[Wearing], own: Span, work: Span) -> Span:
    """How far a trial's margins may reach by the list of straps; infinite where it says nothing  [s after midnight].

    What may have been another wearer's by the written times is not the student's: of a time that is written to the
    minute, all of the minute. The trial's own phases stay: where they contradict the list, a person was asked.

    Parameters
    ----------
    own : from the trial's first phase to its last  [s after midnight]
    work : its work phase; a wearing that does not hold it says nothing of the trial  [s after midnight]
    """
    if not any(each.by_another for each in worn):
        return -math.inf, math.inf
    limits = [_beside(each, own) if each.by_another else _during(each, work) for each in worn]
    low, high = (max([-math.inf, *(each[0] for each in limits)]), min([math.inf, *(each[1] for each in limits)]))
    return min(low, own[0]), max(high, own[1])


def holds(since: float | None, until: float | None, work: Span) -> bool:
    """Whether a strap was worn through the work, as far as people write times down  [s after midnight].

    since, until : as written; None: nobody wrote it
    """
    begun = since is None or since <= work[0] + WRITTEN_WITHIN_S
    return begun and (until is None or work[1] <= until + WRITTEN_WITHIN_S)


def seconds(text: str) -> float | None:
    """A written clock time  [s after midnight]; None: nothing is written, or it is none."""
    try:
        return parse_moment(f"@{text.strip().lstrip('@')}").seconds if text.strip() else None
    except UsageError:
        return None


def _during(own: Wearing, work: Span) -> Span:
    """What lies within the student's own wearing, with all of the minute in which it ended."""
    since, until = seconds(own.since), seconds(own.until)
    if not holds(since, until, work):
        return -math.inf, math.inf
    return -math.inf if since is None else since, math.inf if until is None else until + _written_within(own.until)


def _beside(other: Wearing, own: Span) -> Span:
    """What lies between a trial and another one's wearing before or behind it, without the minute in which it ended.

    A wearing of which one end is open lies on the side of the end that is written.
    """
    since, until = seconds(other.since), seconds(other.until)
    low, high = -math.inf, math.inf
    if until is not None and (until < own[1] if since is None else since < own[0] and since <= until):
        low = until + _written_within(other.until)
    if since is not None and (since > own[0] if until is None else until > own[1] and since <= until):
        high = since
    return low, high


def _written_within(text: str) -> float:
    """For how long a clock shows what is written: a minute where the seconds are left out  [s]."""
    return WRITTEN_WITHIN_S if text.count(":") < 2 else 0.0
