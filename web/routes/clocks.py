"""The clock check: each strap's clock against the screen, so that its file can be placed to the second."""

import secrets
from dataclasses import dataclass

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ...records.day.happened import Happened, happened
from ...records.day_entry import ClockCheck, entry
from ...records.plan.worn_times import seconds_of
from ...records.store.day_entries import append, entries_of
from ...words.render import Words
from ..day_words import at_text
from ..days import day_of, on_list, wall
from ..forms import Form, anchor, posted
from ..messages import WEB_NOW_NOT_A_TIME
from ..rendering import parts_of, screen, see, words_of

HOW = ("button", "taps", "shown")


@dataclass(frozen=True, slots=True)
class Strap:
    """A strap of the list, who wears it, and whether its clock was checked."""

    label: str
    students: str
    told: str


def clocks(request: Request) -> Response:
    """The clock on the wall, and the straps of the list."""
    day, words = day_of(request), words_of(request)
    found = happened(day, entries_of(parts_of(request).logbook(), day))
    return screen(
        request,
        "clocks.html",
        day=day.isoformat(),
        date=words.date(day),
        time=f"{wall(request):%H:%M:%S}",
        straps=_straps(found, words),
        once=secrets.token_urlsafe(9),
    )


@posted
def checked(request: Request, form: Form) -> Response:
    """Keep the moment of the flash, or what the strap showed."""
    day, how, at = day_of(request), form.text("how"), wall(request)
    shown = seconds_of(form.text("shown")) if how == "shown" else None
    if how not in HOW or not form.text("strap"):
        raise HTTPException(400)
    if how == "shown" and shown is None:
        return see(request, f"/day/{day}/clocks", WEB_NOW_NOT_A_TIME, kind="attention")
    check = ClockCheck.model_validate({"strap": form.text("strap"), "how": how, "shown_s": shown})
    append(parts_of(request).logbook(), entry(day, at, check, once=form.text("once") or None))
    return see(request, f"/day/{day}/clocks{anchor('strap', form.text('row'))}")


def _straps(found: Happened, words: Words) -> list[Strap]:
    wearers: dict[str, list[str]] = {}
    for test in on_list(found):
        if test.strap:
            wearers.setdefault(test.strap, []).append(test.code)
    checks = {label.casefold(): each for label, each in found.checks.items()}
    return [
        Strap(
            label,
            ", ".join(dict.fromkeys(codes)),
            words.get("web_now.checked_at", at=at_text(checks[label.casefold()][-1].at))
            if label.casefold() in checks
            else words.get("web_now.not_checked"),
        )
        for label, codes in wearers.items()
    ]


ROUTES = [Route("/day/{date}/clocks", clocks), Route("/day/{date}/clocks", checked, methods=["POST"])]
