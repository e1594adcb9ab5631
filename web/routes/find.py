"""Find a test: what the student can do, the tests that fit, the least changed first, and a protocol out of one.

What is said of a student is sent in a form and stands in no address.
"""

from typing import TYPE_CHECKING, get_args

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...errors import AlreadyThere, OwnmarkError
from ...words.message import Message, Quoted
from ..asked import asked
from ..forms import Form, posted
from ..rendering import parts_of, screen, see, text_of, words_of
from .student_facts import answered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...records.catalogue.choosing import Suggestion
    from ...records.student import Student


def find(request: Request) -> Response:
    """The questions; for a student of whom answers are kept, the tests that fit too."""
    form = asked(request)
    who = _student(request, form)
    answer = who.answer if who else None
    if answer is None or not (answer.can or answer.needs):
        return _shown(request, Form(), who, None)
    return _shown(request, Form({"can": answer.can, "needs": answer.needs}), who, "kept")


@posted
def tests(request: Request, form: Form) -> Response:
    """The tests that fit what was said."""
    return _shown(request, form, _student(request, form), "said")


def _shown(request: Request, form: Form, who: "Student | None", said_by: str | None, status: int = 200) -> Response:
    """The screen; ``said_by``: where the answers come from, None where there are none yet."""
    from ...records.abilities import MOVEMENTS, NEEDS, SENSES
    from ...records.protocol import Component

    components = get_args(Component)
    can = [each for each in (*MOVEMENTS, *SENSES) if each in form.all("can")]
    needs = [each for each in NEEDS if each in form.all("needs")]
    component = next((each for each in components if each == form.text("component")), None)
    return screen(
        request,
        "find.html",
        status,
        form=form,
        who=who,
        said_by=said_by,
        movements=MOVEMENTS,
        senses=SENSES,
        needs=NEEDS,
        components=components,
        component=component,
        can=can,
        needed=needs,
        found=None if said_by is None else _found(request, can, needs, component, who),
        own=parts_of(request).logbook().protocols(),
    )


def _found(
    request: Request, can: "Sequence[str]", needs: "Sequence[str]", component: str | None, who: "Student | None"
) -> dict[str, object]:
    """What the screen tells of the tests that fit."""
    from ...records.catalogue import entries, families
    from ...records.catalogue.choosing import Asked
    from ...records.catalogue.choosing import find as fitting
    from ...reports.sheets.find_page import at_the_end, lead, opened_by, said, told_of, unfit

    words = words_of(request)
    among = [each for each in entries().values() if component is None or each.protocol.component == component]
    found = fitting(among, families(), Asked(frozenset(can), frozenset(needs)))
    return {
        "lead": words.message(lead(found)),
        "said": tuple(said(found.asked, words)),
        "unfit": unfit(found, words),
        "components": _grouped([(each, told_of(each, words)) for each in found.fits]),
        "nearly": opened_by(found, words),
        "end": at_the_end(words, who),
    }


Told = tuple["Suggestion", tuple[str, ...]]


def _grouped(tests: "Sequence[Told]") -> "list[tuple[str, list[tuple[str, list[Told]]]]]":
    """The tests by component and family, in the order in which they stand."""
    found: dict[str, dict[str, list[Told]]] = {}
    for each in tests:
        suggestion = each[0]
        component = found.setdefault(suggestion.entry.protocol.component, {})
        component.setdefault(suggestion.family.name, []).append(each)
    return [(name, list(families.items())) for name, families in found.items()]


@posted
def keep(request: Request, form: Form) -> Response:
    """Keep the answers with a student, from today on."""
    from ...records.student import check_code
    from ...records.student_mending import edit_student

    parts, who = parts_of(request), _student(request, form)
    if who is None:
        if not form.text("code"):
            form.refuse("code", Message("web_students.code_missing"))
        code = form.take("code", check_code)
    else:
        code = who.code
    if not form.all("can") and not form.all("needs"):
        form.refuse("", Message("web_student.can_missing"))
    if code is None or form.errors:
        return _shown(request, form, who, "said", 422)
    try:
        edit_student(parts.logbook(), code, answered(form.all("can"), form.all("needs"), parts.now().date()))
    except OwnmarkError as refusal:
        form.refuse("" if who else "code", text_of(words_of(request), refusal.what))
        return _shown(request, form, who, "said", 422)
    kept = Message.of("web_find.kept", code=Quoted(code))
    return see(request, f"/find?student={parts.ids.of(code)}", kept)


def test(request: Request) -> Response:
    """One test of the catalogue in full, with the form that makes a protocol of it."""
    return _test(request, Form(), _student(request, asked(request)))


def _test(request: Request, form: Form, who: "Student | None", status: int = 200) -> Response:
    from ...records.catalogue import copy, entries
    from ...reports.sheets.of_logbook import plan_printed

    name = str(request.path_params["test"])
    if name not in entries():
        raise HTTPException(404)
    page = plan_printed(copy(name, name), words_of(request)).page
    return screen(request, "find_test.html", status, page=page, entry=name, form=form, who=who)


@posted
def make(request: Request, form: Form) -> Response:
    """A protocol of one's own out of a test of the catalogue; the card of the student, where one is chosen."""
    from ...records.catalogue import copy

    parts, who, name = parts_of(request), _student(request, form), form.text("name")
    if not name:
        form.refuse("name", Message("web_find.name_missing"))
        return _test(request, form, who, 422)
    try:
        protocol = copy(str(request.path_params["test"]), name)
        parts.logbook().add_protocol(protocol)
    except AlreadyThere:
        form.refuse("name", Message.of("web_find.name_taken", name=Quoted(name)))
        return _test(request, form, who, 422)
    except OwnmarkError as refusal:
        form.refuse("name", Message("web_find.no_name") if refusal.code == "not_a_protocol" else str(refusal))
        return _test(request, form, who, 422)
    made = Message.of("web_find.made", name=Quoted(protocol.name))
    where = f"/student/{parts.ids.of(who.code)}/card" if who else "/find/protocol"
    return see(request, f"{where}/{protocol.name}", made)


def _student(request: Request, form: Form) -> "Student | None":
    """The student that a form or an address names by the identifier; None where it names none."""
    identifier = form.text("student")
    if not identifier:
        return None
    code = parts_of(request).ids.code(identifier)
    if code is None:
        raise HTTPException(404)
    return parts_of(request).logbook().student(code)


ROUTES = [
    Route("/find", find),
    Route("/find", tests, methods=["POST"]),
    Route("/find/keep", keep, methods=["POST"]),
    Route("/find/test/{test}", test),
    Route("/find/test/{test}", make, methods=["POST"]),
]
