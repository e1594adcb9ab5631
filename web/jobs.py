"""What the worker does: functions from plain JSON values to plain JSON values, over the logbook and received files.

Numbers and decisions come from ``ingest``, ``metrics`` and ``records``; nothing is worked out here.
"""

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from ..errors import UnknownCode
from .messages import WEB_DAY_ROW_GONE
from .pipe import Values

if TYPE_CHECKING:
    from ..records.class_day import Outcome
    from ..records.day.as_rows import DayRow, DayRows
    from ..records.plan.seen import Seen
    from ..records.store.logbook import Logbook

MOST_SAMPLES = 60_000_000
"""Samples of files that stay in memory: a class of 40 with two sensors of 100 Hz each."""


class State:
    """What stays between jobs: the open logbook and the files that were read.

    place : of the logbook
    password : of its server, where it was typed
    """

    def __init__(self, place: str, password: str | None = None) -> None:
        self.place = place
        self.password = password
        self._logbook: Logbook | None = None
        self._seen: dict[tuple[str, str | None], Seen] = {}

    @property
    def logbook(self) -> "Logbook":
        """The logbook, opened on first use."""
        if self._logbook is None:
            from ..records.store.logbook import open_logbook

            self._logbook = open_logbook(self.place, create=False, password=self.password)
        return self._logbook

    def see(self, path: Path, zone: str | None) -> "Seen":
        """A file as it was read, once; the trials that hold its recording are looked up every time."""
        from ..records.plan.seen import see, with_holders

        key = (str(path), zone)
        if key not in self._seen:
            (found,) = see([path], zone, lambda _: ())
            while self._seen and sum(map(_samples, (*self._seen.values(), found))) > MOST_SAMPLES:
                del self._seen[next(iter(self._seen))]
            self._seen[key] = found
        return with_holders(self._seen[key], self.logbook.holders)

    def close(self) -> None:
        """Let go of the logbook."""
        if self._logbook is not None:
            self._logbook.close()


def _samples(seen: "Seen") -> int:
    return 0 if seen.recording is None else sum(len(stream) for stream in seen.recording.streams)


def warm_up(state: State) -> None:
    """Load what reading, planning and storing take."""
    from ..metrics import effort  # noqa: F401 loaded for the next job
    from ..records.class_day import add_class  # noqa: F401 as above
    from ..records.plan.day import plan_day  # noqa: F401 as above

    _ = state.logbook


def see(state: State, path: str, zone: str | None) -> Values:
    """What a file is: its streams, when it ran, how long, how much of the heart rate was measured, its faults."""
    from ..records.plan.seen import measured_share

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
    """The rows of a day, and each file by its SHA-256; worked out again only once something was written.

    paths : where each received file lies, by its SHA-256
    """
    key = ("day", day, tuple(sorted(paths.items())), zone, today)
    return state.logbook.held.of(key, lambda: _rows(state, day, paths, zone, today))


def _rows(state: State, day: str, paths: dict[str, str], zone: str | None, today: str) -> Values:
    from ..records.day.as_rows import done_with

    found = _of_day(state, day, paths, zone, today)
    return {
        "rows": [_row_as_json(each) for each in found.rows],
        "remarks": [each.to_json() for each in found.remarks],
        "done": list(done_with(found)),
    }


def add(state: State, day: str, paths: dict[str, str], zone: str | None, today: str, code: str, turn: int) -> Values:
    """Put a student's row into the logbook as it stands now."""
    from ..records.day.as_rows import add_row, row_named

    row = row_named(_of_day(state, day, paths, zone, today), code, turn)
    if row is None:
        raise UnknownCode(WEB_DAY_ROW_GONE)
    on = date.fromisoformat(day)
    where = {each: Path(path) for each, path in paths.items()}
    outcome = add_row(state.logbook, row, where, day=on, today=date.fromisoformat(today), zone=zone)
    return {
        "state": outcome.state,
        "sentence": outcome.sentence,
        "trial": _trial_of(state, outcome, row),
        "files": list(row.files),
        "questions": [{"asked": each.asked.to_json(), "answers": list(each.answers)} for each in outcome.questions],
    }


def _trial_of(state: State, outcome: "Outcome", row: "DayRow") -> int | None:
    """The number of the trial that a row is in the logbook as; None: it is not."""
    if outcome.kept is not None:
        return outcome.kept.trial.id
    if outcome.state != "there already":
        return None
    found = (each for sha256 in row.files for each in state.logbook.holders(sha256))
    return next((number for number, code in found if code == row.code), None)


def _of_day(state: State, day: str, paths: dict[str, str], zone: str | None, today: str) -> "DayRows":
    from ..records.day.as_rows import rows_of_day
    from ..records.day.happened import happened
    from ..records.store.day_entries import entries_of

    on = date.fromisoformat(day)
    seen = {sha256: state.see(Path(path), zone) for sha256, path in paths.items()}
    today_is = date.fromisoformat(today)
    return rows_of_day(state.logbook, happened(on, entries_of(state.logbook, on)), seen, zone=zone, today=today_is)


def _row_as_json(row: "DayRow") -> Values:
    from ..records.day.answers import answer_as_json

    return {
        "code": row.code,
        "turn": row.turn,
        "texts": dict(row.texts),
        "found": dict(row.found),
        "files": list(row.files),
        "shifts": dict(row.shifts),
        "stored": list(row.stored),
        "answers": list(row.answers),
        "ready": row.ready,
        "asked": [
            {"mark": each.mark, "asked": each.asked.to_json(), "answers": [answer_as_json(one) for one in each.answers]}
            for each in row.asked
        ],
    }


JOBS: Mapping[str, Callable[..., Any]] = MappingProxyType({"warm_up": warm_up, "see": see, "rows": rows, "add": add})
"""By the name that the page asks for."""
