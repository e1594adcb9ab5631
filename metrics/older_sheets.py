"""What a sheet kept in English before messages had codes, for the decisions that look at a code.

The only place that reads an English sentence: the sentences are those of older versions and never change.
"""

from collections.abc import Collection
from types import MappingProxyType

from ..words.message import Message, english_of_older

_WHOLE = MappingProxyType(
    {
        "entered": "basis.rest_entered",
        "the chair moving: floor, speed and motor, not the student's effort": "note.chair",
        "Not given: there is no heart rate in the recording.": "why.no_heart_rate",
    }
)
_PARTS = (
    ("no movement sensor in the recording", "why.no_movement_sensor"),
    ("no gyroscope in the recording", "why.no_gyroscope"),
    ("(--target)", "why.no_target"),
    ("(--ceiling)", "why.no_ceiling"),
    ("(--distance)", "why.no_distance"),
    ("(--sex)", "why.no_sex"),
    ("No crossing of the ceiling", "why.no_crossing"),
    ("nothing lays heart rate and movement on one clock", "why.no_clock"),
    (" s if the maximum is one standard error", "note.one_error"),
    ("Not read:", "unread.older"),
)


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
    if older in _WHOLE:
        return _WHOLE[older]
    return next((code for part, code in _PARTS if part in older), None)
