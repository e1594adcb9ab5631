"""Pages as they are printed, as one HTML file or a PDF, in either language, under a policy of their own.

The screen's own language does not matter here: a teacher who reads English prints a Spanish copy for a family.
"""

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...words.render import LANGUAGES
from ..asked import asked, period, student_asked
from ..days import day_of
from ..rendering import parts_of, pdf, sheet

if TYPE_CHECKING:
    from ...reports.sheets.of_logbook import Printed
    from ...reports.words import Words

FORMS = ("html", "pdf")


def effort(request: Request) -> Response:
    """The effort sheet of a trial."""
    from ...reports.sheets.of_logbook import effort_printed

    words, logbook = _words(request), parts_of(request).logbook()
    trial = logbook.trial(_number(request))
    return _served(request, effort_printed(logbook, trial, words, family=_family(request, words)))


def safety(request: Request) -> Response:
    """The safety sheet of a trial."""
    from ...records.safety import safety_of
    from ...reports.sheets.of_logbook import safety_printed

    words, logbook = _words(request), parts_of(request).logbook()
    trial = logbook.trial(_number(request))
    return _served(request, safety_printed(logbook, safety_of(logbook.student(trial.code), trial), words))


def change(request: Request) -> Response:
    """The change sheet of a student on a protocol."""
    from ...records.judging import judge_student
    from ...reports.sheets.of_logbook import change_printed

    words, logbook, who = _words(request), parts_of(request).logbook(), student_asked(request)
    found = judge_student(logbook, who.code, protocol=request.path_params["protocol"])
    return _served(request, change_printed(logbook, found, words, family=_family(request, words)))


def card(request: Request) -> Response:
    """The set-up card of a student and protocol."""
    from ...reports.sheets.of_logbook import card_printed

    who = student_asked(request)
    found = card_printed(parts_of(request).logbook(), who.code, request.path_params["protocol"], _words(request))
    return _served(request, found)


def plan(request: Request) -> Response:
    """The set-up card of a protocol alone."""
    from ...reports.sheets.of_logbook import plan_printed

    protocol = parts_of(request).logbook().protocol(request.path_params["protocol"])
    return _served(request, plan_printed(protocol, _words(request)))


def caseload(request: Request) -> Response:
    """The caseload of some days."""
    from ...reports.sheets.of_logbook import caseload_printed

    form = asked(request)
    since, until = period(form)
    if form.errors:
        raise HTTPException(400)
    return _served(request, caseload_printed(parts_of(request).logbook(), since, until, _words(request)))


def district(request: Request) -> Response:
    """The district's table."""
    from ...reports.sheets.of_logbook import district_printed

    form = asked(request)
    since, until = period(form)
    if form.errors:
        raise HTTPException(400)
    logbook, name = parts_of(request).logbook(), form.text("protocol") or None
    return _served(request, district_printed(logbook, _words(request), name, since=since, until=until))


def class_day(request: Request) -> Response:
    """The page of a class's day."""
    from ...reports.sheets.of_logbook import class_printed

    return _served(request, class_printed(parts_of(request).logbook(), day_of(request), _words(request)))


def _words(request: Request) -> "Words":
    from ...reports.words import Words

    language = request.query_params.get("lang", "en")
    if language not in LANGUAGES:
        raise HTTPException(404)
    return Words(language)


def _family(request: Request, words: "Words") -> bool:
    """Whether the copy is a family's: every one in another language is."""
    return words.language != "en" or request.query_params.get("family") == "1"


def _number(request: Request) -> int:
    return int(request.path_params["trial"])


def _served(request: Request, found: "Printed") -> Response:
    form = request.path_params["form"]
    if form not in FORMS:
        raise HTTPException(404)
    return (
        sheet(found.page)
        if form == "html"
        else pdf(found.page, file_name=f"{found.nameless(_student(request, found.code))}.pdf")
    )


def _student(request: Request, code: str) -> str:
    """What stands for a student in the name of a file: as in the address, where no trial's number says whose it is."""
    return parts_of(request).ids.of(code)[:8] if code and "trial" not in request.path_params else ""


ROUTES = [
    Route("/sheet/effort/{trial:int}/{form}", effort),
    Route("/sheet/safety/{trial:int}/{form}", safety),
    Route("/sheet/change/{student}/{protocol}/{form}", change),
    Route("/sheet/card/{student}/{protocol}/{form}", card),
    Route("/sheet/plan/{protocol}/{form}", plan),
    Route("/sheet/class/{date}/{form}", class_day),
    Route("/sheet/caseload/{form}", caseload),
    Route("/sheet/district/{form}", district),
]
