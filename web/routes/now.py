"""In class: who began and ended when, written down while it happens, by one press each."""

import hashlib
import secrets
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...records.day.happened import DayTest, Happened, happened
from ...records.day_entry import (
    PRESSES,
    Assisted,
    Entry,
    Exertion,
    Noted,
    Press,
    PressKind,
    Stopped,
    Undone,
    What,
    entry,
)
from ...records.protocol import Protocol
from ...records.store.day_entries import append, entries_of, undo
from ...words.render import Words
from ..day_words import at_text, entry_text
from ..days import day_of, key_of, on_list, test_of, wall
from ..forms import Form, anchor, posted, whole
from ..rendering import parts_of, screen, see, words_of

LAST = 8
"""So many of the last entries can be undone from here."""
SCALES = {"6-20": range(6, 21), "0-10": range(11), "pictures 0-10": range(11)}


@dataclass(frozen=True, slots=True)
class Line:
    """A student's line.

    key : names the test in a form
    since : when the phase began that goes on, for the script
    told : the state in words
    undoes : the last press that counts, which can be taken back beside it; 0 without one
    next : what can be pressed, the next one first
    """

    key: str
    code: str
    protocol: str
    strap: str
    state: str
    since: str
    told: str
    next: tuple[PressKind, ...]
    assisted: bool
    exertion: float | None
    scale_key: str
    scale: Sequence[int]
    lines: tuple[str, ...]
    undoes: int


@dataclass(frozen=True, slots=True)
class LastLine:
    """One of the last entries. ``undoes``: the entry that the button undoes."""

    number: int
    told: str
    undone: bool
    undoes: int


def now(request: Request) -> Response:
    """The class, each student with the next press."""
    day = day_of(request)
    logbook, words = parts_of(request).logbook(), words_of(request)
    entries = entries_of(logbook, day)
    found = happened(day, entries)
    protocols = {each.name: each for each in logbook.protocols()}
    return screen(
        request,
        "now.html",
        day=day.isoformat(),
        date=words.date(day),
        today=day == wall(request).date(),
        tests=[_line(test, protocols.get(test.protocol or ""), words) for test in on_list(found)],
        presses=PRESSES,
        last=list(_last(entries, found, words)),
        once=secrets.token_urlsafe(9),
        open=request.query_params.get("open", ""),
    )


@posted
def press(request: Request, form: Form) -> Response:
    """A phase begins or ends, of one student or of all that are ticked."""
    day, what = day_of(request), form.text("what")
    if what not in PRESSES:
        raise HTTPException(400)
    found = happened(day, entries_of(parts_of(request).logbook(), day))
    tests = [test for key in form.all("test") if (test := test_of(found, key)) is not None]
    _keep(request, form, [(test, Press(turn=test.turn, what=what)) for test in tests])
    return see(request, f"/day/{day}/now{_row(form)}")


@posted
def note(request: Request, form: Form) -> Response:
    """A stop, help, exertion or a note of one student."""
    day = day_of(request)
    logbook = parts_of(request).logbook()
    test = test_of(happened(day, entries_of(logbook, day)), form.text("test"))
    if test is None:
        raise HTTPException(404)
    protocols = {each.name: each for each in logbook.protocols()}
    _keep(request, form, [(test, what) for what in _noted(form, test, protocols.get(test.protocol or ""))])
    return see(request, f"/day/{day}/now{_row(form)}")


@posted
def undone(request: Request, form: Form) -> Response:
    """The last entry does not count, or counts again."""
    day, number = day_of(request), whole(form.text("entry"))
    if number is None:
        raise HTTPException(400)
    undo(parts_of(request).logbook(), number, wall(request), form.text("once") or None)
    return see(request, f"/day/{day}/now{_row(form)}")


def _noted(form: Form, test: DayTest, protocol: Protocol | None) -> Iterator[What]:
    """What one press of a student's further buttons enters."""
    turn, what, text = test.turn, form.text("what"), form.text("text")
    if what == "stop":
        yield Stopped(turn=turn, why=text)
    elif what == "assist_begins":
        yield Assisted(turn=turn, what="begins")
    elif what == "assist_ends":
        yield Assisted(turn=turn, what="ends")
    elif form.text("exertion"):
        value = form.number("exertion")
        if value is not None:
            yield Exertion.model_validate({"turn": turn, "value": value, "scale": _scale(protocol)})
    elif text:
        yield Noted(turn=turn, text=text)


def _keep(request: Request, form: Form, new: Sequence[tuple[DayTest, What]]) -> tuple[Entry, ...]:
    """Keep entries of now; a form that is sent twice enters them once."""
    once, at, day = form.text("once"), wall(request), day_of(request)
    made = [
        entry(day, at, what, test.code, _once(once, place, what) if once else None)
        for place, (test, what) in enumerate(new)
    ]
    return append(parts_of(request).logbook(), *made)


def _once(once: str, place: int, what: What) -> str:
    """The mark of one entry of a form: the same press twice has the same, another press of the same form another.

    Where the answer is slow, the next button of a form is pressed before the form has come anew.
    """
    return f"{once[:40]}_{place}_{hashlib.sha256(what.model_dump_json().encode()).hexdigest()[:12]}"


def _line(test: DayTest, protocol: Protocol | None, words: Words) -> Line:
    state, told, since = _state(test, words)
    scale = _scale(protocol)
    return Line(
        key_of(test),
        test.code,
        test.protocol or "",
        test.strap or "",
        state,
        since,
        told,
        _next(test, protocol),
        bool(test.assisted) and test.assisted[-1].until is None,
        None if test.exertion is None else test.exertion.value,
        scale,
        SCALES[scale],
        tuple(_of_test(test, words)),
        max((each.number for each in test.presses.values()), default=0),
    )


def _state(test: DayTest, words: Words) -> tuple[str, str, str]:
    """The state, in words, and since when it lasts where it goes on."""
    pressed = test.presses
    if test.state == "waiting":
        return "waiting", words.get("web_now.state_waiting"), ""
    if test.state in ("resting", "working"):
        began = pressed["rest_begins" if test.state == "resting" else "work_begins"].at
        key = "rest" if test.state == "resting" else "work"
        return key, words.get(f"web_now.state_{key}", at=at_text(began)), began.isoformat()
    end = at_text(pressed["work_ends"].at)
    if "work_begins" in pressed:
        return "done", words.get("web_now.state_done", begin=at_text(pressed["work_begins"].at), end=end), ""
    return "done", words.get("web_now.state_done_open", end=end), ""


def _next(test: DayTest, protocol: Protocol | None) -> tuple[PressKind, ...]:
    """What can be pressed: the next phase first, and what may come without the ones before."""
    rests = protocol is None or protocol.rest_s is not None
    match test.state:
        case "waiting":
            return ("rest_begins", "work_begins") if rests else ("work_begins",)
        case "resting":
            return ("work_begins",)
        case "working":
            return ("work_ends",)
        case _:
            return ()


def _scale(protocol: Protocol | None) -> str:
    return (protocol.exertion_scale if protocol is not None else None) or "0-10"


def _of_test(test: DayTest, words: Words) -> Iterator[str]:
    """What was noted of a test, in the order of its kinds."""
    for stop in test.stops:
        key = "told_stop_why" if stop.why else "told_stop"
        more = {"why": stop.why} if stop.why else {}
        yield words.get(f"web_now.{key}", at=at_text(stop.at), **more)
    for each in test.assisted:
        yield words.get("web_now.told_assist_begins", at=at_text(each.at))
        if each.until is not None:
            yield words.get("web_now.told_assist_ends", at=at_text(each.until))
    if test.exertion is not None:
        told = words.get(f"web_now.scale_{test.exertion.scale}")
        yield words.get("web_now.told_exertion", at=at_text(test.exertion.at), value=test.exertion.value, scale=told)
    for each in test.notes:
        yield words.get("web_now.told_note", at=at_text(each.at), text=each.text)


def _last(entries: Sequence[Entry], found: Happened, words: Words) -> Iterator[LastLine]:
    """The last entries of a student, the newest first, each with what undoes it or brings it back."""
    undoing = {
        each.what.entry: each.number
        for each in entries
        if isinstance(each.what, Undone) and each.number not in found.undone
    }
    shown = [each for each in reversed(entries) if each.code is not None and entry_text(each, words)]
    for each in shown[:LAST]:
        number, gone = each.number or 0, each.number in found.undone
        told = words.get("web_now.told_of", student=each.code or "", what=entry_text(each, words))
        yield LastLine(number, told, gone, (undoing.get(number) or number) if gone else number)


def _row(form: Form) -> str:
    """Back to the row that was pressed."""
    return anchor("row", form.text("row"))


ROUTES = [
    Route("/day/{date}/now", now),
    Route("/day/{date}/press", press, methods=["POST"]),
    Route("/day/{date}/note", note, methods=["POST"]),
    Route("/day/{date}/undo", undone, methods=["POST"]),
]
