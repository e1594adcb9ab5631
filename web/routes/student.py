"""A student: what was tested and when, what is kept and from when, the ways to cards, changes and pages to print."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ..asked import asked, student_asked, there
from ..rendering import parts_of, screen, words_of

if TYPE_CHECKING:
    from ...records.store.logbook import Logbook
    from ...records.store.student_overview import Outline
    from ...records.student import Student
    from ...reports.words import Words

MOST = 30
"""So many trials are shown at first, the newest."""


@dataclass(frozen=True, slots=True)
class Tested:
    """One protocol that a student was tested by.

    days : on which a trial counts; practice does not
    """

    protocol: str
    title: str
    trials: int
    days: int
    last_on: date
    last: int


def student(request: Request) -> Response:
    """The student's own screen."""
    from ...reports.sheets.student_facts import facts_of

    who, words, logbook = student_asked(request), words_of(request), parts_of(request).logbook()
    trials = _trials(logbook, who)
    tested = tested_by(logbook, trials, words)
    every = bool(asked(request).text("all"))
    return screen(
        request,
        "student.html",
        who=who,
        born=who.born,
        facts=facts_of(who, words),
        tested=tested,
        titles={each.protocol: each.title for each in tested},
        trials=trials if every else trials[:MOST],
        count=len(trials),
        trial_screen=there(request, "/trial/{"),
        print_screen=there(request, "/student/{student}/print"),
        can_add=there(request, "/find"),
    )


def _trials(logbook: "Logbook", who: "Student") -> "tuple[Outline, ...]":
    """The student's trials, the newest first."""
    from ...records.store.listing import outlines_of

    return outlines_of(logbook, [who.code])[::-1]


def tested_by(logbook: "Logbook", trials: "Sequence[Outline]", words: "Words") -> tuple[Tested, ...]:
    """The protocols of these trials (the newest first), that of the newest trial first."""
    found: dict[str, list[Outline]] = {}
    for each in trials:
        found.setdefault(each.protocol, []).append(each)
    return tuple(
        Tested(
            name,
            title_of(logbook, name, words),
            len(own),
            len({each.on for each in own if not each.practice}),
            own[0].on,
            own[0].id,
        )
        for name, own in found.items()
    )


def title_of(logbook: "Logbook", name: str, words: "Words") -> str:
    """A protocol's title in the reader's language."""
    from ...reports.sheets.set_up_table import protocol_title

    return protocol_title(logbook.protocol(name), words)


def to_print(request: Request) -> Response:
    """The pages of one trial and of its protocol, in each language, as a page and as a PDF."""
    from starlette.exceptions import HTTPException

    who, words, logbook = student_asked(request), words_of(request), parts_of(request).logbook()
    trials = _trials(logbook, who)
    number = asked(request).text("trial")
    chosen = [each for each in trials if str(each.id) == number] if number else list(trials[:1])
    if number and not chosen:
        raise HTTPException(404)
    one = chosen[0] if chosen else None
    tested = (
        [] if one is None else tested_by(logbook, [each for each in trials if each.protocol == one.protocol], words)
    )
    return screen(
        request, "student_print.html", who=who, trial=one, tested=tested[0] if tested else None, count=len(trials)
    )


ROUTES = [Route("/student/{student}", student), Route("/student/{student}/print", to_print)]
