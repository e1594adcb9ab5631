"""A row looked at closer: its trace, its questions, and everything else that belongs to a trial, in one form."""

from datetime import date
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from ...words.message import Message
from ..day_view import row_line
from ..days import day_of, wall
from ..forms import Form, posted
from ..pipe import refusal_from
from ..rendering import parts_of, screen, see, text_of, words_of
from .day import added, ask_worker, at_hand, file_lines, found_of, paths_of, place_of, rows_of


def row(request: Request) -> Response:
    """The screen of a row."""
    return _shown(request, Form())


def numbers(request: Request) -> Response:
    """The numbers of its trace, for the script."""
    on, code, turn = _which(request)
    found = ask_worker(request, on, "row_numbers", code=code, turn=turn, query=dict(request.query_params))
    if found is None:
        raise HTTPException(404)
    return JSONResponse(found)


@posted
def keep(request: Request, form: Form) -> Response:
    """Keep what was typed, and put it into the logbook if that was pressed; what is wrong is said at its field."""
    from ..row_form import changes_of, field_of_fault
    from ..trace import HALF_PHASE, HalfPhase

    on, code, turn = _which(request)
    try:
        changes = changes_of(form)
    except HalfPhase as half:
        form.refuse(half.field, HALF_PHASE)
        return _shown(request, form)
    now = wall(request).isoformat()
    found = ask_worker(request, on, "keep_row", code=code, turn=turn, at=now, **changes)
    place = place_of(request, on, code, turn)
    if found is None:
        return see(request, place, Message("web_row.gone"), kind="attention")
    words = words_of(request)
    for name, fault in found["faults"].items():
        reason = refusal_from(fault)
        told = " ".join(text_of(words, each) for each in (reason.what, reason.mend) if each)
        form.refuse(field_of_fault(name, form), told)
    if form.errors:
        return _shown(request, form, partly=bool(found["kept"]))
    if form.text("then") != "add":
        return see(request, place, Message("web_row.kept" if found["kept"] else "web_row.nothing_changed"))
    key = f"{code} {turn}"
    state = next((each["state"] for each in rows_of(request, on)["rows"] if each["key"] == key), "empty")
    if state != "ready":
        return see(request, place, Message(f"web_row.not_yet_{state}"), kind="attention")
    return added(request, Form({"row": [key], "back": ["row"]}), on, [key])


def _shown(request: Request, form: Form, *, partly: bool = False) -> Response:
    from ..row_form import boxes_of, groups_of

    on, code, turn = _which(request)
    words, place = words_of(request), place_of(request, on, code, turn)
    query = dict(request.query_params)
    more = {"code": code, "turn": turn, "language": words.language, "address": place, "query": query}
    found = ask_worker(request, on, "row", **more)
    if found is None:
        raise HTTPException(404)
    logbook, day, texts = parts_of(request).logbook(), found_of(request, on), found["row"]["texts"]
    protocols = {each.name: each for each in logbook.protocols()}
    here = [each for each in at_hand(day, paths_of(request, on)) if each.put_away is None]
    trace = _with_sent(found["trace"], form)
    no_trace = refusal_from(found["no_trace"]).what if found["no_trace"] else ""
    values: dict[str, Any] = {
        "day": on.isoformat(),
        "date": words.date(on),
        "code": code,
        "turn": turn,
        "place": place,
        "turns": [(each, place_of(request, on, code, each)) for each in found["turns"] if each != turn],
        "another": place_of(request, on, code, max([turn, *found["turns"]]) + 1),
        "row": row_line(found["row"], 1, on, {each.sha256: each.name for each in day.files}, request, words),
        "form": form,
        "partly": partly,
        "protocols": [(each.name, each.title) for each in protocols.values()],
        "protocol": (texts.get("protocol", ""), form.text("protocol") if form.fields else texts.get("protocol", "")),
        "boxes": boxes_of(list(file_lines(request, here)), found, words, form),
        "files": " ".join(found["row"]["files"]),
        "trace": trace,
        "no_trace": text_of(words, no_trace) if no_trace else "",
        "groups": groups_of(
            texts,
            protocols.get(texts.get("protocol", "")),
            words,
            form,
            traced=trace is not None,
            filed=bool(found["row"]["files"]),
        ),
    }
    return screen(request, "row.html", 422 if form.errors else 200, **values)


def _with_sent(trace: dict[str, Any] | None, form: Form) -> dict[str, Any] | None:
    """The trace with the times that were sent, and what is wrong with them."""
    for phase in (trace or {}).get("phases", ()):
        for end in phase["ends"]:
            end["text"] = form.text(end["field"]) if end["field"] in form.fields else end["text"]
            end["wrong"] = form.error(end["field"])
    return trace


def _which(request: Request) -> tuple[date, str, int]:
    """The day, the student and which test of the day."""
    code = parts_of(request).ids.code(request.path_params["student"])
    if code is None:
        raise HTTPException(404)
    return day_of(request), code, request.path_params["turn"]


ROUTES = [
    Route("/day/{date}/row/{student}/{turn:int}", row, methods=["GET"]),
    Route("/day/{date}/row/{student}/{turn:int}", keep, methods=["POST"]),
    Route("/day/{date}/row/{student}/{turn:int}/trace", numbers),
]
