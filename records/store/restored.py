"""The rows of a backup as values: checked like entered ones, and made into rows again."""

import json
import re
from collections.abc import Collection, Iterator, Mapping, MutableMapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from zipfile import ZipFile

from ...errors import NotATrial
from ...metrics.figure import EffortSheet
from ...words.render import english
from ...words.shapes import is_list
from ..protocol import Protocol
from ..student import Student
from ..trial import Trial
from .archive import FOLDER, lines, refused
from .cells import Row, day, text, whole
from .day_entries import entry_of, entry_row
from .history import change_of, change_row, check_before
from .numbering import ENTRIES, TRIALS
from .rows import MAKE_AGAIN, NO_SHEET, TrialRows, kept_sheet, protocol_row, student_row, trial_rows
from .seals import sealed
from .settings import NAMES, check_zone

_AT_ONCE = 200
_AT_ONCE_LETTERS = 16 * 2**20
_HASH = re.compile(r"[0-9a-f]{64}")
_HIGHEST = 2**53
"""Numbers of trials are whole in every program that reads JSON."""


def student_rows(archive: ZipFile, where: str, known: MutableMapping[str, Student]) -> Iterator[Row]:
    """Rows of students; each is remembered in ``known`` by its code, without what is not needed for its trials."""
    for code, value in _rows(archive, "students", where, 2):
        student = Student.model_validate_json(text(value))
        if student.code != code:
            raise ValueError("another code than its row")
        known[student.code] = student.model_copy(update={"notes": "", "rests": (), "maxima": (), "ceilings": ()})
        yield student_row(student)


def protocol_rows(archive: ZipFile, where: str) -> Iterator[Row]:
    """Rows of protocols."""
    for name, version, component, value in _rows(archive, "protocols", where, 4):
        protocol = Protocol.model_validate_json(text(value))
        if (protocol.name, protocol.version, protocol.component) != (name, version, component):
            raise ValueError("another protocol than its row")
        yield protocol_row(protocol)


def counter_rows(archive: ZipFile, where: str, last: Mapping[str, int]) -> list[Row]:
    """The counters, each of which stands behind the last number that it gave.

    last : the last number there is, by the counter's name; 0: none
    """
    found: dict[object, object] = {}
    for name, value in _rows(archive, "counters", where, 2):
        if name not in (TRIALS, ENTRIES) or name in found:
            raise ValueError("no counter")
        found[name] = value
    kept: list[Row] = []
    for name, number in last.items():
        value = found.get(name)
        if value is None and not number:
            continue
        if type(value) is not int or not number < value <= _HIGHEST:
            raise ValueError("no counter")
        kept.append(sealed(name, value))
    return kept


def setting_rows(archive: ZipFile, where: str) -> list[Row]:
    """What holds for all of the logbook, checked like what is typed."""
    found: list[Row] = []
    for name, value in _rows(archive, "settings", where, 2):
        if name not in NAMES or len(found) >= len(NAMES):
            raise ValueError("no setting of a logbook")
        check_zone(text(value))
        found.append(sealed(name, value))
    return found


def history_rows(archive: ZipFile, where: str, known: Mapping[str, Student], members: Collection[str]) -> Iterator[Row]:
    """Rows of what was changed: of a student that is there, with files that are there."""
    last = 0
    for number, *cells in _rows(archive, "history", where, 9):
        change = change_of(cells)
        if type(number) is not int or not last < number <= _HIGHEST:
            raise ValueError("no number of a change")
        if (change.code is None) != (change.kind == "protocol") or (
            change.code is not None and change.code not in known
        ):
            raise LookupError(change.code)
        datetime.fromisoformat(change.made)
        check_before(change)
        if any(f"{FOLDER}{sha256}" not in members for sha256 in change.held):
            raise LookupError("a file of a removed trial")
        last = number
        yield change_row(number, change)


def entry_rows(archive: ZipFile, where: str, known: Collection[str]) -> Iterator[Row]:
    """Rows of the entries of classes' days, each checked like a new one; of students that are there."""
    last = 0
    for number, on, *cells in _rows(archive, "day_entries", where, 7):
        found = entry_of((number, date.fromisoformat(text(on)), *cells), kept=False)
        if not last < whole(number) <= _HIGHEST:
            raise ValueError("no number of an entry")
        if found.code is not None and found.code not in known:
            raise LookupError(found.code)
        last = whole(number)
        yield entry_row(found)


def trials_of(archive: ZipFile, where: str, known: Mapping[str, Student], today: date) -> Iterator[list[TrialRows]]:
    """Every trial with all its rows, some at a time."""
    details, sheets = _rows(archive, "details", where, 2), _rows(archive, "sheets", where, 2)
    some: list[TrialRows] = []
    letters = 0
    for narrow in _rows(archive, "trials", where, 12):
        sheet_text = text(_of(narrow[0], sheets)) if narrow[8] is True else None
        found = _trial(narrow, text(_of(narrow[0], details)), sheet_text)
        _check_day(found, narrow, known, today)
        some.append(found)
        letters += len(sheet_text or "")
        if len(some) == _AT_ONCE or letters > _AT_ONCE_LETTERS:
            yield some
            some, letters = [], 0
    if some:
        yield some


def _trial(narrow: list[object], detail: str, sheet_text: str | None) -> TrialRows:
    """A trial's rows, made of its details and its sheet; the narrow row must be the same."""
    number, by, same_as = narrow[0], narrow[7], narrow[11]
    if type(number) is not int or not 1 <= number <= _HIGHEST:
        raise ValueError("no number of a trial")
    if by is not None and not isinstance(by, str):
        raise TypeError("no version")
    if not isinstance(same_as, str) or not _HASH.fullmatch(same_as):
        raise ValueError("no hash")
    trial = Trial.model_validate_json(detail)
    if trial.id is not None or trial.sheet is not None or trial.computed_by is not None:
        raise ValueError("details hold what stands elsewhere")
    sheet = None if sheet_text is None else _sayable(kept_sheet(sheet_text, ()))
    rows = trial_rows(trial.model_copy(update={"sheet": sheet, "computed_by": by}), number, same_as)
    if sheet_text is not None:
        rows = replace(rows, sheet=sealed(number, sheet_text))  # as it was kept: an older one leaves things unsaid
    narrow = [*narrow[:4], date.fromisoformat(text(narrow[4])), *narrow[5:]]
    if list(rows.trial[:-1]) != narrow:
        raise ValueError("the trial is not what its row says")
    return rows


def _sayable(sheet: EffortSheet) -> EffortSheet:
    """The sheet, if every message of it can be said: pages would fail at any other."""
    messages = [*sheet.cautions, *sheet.provenance.notes]
    for figure in sheet.figures.values():
        messages += [*figure.rests_on, *figure.notes, *((figure.reason,) if figure.reason else ())]
    try:
        for each in messages:
            english(each)
    except (LookupError, TypeError, ValueError, ArithmeticError):
        raise NotATrial(NO_SHEET, mend=MAKE_AGAIN) from None
    return sheet


def _check_day(rows: TrialRows, narrow: list[object], known: Mapping[str, Student], today: date) -> None:
    """The day of a trial is one on which it can have been done."""
    on = day(rows.trial[4])
    if on > today + timedelta(days=1):  # a backup may come from where it is tomorrow already
        raise NotATrial("the date is in the future.", where=f"trial {narrow[0]}", mend="Look at the date.")
    known[text(rows.trial[1])].age_on(on)


def _of(number: object, rows: Iterator[list[object]]) -> object:
    """The value of the next row, which must be of this trial: all are in the order of their numbers."""
    found = next(rows, None)
    if found is None or found[0] != number:
        raise LookupError(number)
    return found[1]


def _rows(archive: ZipFile, table: str, where: str, width: int) -> Iterator[list[object]]:
    """A table's rows as lists."""
    for line in lines(archive, f"{table}.jsonl", where):
        values: object = json.loads(line)
        if not is_list(values) or len(values) != width:
            raise refused(f"a row of {table} is not one of a logbook.", where)
        yield list(values)
