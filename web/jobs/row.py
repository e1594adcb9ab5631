"""What the worker does for one row of a day that is looked at closer: its trace, and what was typed for it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from ...errors import OwnmarkError, UnknownCode
from ..pipe import Values, refusal_as_json
from .day import Day, key_of, of_day, row_as_json
from .state import State

if TYPE_CHECKING:
    from ...records.day.as_rows import DayRow
    from ...records.day.typed_row import Around
    from ..file_trace import FileTrace

PHASE_OF = {"rest_phase": "rest", "work": "work", "recovery": "recovery"}


@dataclass(frozen=True, slots=True)
class Asked:
    """Which row, of which day: as every job of a row is asked for.

    paths : where each received file lies, by its SHA-256
    """

    day: str
    paths: dict[str, str]
    zone: str | None
    today: str
    code: str
    turn: int


def row(state: State, language: str, address: str, query: Mapping[str, str], **asked: Any) -> Values | None:  # noqa: ANN401 as ``Asked`` takes them
    """A row with its trace; None: no such test can be begun yet.

    address : of its screen
    query : of its address: the part of the trace that is looked at
    """
    from ..file_trace import file_shown

    found, mine, turns = _row(state, Asked(**asked))
    if mine is None:
        return None
    values: Values = {
        "row": row_as_json(mine, found),
        "shifts": dict(found.bag.clock.shifts),
        "turns": turns,
        "owners": _owners(found, mine),
        "trace": None,
        "no_trace": None,
    }
    if mine.state == "stored" or not mine.files:
        return values
    texts = mine.texts or {}
    try:
        trace = _trace(state, found, mine, asked["zone"])
        values["trace"] = file_shown(
            trace,
            language,
            phases={short: texts[name] for name, short in PHASE_OF.items() if name in texts},
            free=_free(state, found, mine, trace),
            margin_s=_margin(texts),
            query=query,
            address=address,
            data=f"{address}/trace",
        )
    except OwnmarkError as reason:
        values["no_trace"] = refusal_as_json(reason)
    return values


def row_numbers(state: State, query: Mapping[str, str], **asked: Any) -> Values | None:  # noqa: ANN401 as above
    """The numbers of a part of its trace, for the script; None: there is no such row, or its screen shows no trace."""
    from ..file_trace import file_levels

    found, mine, _ = _row(state, Asked(**asked))
    if mine is None or mine.state == "stored" or not mine.files:
        return None
    return file_levels(_trace(state, found, mine, asked["zone"]), query)


def keep_row(
    state: State,
    texts: dict[str, str],
    files: list[str] | None,
    shifts: dict[str, str],
    at: str,
    **asked: Any,  # noqa: ANN401 as above
) -> Values | None:
    """Keep what was typed, but the fields that are wrong; None: there is no such row.

    texts, files, shifts : what was changed, as ``typed_row.Typed``
    """
    from ...records.day.as_rows import NO_DRAFT
    from ...records.day.typed_row import Typed, checked, drafted, without_shifts
    from ...records.day_entry import entry
    from ...records.store.day_entries import append

    which = Asked(**asked)
    found, mine, _ = _row(state, which)
    if mine is None or mine.state == "stored":
        return None
    test = found.day.test(which.code, which.turn)
    draft = (test.draft if test is not None else None) or NO_DRAFT
    proposed = mine.proposed or {}
    typed = Typed(texts, None if files is None else tuple(files), shifts)
    result = checked(typed, draft, proposed, _around(state, found, mine, which, typed))
    new = drafted(draft, result.good, proposed).model_copy(update={"turn": which.turn})
    others = without_shifts(found.day, which.code, which.turn, tuple(result.good.shifts))
    on, moment = date.fromisoformat(which.day), datetime.fromisoformat(at)
    entries = [entry(on, moment, each, code) for (code, _), each in others.items()]
    if new != draft.model_copy(update={"turn": which.turn}):
        entries.append(entry(on, moment, new, which.code))
    append(state.logbook, *entries)
    return {
        "kept": bool(entries),
        "faults": {name: refusal_as_json(fault) for name, fault in result.faults.items()},
    }


def _row(state: State, asked: Asked) -> "tuple[Day, DayRow | None, list[int]]":
    """The day, the row, and which tests of the student there are; the next test can always be begun."""
    from ...records.day.as_rows import DayRow
    from ...records.day_entry import MOST_TURNS

    found = of_day(state, asked.day, asked.paths, asked.zone, asked.today)
    turns = sorted(each.turn for each in found.rows if each.code == asked.code)
    mine = next((each for each in found.rows if key_of(each) == f"{asked.code} {asked.turn}"), None)
    if mine is None and 1 <= asked.turn <= min((turns or [0])[-1] + 1, MOST_TURNS):
        try:
            state.logbook.student(asked.code)
        except UnknownCode:
            return found, None, turns
        proposed = {"code": asked.code, "on": asked.day}
        mine = DayRow(asked.code, asked.turn, "empty", (), proposed, proposed=proposed)
    return found, mine, turns


def _trace(state: State, found: Day, mine: "DayRow", zone: str | None) -> "FileTrace":
    """The row's files on the right clock; the last ones stay, because who looks closer asks again and again.

    Raises
    ------
    OwnmarkError
        If none of them can be used, or they cannot belong together.
    """
    from ...errors import NothingMeasured
    from ...words.message import Message
    from ..file_trace import file_trace

    clock = found.bag.clock
    key = (zone or "", *(f"{each}{clock.shifts.get(each, 0.0):+}" for each in mine.files))
    if state.last_trace is None or state.last_trace[0] != key:
        seen = [found.bag.seen(each) for each in mine.files]
        recordings = [each.recording for each in seen if each is not None and each.recording is not None]
        if not recordings:
            raise NothingMeasured(Message("web_row.no_recording"))
        state.last_trace = (key, file_trace(recordings, zone))
    return state.last_trace[1]


def _free(state: State, found: Day, mine: "DayRow", trace: "FileTrace") -> tuple[float, float] | None:
    from ...ingest.clock_times import zone_from
    from ...records.day.free_of_row import free_of_row

    return free_of_row(state.logbook, mine, found.rows, trace.recording, zone_from(trace.zone))


def _margin(texts: Mapping[str, str]) -> float | None:
    """How much around the phases is kept, where somebody typed it and it is a number."""
    from ...records.result_numbers import number_of

    try:
        return float(number_of("margin_s", texts["margin_s"])) if texts.get("margin_s") else None
    except OwnmarkError:
        return None


def _around(state: State, found: Day, mine: "DayRow", asked: Asked, typed: Any) -> "Around":  # noqa: ANN401 Typed
    """What the row is checked against; with other files, or on another clock, its times are only read."""
    from ...ingest.clock_times import zone_from
    from ...records.day.typed_row import Around

    recording = None
    if mine.files and typed.files is None and not typed.shifts:
        try:
            recording = _trace(state, found, mine, asked.zone).recording
        except OwnmarkError:
            recording = None
    return Around(
        asked.code,
        date.fromisoformat(asked.today),
        {each.name: each for each in state.logbook.protocols()},
        frozenset(each.sha256 for each in found.day.files),
        recording,
        zone_from(asked.zone),
    )


def _owners(found: Day, mine: "DayRow") -> dict[str, list[str]]:
    """Whose each received file is, beside this row."""
    owners: dict[str, list[str]] = {}
    for each in found.rows:
        if each.code is not None and (each.code, each.turn) != (mine.code, mine.turn):
            for sha256 in each.files:
                owners.setdefault(sha256, []).append(each.code)
    return owners


ROW_JOBS: Mapping[str, Callable[..., Any]] = MappingProxyType(
    {"row": row, "row_numbers": row_numbers, "keep_row": keep_row}
)
"""By the name that the page asks for."""
