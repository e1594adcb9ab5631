"""What was changed of a trial, a student or a protocol, for a person and as JSON."""

import argparse
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from .logbook import opened
from .parts import wrapped
from .terminal import say, say_json

if TYPE_CHECKING:
    from ..records.store.history import Change, Kind

_MOST = 300
"""Letters of a former value that are shown; JSON holds it whole."""


def show_history(args: argparse.Namespace, kind: "Kind", thing: str | int) -> int:
    """Print all changes, the first first; one that never was is refused."""
    from ..records.store.history import history_of

    with opened(args) as logbook:
        changes = history_of(logbook, kind, thing)
        if not changes:
            {"trial": logbook.trial, "student": logbook.student, "protocol": logbook.protocol}[kind](thing)  # type: ignore[operator]
    if args.json:
        say_json([_page(each) for each in changes])
        return 0
    lines = [line for each in changes for line in _lines(each)]
    say("\n".join(lines) or f"Nothing was changed of {kind} {thing}.")
    return 0


def _page(change: "Change") -> dict[str, Any]:
    page = {"kind": change.kind, "thing": change.thing, "code": change.code, "what": change.what}
    return {**page, "made": change.made, "why": change.why, "before": dict(change.before)}


def _lines(change: "Change") -> Iterator[str]:
    """One change: when, what and why, and below what stood there before."""
    whose = f" of {change.code}" if change.kind == "trial" and change.what != "moved here" else ""
    why = f" ({change.why})" if change.why else ""
    what = "was given what its protocol was edited to" if _given(change) else _WHAT[change.what]
    before = ":" if change.kind == "protocol" else ". Before:" if change.before else "."
    yield from wrapped(f"{when(change.made)}  {change.kind} {change.thing}{whose} {what}{why}{before}", 18)
    for name, value in change.fields.items():
        if change.what == "removed" and not value:
            continue
        yield from wrapped(f"    {name.replace('_', ' '):<20} {_shown(value)}", 25)


def _given(change: "Change") -> bool:
    return change.kind == "trial" and change.what == "also earlier"


_WHAT = {
    "edited": "was edited",
    "moved here": "was moved here from another student's record",
    "moved away": "lost a trial, which was moved to another student's record",
    "removed": "was removed",
    "put back": "was put back",
    "also earlier": "was changed for earlier trials too",
}


def when(made: str) -> str:
    """A moment as the clock here shows it."""
    from datetime import datetime

    from ..words.render import english_date

    moment = datetime.fromisoformat(made).astimezone()
    return f"{english_date(moment.date(), short=True)}, {moment:%H:%M}"


def _shown(value: object) -> str:
    """A former value in one line."""
    if value is None or value in ("", [], {}):
        return "not written down"
    if isinstance(value, list):
        return "; ".join(map(_shown, value))[:_MOST]
    if isinstance(value, dict) and "path" in value:
        return str(value["path"])
    if isinstance(value, dict):
        return ", ".join(_part(each) for each in value.values() if each not in (None, [], ""))[:_MOST]
    return str(value)[:_MOST]


def _part(value: object) -> str:
    """A value of an entry: the words of a list stand between commas like those beside it."""
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
