"""What the worker does for a day: its files, its rows, the answers to what is asked, and into the logbook.

Numbers and decisions come from ``ingest``, ``metrics`` and ``records``; nothing is worked out here.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from ...words.message import Message
from ..pipe import Values
from .state import State

_TRIES = 20
"""So often is a row looked at anew because another page has entered something of its day meanwhile."""

if TYPE_CHECKING:
    from ...records.day.answers import Asked
    from ...records.day.as_rows import Bag, DayRow
    from ...records.day.happened import Happened
    from ...records.day_entry import Entry


def warm_up(state: State) -> None:
    """Load what reading, planning and storing take, and enter files that came when the page was stopped."""
    from ...metrics import effort  # noqa: F401 loaded for the next job
    from ...records.class_day import add_class  # noqa: F401 as above
    from ...records.plan.day import plan_day  # noqa: F401 as above
    from ...records.store.adopting import adopt

    adopt(state.logbook, datetime.now().astimezone().replace(tzinfo=None))


def see(state: State, path: str, zone: str | None) -> Values:
    """What a file is: its streams, when it ran, how long, how much of the heart rate was measured, its faults."""
    from ...records.plan.seen import measured_share

    seen = state.see(Path(path), zone)
    recording = seen.recording
    on, span = seen.on(zone), seen.clock_span(zone)
    return {
        "usable": recording is not None,
        "streams": [] if recording is None else [each.name for each in recording.streams],
        "format": "" if recording is None else recording.sources[0].format,
        "on": None if on is None else on.isoformat(),
        "begin_s": None if span is None else span[0],
        "length_s": None if recording is None else recording.last_s - recording.first_s,
        "measured_percent": measured_share(seen),
        "checks": [each.to_json() for each in seen.checks],
    }


def rows(state: State, day: str, paths: dict[str, str], zone: str | None, today: str) -> Values:
    """The rows of a day; worked out again only once something was written.

    paths : where each received file lies, by its SHA-256
    """
    from ...records.day.as_rows import needed

    found = of_day(state, day, paths, zone, today)
    return {
        "rows": [row_as_json(each, found) for each in found.rows],
        "remarks": [each.to_json() for each in found.remarks],
        "needed": sorted(needed(found.rows)),
    }


def answer(
    state: State,
    day: str,
    paths: dict[str, str],
    zone: str | None,
    today: str,
    row: str,
    mark: str,
    place: int,
    at: str,
) -> bool:
    """Enter an answer to what is asked of a row; False: it is not asked any more.

    place : of the answer in the question
    """

    def said(found: Day, mine: "DayRow") -> "tuple[Entry, ...] | None":
        from ...records.day.storing import answered

        asked = next((each for each in mine.asked if each.mark == mark), None)
        if asked is None or not 0 <= place < len(asked.answers):
            return None
        return answered(found.day, found.rows, mine, asked.answers[place], mark, datetime.fromisoformat(at))

    return _entered(state, (day, paths, zone, today), row, said)


def accept(
    state: State, day: str, paths: dict[str, str], zone: str | None, today: str, row: str, marks: list[str], at: str
) -> None:
    """Enter that all of this is right as it stands: of each question that was seen, and of no other."""
    for mark in marks:  # an answer lays over the ones before it

        def said(found: Day, mine: "DayRow", mark: str = mark) -> "tuple[Entry, ...] | None":
            from ...records.day.storing import answered

            asked = next((each for each in mine.asked if each.mark == mark), None)
            so = next((each for each in (asked.answers if asked is not None else ()) if each.kind == "so"), None)
            moment = datetime.fromisoformat(at)
            return None if so is None else answered(found.day, found.rows, mine, so, mark, moment)

        _entered(state, (day, paths, zone, today), row, said)


def confirm(
    state: State, day: str, paths: dict[str, str], zone: str | None, today: str, row: str, word: str, at: str
) -> bool:
    """Enter a word that settles what was asked when a row was to be stored; False: there is no such row."""

    def said(found: Day, mine: "DayRow") -> "tuple[Entry, ...]":
        from ...records.day.answers import Answer
        from ...records.day.storing import answered

        return answered(found.day, found.rows, mine, Answer("confirm", word), "", datetime.fromisoformat(at))

    return _entered(state, (day, paths, zone, today), row, said)


def _entered(
    state: State,
    of: tuple[str, dict[str, str], str | None, str],
    row: str,
    said: "Callable[[Day, DayRow], tuple[Entry, ...] | None]",
) -> bool:
    """Enter what is said of a row as the day stands; False: there is no such row, or it is not asked any more.

    Where another page entered something of the day meanwhile, the row is looked at once more: of two answers to one
    question the first counts, and neither takes away what the other said of something else.
    """
    from ...records.store.day_entries import append_after

    for _ in range(_TRIES):
        found = of_day(state, *of)
        mine = _named(found, row)
        new = None if mine is None else said(found, mine)
        if new is None:
            return False
        if append_after(state.logbook, found.day.last, *new):
            return True
    return False


def store(
    state: State, day: str, paths: dict[str, str], zone: str | None, today: str, rows: list[str], at: str
) -> dict[str, Values]:
    """Put rows into the logbook as they stand now: what became of each; one that is not ready any more is left out."""
    from ...records.day.storing import store as stored

    found = of_day(state, day, paths, zone, today)
    on, now, today_is = date.fromisoformat(day), datetime.fromisoformat(at), date.fromisoformat(today)
    done: dict[str, Values] = {}
    for key in rows:
        mine = _named(found, key)
        if mine is None or mine.row is None:
            continue
        result = stored(state.logbook, on, mine, now, today=today_is, zone=zone)
        done[key] = {
            "state": result.outcome.state,
            "sentence": result.outcome.sentence,
            "trial": result.trial,
            "there": result.there,
            "asked": [_asked_as_json(each) for each in result.asked],
        }
    return done


@dataclass(frozen=True, slots=True)
class Day:
    """A day with its plan."""

    day: "Happened"
    rows: "tuple[DayRow, ...]"
    remarks: tuple[Message, ...]
    bag: "Bag"


def of_day(state: State, day: str, paths: dict[str, str], zone: str | None, today: str) -> Day:
    """A day with its plan; worked out again only once something was written."""
    key = ("day", day, tuple(sorted(paths.items())), zone, today)
    return state.logbook.held.of(key, lambda: _planned(state, day, paths, zone, today))


def _planned(state: State, day: str, paths: dict[str, str], zone: str | None, today: str) -> Day:
    from ...records.day.as_rows import Bag, planned, rows_of_day, still_told, with_own_trials
    from ...records.day.as_sources import as_sources, on_the_clock
    from ...records.day.happened import happened
    from ...records.store.day_entries import entries_of
    from ...records.store.listing import owners_of

    on, places = date.fromisoformat(day), {each: Path(path) for each, path in paths.items()}
    found = happened(on, entries_of(state.logbook, on))
    clock = on_the_clock(found, [state.see(path, zone) for path in places.values()], zone)
    bag = Bag(clock, places)
    sources = as_sources(state.logbook, found, clock.seen, zone=zone, today=date.fromisoformat(today), paths=places)
    plan = planned(found, bag, sources, state.phases)
    owners = owners_of(state.logbook, [number for test in found.tests for number in test.trials])
    rows = with_own_trials(rows_of_day(found, plan, bag, sources), owners)
    return Day(found, rows, still_told(plan.remarks, found), bag)


def key_of(row: "DayRow") -> str:
    """What names a row in a form: the student and the test, or the first file of a row that is nobody's."""
    return f"{row.code} {row.turn}" if row.code is not None else f"- {row.files[0] if row.files else ''}"


def _named(found: Day, key: str) -> "DayRow | None":
    return next((each for each in found.rows if key_of(each) == key), None)


def row_as_json(row: "DayRow", found: Day) -> Values:
    """A row as plain values."""
    test = None if row.code is None else found.day.test(row.code, row.turn)
    draft = test.draft if test is not None else None
    return {
        "key": key_of(row),
        "code": row.code,
        "turn": row.turn,
        "state": row.state,
        "texts": dict(row.texts or {}),
        "typed": dict(draft.texts) if draft is not None else {},
        "files": list(row.files),
        "shifts": {each: found.bag.clock.shifts[each] for each in row.files if each in found.bag.clock.shifts},
        "trials": list(row.trials),
        "asked": [_asked_as_json(each) for each in row.asked],
    }


def _asked_as_json(asked: "Asked") -> Values:
    return {
        "mark": asked.mark,
        "asked": asked.message.to_json(),
        "answers": [{"kind": each.kind, "value": each.value, "file": each.file} for each in asked.answers],
    }


JOBS: Mapping[str, Callable[..., Any]] = MappingProxyType(
    {
        "warm_up": warm_up,
        "see": see,
        "rows": rows,
        "answer": answer,
        "accept": accept,
        "confirm": confirm,
        "store": store,
    }
)
"""By the name that the page asks for."""
