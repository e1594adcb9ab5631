"""Today: what is to be done now, and the doors to everything else."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...errors import OwnmarkError
from ...words.message import Message
from ..parts import Parts
from ..rendering import NAV, parts_of, streamed, text_of, words_of

if TYPE_CHECKING:
    from ...records.day.happened import Happened
    from ...reports.words import Words

LOOK_BACK = timedelta(days=60)
"""What was left open longer ago than that is found on the day's own screen."""


@dataclass(frozen=True, slots=True)
class Standing:
    """How the logbook stands.

    days : day as it is written, address, what is left to do
    empty : it has no students yet
    zone : the school's; None: nobody said it
    read : the logbook could be read
    refused : why it could not be read
    """

    days: Sequence[tuple[str, str, str]] = ()
    empty: bool = False
    zone: str | None = None
    read: bool = False
    refused: Sequence[str] = ()


def home(request: Request) -> Response:
    """The first screen. What it begins with needs no logbook; what the logbook says follows."""
    words, parts = words_of(request), parts_of(request)
    today = parts.now().date()
    doors = [
        (words.get(f"web_frame.nav_{name}"), where, words.get(f"web_frame.door_{name}"))
        for name, where in NAV
        if where != "/"
    ]
    answer = streamed(
        request,
        "home.html",
        date=words.date(today),
        day=today.isoformat(),
        doors=doors,
        standing=lambda: standing(parts, words, today),
    )
    answer.background = BackgroundTask(request.app.state.after_first)
    return answer


def standing(parts: Parts, words: "Words", today: date) -> Standing:
    """What the logbook says, or why it cannot."""
    try:
        from ...records.day.recent_days import recent_days
        from ...records.store.recent import student_codes
        from ...records.store.settings import zone_of

        logbook = parts.logbook()
        days = [each for each in recent_days(logbook, today - LOOK_BACK) if each.open]
        lines, empty = [_line(each, words) for each in days], not student_codes(logbook)
        return Standing(lines, empty, zone_of(logbook), read=True)
    except OwnmarkError as refusal:
        return Standing(refused=[text_of(words, each) for each in (refusal.what, refusal.mend) if each])


def _line(day: "Happened", words: "Words") -> tuple[str, str, str]:
    """A day with something left to do."""
    files, students = len(day.open_files), sum(each.begun for each in day.tests)
    left = [
        Message.of(code, count=count)
        for code, count in (("web_frame.files_left", files), ("web_frame.students_left", students))
        if count
    ]
    return words.date(day.day), f"/day/{day.day}", words.message(Message.of("web_frame.left", what=tuple(left)))


ROUTES = [Route("/", home)]
