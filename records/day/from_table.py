"""The list of a class, or the typed form of a day, as entries: who is on the list, with which strap, who began when.

The same table serves the command line as roster, list of straps and form (``plan.known``, ``plan.written``).
"""

from collections.abc import Iterator, Mapping
from datetime import date, datetime, time, timedelta
from pathlib import Path

from ...errors import OwnmarkError
from ..class_table import read_named
from ..day_entry import Entry, Listed, Noted, Press, PressKind, RowDraft, entry
from ..plan.known import read_roster, read_starts
from ..plan.written import clock_span, read_written
from ..protocol import Protocol

ENDS = frozenset({".csv", ".tsv", ".txt", ".xlsx", ".xlsm"})
MOST_BYTES = 2 * 1024 * 1024
"""A larger table is no list of a class."""
_BESIDE = frozenset({"protocol", "strap", "start", "work"})


def is_class_list(path: Path) -> bool:
    """Whether a file is the list of a class: a table with a column of codes and one of what belongs to a class."""
    if path.suffix.lower() not in ENDS or path.stat().st_size > MOST_BYTES:
        return False
    try:
        rows = read_named(path)
    except OwnmarkError:
        return False
    return bool(rows) and "code" in rows[0] and not _BESIDE.isdisjoint(rows[0])


def entries_of_list(path: Path, day: date, at: datetime, protocols: Mapping[str, Protocol]) -> tuple[Entry, ...]:
    """What the list says of each student, in its order.

    at : when it was entered
    protocols : of the logbook, by name: a start is that of the rest where the protocol has one

    Raises
    ------
    UnreadableFile, NotATrial
        As ``plan.known.read_roster`` and the others that read a form.
    """
    roster = read_roster(path)
    columns = set(read_named(path)[0])
    starts: Mapping[str, float] = read_starts(str(path)) if "start" in columns else {}
    written = read_written([path])
    found: list[Entry] = []
    for each in roster:
        found.append(entry(day, at, Listed(protocol=each.protocol, strap=each.strap), each.code))
        found += _presses(
            each.code,
            day,
            starts.get(each.code),
            written.works.get(each.code, ""),
            protocols.get(each.protocol or ""),
            at,
        )
        if each.code in written.notes:
            found.append(entry(day, at, Noted(text=written.notes[each.code]), each.code))
    return tuple(found)


def _presses(
    code: str, day: date, start: float | None, work: str, protocol: Protocol | None, at: datetime
) -> Iterator[Entry]:
    """The times that were written down, as if they had been pressed; presses of the recording stay as typed."""
    if start is not None:
        first: PressKind = "work_begins" if protocol is not None and not protocol.rest_s else "rest_begins"
        yield entry(day, _on(day, start), Press(what=first), code)
    if not work:
        return
    span = clock_span(work)
    if span is None:
        yield entry(day, at, RowDraft(texts={"work": work}), code)
        return
    yield entry(day, _on(day, span[0]), Press(what="work_begins"), code)
    yield entry(day, _on(day, span[1]), Press(what="work_ends"), code)


def _on(day: date, seconds: float) -> datetime:
    return datetime.combine(day, time()) + timedelta(seconds=seconds)
