"""What an address asks for: a student behind an identifier, days, a page of a list."""

from datetime import date
from typing import TYPE_CHECKING, TypeVar

from starlette.exceptions import HTTPException
from starlette.requests import Request

from ..records.written_days import FIRST_DAY
from ..words.message import Message
from .forms import Form
from .rendering import parts_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..records.student import Student

T = TypeVar("T")


def student_asked(request: Request) -> "Student":
    """The student of the address.

    Raises
    ------
    HTTPException
        404, if the logbook has none of that identifier.
    """
    parts = parts_of(request)
    code = parts.ids.code(str(request.path_params["student"]))
    if code is None:
        raise HTTPException(404)
    return parts.logbook().student(code)


def there(request: Request, begin: str) -> bool:
    """Whether the page has a screen whose address begins so."""
    return any(each.startswith(begin) for each in request.app.state.paths)


def day_of(form: Form, name: str, *, latest: date | None = None) -> date | None:
    """A day as a date field sends it; None where nothing is typed, or it is refused.

    latest : no later day can be meant
    """
    text = form.text(name)
    if not text:
        return None
    try:
        found = date.fromisoformat(text)
    except ValueError:
        form.refuse(name, Message("web_students.not_a_day"))
        return None
    if found < FIRST_DAY:
        form.refuse(name, Message("web_students.day_too_early"))
        return None
    if latest is not None and found > latest:
        form.refuse(name, Message("web_students.day_ahead"))
        return None
    return found


def asked(request: Request) -> Form:
    """What stands in the address behind the question mark, as a form."""
    found: dict[str, list[str]] = {}
    for name, value in request.query_params.multi_items():
        found.setdefault(name, []).append(value)
    return Form(found)


def period(form: Form) -> tuple[date | None, date | None]:
    """The first and the last day asked for; None: open, or refused in ``form.errors``."""
    since, until = day_of(form, "from"), day_of(form, "to")
    if since is not None and until is not None and since > until:
        form.refuse("to", Message("web_students.days_turned"))
        return None, None
    return since, until


def part_of(found: "Sequence[T]", request: Request, most: int) -> "tuple[Sequence[T], int, int]":
    """The piece of a list that the address asks for, its number from 1, and how many pieces there are."""
    pieces = max(1, -(-len(found) // most))
    text = request.query_params.get("page", "1")
    number = min(max(int(text), 1), pieces) if text.isascii() and text.isdigit() and len(text) < 7 else 1
    return found[(number - 1) * most : number * most], number, pieces
