"""The students of the logbook: a list, a search that leaves no code in an address, and a new student."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...errors import AlreadyThere, OwnmarkError
from ...words.message import Message, Quoted
from ..asked import part_of
from ..forms import Form, posted
from ..rendering import parts_of, screen, see

MOST = 50
"""So many students stand on one page of the list."""


def students(request: Request) -> Response:
    """Every student, some at a time, by code."""
    return _listed(request, Form())


@posted
def search(request: Request, form: Form) -> Response:
    """Codes that hold what was typed; where there is one, that student."""
    text = form.text("code")
    codes = _codes(request)
    wanted = "".join(text.split()).upper()
    found = [code for code in codes if wanted in code]
    if wanted in codes or len(found) == 1:
        only = wanted if wanted in codes else found[0]
        return see(request, f"/student/{parts_of(request).ids.of(only)}")
    return _listed(request, form, found if wanted else codes, searched=text)


def _listed(request: Request, form: Form, found: "list[str] | None" = None, searched: str = "") -> Response:
    from ...records.store.listing import student_lines

    codes = _codes(request) if found is None else found
    here, page, pages = part_of(codes, request, MOST) if not searched else (codes[:MOST], 1, 1)
    return screen(
        request,
        "students.html",
        form=form,
        searched=searched,
        lines=student_lines(parts_of(request).logbook(), here),
        count=len(codes),
        page=page,
        pages=pages,
        whole=len(here) == len(codes),
    )


def _codes(request: Request) -> list[str]:
    from ...records.store.recent import student_codes

    logbook = parts_of(request).logbook()
    return logbook.held.of("codes", lambda: sorted(student_codes(logbook)))


def new(request: Request) -> Response:
    """The form for a new student."""
    return screen(request, "student_new.html", form=Form())


@posted
def add(request: Request, form: Form) -> Response:
    """Add a student by a code, and show what is kept."""
    from ...records.student import Student, check_code

    if not form.text("code"):
        form.refuse("code", Message("web_students.code_missing"))
    code = form.take("code", check_code)
    student = None
    if code is not None:
        student = form.take("code", lambda _: Student(code=code))
        if form.text("born"):
            student = form.take("born", lambda born: Student(code=code, born=born))
    if form.errors or student is None:
        return screen(request, "student_new.html", 422, form=form)
    try:
        parts_of(request).logbook().add_student(student)
    except AlreadyThere:
        form.refuse("code", Message("web_students.code_taken"))
        return screen(request, "student_new.html", 422, form=form)
    except OwnmarkError as refusal:
        form.refuse("", refusal.what)
        return screen(request, "student_new.html", 422, form=form)
    added = Message.of("web_students.added", code=Quoted(student.code))
    return see(request, f"/student/{parts_of(request).ids.of(student.code)}", added)


ROUTES = [
    Route("/students", students),
    Route("/students/search", search, methods=["POST"]),
    Route("/students/add", new),
    Route("/students/add", add, methods=["POST"]),
]
