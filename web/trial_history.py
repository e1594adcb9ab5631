"""The history of a trial, for a screen: when, what, why, and what stood there before."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from ..reports.words import Words
from ..words.numbers import shortest
from ..words.shapes import is_list, is_object

if TYPE_CHECKING:
    from ..records.store.history import Change

_LONGEST = 300
"""Letters of a former value that are shown."""
_OWN = frozenset(
    {"on", "margin_s", "distance_m", "practice", "files", "hand_results", "protocol", "protocol_version", "code"}
)
"""Fields whose name on this screen is its own."""


@dataclass(frozen=True, slots=True)
class Line:
    """One change. ``before``: name of each field and what stood in it."""

    when: str
    what: str
    why: str
    before: tuple[tuple[str, str], ...]


def lines_of(changes: "Sequence[Change]", words: Words, zone: tzinfo | None) -> list[Line]:
    """The last change first."""
    return [_line(each, words, zone) for each in reversed(changes)]


def _line(change: "Change", words: Words, zone: tzinfo | None) -> Line:
    moment = datetime.fromisoformat(change.made).astimezone(zone)
    when = words.get("web_trial.moment", date=words.date(moment.date(), short=True), time=f"{moment:%H:%M}")
    what = words.get(f"web_trial.was_{change.what.replace(' ', '_')}")
    known = [(name, value) for name, value in change.fields.items() if name != "confirmed"]
    if change.what == "removed":
        known = []
    return Line(
        when, what, change.why, tuple((field_label(name, words), _shown(value, words)) for name, value in known)
    )


def field_label(name: str, words: Words) -> str:
    """What a field of a trial is called."""
    keys = (f"web_trial.field_{name}" if name in _OWN else "", f"field.{name}", f"record.{name}")
    return next((words.get(key) for key in keys if key and words.known(key)), name.replace("_", " "))


def _shown(value: object, words: Words) -> str:
    """A former value in one line."""
    if value is None or value in ("", [], {}):
        return words.get("web_trial.not_written")
    if isinstance(value, bool):
        return words.get("web_trial.yes" if value else "web_trial.no")
    if isinstance(value, float | int):
        return words.shortest(float(value))
    if is_list(value):
        return "; ".join(_shown(each, words) for each in value)[:_LONGEST]
    if is_object(value):
        return _of_object(value)[:_LONGEST]
    return str(value)[:_LONGEST]


def _of_object(value: Mapping[str, object]) -> str:
    """A file by its name, anything else by its values."""
    if "path" in value:
        return str(value["path"])
    parts = (each for each in value.values() if each is not None and each not in ([], ""))
    return " ".join(shortest(each) if isinstance(each, float) else str(each) for each in parts)
