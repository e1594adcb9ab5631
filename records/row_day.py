"""The day of a row of a class's table: stated, open between two, or stated by its files alone."""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from functools import cache

from ..errors import NotConfirmed, OwnmarkError, Question
from ..ingest.recording import Hints
from ..words.message import Quoted
from . import guards
from .class_table import Row
from .guard_messages import GUARD_ANSWER, guard_day_order, guard_undated
from .intake import Gathered, gathered, recorded_day
from .row_files import of_files


@dataclass(frozen=True, slots=True)
class Days:
    """What a table says of its days.

    stated : the days that rows state for certain, and how many state each
    order : which of the two days of a date that is open is meant by the other rows: 0 where the day stands first, 1
        where the month does; None: nothing settles it. Files are read when it is asked
    """

    stated: Counter[date]
    order: Callable[[], int | None]

    @classmethod
    def of(cls, rows: Sequence[Row], today: date) -> "Days":
        """Of all rows of a table, whose files are read when the order is asked for."""
        stated = stated_in(rows)
        return cls(stated, cache(lambda: order_in(rows, stated, _read, today)))


def stated_in(rows: Sequence[Row]) -> Counter[date]:
    """The days that rows of a table state for certain; what is no date is told of in its row."""
    stated: Counter[date] = Counter()
    for row in rows:
        with suppress(ValueError):
            stated[date.fromisoformat(row.texts.get("on", ""))] += 1
    return stated


def order_in(
    rows: Sequence[Row], stated: Counter[date], recorded: Callable[[Row], date | None], today: date
) -> int | None:
    """The place of the day that is meant wherever something says so; None where nothing does, or both are meant.

    recorded : the day that the files of a row state, None where they state none or cannot be read
    today : no trial lies behind it
    """
    found = {place for row in rows if row.days for place in _meant(row, stated, recorded(row), today)}
    return found.pop() if len(found) == 1 else None


def _read(row: Row) -> date | None:
    """The day that a row's files state, where they lie; what is wrong with them is told in their own row."""
    with suppress(OwnmarkError):
        return recorded_of(row, gathered(row.files))
    return None


def _meant(row: Row, stated: Counter[date], recorded: date | None, today: date) -> Iterator[int]:
    """The place of the day of a row that its file, its answer, the calendar, or a day that others state says."""
    certain = [place for place, each in enumerate(row.days) if each in stated]
    if len(certain) == 1:
        yield certain[0]
    past = _not_after(row, today)
    if len(past) == 1:
        yield row.days.index(past[0])
    for place, each in enumerate(row.days):
        if each == recorded or each.isoformat() in row.answers:
            yield place


def _not_after(row: Row, today: date) -> list[date]:
    """The days that a row's date can be and that have been."""
    return [each for each in row.days if each <= today]


def recorded_of(row: Row, files: Gathered) -> date | None:
    """The day that a row's files state.

    Raises
    ------
    OwnmarkError
        If a cell about its files is not written as it must be.
    """
    more = of_files(row)
    hints = Hints(more["columns"], by_file=more["file_columns"])
    return recorded_day(files, hints, row.texts.get("zone"), more["clock_shifts"])


def day_of(row: Row, day: date | None, today: date, days: Days, files: Gathered | None = None) -> date:
    """The day of a row that states none: its files', else the class's, else the one that was confirmed, or today.

    files : the row's, where they are read already

    Raises
    ------
    NotConfirmed
        If nothing states it and other rows of the table are of another day than today, or it can be two days.
    UnreadableFile
        If that would be asked, and a file of the row is not there.
    """
    files = files or gathered(row.files)
    recorded = recorded_of(row, files)
    if row.days:
        return _of_both(row, recorded, days, files, today)
    if recorded is not None or day is not None:
        return recorded or day or today
    said = next((each for each in days.stated if each.isoformat() in row.answers), None)
    others = next((each for each, _ in days.stated.most_common() if each != today), None)
    if said is not None or others is None or guards.YES in row.answers:
        return said or today
    _refuse_missing(files)
    asked = guard_undated(today, others, Quoted(others.isoformat()))
    raise NotConfirmed(asked, questions=(Question(asked, (others.isoformat(), guards.YES)),), mend=GUARD_ANSWER)


def _refuse_missing(files: Gathered) -> None:
    """Ask nothing of a row one of whose files is not there: that file may state the day, and has to be found first."""
    if files.missing:
        raise files.unopened[0].reason


def _of_both(row: Row, recorded: date | None, days: Days, files: Gathered, today: date) -> date:
    """Which of the days that a date can be is meant.

    That of the row's file, the one confirmed, the only one that has been, or as in other rows.
    """
    meant = [each for each in row.days if each == recorded]
    meant = meant or [each for each in row.days if each.isoformat() in row.answers]
    past = _not_after(row, today)
    meant = meant or (past if len(past) == 1 else [])
    order = None if meant else days.order()
    if order is not None:
        return row.days[order]
    if len(meant) != 1:
        _refuse_missing(files)
        first, second = row.days
        asked = guard_day_order(first, second, Quoted(first.isoformat()), Quoted(second.isoformat()))
        either = (first.isoformat(), second.isoformat())
        raise NotConfirmed(asked, questions=(Question(asked, either),), mend=GUARD_ANSWER)
    return meant[0]
