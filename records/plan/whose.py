"""Whose a file is: sure only where one written source says so, its time fits and nothing contradicts it."""

from collections.abc import Iterator
from dataclasses import dataclass

from ...errors import UsageError
from ...ingest.clock_times import parse_moment
from ...ingest.recording import Span
from ...words.message import Message, Quoted
from ..class_table import Worn
from . import messages as say
from .names import bare, clearly_numbered, is_number, words_in
from .seen import Seen
from .sources import Sources

WORN_WITHIN_S = 120.0
"""So far outside the time in which a strap was worn, by the list, a file may begin or end [s]: it is put on before and
taken off after somebody looks at a watch. Our own choice."""
LEAST_SHARED_S = 60.0
"""A wearer of whose time a file holds less is none of its [s]."""
HOUR_S, DAY_S, MOST_HOURS = 3600.0, 86_400.0, 14
OFF_WITHIN_S = 120.0


@dataclass(frozen=True, slots=True)
class Owner:
    """Whose a file is.

    code : the student; None: nobody can say
    checks : what to look at; empty: sure
    window : within which it was worn, where others wore it too [s after midnight]; None: all of it, or nobody says
    """

    code: str | None
    checks: tuple[Message, ...] = ()
    window: Span | None = None


def owners_of(seen: Seen, sources: Sources) -> tuple[Owner, ...]:
    """Whose a file is; more than one where the list of straps gives it to several in turn."""
    stem = seen.path.stem
    codes = {each.code for each in sources.roster} | sources.known | {each.code for each in sources.worn if each.code}
    named = words_in(stem, codes)
    listed, guessed = _listed(seen, sources)
    if len(named) > 1:
        return (Owner(None, (say.day_plan_several(_quoted(named)),)),)
    span = seen.clock_span(sources.zone)
    if named:
        return (_named(named[0], listed, span),)
    if not listed:
        return (_guessed(seen, guessed, sources, span),)
    return tuple(_by_list(listed, span))


def _quoted(codes: "tuple[str, ...] | list[str]") -> tuple[Quoted, ...]:
    return tuple(Quoted(code) for code in codes)


def _listed(seen: Seen, sources: Sources) -> tuple[tuple[Worn, ...], tuple[Worn, ...]]:
    """Rows of the list of straps that a file's name belongs to clearly, and those it may belong to."""
    stem = seen.path.stem
    words = set(words_in(stem, [each.strap for each in sources.worn]))
    sure, perhaps = list[Worn](), list[Worn]()
    for each in sources.worn:
        if seen.path.name in each.files or (is_number(each.strap) and clearly_numbered(stem, each.strap)):
            sure.append(each)
        elif each.strap in words:
            (perhaps if is_number(each.strap) else sure).append(each)
    return tuple(sure), tuple(perhaps)


def _named(code: str, listed: tuple[Worn, ...], span: Span | None) -> Owner:
    """A file with a student's code in its name, held against the list of straps."""
    mine = [each for each in listed if each.code == code]
    if listed and not mine:
        others = sorted({each.code for each in listed})
        return Owner(None, (say.day_plan_against_list(Quoted(code), _quoted(others)),))
    others = sorted({each.code for each in listed if each.code != code and _may_hold(each, span)})
    checks = [say.day_plan_shared(Quoted(mine[0].strap), _quoted(others))] if others else []
    window = window_of(mine[0]) if len(mine) == 1 else None
    if span is not None and window is not None and not _within(span, window):
        checks.append(_other_time(mine[0]))
    return Owner(code, tuple(checks), window if others else None)


def _by_list(listed: tuple[Worn, ...], span: Span | None) -> Iterator[Owner]:
    """Whose a file is by the list of straps alone."""
    timed = [each for each in listed if each.since or each.until]
    if span is None and (timed or len({each.code for each in listed}) > 1):
        codes = sorted({each.code for each in listed})
        one = codes[0] if len(codes) == 1 else None
        yield Owner(
            one, (say.DAY_PLAN_NO_CLOCK,) if one else (say.day_plan_several(_quoted(codes)), say.DAY_PLAN_NO_CLOCK)
        )
        return
    fit = [each for each in listed if _may_hold(each, span)]
    if not fit:
        codes = sorted({each.code for each in listed})
        yield Owner(codes[0] if len(codes) == 1 else None, tuple(_other_time(each) for each in listed))
        return
    for each in fit:
        others = sorted({other.code for other in fit if other.code != each.code})
        checks = [say.day_plan_shared(Quoted(each.strap), _quoted(others))] if others else []
        window = window_of(each)
        if not others and ((window is None and timed) or (span and window and not _within(span, window))):
            checks.append(_other_time(each))
        yield Owner(
            each.code or None,
            tuple(checks) if each.code else (*checks, say.DAY_PLAN_NOBODY),
            window if others else None,
        )


def _guessed(seen: Seen, guessed: tuple[Worn, ...], sources: Sources, span: Span | None) -> Owner:
    """A proposal where nothing written says whose a file is; never sure."""
    codes = sorted({each.code for each in guessed if _may_hold(each, span)})
    if len(codes) == 1:
        return Owner(codes[0], (say.day_plan_by_number(Quoted(guessed[0].strap)),))
    if codes:
        return Owner(None, (say.day_plan_several(_quoted(codes)),))
    began = [code for code, start in sources.starts.items() if code and span and span[0] <= start <= span[1]]
    if len(began) == 1:
        return Owner(began[0], (say.day_plan_by_clock(Quoted(began[0])),))
    earlier = sources.named.get(bare(seen.path.stem))
    if earlier is not None and earlier.code in sources.known:
        return Owner(earlier.code, (say.day_plan_by_earlier(Quoted(earlier.code), earlier.on),))
    return Owner(None, (say.day_plan_several(_quoted(sorted(began))),) if began else (say.DAY_PLAN_NOBODY,))


def _other_time(worn: Worn) -> Message:
    return say.day_plan_other_time(Quoted(worn.code), Quoted(worn.since or "…"), Quoted(worn.until or "…"))


def window_of(worn: Worn) -> Span | None:
    """From when until when a strap was worn [s after midnight]; None: not both are written, or they are no times."""
    begin, until = seconds_of(worn.since), seconds_of(worn.until)
    return None if begin is None or until is None or until <= begin else (begin, until)


def seconds_of(text: str) -> float | None:
    """A time of day as people write it, 9:05 or 09:05:30 [s after midnight]; None where it is none."""
    plain = text.strip().lstrip("@")
    try:
        seconds = parse_moment(f"@{plain}").seconds
    except UsageError:
        return None
    return seconds if seconds < DAY_S else None


def _within(span: Span, window: Span) -> bool:
    return window[0] - WORN_WITHIN_S <= span[0] and span[1] <= window[1] + WORN_WITHIN_S


def _may_hold(worn: Worn, span: Span | None) -> bool:
    """Whether a file can hold some of the time in which a strap was worn."""
    if span is None:
        return True
    begin = seconds_of(worn.since) if worn.since else 0.0
    until = seconds_of(worn.until) if worn.until else 2 * DAY_S
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
