"""What a sheet kept in English before messages had codes: read as messages, and the decisions that look at a code.

The only place that reads an English sentence: the sentences are those of older versions and never change.
"""

from types import MappingProxyType
from typing import TypeAlias

from ..words.message import Json, Message
from ..words.shapes import is_list, is_object

OLDER = "ownmark-effort-sheet-1"
"""The schema of sheets with sentences for messages; they are read as ``legacy.english``."""
_Page: TypeAlias = dict[str, object]

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


def code_of_older(sentence: str) -> str | None:
    """The code that a sentence of an older sheet would have now; None where nothing is decided by it."""
    if sentence in _WHOLE:
        return _WHOLE[sentence]
    return next((code for part, code in _PARTS if part in sentence), None)


def current_form(page: object, schema: str) -> object:
    """A sheet's JSON values in the form that today's models read.

    English that stands beside messages is left out; in a sheet of the schema before there is nothing else, and each
    sentence becomes a message. What is no sheet is given back as it is.
    """
    if not is_object(page):
        return page
    found: _Page = dict(page)
    if found.get("schema", OLDER) == OLDER:  # every sheet states its schema, but the very first
        found["schema"] = schema
    figures, provenance = found.get("figures"), found.get("provenance")
    if is_object(figures):
        found["figures"] = {name: _figure(each) if is_object(each) else each for name, each in figures.items()}
    if is_object(provenance):
        found["provenance"] = _provenance(provenance)
    return _listed(found, "cautions")


def _figure(found: _Page) -> _Page:
    plain = _beside(found, "basis", "rests_on", listed=True)
    missing = "reason" in plain or (plain.get("value") is None and "notes" not in plain)
    return _beside(plain, "note", "reason" if missing else "notes", listed=not missing)


def _provenance(found: _Page) -> _Page:
    plain = _listed(found, "notes")
    phases, basis, clocks = plain.get("phases"), plain.get("basis"), plain.get("clocks")
    if is_object(phases):
        plain["phases"] = _beside(phases, "how", "decided")
    if is_object(basis):
        plain["basis"] = _beside(_beside(basis, "rest_how", "rest_from"), "maximum_how", "maximum_from")
    if is_list(clocks):
        plain["clocks"] = [_beside(each, "note", "notes", listed=True) if is_object(each) else each for each in clocks]
    return plain


def _beside(found: _Page, sentence: str, name: str, *, listed: bool = False) -> _Page:
    """Without the English ``sentence``, which is taken for the message ``name`` where that is missing."""
    text = found.get(sentence)
    plain = {key: each for key, each in found.items() if key != sentence}
    if text is not None and not isinstance(text, str):
        raise ValueError("what is said in English is a sentence")
    if text and name not in plain:
        plain[name] = [_message(text)] if listed else _message(text)
    return plain


def _listed(found: _Page, name: str) -> _Page:
    """With each sentence of a list as a message."""
    texts = found.get(name)
    if not is_list(texts):
        return found
    return {**found, name: [_message(each) if isinstance(each, str) else each for each in texts]}


def _message(text: str) -> Json:
    return Message.english(text).to_json()
