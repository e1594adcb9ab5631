"""The class of a day: who is on the list, by which protocol, with which strap."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...records.day.happened import DayTest, Happened, happened
from ...records.day_entry import Entry, Listed, Undone, entry
from ...records.store.day_entries import append, days_with_entries, entries_of
from ...records.store.recent import last_trial, student_codes
from ...words.message import Quoted
from ..days import day_of, key_of, on_list, wall
from ..forms import Form, posted
from ..messages import WEB_NOW_KEPT_LIST, web_now_not_known
from ..rendering import parts_of, screen, see, words_of

EARLIER = 3
"""So many earlier days are offered whose class can be taken over."""


@dataclass(frozen=True, slots=True)
class Row:
    """A student of the list."""

    key: str
    code: str
    protocol: str
    strap: str


@dataclass(frozen=True, slots=True)
class EarlierDay:
    """A day whose class can be taken over."""

    day: str
    on: date
    count: int


def class_list(request: Request) -> Response:
    """The list."""
    return _shown(request, Form())


@posted
def changed(request: Request, form: Form) -> Response:
    """Keep what was changed in it, or add students, or the class of an earlier day."""
    day, logbook = day_of(request), parts_of(request).logbook()
    found = happened(day, entries_of(logbook, day))
    if form.text("same"):
        new = _as_on(request, form.text("same"), found)
    elif form.text("do") == "keep":
        new = list(_changes(request, form, found))
    else:
        new = _added(request, form, found)
    if form.errors:
        return _shown(request, form, 422)
    append(logbook, *new)
    return see(request, f"/day/{day}/class", WEB_NOW_KEPT_LIST)


def _shown(request: Request, form: Form, status: int = 200) -> Response:
    day, words = day_of(request), words_of(request)
    logbook = parts_of(request).logbook()
    found = happened(day, entries_of(logbook, day))
    return screen(
        request,
        "class_list.html",
        status,
        day=day.isoformat(),
        date=words.date(day),
        tests=[Row(key_of(each), each.code, each.protocol or "", each.strap or "") for each in _listed(found)],
        protocols=sorted({each.name for each in logbook.protocols()}),
        earlier=list(_earlier(request, day)),
        form=form,
    )


def _listed(found: Happened) -> tuple[DayTest, ...]:
    return tuple(each for each in on_list(found) if each.listed is not None)


def _earlier(request: Request, day: date) -> Iterator[EarlierDay]:
    """The days before whose class was another day's last."""
    logbook, shown = parts_of(request).logbook(), 0
    for each in days_with_entries(logbook):
        if each >= day or shown == EARLIER:
            continue
        listed = _listed(happened(each, entries_of(logbook, each)))
        if listed:
            shown += 1
            yield EarlierDay(each.isoformat(), each, len(listed))


def _as_on(request: Request, text: str, found: Happened) -> list[Entry]:
    """The class of an earlier day, with its protocols and straps; who is on the list already stays as it is."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise HTTPException(400) from None
    there = {each.code for each in _listed(found)}
    before = _listed(happened(day, entries_of(parts_of(request).logbook(), day)))
    return [
        _entry(request, each.code, each.turn, each.protocol, each.strap) for each in before if each.code not in there
    ]


def _changes(request: Request, form: Form, found: Happened) -> Iterator[Entry]:
    """What was typed otherwise than it stands, and who is left out."""
    out = set(form.all("out"))
    for test in _listed(found):
        key = key_of(test)
        if key in out:
            for number in test.listings:
                yield entry(found.day, wall(request), Undone(entry=number), test.code)
            continue
        if f"protocol-{key}" not in form.fields:
            continue  # it came onto the list since
        protocol, strap = form.text(f"protocol-{key}") or None, form.text(f"strap-{key}") or None
        if (protocol, strap) != (test.protocol, test.strap):
            yield _entry(request, test.code, test.turn, protocol, strap)


def _added(request: Request, form: Form, found: Happened) -> list[Entry]:
    """Students by their codes, each with the strap that stands behind."""
    logbook = parts_of(request).logbook()
    known = student_codes(logbook)
    typed = [part.split(maxsplit=1) for part in re.split(r"[,;\n]+", form.text("codes")) if part.strip()]
    pairs = [(words[0].upper(), words[1].strip() if len(words) > 1 else None) for words in typed]
    strange = sorted({code for code, _ in pairs} - known)
    if strange:
        form.refuse("codes", web_now_not_known(tuple(map(Quoted, strange))))
        return []
    there = {each.code: each for each in _listed(found)}
    new: list[Entry] = []
    for code, strap in pairs:
        before = there.get(code)
        last = last_trial(logbook, code) if not form.text("protocol") else None
        protocol = form.text("protocol") or (last.protocol if last is not None else None)
        new.append(
            _entry(
                request,
                code,
                1,
                protocol or (before.protocol if before else None),
                strap or (before.strap if before else None),
            )
        )
    return new


def _entry(request: Request, code: str, turn: int, protocol: str | None, strap: str | None) -> Entry:
    return entry(day_of(request), wall(request), Listed(turn=turn, protocol=protocol, strap=strap), code)


ROUTES = [Route("/day/{date}/class", class_list), Route("/day/{date}/class", changed, methods=["POST"])]
