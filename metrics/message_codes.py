"""By which code a message is decided on: its own, or that of a sentence that an older sheet kept.

The sentences of older sheets are loaded where there is one: the sheet of a file has none.
"""

from collections.abc import Collection

from ..words.message import Message, english_of_older


def code_of(message: Message | None) -> str:
    """The message's code; of a sentence of an older sheet the code that it would have now, empty where there is none.

    A sentence that nothing is decided by keeps the code of all older ones.
    """
    if message is None:
        return ""
    found = _code(english_of_older(message))
    return message.code if found is None else found


def without(notes: Collection[Message], codes: Collection[str]) -> tuple[Message, ...]:
    """The notes without those of some codes; an older note of several parts without such parts."""
    kept = (_without(each, codes) for each in notes if each.code not in codes)
    return tuple(each for each in kept if each is not None)


def _without(note: Message, codes: Collection[str]) -> Message | None:
    older = english_of_older(note)
    if not older:
        return note
    parts = [part for part in older.split("; ") if part and _code(part) not in codes]
    return Message.english("; ".join(parts)) if parts else None


def _code(older: str) -> str | None:
    if not older:
        return None
    from .older_sheets import code_of_older

    return code_of_older(older)
