"""Whose a file is: sure only where one written source says so, its time fits and nothing contradicts it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ...ingest.recording import Span
from ...words.message import Message, Quoted
from ..wearing import Worn
from . import messages as say
from .names import bare, clearly, names_a_device, says_little, words_in
from .seen import Seen, needs_zone
from .sources import Sources
from .worn_times import hours_outside, left_by, may_hold, window_of, within

OTHER_DAY = "day_plan.other_day"


@dataclass(frozen=True, slots=True)
class Owner:
    """Whose a file is.

    code : the student; None: nobody can say
    checks : what to look at; empty: sure
    window : within which it was worn, where others wore it too [s after midnight]; None: all of it, or nobody says
    strap : of the list that it belongs to; empty: to none
    by_clock : the file's clock alone says which of several wearers it is
    """

    code: str | None
    checks: tuple[Message, ...] = ()
    window: Span | None = None
    strap: str = ""
    by_clock: bool = False


def owners_of_all(seen: Sequence[Seen], sources: Sources) -> tuple[tuple[Owner, ...], ...]:
    """Whose each file is, in their order; more than one where the list of straps gives a file to several in turn.

    Files of one strap share one clock. Where that clock alone tells its wearers apart, it must give each of them one
    file: if it were off, one at the end of the row would be left over. A file that is in the logbook already counts.
    """
    served = _served(seen, sources)
    found = [owners_of(each, sources, served) for each in seen]
    given: dict[str, list[str]] = {}
    for strap, code in sources.stored:
        given.setdefault(strap, []).append(code)
    for owners in found:
        for owner in owners:
            if owner.strap and owner.code:
                given.setdefault(owner.strap.casefold(), []).append(owner.code)
    wearers = _wearers(sources)
    unproven = {strap: codes for strap, codes in wearers.items() if sorted(given.get(strap, [])) != list(codes)}
    return tuple(tuple(_proven(owner, unproven) for owner in owners) for owners in found)


def _wearers(sources: Sources) -> dict[str, tuple[str, ...]]:
    """The students who wore each strap, by its label in small letters."""
    found: dict[str, set[str]] = {}
    for each in sources.worn:
        found.setdefault(each.strap.casefold(), set()).add(each.code)
    return {strap: tuple(sorted(codes)) for strap, codes in found.items()}


def _proven(owner: Owner, unproven: dict[str, tuple[str, ...]]) -> Owner:
    wearers = unproven.get(owner.strap.casefold())
    if not owner.by_clock or wearers is None or not owner.code:
        return owner
    known = tuple(each for each in wearers if each)
    check = say.day_plan_by_clock_alone(Quoted(owner.strap), _quoted(known), Quoted(owner.code))
    return replace(owner, checks=(*owner.checks, check))


def _served(seen: Sequence[Seen], sources: Sources) -> frozenset[str]:
    """The students of whom a file is there by its name, by the list of straps or by what a person said."""
    found: set[str] = set()
    codes = {each.code for each in sources.roster} | sources.known
    for each in seen:
        if each.path in sources.given:
            found.update(sources.given[each.path])
            continue
        stem = each.path.stem
        named = words_in(stem, codes)
        found.update(code for code in named if not says_little(code) or clearly(stem, code))
        found.update(worn.code for worn in _listed(each, sources, named)[0])
    return frozenset(found)


def owners_of(seen: Seen, sources: Sources, served: frozenset[str] = frozenset()) -> tuple[Owner, ...]:
    """Whose a file is by what is written of it alone, or by what a person said of it.

    served : students who have a file by what is written: another one that only fits in time is hardly theirs too
    """
    if seen.path in sources.given:
        return tuple(_said(sources.given[seen.path], sources))
    stem = seen.path.stem
    codes = {each.code for each in sources.roster} | sources.known | {each.code for each in sources.worn if each.code}
    named = words_in(stem, codes)
    listed, guessed = _listed(seen, sources, named)
    if len(named) > 1:
        return (Owner(None, (say.day_plan_several(_quoted(named)),)),)
    span = seen.clock_span(sources.zone)
    for code in named:
        sure = not says_little(code) or clearly(stem, code)
        return (_named(code, listed or guessed, span) if sure else _perhaps_named(code, listed or guessed),)
    if not listed:
        return (_guessed(seen, guessed, sources, span, served),)
    clockless = seen.recording is not None and not needs_zone(seen.recording, sources.zone)
    return tuple(_by_list(listed, span, clockless=clockless))


def _said(codes: Sequence[str], sources: Sources) -> Iterator[Owner]:
    """Whose a file is by a person; where it is several students', each with the time in which the strap was worn."""
    if not codes:
        yield Owner(None, (say.DAY_PLAN_NOBODY,))
    for code in codes:
        windows = [window for each in sources.worn if each.code == code and (window := window_of(each)) is not None]
        yield Owner(code, window=windows[0] if len(codes) > 1 and len(windows) == 1 else None)


def _quoted(codes: Sequence[str]) -> tuple[Quoted, ...]:
    return tuple(Quoted(code) for code in codes)


def _listed(seen: Seen, sources: Sources, named: Sequence[str]) -> tuple[tuple[Worn, ...], tuple[Worn, ...]]:
    """Rows of the list of straps that a file's name belongs to clearly, and those it may belong to.

    A strap 11 is not in the name of a student TH-11.
    """
    words = set(words_in(seen.path.stem, [*named, *(each.strap for each in sources.worn)]))
    sure, perhaps = list[Worn](), list[Worn]()
    for each in sources.worn:
        if belongs(seen, each, words):
            sure.append(each)
        elif each.strap in words:
            perhaps.append(each)
    return tuple(sure), tuple(perhaps)


def belongs(seen: Seen, worn: Worn, words: set[str]) -> bool:
    """Whether a file is clearly of a strap; ``words``: labels in its name."""
    if seen.path.name in worn.files:
        return True
    if not worn.strap:
        return False
    return clearly(seen.path.stem, worn.strap) if says_little(worn.strap) else worn.strap in words


def _named(code: str, listed: tuple[Worn, ...], span: Span | None) -> Owner:
    """A file with a student's code in its name, held against the list of straps."""
    mine = [each for each in listed if each.code == code]
    if listed and not mine:
        others = sorted({each.code for each in listed})
        return Owner(None, (say.day_plan_against_list(Quoted(code), _quoted(others)),))
    others = sorted({each.code for each in listed if each.code != code and may_hold(each, span)})
    checks = [say.day_plan_shared(Quoted(mine[0].strap), _quoted(others))] if others else []
    window = window_of(mine[0]) if len(mine) == 1 else None
    if span is not None and window is not None and not within(span, window):
        checks += _other_time(mine[0], span)
    apart = (window or _apart(code, listed, span)) if others else None
    return Owner(code, tuple(checks), apart, mine[0].strap if mine else "")


def _perhaps_named(code: str, listed: tuple[Worn, ...]) -> Owner:
    """A number that is a student's code and stands among other words; never sure."""
    others = sorted({each.code for each in listed if each.code} - {code})
    if others:
        return Owner(None, (say.day_plan_against_list(Quoted(code), _quoted(others)),))
    return Owner(code, (say.day_plan_by_short_code(Quoted(code)),))


def _by_list(listed: tuple[Worn, ...], span: Span | None, *, clockless: bool) -> Iterator[Owner]:
    """Whose a file is by the list of straps alone.

    clockless : it can be read and states no clock, where ``span`` is None; what else is wrong with it is told already
    """
    timed = any(each.since or each.until for each in listed)
    codes = sorted({each.code for each in listed})
    one = codes[0] if len(codes) == 1 else None
    if span is None and (timed or one is None):
        checks = () if one else (say.day_plan_several(_quoted(codes)),)
        yield Owner(one, (*checks, *((say.DAY_PLAN_NO_CLOCK,) if clockless else ())), strap=listed[0].strap)
        return
    fit = {each.code: each for each in reversed(listed) if may_hold(each, span)}
    if not fit:
        checks = tuple(check for each in listed for check in _other_time(each, span))
        yield Owner(one, checks, strap=listed[0].strap)
        return
    for code in sorted(fit):
        yield _of_wearer(fit[code], [other for other in sorted(fit) if other != code], listed, span)


def _of_wearer(worn: Worn, others: list[str], listed: tuple[Worn, ...], span: Span | None) -> Owner:
    """One of those who may have worn a strap while its file ran."""
    checks = [say.day_plan_shared(Quoted(worn.strap), _quoted(others))] if others else []
    mine = [each for each in listed if each.code == worn.code and may_hold(each, span)]
    if not others and not any(_fits(each, span) for each in mine):
        checks += _other_time(worn, span)
    if not worn.code:
        checks.append(say.DAY_PLAN_NOBODY)
    several = len({each.code for each in listed}) > 1
    window = (window_of(mine[0]) or _apart(worn.code, listed, span)) if others else None
    return Owner(worn.code or None, tuple(checks), window, worn.strap, several)


def _apart(code: str, listed: tuple[Worn, ...], span: Span | None) -> Span | None:
    """Where in a shared file a student can be for whom no time is written: where nobody else is, by the list."""
    windows = [window_of(each) for each in listed if each.code != code]
    others = [each for each in windows if each is not None]
    if span is None or not others:
        return None
    return left_by(others, span) or (span[0], span[0])


def _fits(worn: Worn, span: Span | None) -> bool:
    """Whether a file lies within the time in which a strap was worn; without times it does."""
    window = window_of(worn)
    if not (worn.since or worn.until):
        return True
    return window is not None and span is not None and within(span, window)


def _guessed(
    seen: Seen, guessed: tuple[Worn, ...], sources: Sources, span: Span | None, served: frozenset[str]
) -> Owner:
    """A proposal where nothing written says whose a file is; never sure."""
    codes = sorted({each.code for each in guessed if each.code and may_hold(each, span)})
    if len(codes) == 1:
        return Owner(codes[0], (say.day_plan_by_number(Quoted(guessed[0].strap)),))
    if codes:
        return Owner(None, (say.day_plan_several(_quoted(codes)),))
    all_begun = _began_in(seen, sources, span)
    began = [code for code in all_begun if code not in served]
    if len(began) == 1:
        (only,) = began
        told = say.day_plan_by_clock if len(all_begun) == 1 else say.day_plan_by_clock_left
        return Owner(only, (told(Quoted(only)),))
    if began:
        return Owner(None, (say.day_plan_several(_quoted(sorted(began))),))
    return _as_before(seen, sources)


def _began_in(seen: Seen, sources: Sources, span: Span | None) -> list[str]:
    """Who began while a file ran, by the time table; it is of the day of most files."""
    if span is None or any(each.code == OTHER_DAY for each in seen.checks):
        return []
    return [code for code, start in sources.begun.items() if code and span[0] <= start <= span[1]]


def _as_before(seen: Seen, sources: Sources) -> Owner:
    """Whose files of that name were before: a name alone, so it is asked, and nobody is named where several were."""
    stem = seen.path.stem
    earlier = sources.named.get(bare(stem), ()) if names_a_device(stem) else ()
    earlier = tuple(each for each in earlier if each.code in sources.known)
    if len(earlier) == 1:
        (only,) = earlier
        return Owner(only.code, (say.day_plan_by_earlier(Quoted(only.code), only.on),))
    if earlier:
        return Owner(None, (say.day_plan_several(_quoted(sorted(each.code for each in earlier))),))
    return Owner(None, (say.DAY_PLAN_NOBODY,))


def _other_time(worn: Worn, span: Span | None) -> list[Message]:
    """That a file does not lie within the time a strap was worn, and whether it would by another hour."""
    told = (Quoted(worn.code), Quoted(worn.since or "…"), Quoted(worn.until or "…"))
    window = window_of(worn) if worn.since and worn.until else None
    hours = None if window is None or span is None else hours_outside(window, span)
    return [say.day_plan_other_time(*told) if hours is None else say.day_plan_worn_hours_off(*told, hours)]
