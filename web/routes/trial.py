"""A trial: what is kept of it, its trace with phases to drag, what can be corrected, and its history."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from ...errors import NotConfirmed, OwnmarkError, Question, UnknownTrial
from ...words.message import Message, Quoted
from ..forms import Form, posted
from ..rendering import parts_of, screen, see, text_of, words_of

if TYPE_CHECKING:
    from ...records.mending import Mended
    from ...records.recompute import FigureChange
    from ...records.store.logbook import Logbook
    from ...records.trial import Trial
    from ...reports.words import Words

_TOLD = 6
"""So many figures that changed are told one by one."""


def trial(request: Request) -> Response:
    """The screen of a trial; of a removed one its history, and the way to bring it back."""
    return _shown(request, Form())


def numbers(request: Request) -> Response:
    """The numbers of its trace, for the script."""
    from ..trace import levels
    from ..traces import trace_of

    logbook = parts_of(request).logbook()
    found = trace_of(logbook, logbook.trial(_number(request)))
    if found is None:
        raise HTTPException(404)
    return JSONResponse(levels(found, request.query_params))


def mend(request: Request, form: Form) -> Response:
    """Correct it; what could be a mistake is asked, and answered by a press."""
    from dataclasses import replace

    from ...records.mending import Edit, edit_trial
    from ...records.text_guards import ask, of_texts
    from ..trace import HALF_PHASE, HalfPhase
    from ..trial_fields import edit_of

    logbook, number, why = parts_of(request).logbook(), _number(request), form.text("why")
    try:
        edit = edit_of(logbook.trial(number), form)
    except HalfPhase as half:
        form.refuse(half.field, HALF_PHASE)
        return _shown(request, form)
    if replace(edit, answers=()) == Edit():
        return see(request, _place(number), Message("web_trial.nothing_changed"))
    questions = of_texts({"history_why": why})

    def do() -> "Mended":
        ask(questions, edit.answers)
        today = parts_of(request).now().date()
        return edit_trial(logbook, number, replace(edit, asked=questions), why=why, today=today)

    return _done(request, form, do, lambda mended: _mended(mended, words_of(request)))


def move(request: Request, form: Form) -> Response:
    """Give it to the student whose it was."""
    from ...records.mending import move_trial
    from ...records.text_guards import ask_of

    logbook, number, why = parts_of(request).logbook(), _number(request), form.text("why")
    code = form.text("code")
    if not code:
        form.refuse("code", Message("web_trial.no_student"))
        return _shown(request, form, "move")

    def do() -> "Mended":
        ask_of({"history_why": why}, form.all("answer"))
        return move_trial(logbook, number, code, why=why)

    def told(mended: "Mended") -> list[Message]:
        first = Message.of("web_trial.moved", code=Quoted(mended.trial.code))
        return [first, *_figures(mended.figures, words_of(request)), *mended.told]

    return _done(request, form, do, told, "move")


def remove(request: Request, form: Form) -> Response:
    """Take it away; it counts nowhere, and its history keeps it."""
    from ...records.removing import remove_trial
    from ...records.text_guards import ask_of

    logbook, number, why = parts_of(request).logbook(), _number(request), form.text("why")
    if not why:
        form.refuse("why_remove", Message("web_trial.no_reason"))
        return _shown(request, form, "remove")

    def do() -> "Trial":
        ask_of({"history_why": why}, form.all("answer"))
        return remove_trial(logbook, number, why=why)

    return _done(request, form, do, lambda _: [Message("web_trial.removed")], "remove")


def restore(request: Request, form: Form) -> Response:
    """Bring a removed one back."""
    from ...records.removing import put_back
    from ...records.text_guards import ask_of

    logbook, number, why = parts_of(request).logbook(), _number(request), form.text("why")

    def do() -> "Trial":
        ask_of({"history_why": why}, form.all("answer"))
        return put_back(logbook, number, why=why)

    return _done(request, form, do, lambda _: [Message("web_trial.is_back")], "restore")


def _done(
    request: Request, form: Form, do: Callable[[], Any], told: Callable[[Any], list[Message]], section: str = "edit"
) -> Response:
    """Do it and say so; or show the form again with what is asked of it, or why it was refused."""
    try:
        found = do()
    except NotConfirmed as still:
        return _shown(request, form, section, still.questions)
    except UnknownTrial:
        raise
    except OwnmarkError as refusal:
        words = words_of(request)
        form.refuse("", " ".join(text_of(words, each) for each in (refusal.what, refusal.mend) if each))
        return _shown(request, form, section)
    return see(request, _place(_number(request)), *told(found))


def _mended(mended: "Mended", words: "Words") -> list[Message]:
    if not mended.fields:
        return [Message("web_trial.nothing_changed")]
    return [Message("web_trial.mended"), *_figures(mended.figures, words), *mended.told]


def _figures(changed: "tuple[FigureChange, ...]", words: "Words") -> list[Message]:
    """The figures that are not what they were."""
    from ...reports.sheets.figure_text import amount, label
    from ...words.vocabulary import FIGURES

    def text(name: str, value: float | None) -> Quoted:
        if value is None:
            return Quoted(words.get("form.not_given"))
        return Quoted(amount(name, value, FIGURES[name].unit, words) if name in FIGURES else words.shortest(value))

    told = [
        Message.of(
            "web_trial.figure_now",
            figure=Quoted(label(each.name, words)),
            before=text(each.name, each.before),
            after=text(each.name, each.after),
        )
        for each in changed[:_TOLD]
    ]
    more = len(changed) - _TOLD
    return [*told, Message.of("web_trial.figures_more", count=more)] if more > 0 else told


def _shown(request: Request, form: Form, section: str = "", questions: "tuple[Question, ...]" = ()) -> Response:
    from ...records.store.history import history_of
    from ..trial_history import lines_of

    parts, words, number = parts_of(request), words_of(request), _number(request)
    logbook = parts.logbook()
    changes = history_of(logbook, "trial", number)
    values: dict[str, Any] = {
        "number": number,
        "form": form,
        "section": section,
        "questions": questions,
        "answered": form.all("answer") if questions else (),
        "history": lines_of(changes, words, parts.now().tzinfo),
    }
    status = 422 if questions or form.errors else 200
    try:
        kept = logbook.trial(number)
    except UnknownTrial:
        if not changes or changes[-1].what != "removed":
            raise
        return screen(request, "trial_removed.html", status, **values)
    return screen(request, "trial.html", status, **values, **_of(request, logbook, kept, words, form))


def _of(request: Request, logbook: "Logbook", kept: "Trial", words: "Words", form: Form) -> dict[str, Any]:
    """What stands on the screen of a kept trial."""
    from ...reports.sheets.trial_record import trial_record
    from ..trial_fields import LONG, groups_of

    student, protocol = logbook.student(kept.code), logbook.protocol(kept.protocol, kept.protocol_version)
    page = trial_record(kept, student, protocol, words)
    trace, no_trace = _trace(request, logbook, kept, words, form)
    there = request.app.state.paths
    return {
        "kept": kept,
        "date": words.date(kept.on),
        "page": page,
        "trace": trace,
        "no_trace": no_trace,
        "groups": groups_of(kept, protocol, words, form),
        "long": LONG,
        "codes": [each.code for each in logbook.students() if each.code != kept.code],
        "has_sheets": "/sheet/effort/{trial:int}/{form}" in there and kept.sheet is not None,
        "has_student": "/student/{student}" in there,
    }


def _trace(
    request: Request, logbook: "Logbook", kept: "Trial", words: "Words", form: Form
) -> tuple[dict[str, Any] | None, str]:
    """The trace with its fields as they were sent, or why there is none."""
    from ..trace import asked_view, shown
    from ..traces import trace_of

    try:
        found = trace_of(logbook, kept)
    except OwnmarkError as reason:
        return None, text_of(words, reason.what)
    if found is None:
        return None, words.get("web_trial.no_recording")
    query, place = request.query_params, _place(kept.id or 0)
    made = shown(
        found,
        words,
        view=asked_view(found, query),
        flags="flags" in query,
        address=place,
        data=f"{place}/trace",
        editable=True,
    )
    for phase in made["phases"]:
        for end in phase["ends"]:
            end["text"] = form.text(end["field"]) if end["field"] in form.fields else end["text"]
    return made, ""


def _number(request: Request) -> int:
    return int(request.path_params["number"])


def _place(number: int) -> str:
    return f"/trial/{number}"


ROUTES = [
    Route("/trial/{number:int}", trial, methods=["GET"]),
    Route("/trial/{number:int}", posted(mend), methods=["POST"]),
    Route("/trial/{number:int}/trace", numbers),
    Route("/trial/{number:int}/move", posted(move), methods=["POST"]),
    Route("/trial/{number:int}/remove", posted(remove), methods=["POST"]),
    Route("/trial/{number:int}/restore", posted(restore), methods=["POST"]),
]
