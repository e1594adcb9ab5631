"""When a strap was worn, by the list of straps, held against the clock of a file. It never says what was work."""

from collections.abc import Iterable

from ...errors import UsageError
from ...ingest.clock_times import parse_moment
from ...ingest.recording import Span
from ..wearing import Worn

WORN_WITHIN_S = 120.0
"""So far outside the time in which a strap was worn, by the list, a file may begin or end [s]: it is put on before and
taken off after somebody looks at a watch. Our own choice."""
LEAST_SHARED_S = 60.0
"""A wearer of whose time a file holds less is none of its [s]."""
HOUR_S, DAY_S, MOST_HOURS = 3600.0, 86_400.0, 14
OFF_WITHIN_S = 120.0
OPEN_S = 2 * DAY_S
"""Until then a strap was worn where nothing is written; a file may run past midnight [s]."""


def seconds_of(text: str) -> float | None:
    """A time of day as people write it, 9:05 or 09:05:30 [s after midnight]; None where it is none."""
    plain = text.strip().lstrip("@")
    try:
        seconds = parse_moment(f"@{plain}").seconds
    except UsageError:
        return None
    return seconds if seconds < DAY_S else None


def window_of(worn: Worn) -> Span | None:
    """From when until when a strap was worn [s after midnight]; None: nothing is written, or it is no stretch of time.

    An end that is not written is open.
    """
    begin = seconds_of(worn.since) if worn.since else 0.0
    until = seconds_of(worn.until) if worn.until else OPEN_S
    written = bool(worn.since or worn.until)
    return (begin, until) if written and begin is not None and until is not None and begin < until else None


def left_by(others: Iterable[Span], span: Span) -> Span | None:
    """The longest stretch of a file in which none of the others wore the strap, by the list [s after midnight].

    Where nobody wrote down when a student wore it, their time is at least not that of the others. None: nothing is
    left that could be a trial.
    """
    stretches, begin = list[Span](), span[0]
    for since, until in sorted(others):
        stretches.append((begin, min(since, span[1])))
        begin = max(begin, until)
    stretches.append((begin, span[1]))
    longest = max(stretches, key=lambda each: each[1] - each[0])
    return longest if longest[1] - longest[0] >= LEAST_SHARED_S else None


def within(span: Span, window: Span) -> bool:
    """Whether a file ran while the strap was worn."""
    return window[0] - WORN_WITHIN_S <= span[0] and span[1] <= window[1] + WORN_WITHIN_S


def may_hold(worn: Worn, span: Span | None) -> bool:
    """Whether a file can hold some of the time in which a strap was worn."""
    if span is None:
        return True
    begin = seconds_of(worn.since) if worn.since else 0.0
    until = seconds_of(worn.until) if worn.until else OPEN_S
    if begin is None or until is None:
        return True
    return min(until, span[1]) - max(begin, span[0]) >= min(LEAST_SHARED_S, span[1] - span[0])


def hours_off(start: float, span: Span) -> int | None:
    """By how many whole hours a recording's clock would have to be moved to hold a start; None: by none."""
    middle = (span[0] + span[1]) / 2
    hours = round((start - middle) / HOUR_S)
    moved = (span[0] + hours * HOUR_S, span[1] + hours * HOUR_S)
    holds = moved[0] - OFF_WITHIN_S <= start <= moved[1]
    return hours if hours and abs(hours) <= MOST_HOURS and holds else None


def hours_outside(window: Span, span: Span) -> int | None:
    """By how many whole hours a file's clock would have to be moved to lie in the time a strap was worn; None: none."""
    hours = round((sum(window) - sum(span)) / 2 / HOUR_S)
    moved = (span[0] + hours * HOUR_S, span[1] + hours * HOUR_S)
    return hours if hours and abs(hours) <= MOST_HOURS and within(moved, window) else None
