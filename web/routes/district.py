"""The coordinator's screens: the table, sentences for plans to copy, and the exports of the terminal."""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, get_args

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from ...words.render import LANGUAGES
from ..asked import asked, part_of, period
from ..forms import Form, posted
from ..rendering import parts_of, screen, words_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...records.protocol import Protocol
    from ...records.store.listing import Pair
    from ...records.store.logbook import Logbook

MOST, MOST_SENTENCES = 25, 10
"""So many rows, and so many sentences for plans, stand on one part of a list."""


@dataclass(frozen=True, slots=True)
class Filters:
    """What was asked for: protocol and component by name, empty for all; days, None for open."""

    protocol: str
    component: str
    since: date | None
    until: date | None

    @property
    def query(self) -> str:
        """The same behind the question mark of an address."""
        named = {"protocol": self.protocol, "component": self.component, "from": self.since, "to": self.until}
        return "&".join(f"{name}={value}" for name, value in named.items() if value)


def district(request: Request) -> Response:
    """The table, a part at a time."""
    from ...reports.sheets.district_table import COLUMNS, cells
    from ...reports.sheets.many_students import district_rows_of

    form, words, logbook = asked(request), words_of(request), parts_of(request).logbook()
    filters = _filters(logbook, form)
    found = _pairs(logbook, filters)
    here, page, pages = part_of(found, request, MOST)
    key = ("district", filters, page)
    rows = logbook.held.of(key, lambda: district_rows_of(logbook, here, since=filters.since, until=filters.until))
    return screen(
        request,
        "district.html",
        422 if form.errors else 200,
        form=form,
        filters=filters,
        protocols=_protocols(logbook),
        components=_components(),
        head=[words.get(f"district.{key}") for key in COLUMNS],
        rows=[(each, cells(each, words)) for each in rows],
        count=len(found),
        page=page,
        pages=pages,
        forms=_export_forms(),
    )


def plans(request: Request) -> Response:
    """Sentences for education plans, in the language that was asked for, to be read, changed and copied."""
    from ...reports.exports.plans import plans_of

    form, logbook = asked(request), parts_of(request).logbook()
    filters = _filters(logbook, form)
    found = _pairs(logbook, filters)
    here, page, pages = part_of(found, request, MOST_SENTENCES)
    language = form.text("lang") if form.text("lang") in LANGUAGES else _own_language(request)
    health = form.text("health") == "1"
    key = ("plans", filters, page, language, health)
    told = logbook.held.of(
        key,
        lambda: plans_of(
            logbook,
            [(each.code, each.protocol) for each in here],
            language,
            since=filters.since,
            until=filters.until,
            with_health=health,
        ),
    )
    return screen(
        request,
        "district_plans.html",
        422 if form.errors else 200,
        form=form,
        filters=filters,
        protocols=_protocols(logbook),
        components=_components(),
        told_plans=[(each, *told[each.code, each.protocol]) for each in here if (each.code, each.protocol) in told],
        spoken=language,
        health=health,
        page=page,
        pages=pages,
    )


def _own_language(request: Request) -> str:
    language = words_of(request).language
    return language if language in LANGUAGES else "en"


@posted
def exported(request: Request, form: Form) -> Response:
    """The same file as the terminal's export writes; several are packed into one."""
    from ...reports.exports.in_one_file import FORMS, one_file

    logbook = parts_of(request).logbook()
    since, until = period(form)
    form_of, language = form.text("form"), form.text("lang") or "en"
    if form.errors or form_of not in FORMS or language not in LANGUAGES:
        raise HTTPException(400)
    found = one_file(
        logbook,
        form_of,
        since=since,
        until=until,
        protocol=form.text("protocol") or None,
        change=form.text("change") == "1",
        with_health=form.text("health") == "1",
        language=language,
    )
    headers = {"Content-Disposition": f'attachment; filename="{found.name}"', "Content-Length": str(found.size)}
    return StreamingResponse(found.pieces(), media_type=found.media_type, headers=headers)


def _filters(logbook: "Logbook", form: Form) -> Filters:
    """What was asked for; a protocol or component that there is not, and days that are none, are left out."""
    since, until = period(form)
    names = [each.name for each in _protocols(logbook)]
    protocol = form.text("protocol") if form.text("protocol") in names else ""
    component = form.text("component") if form.text("component") in _components() else ""
    return Filters(protocol, component, since, until)


def _pairs(logbook: "Logbook", filters: Filters) -> "Sequence[Pair]":
    """The students and protocols that were asked for, by code."""
    from ...records.store.listing import pairs

    names = [each.name for each in _protocols(logbook) if filters.component in ("", each.component)]
    wanted = [each for each in names if filters.protocol in ("", each)]
    every = None if not filters.component and not filters.protocol else wanted
    return logbook.held.of(("pairs", filters), lambda: pairs(logbook, every, filters.since, filters.until))


def _protocols(logbook: "Logbook") -> "Sequence[Protocol]":
    return logbook.held.of("protocols", logbook.protocols)


def _components() -> tuple[str, ...]:
    from ...records.protocol import Component

    return get_args(Component)


def _export_forms() -> tuple[str, ...]:
    from ...reports.exports.in_one_file import FORMS

    return FORMS


ROUTES = [
    Route("/district", district),
    Route("/district/plans", plans),
    Route("/district/export", exported, methods=["POST"]),
]
