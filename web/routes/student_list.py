"""A list of students, chosen or pasted: each row is told of, and what says otherwise is corrected where asked."""

import csv
import io
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...errors import IngestError, NotConfirmed, OwnmarkError
from ...words.message import Message
from ..body_limits import takes_up_to
from ..forms import Form
from ..rendering import parts_of, screen, text_of, words_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...records.spreadsheet import Numbered
    from ...records.student_list import RowOutcome
    from ...reports.words import Words

MOST_BYTES = 2**20
"""Of a list that is given here: some thousand students. No more is held in memory, and nothing of it is written to a
temporary file; the command line takes longer lists."""
MOST_FIELDS = 40
FORMS = {"csv": "text/csv; charset=utf-8", "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}


@dataclass(frozen=True, slots=True)
class Line:
    """What is told of a row; ``code`` is empty where what is written is none."""

    number: int
    code: str
    state: str
    told: tuple[str, ...]


def ask(request: Request) -> Response:
    """Where a list is chosen or pasted."""
    return _shown(request, Form())


@takes_up_to(MOST_BYTES)
async def give(request: Request) -> Response:
    """Take a list, add its students, and tell of each row."""
    form, data = await _sent(request)
    return await run_in_threadpool(_given, request, form, data)


async def _sent(request: Request) -> tuple[Form, bytes]:
    """The fields of the form, and the bytes of the file; none where nothing was chosen."""
    fields: dict[str, list[str]] = {}
    data = b""
    try:
        async with request.form(max_files=1, max_fields=MOST_FIELDS, max_part_size=MOST_BYTES) as sent:
            for name, value in sent.multi_items():
                if isinstance(value, UploadFile):
                    data = await value.read()
                else:
                    fields.setdefault(name, []).append(value)
    except (MultiPartException, UnicodeDecodeError):
        raise HTTPException(400) from None
    return Form(fields), data


def _given(request: Request, form: Form, data: bytes) -> Response:
    """Add the students of a list. A file goes before what is pasted; its rows stand in the field afterwards."""
    from ...records.spreadsheet import rows_in
    from ...records.student_list import add_list
    from ...records.student_table import students_in

    text = (form.all("list") or ("",))[0]
    if not data and not text.strip():
        form.refuse("list", Message("web_students.list_missing"))
        return _shown(request, form, status=422)
    try:
        if data:
            text = _as_text(rows_in(data, ""))
        rows = students_in(rows_in(text.encode(), ""), "", form.all("leave_out"))
    except NotConfirmed as asked:
        columns = [(each.answers[0], each.asked) for each in asked.questions if each.answers]
        form.refuse("list", asked.what)
        return _shown(request, form, text, columns=columns, status=422)
    except IngestError:
        form.refuse("list", Message("web_students.list_unreadable"))
        return _shown(request, form, text, status=422)
    except OwnmarkError as refusal:
        form.refuse("list", refusal.what)
        return _shown(request, form, text, status=422)
    today = parts_of(request).now().date()
    outcomes = list(add_list(parts_of(request).logbook(), rows, today=today, correct=form.text("do") == "correct"))
    return _shown(request, form, text, outcomes)


def _as_text(rows: "list[Numbered]") -> str:
    """The rows of a table as a text to look at and to mend."""
    held = io.StringIO(newline="")
    csv.writer(held, lineterminator="\n").writerows(cells for _, cells in rows)
    return held.getvalue()


def _shown(
    request: Request,
    form: Form,
    text: str = "",
    outcomes: "list[RowOutcome] | None" = None,
    columns: "Sequence[tuple[str, Message | str]]" = (),
    status: int = 200,
) -> Response:
    words = words_of(request)
    counts = Counter(each.state.replace(" ", "_") for each in outcomes or ())
    lines = [_line(each, words) for each in outcomes or ()]
    return screen(
        request,
        "student_list.html",
        status,
        form=form,
        text=text,
        columns=[(name, text_of(words, said)) for name, said in columns],
        left_out=form.all("leave_out"),
        lines=sorted((each for each in lines if each.state in SHOWN), key=lambda each: SHOWN.index(each.state)),
        counts=counts if outcomes is not None else None,
        states=STATES,
        otherwise=sum(each.otherwise and each.state == "to confirm" for each in outcomes or ()),
    )


STATES = ("added", "there_already", "corrected", "to_confirm", "refused")
SHOWN = ("to_confirm", "refused", "corrected", "added")
"""What is told row by row: first what somebody has to do something about, else it goes under in a long list."""


def _line(outcome: "RowOutcome", words: "Words") -> Line:
    told = tuple(text_of(words, each) for each in outcome.told)
    return Line(outcome.row.number, outcome.row.code, outcome.state.replace(" ", "_"), told)


def empty(request: Request) -> Response:
    """An empty list with every column explained, to be filled in."""
    from ...records.class_template import template_csv, template_xlsx

    kind = str(request.path_params["kind"])
    if kind not in FORMS:
        raise HTTPException(404)
    made = template_xlsx if kind == "xlsx" else template_csv
    headers = {"Content-Disposition": f'attachment; filename="students.{kind}"'}
    return Response(made(words_of(request).language, students=True), media_type=FORMS[kind], headers=headers)


ROUTES = [
    Route("/students/list", ask),
    Route("/students/list", give, methods=["POST"]),
    Route("/students/empty/{kind}", empty),
]
