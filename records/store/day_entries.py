"""The entries of classes' days: appended, never changed. Only forgetting a student takes any away."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime

from sqlalchemy import Connection, delete, func, select

from ...errors import NotATrial
from ..day_entry import Entry, FileIn, PutAway, Undone, entry, files_of_one, text_of, what_of
from . import not_found as finding
from .bulk import insert_rows
from .cells import Row, text, whole
from .cells import day as day_in
from .logbook import Logbook
from .numbering import ENTRIES, take_numbers
from .seals import sealed, unsealed
from .tables import day_entries, students


def append(logbook: Logbook, *new: Entry) -> tuple[Entry, ...]:
    """Keep entries, all or none, and give them back with their numbers.

    An entry whose ``once`` is there already is not kept again: the kept one is given back.

    Raises
    ------
    UnknownCode
        If one is of a student whom the logbook does not know.
    """
    with logbook.writing() as connection:
        return append_in(connection, new)


def append_in(connection: Connection, new: Sequence[Entry]) -> tuple[Entry, ...]:
    """Keep entries inside the transaction that is open."""
    _refuse_strangers(connection, {each.code for each in new if each.code is not None})
    there = _there(connection, {each.once for each in new if each.once is not None})
    fresh: list[Entry] = []
    for each in new:
        if each.once is None or each.once not in there:
            fresh.append(each)
            there |= {} if each.once is None else {each.once: each}
    first = take_numbers(connection, ENTRIES, len(fresh)) if fresh else 0
    kept = [replace(each, number=first + place) for place, each in enumerate(fresh)]
    insert_rows(connection, day_entries, [entry_row(each) for each in kept])
    by_once = {**there, **{each.once: each for each in kept if each.once is not None}}
    rest = iter([each for each in kept if each.once is None])
    return tuple(next(rest) if each.once is None else by_once[each.once] for each in new)


class _Meanwhile(Exception):
    """Something was entered of the day meanwhile."""


def append_after(logbook: Logbook, last: int, *new: Entry) -> bool:
    """Keep entries of one day, all of them, unless one of that day is newer than what they were made from.

    Parameters
    ----------
    last : number of the newest entry of the day that was known, 0 without any

    Returns
    -------
    whether they are kept; what another page entered meanwhile has to be looked at first where they are not
    """
    if not new:
        return True
    try:
        with logbook.writing() as connection:
            mine = {each.number for each in append_in(connection, new)}  # whoever writes now is waited for
            day = day_entries.c.day == new[0].day
            others = select(day_entries.c.id).where(day, day_entries.c.id > last, day_entries.c.id.not_in(mine))
            if connection.execute(others.limit(1)).one_or_none() is not None:
                raise _Meanwhile
    except _Meanwhile:
        return False
    return True


def undo(logbook: Logbook, number: int, at: datetime, once: str | None = None) -> Entry:
    """Let an entry count no longer, by an entry of the same day and student; undoing that one brings it back.

    Raises
    ------
    NotATrial
        If there is no such entry: its student may have been forgotten.
    """
    with logbook.writing() as connection:
        row = connection.execute(select(day_entries).where(day_entries.c.id == number)).one_or_none()
        if row is None:
            raise NotATrial("there is no such entry of a day.", mend="Look at the day again.")
        undone = entry_from(row)
        return append_in(connection, [entry(undone.day, at, Undone(entry=number), undone.code, once)])[0]


def entries_of(logbook: Logbook, day: date) -> tuple[Entry, ...]:
    """Every entry of a day, in the order in which they were kept.

    Raises
    ------
    LogbookDamaged
    """
    return _found(logbook, day_entries.c.day == day)


def entries_since(logbook: Logbook, since: date) -> tuple[Entry, ...]:
    """Every entry of a day and of all later days."""
    return _found(logbook, day_entries.c.day >= since)


def entries_of_student(logbook: Logbook, code: str) -> tuple[Entry, ...]:
    """Every entry of a student."""
    return _found(logbook, day_entries.c.code == code)


def days_with_entries(logbook: Logbook, most: int = 100) -> tuple[date, ...]:
    """The days of which anything is kept, the newest first."""
    query = select(day_entries.c.day).distinct().order_by(day_entries.c.day.desc()).limit(most)
    with logbook.reading() as connection:
        return tuple(day_in(each) for each in connection.execute(query).scalars())


def states_since(logbook: Logbook, since: date) -> dict[date, tuple[int, int]]:
    """The last entry's number and the number of entries of each day from ``since`` on: they change with any entry."""
    query = (
        select(day_entries.c.day, func.max(day_entries.c.id), func.count())
        .where(day_entries.c.day >= since)
        .group_by(day_entries.c.day)
    )
    with logbook.reading() as connection:
        rows = connection.execute(query).all()
    return {day_in(day): (whole(last), whole(count)) for day, last, count in rows}


def last_number(logbook: Logbook, day: date) -> int:
    """The number of a day's last entry, 0 without any: whoever shows the day asks whether there is more."""
    query = select(func.max(day_entries.c.id)).where(day_entries.c.day == day)
    with logbook.reading() as connection:
        return int(connection.execute(query).scalar_one() or 0)


def forget_entries(connection: Connection, code: str) -> tuple[tuple[str, str], ...]:
    """Remove every entry of a student, and those of the received files that are nobody else's.

    Gives the hash and name of each such file: one that the student's rows name or whose name holds the code, and that
    no other student's rows name, nor anybody else who wore the same strap that day.
    """
    query = select(day_entries).where(func.coalesce(day_entries.c.code, "") == code)
    days = sorted({day_in(row[1]) for row in connection.execute(query)} | _days_naming(connection, code))
    gone: dict[str, str] = {}
    for day in days:
        rows = connection.execute(select(day_entries).where(day_entries.c.day == day).order_by(day_entries.c.id)).all()
        entries = [entry_from(row) for row in rows]
        found = files_of_one(entries, code)
        of_files = [
            each.number for each in entries if isinstance(each.what, FileIn | PutAway) and each.what.sha256 in found
        ]
        connection.execute(delete(day_entries).where(day_entries.c.id.in_(of_files)))
        gone |= found
    connection.execute(delete(day_entries).where(func.coalesce(day_entries.c.code, "") == code))
    return tuple(gone.items())


def _days_naming(connection: Connection, code: str) -> set[date]:
    """The days of received files whose name may hold a code."""
    of_files = select(day_entries.c.day, day_entries.c.value).where(day_entries.c.kind == "file")
    return {day_in(on) for on, value in connection.execute(of_files) if code.casefold() in text(value).casefold()}


def entry_row(each: Entry) -> Row:
    """The row of an entry that has a number."""
    at = each.at.isoformat(timespec="seconds")
    return sealed(whole(each.number), each.day, each.code, each.kind, at, each.once, text_of(each.what))


def entry_from(row: Sequence[object]) -> Entry:
    """An entry out of its row.

    Raises
    ------
    LogbookDamaged
        If its seal does not fit.
    """
    return entry_of(unsealed(row, f"an entry of the day {row[1]}"), kept=True)


def entry_of(cells: Sequence[object], *, kept: bool) -> Entry:
    """An entry out of a row's cells without seal.

    Raises
    ------
    NotATrial, ValueError, TypeError
        If they are none of an entry.
    """
    number, on, code, kind, at, once, value = cells
    what = what_of(text(kind), text(value), kept=kept)
    moment = datetime.fromisoformat(text(at))
    whose, mark = None if code is None else text(code), None if once is None else text(once)
    if kept:
        return Entry(day_in(on), moment, what, whose, whole(number), mark)
    return replace(entry(day_in(on), moment, what, whose, mark), number=whole(number))


def _found(logbook: Logbook, which: object) -> tuple[Entry, ...]:
    query = select(day_entries).where(which).order_by(day_entries.c.id)  # type: ignore[arg-type]
    with logbook.reading() as connection:
        return tuple(map(entry_from, connection.execute(query).all()))


def _refuse_strangers(connection: Connection, codes: set[str]) -> None:
    known = {text(each) for each in connection.execute(select(students.c.code)).scalars()} if codes else set[str]()
    for code in sorted(codes - known):
        raise finding.no_student(connection, code)


def _there(connection: Connection, marks: set[str]) -> dict[str, Entry]:
    """Kept entries by their ``once``."""
    if not marks:
        return {}
    rows = connection.execute(select(day_entries).where(day_entries.c.once.in_(sorted(marks)))).all()
    return {mark: each for row in rows if (mark := (each := entry_from(row)).once) is not None}
