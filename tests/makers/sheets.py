"""Effort sheets for tests: those of ownmark with parts put in, checked like any other, and what their messages say."""

import json
from collections.abc import Callable, Iterable

from ownmark.metrics.figure import EffortSheet
from ownmark.words.message import Message
from ownmark.words.render import english, joined


def texts(messages: Iterable[Message]) -> tuple[str, ...]:
    """What messages say in English."""
    return tuple(map(english, messages))


def altered(sheet: EffortSheet, edit: Callable[[dict], object]) -> EffortSheet:
    """The sheet after its JSON object was edited, read like a kept one."""
    page = json.loads(sheet.to_json())
    edit(page)
    return EffortSheet.from_page(page)


def with_figure(sheet: EffortSheet, name: str, **fields: object) -> EffortSheet:
    """The sheet with fields of one figure put in; ``note`` and ``basis`` as an older sheet has them, in English."""

    def put(page: dict) -> None:
        figure = page["figures"][name]
        for sentence, messages in (("note", ("reason", "notes")), ("basis", ("rests_on",))):
            for each in messages if sentence in fields else ():
                del figure[each]
        figure.update(fields)

    return altered(sheet, put)


def in_english(found: Message | Iterable[Message] | None) -> str:
    """A message or several in English, as a sheet's ``note`` has them; empty for none."""
    if found is None:
        return ""
    return joined(texts((found,) if isinstance(found, Message) else found))
