"""A row of the day into the logbook, by the way that a class's table goes, and what an answer enters."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from ...ingest.containers import Member, members
from ...words.plain import printable
from ..address import Place
from ..class_day import add_class
from ..day_entry import Entry, PutAway, RowDraft, Stored, Undone, What, entry
from ..row_outcome import Outcome
from ..store.day_entries import append, entries_of
from .answers import Answer, Asked, confirmed_by
from .as_rows import NO_DRAFT, DayRow
from .happened import Happened, happened

if TYPE_CHECKING:
    from ..store.logbook import Logbook


@dataclass(frozen=True, slots=True)
class Result:
    """What became of a row that was to be stored.

    asked : what is open now, with the words that settle it
    trial : its number, where it is in the logbook
    there : it was there already: another page was quicker, or this one was stopped before it entered that
    """

    outcome: Outcome
    asked: tuple[Asked, ...] = ()
    trial: int | None = None
    there: bool = False


def store(logbook: "Logbook", day: date, found: DayRow, at: datetime, *, today: date, zone: str | None) -> Result:
    """Put a row that is ready into the logbook, and enter that it is there.

    A row whose trial is there already, because the page was stopped between the two, is entered as stored.

    Raises
    ------
    ValueError
        If the row is not ready.
    """
    if found.row is None or found.code is None:
        raise ValueError("a row that is not ready")
    (outcome,) = add_class(logbook, [found.row], day=day, today=today, zone=zone)
    number = outcome.kept.trial.id if outcome.kept is not None else None
    there = outcome.state == "there already"
    if there:
        number = outcome.number or _there(logbook, found, day)
    elif number is None:  # its files are gone where another page has stored it since it was planned
        test = happened(day, entries_of(logbook, day)).test(found.code, found.turn)
        if test is not None and test.stored:
            return Result(outcome, (), test.trials[-1], there=True)
    if number is not None:
        append(logbook, entry(day, at, Stored(trial=number, files=_kept(found, outcome), turn=found.turn), found.code))
    questions = tuple(confirmed_by(each.asked, each.answers) for each in outcome.questions)
    return Result(outcome, questions, number, there)


def _kept(found: DayRow, outcome: Outcome) -> tuple[str, ...]:
    """The row's files without those that could not be read: they are not in the logbook, and wait for somebody."""
    bad = {Path(each.path).name for each in outcome.refused}
    paths = found.row.files if found.row is not None else ()
    return tuple(sha256 for sha256, path in zip(found.files, paths, strict=True) if printable(path.name) not in bad)


def _there(logbook: "Logbook", found: DayRow, day: date) -> int | None:
    """The student's trial of the row's recordings; without any, the last one of that day and protocol."""
    held = [number for path in (found.row.files if found.row else ()) for number in _holding(logbook, path, found.code)]
    mine = sorted(set(held))
    if mine:
        return mine[-1]
    texts = found.texts or {}
    on = texts.get("on", day.isoformat())
    same = [each.id for each in logbook.outline(texts.get("protocol"), found.code) if each.on.isoformat() == on]
    return same[-1] if same and not found.files else None


def _holding(logbook: "Logbook", path: Place, code: str | None) -> list[int]:
    """The numbers of the student's trials of the recordings in a file."""
    inside = [each.source for each in members(str(path)) if isinstance(each, Member)]
    names = {name for source in inside for name in (source.recording, source.sha256)}
    return [number for name in names for number, whose in logbook.holders(name) if whose == code]


def answered(
    day: Happened, rows: Sequence[DayRow], found: DayRow, answer: Answer, mark: str, at: datetime
) -> tuple[Entry, ...]:
    """What an answer enters; empty where it leads to a field that somebody has to write."""
    draft = _draft(day, found)
    match answer.kind:
        case "so":
            return _drafted(day, found, draft.model_copy(update={"checked": _with(draft.checked, mark)}), at)
        case "confirm":
            return _drafted(day, found, draft.model_copy(update={"answers": _with(draft.answers, answer.value)}), at)
        case "protocol" | "day":
            field = "protocol" if answer.kind == "protocol" else "on"
            return _drafted(day, found, draft.model_copy(update={"texts": {**draft.texts, field: answer.value}}), at)
        case "shift":
            shifts = {**draft.shifts, answer.file: float(answer.value)}
            return _drafted(day, found, draft.model_copy(update={"shifts": shifts}), at)
        case "only_file":
            return _drafted(day, found, draft.model_copy(update={"files": (answer.file,)}), at)
        case "give":
            return _given(day, rows, found, answer, at)
        case "put_away":
            return (entry(day.day, at, PutAway(sha256=answer.file)),)
        case "off_list":
            test = None if found.code is None else day.test(found.code, found.turn)
            return tuple(entry(day.day, at, Undone(entry=each), found.code) for each in (test.entries if test else ()))
        case "write":
            return ()


def _given(day: Happened, rows: Sequence[DayRow], found: DayRow, answer: Answer, at: datetime) -> tuple[Entry, ...]:
    """A file to a student: into that row, and out of the one in which it stood."""
    whose = next((each for each in rows if each.code == answer.value and each.turn == 1), None)
    whose = whose or DayRow(answer.value, 1, "empty")
    to = _draft(day, whose).model_copy(update={"files": _with(whose.files, answer.file)})
    out = tuple(each for each in found.files if each != answer.file)
    left = _draft(day, found).model_copy(update={"files": out}) if found.code is not None else None
    taken = _drafted(day, found, left, at) if left is not None and found.code != answer.value else ()
    return (*taken, *_drafted(day, whose, to, at))


def _draft(day: Happened, found: DayRow) -> RowDraft:
    test = None if found.code is None else day.test(found.code, found.turn)
    return (test.draft if test is not None else None) or NO_DRAFT


def _drafted(day: Happened, found: DayRow, draft: RowDraft, at: datetime) -> tuple[Entry, ...]:
    """A row's new draft; of a file of nobody there is none."""
    if found.code is None:
        return ()
    what: What = draft.model_copy(update={"turn": found.turn})
    return (entry(day.day, at, what, found.code),)


def _with(some: Sequence[str], more: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*some, more)))
