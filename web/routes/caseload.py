"""The therapist's caseload: crossings first, then what was not measured, recovery, and the way to each ceiling."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ..asked import asked, period, there
from ..rendering import parts_of, screen, words_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...records.caseload import CaseloadLine
    from ...reports.words import Words

MOST = 40
"""So many lines of a group are shown at first."""
FEW = 10
SHORT = ("none", "no_ceiling")
"""Groups in which nothing is to be looked at first: more than a few lines are shown when asked for."""


@dataclass(frozen=True, slots=True)
class Group:
    """One group: its lines with what stands in their cells, of ``count`` in all."""

    name: str
    count: int
    rows: "Sequence[tuple[CaseloadLine, tuple[str, ...]]]"


def caseload(request: Request) -> Response:
    """The trials of some days, each against today's ceiling."""
    from ...records.caseload import by_group, caseload_of, days_asked
    from ...reports.sheets.caseload_page import HEAD, answer, at_limit, no_maximum

    form, words, logbook = asked(request), words_of(request), parts_of(request).logbook()
    since, until = period(form)
    days = days_asked(logbook, since, until)
    if days is None:
        return screen(request, "caseload.html", form=form, days=None)
    found = caseload_of(logbook, *days)
    groups = by_group(found.lines)
    return screen(
        request,
        "caseload.html",
        422 if form.errors else 200,
        form=form,
        days=days,
        count=len(found.lines),
        answer=answer(groups, words),
        head=[words.get(f"caseload.{key}") for key in HEAD],
        groups=[_group(name, members, form.text("show"), words) for name, members in groups.items() if members],
        untested=found.untested,
        more=(*at_limit(found.lines, words), *no_maximum(found.lines, words)),
        query=f"from={days[0]}&to={days[1]}",
        trial_screen=there(request, "/trial/{"),
    )


def _group(name: str, members: "Sequence[CaseloadLine]", shown: str, words: "Words") -> Group:
    """A group with its first lines, or all of them where they were asked for."""
    from ...reports.sheets.caseload_page import cells

    most = len(members) if shown == name or len(members) <= FEW else 0 if name in SHORT else MOST
    return Group(name, len(members), [(each, cells(each, words)) for each in members[:most]])


ROUTES = [Route("/caseload", caseload)]
