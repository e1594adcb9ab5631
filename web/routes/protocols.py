"""A protocol of the logbook: its set-up card, and the form in which what must match is written down."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...errors import NotConfirmed, OwnmarkError
from ...words.message import Message, Quoted
from ..forms import Form, posted, whole
from ..rendering import parts_of, screen, see, text_of, words_of

if TYPE_CHECKING:
    from ...errors import Question
    from ...records.protocol import Protocol
    from ...records.protocol_editing import ProtocolEdited
    from ...records.protocol_form import Fault, FormField
    from ...reports.words import Words


def card(request: Request) -> Response:
    """The set-up card of a protocol of the logbook alone."""
    from ...reports.sheets.of_logbook import plan_printed

    found = _asked(request)
    page = plan_printed(found, words_of(request)).page
    return screen(request, "protocol.html", page=page, protocol=found)


def change(request: Request) -> Response:
    """The form, filled with what is written down."""
    return _form(request, _asked(request), Form())


@posted
def save(request: Request, form: Form) -> Response:
    """Keep what was typed as the protocol's next version; the form again where something does not fit or is asked."""
    from ...records.protocol_editing import edit_protocol
    from ...records.protocol_form import changed_in, faults_of
    from ...records.text_guards import KEEP

    logbook, newest = parts_of(request).logbook(), _asked(request)
    seen = logbook.protocol(newest.name, whole(form.text("version")) or newest.version)
    changes = changed_in(seen, {name: (texts or ("",))[0] for name, texts in form.fields.items()})
    for name, fault in faults_of(newest, changes).items():
        form.refuse(name, _said(name, fault))
    if form.errors:
        return _form(request, seen, form)
    earlier, answers = form.text("earlier") == "yes", (KEEP,) if form.text("confirm") == KEEP else ()
    try:
        done = edit_protocol(logbook, newest.name, changes, why=form.text("why"), answers=answers, also_earlier=earlier)
    except NotConfirmed as asked:
        return _form(request, seen, form, asked.questions)
    except OwnmarkError as refusal:
        form.refuse("", text_of(words_of(request), refusal.what))
        return _form(request, seen, form)
    return see(request, f"/find/protocol/{newest.name}", *_told(done, earlier=earlier))


def _asked(request: Request) -> "Protocol":
    return parts_of(request).logbook().protocol(str(request.path_params["protocol"]))


def _form(request: Request, protocol: "Protocol", form: Form, questions: "Sequence[Question]" = ()) -> Response:
    from ...records.protocol_form import as_typed, form_groups

    words, unsettled = words_of(request), _unsettled(protocol)
    values = {
        each.name: form.text(each.name) if form.fields else as_typed(getattr(protocol, each.name))
        for _, fields in form_groups()
        for each in fields
    }
    groups = [
        (key, [_line(each, words) for each in rest], _written(protocol, rest), any(map(form.error, _names(rest))))
        for key, fields in form_groups()
        if (rest := [each for each in fields if each.name not in unsettled])
    ]
    return screen(
        request,
        "protocol_change.html",
        422 if form.errors or questions else 200,
        protocol=protocol,
        title=_title(protocol, words),
        form=form,
        open=[_line(each, words) for _, fields in form_groups() for each in fields if each.name in unsettled],
        groups=groups,
        values=values,
        questions=questions,
        tested=_tested(request, protocol.name),
    )


def _names(fields: "Sequence[FormField]") -> list[str]:
    return [each.name for each in fields]


def _written(protocol: "Protocol", fields: "Sequence[FormField]") -> int:
    """How many of the fields are written down."""
    return sum(1 for each in fields if getattr(protocol, each.name) is not None)


def _tested(request: Request, name: str) -> bool:
    """Whether there is a trial of it."""
    return next(iter(parts_of(request).logbook().trials(protocol=name, with_sheets=False)), None) is not None


def _line(field: "FormField", words: "Words") -> Mapping[str, object]:
    """A field as the template writes it."""
    from ...reports.sheets.set_up_table import unit_shown, written

    return {
        "name": field.name,
        "label": words.get(f"field.{field.name}"),
        "kind": field.kind,
        "unit": unit_shown(field.unit, words),
        "must": field.must,
        "choices": [(each, written(each, "", words)) for each in field.choices],
    }


def _title(protocol: "Protocol", words: "Words") -> str:
    from ...reports.sheets.set_up_table import protocol_title

    return protocol_title(protocol, words)


def _unsettled(protocol: "Protocol") -> frozenset[str]:
    """What the card says is to be settled before a trial."""
    from ...records.checklist import checklist

    return frozenset(item.name for section in checklist(protocol, None) for item in section.items if not item.known)


def _said(name: str, fault: "Fault") -> Message:
    """What is wrong with a field."""
    from ...records.protocol_form import form_groups

    field = next(each for _, group in form_groups() for each in group if each.name == name)
    if fault == "limits" and field.low is not None and field.high is not None:
        return Message.of("web_frame.out_of_limits", low=float(field.low), high=float(field.high))
    if fault == "limits" and field.low is not None:
        return Message.of("web_frame.too_low", low=float(field.low))
    return Message("web_frame.not_a_number" if fault in ("number", "limits") else f"web_protocol.wrong_{fault}")


def _told(done: "ProtocolEdited", *, earlier: bool) -> Sequence[Message]:
    """What became of it."""
    name = Quoted(done.protocol.name)
    told = [
        Message.of("web_protocol.saved", name=name, version=done.protocol.version)
        if done.changed
        else Message.of("web_protocol.as_it_was", name=name)
    ]
    if earlier:
        told.append(Message.of("web_protocol.given", count=len(done.earlier.given)))
        left = tuple(dict.fromkeys(each.trial for each in done.earlier.left))
        if left:
            told.append(Message.of("web_protocol.left", numbers=left))
    elif done.earlier.given:
        told.append(Message.of("web_protocol.could_be_given", count=len(done.earlier.given)))
    return tuple(told)


ROUTES = [
    Route("/find/protocol/{protocol}", card),
    Route("/find/protocol/{protocol}/change", change),
    Route("/find/protocol/{protocol}/change", save, methods=["POST"]),
]
