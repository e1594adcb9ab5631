"""What the worker does for a class's day: its rows, an answer, and a row into the logbook. Plain JSON both ways."""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from .jobs import State
from .pipe import Values, refusal_as_json

if TYPE_CHECKING:
    from ..records.day.answers import Asked
    from ..records.day.as_rows import DayRow
    from ..records.day.happened import Happened
    from ..words.message import Message


def rows(state: State, day: str, zone: str | None, today: str) -> Values:
    """The rows of a day, what is asked of each, and what the plan remarks.

    missing : received files that are not in the folder of this computer
    last : the number of the day's last entry that was looked at
    """
    on = date.fromisoformat(day)
    now, found, remarks, missing = _day(state, on, zone, date.fromisoformat(today))
    return {
        "rows": [_row(each) for each in found],
        "remarks": [each.to_json() for each in remarks],
        "missing": list(missing),
        "last": now.last,
    }


def answer(
    state: State,
    day: str,
    zone: str | None,
    today: str,
    row: str,
    turn: int,
    mark: str,
    kind: str,
    value: str,
    file: str,
    at: str,
) -> Values:
    """Enter an answer to a question of a row; ``entered`` False: the question is not open any more, or is written.

    row : the student's code, or the SHA-256 of the file of which nobody knows whose it is
    """
    from ..records.day.answers import Answer
    from ..records.day.storing import answered
    from ..records.store.day_entries import append

    now, found, _, _ = _day(state, date.fromisoformat(day), zone, date.fromisoformat(today))
    asked = _found(found, row, turn)
    wanted = (kind, value, file)
    given = next(
        (
            one
            for each in (() if asked is None else asked.asked)
            if each.mark == mark
            for one in each.answers
            if (one.kind, one.value, one.file) == wanted
        ),
        None,
    )
    given = given or (Answer("confirm", value) if kind == "confirm" and asked is not None else None)
    if asked is None or given is None:
        return {"entered": False}
    new = append(state.logbook, *answered(now, found, asked, given, mark, datetime.fromisoformat(at)))
    return {"entered": bool(new)}


def store(state: State, day: str, zone: str | None, today: str, row: str, turn: int, at: str) -> Values:
    """Put a row that is ready into the logbook; files that no other row needs leave the folder.

    state : as ``class_day.Outcome`` has it, or ``not ready``
    """
    from ..records.day.as_rows import needed
    from ..records.day.storing import store as stored
    from ..records.store.received import received_at

    on, now = date.fromisoformat(day), date.fromisoformat(today)
    _, found, _, _ = _day(state, on, zone, now)
    wanted = _found(found, row, turn)
    if wanted is None or wanted.row is None:
        return {"state": "not ready", "trial": None, "asked": [], "refused": None, "unseen": [], "left_out": []}
    result = stored(state.logbook, on, wanted, datetime.fromisoformat(at), today=now, zone=zone)
    outcome = result.outcome
    if result.trial is not None:
        others = needed([each for each in found if each is not wanted])
        left = {each.path for each in outcome.refused}
        folder = received_at(state.logbook.place)
        for sha256, path in zip(wanted.files, wanted.row.files, strict=True):
            if sha256 not in others and not left & {str(path), path.name}:
                folder.remove(sha256, on)
    kept = outcome.kept
    return {
        "state": outcome.state,
        "trial": result.trial,
        "asked": [_asked(each) for each in result.asked],
        "refused": None if outcome.reason is None else refusal_as_json(outcome.reason),
        "unseen": [] if kept is None else [each.to_json() for each in kept.unseen],
        "left_out": [refusal_as_json(each.reason) for each in outcome.refused],
    }


def _day(
    state: State, day: date, zone: str | None, today: date
) -> "tuple[Happened, tuple[DayRow, ...], tuple[Message, ...], tuple[str, ...]]":
    """The day as it is, held as long as nobody writes into the logbook and no file comes or goes."""
    from ..records.store.received import received_at

    there = received_at(state.logbook.place).paths(day)
    key = ("day", day, zone, today, tuple(sorted(there)))
    return state.logbook.held.of(key, lambda: _planned(state, day, zone, today))


def _planned(
    state: State, day: date, zone: str | None, today: date
) -> "tuple[Happened, tuple[DayRow, ...], tuple[Message, ...], tuple[str, ...]]":
    from ..records.day.as_rows import Bag, planned, rows_of_day
    from ..records.day.as_sources import as_sources, on_the_clock
    from ..records.day.happened import happened
    from ..records.store.day_entries import entries_of
    from ..records.store.received import received_at

    logbook = state.logbook
    folder = received_at(logbook.place)
    now = happened(day, entries_of(logbook, day))
    stored = {sha256 for test in now.tests for sha256 in test.files}
    wanted = [each.sha256 for each in now.files if each.put_away is None]
    paths = {sha256: path for sha256 in wanted if (path := folder.path(day, sha256)) is not None}
    bag = Bag(on_the_clock(now, [state.see(path, zone) for path in paths.values()], zone), paths)
    sources = as_sources(logbook, now, bag.clock.seen, zone=zone, today=today, paths=paths)
    plan = planned(now, bag, sources)
    missing = tuple(each for each in wanted if each not in paths and each not in stored)
    return now, rows_of_day(now, plan, bag, sources), plan.remarks, missing


def _found(rows: "tuple[DayRow, ...]", row: str, turn: int) -> "DayRow | None":
    """A row by its student, or by a file of nobody."""
    for each in rows:
        if each.code == row and each.turn == turn:
            return each
        if each.code is None and row in each.files:
            return each
    return None


def _row(found: "DayRow") -> Values:
    return {
        "code": found.code,
        "turn": found.turn,
        "state": found.state,
        "files": list(found.files),
        "texts": dict(found.texts or {}),
        "asked": [_asked(each) for each in found.asked],
        "trials": list(found.trials),
    }


def _asked(found: "Asked") -> Values:
    return {
        "message": found.message.to_json(),
        "code": found.code,
        "mark": found.mark,
        "answers": [{"kind": each.kind, "value": each.value, "file": each.file} for each in found.answers],
    }


DAY_JOBS: Mapping[str, Callable[..., Any]] = MappingProxyType({"rows": rows, "answer": answer, "store": store})
"""By the name that the page asks for."""
