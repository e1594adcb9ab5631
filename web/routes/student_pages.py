"""A student's set-up card, with boxes to tick, and the change against the own baseline: the pages of the paper."""

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...errors import NothingToCompare
from ..asked import student_asked
from ..rendering import parts_of, screen, words_of


def card(request: Request) -> Response:
    """How the test is set up again; before the first trial, the plan."""
    from ...reports.sheets.of_logbook import card_printed

    who, protocol = student_asked(request), str(request.path_params["protocol"])
    found = card_printed(parts_of(request).logbook(), who.code, protocol, words_of(request))
    prints = f"card/{_id(request)}/{protocol}"
    return screen(request, "report.html", page=found.page, who=who, prints=prints, family=False, protocol=protocol)


def change(request: Request) -> Response:
    """Baseline against re-test, in words and numbers; the drawing stands on the printed page."""
    from ...records.judging import judge_student
    from ...reports.sheets.of_logbook import change_printed

    who, protocol = student_asked(request), str(request.path_params["protocol"])
    logbook, words = parts_of(request).logbook(), words_of(request)
    logbook.protocol(protocol)
    try:
        found = logbook.held.of(
            ("change", who.code, protocol), lambda: judge_student(logbook, who.code, protocol=protocol)
        )
    except NothingToCompare:
        raise HTTPException(404) from None
    made = change_printed(logbook, found, words, family=False, drawn=False)
    prints = f"change/{_id(request)}/{protocol}"
    return screen(request, "report.html", page=made.page, who=who, prints=prints, family=True, protocol="")


def _id(request: Request) -> str:
    return str(request.path_params["student"])


ROUTES = [
    Route("/student/{student}/card/{protocol}", card),
    Route("/student/{student}/change/{protocol}", change),
]
