"""Forms: what was typed to values, or to errors that say which field and how to mend it.

    @posted
    def save(request, form):
        bpm = form.number("bpm", low=30, high=230)
        if form.errors:
            return screen(request, "rest.html", 422, form=form)

In a template, ``{% import "blocks.html" as blocks %}`` brings ``blocks.errors(form, w)``, the summary, and
``blocks.field(form, w, name, label)``.
"""

import asyncio
import math
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import wraps
from typing import TypeVar

from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException
from starlette.requests import Request
from starlette.responses import Response

from ..errors import OwnmarkError
from ..words.message import Message

MOST_FIELDS = 2000
MOST_DIGITS = 9
"""Of a whole number: no trial, entry, row or place has a longer one, and every logbook can look for it."""
Found = TypeVar("Found")


@dataclass(slots=True)
class Form:
    """The fields of a form as they were typed.

    errors : (name of the field, what is wrong with it), in the order in which they were found; the name is "" where
        it is no single field's
    """

    fields: Mapping[str, Sequence[str]] = field(default_factory=dict)
    errors: list[tuple[str, Message | str]] = field(default_factory=list)

    def text(self, name: str) -> str:
        """What stands in a field, without space around it; empty where it is not there."""
        return (self.fields.get(name) or ("",))[0].strip()

    def all(self, name: str) -> tuple[str, ...]:
        """Every value of a name, as of boxes that were ticked."""
        return tuple(self.fields.get(name, ()))

    def error(self, name: str) -> "Message | str | None":
        """What is wrong with a field."""
        return next((what for each, what in self.errors if each == name), None)

    def refuse(self, name: str, what: Message | str) -> None:
        """Say that a field is wrong."""
        self.errors.append((name, what))

    def number(self, name: str, *, low: float | None = None, high: float | None = None) -> float | None:
        """A number with a point or a decimal comma, within limits; None where nothing is typed or it is refused."""
        text = self.text(name)
        if not text:
            return None
        try:
            value = float(text.replace(",", ".").replace("−", "-"))
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            self.refuse(name, Message("web_frame.not_a_number"))
            return None
        if (low is not None and value < low) or (high is not None and value > high):
            self.refuse(name, _outside(low, high))
            return None
        return value

    def take(self, name: str, read: Callable[[str], Found]) -> Found | None:
        """What ``read`` makes of the text; its refusal becomes the field's error. None where nothing is typed."""
        text = self.text(name)
        if not text:
            return None
        try:
            return read(text)
        except OwnmarkError as refusal:
            self.refuse(name, refusal.what if isinstance(refusal.what, Message) else str(refusal))
            return None


def whole(text: str) -> int | None:
    """A whole number as our own forms send it: ASCII digits, and not too many; None for anything else."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= MOST_DIGITS else None


def anchor(place: str, text: str) -> str:
    """Where on a screen the row of a number stands; "" where it is no number."""
    number = whole(text)
    return "" if number is None else f"#{place}-{number}"


def _outside(low: float | None, high: float | None) -> Message:
    """What may be typed instead."""
    if low is not None and high is not None:
        return Message.of("web_frame.out_of_limits", low=low, high=high)
    if low is not None:
        return Message.of("web_frame.too_low", low=low)
    return Message.of("web_frame.too_high", high=high or 0.0)


def posted(handler: Callable[[Request, Form], Response]) -> Callable[[Request], Awaitable[Response]]:
    """A route's function that reads the form and works in a thread of its own."""

    @wraps(handler)
    async def endpoint(request: Request) -> Response:
        form = await read(request)
        return await asyncio.to_thread(handler, request, form)

    return endpoint


async def read(request: Request) -> Form:
    """The fields that were sent; files are not taken here."""
    try:
        async with request.form(max_files=0, max_fields=MOST_FIELDS) as sent:
            found: dict[str, list[str]] = {}
            for name, value in sent.multi_items():
                if isinstance(value, str):
                    found.setdefault(name, []).append(value)
    except (MultiPartException, UnicodeDecodeError):
        raise HTTPException(400) from None
    return Form(found)
