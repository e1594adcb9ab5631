"""Many rows at once, and many trials at once: the driver's ``executemany`` on SQLite, COPY on PostgreSQL.

SQLAlchemy's own ``insert`` handles every value by itself, which takes as long as the database does.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import islice
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Date, Table, select

from .not_found import whole
from .rows import FigureRow
from .seals import damaged, unsealed
from .tables import figures, trials

if TYPE_CHECKING:
    from ..trial import Trial
    from .logbook import Logbook

Rows = Sequence[tuple[Any, ...]]
_BATCH = 5000
_TRIALS = 2000
_PIECE_BYTES = 32 * 2**20


def insert_rows(connection: Connection, table: Table, rows: Rows) -> None:
    """Add rows, each with a value for every column in the table's order."""
    if not rows:
        return
    names = [column.name for column in table.columns]
    if connection.dialect.name == "postgresql":
        _copy(connection, table.name, names, rows)
        return
    statement = f"INSERT INTO {table.name} ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})"  # noqa: S608
    days = [place for place, column in enumerate(table.columns) if isinstance(column.type, Date)]
    for first in range(0, len(rows), _BATCH):
        piece = rows[first : first + _BATCH]
        connection.exec_driver_sql(statement, [_with_text_days(row, days) for row in piece] if days else list(piece))


def _with_text_days(row: tuple[Any, ...], days: Sequence[int]) -> tuple[Any, ...]:
    """The row with its days as SQLAlchemy keeps them in SQLite: YYYY-MM-DD."""
    return tuple(value.isoformat() if place in days and value else value for place, value in enumerate(row))


def _copy(connection: Connection, table: str, names: list[str], rows: Rows) -> None:
    """Add rows by COPY: several times faster than INSERT, and in the same transaction."""
    driver: Any = connection.connection.driver_connection
    with driver.cursor() as cursor, cursor.copy(f"COPY {table} ({', '.join(names)}) FROM STDIN") as copy:
        for row in rows:
            copy.write_row(row)


def add_trials(
    logbook: "Logbook", entries: "Iterable[Trial | tuple[Trial, Sequence[tuple[str, bytes]]]]"
) -> tuple[int, ...]:
    """Add many trials in ONE transaction, all or none, and give their numbers.

    entries : trials whose sheets are worked out already, each alone or with its originals as ``(name, bytes)``. What
        makes them runs while other writers wait: work the sheets out before.

    Raises
    ------
    UnknownCode, UnknownProtocol, AlreadyThere, NotATrial
        For the first that cannot be added; then none is.
    """
    from .adding import Entry, insert_entries, prepared

    numbers: list[int] = []
    with logbook.writing() as connection:
        piece: list[Entry] = []
        weight = 0
        for entry in entries:
            trial, given = entry if isinstance(entry, tuple) else (entry, ())
            piece.append(prepared(trial, given))
            weight += sum(len(original.data) for original in piece[-1].originals)
            if len(piece) == _BATCH // 10 or weight > _PIECE_BYTES:
                numbers += insert_entries(connection, piece)
                piece, weight = [], 0
        numbers += insert_entries(connection, piece)
    return tuple(numbers)


def figures_of(
    logbook: "Logbook",
    *,
    names: Sequence[str] = (),
    protocol: str | None = None,
    code: str | None = None,
    practice: bool = True,
) -> Iterator[FigureRow]:
    """Figures in the order of their trials' numbers, of one student or protocol or of all, for lists and exports.

    names : only these figures
    practice : practice trials too

    Raises
    ------
    LogbookDamaged
        If a row's seal does not fit.
    """
    columns = [column for column in figures.columns if column.name != "trial_id"]
    query = select(trials.c.id, trials.c.code, trials.c.protocol, trials.c.protocol_version, trials.c.day, *columns)
    query = query.join(figures, figures.c.trial_id == trials.c.id).order_by(trials.c.id, figures.c.name)
    if names:
        query = query.where(figures.c.name.in_(list(names)))
    vouched = select(trials.c.id, trials.c.figure_count).order_by(trials.c.id).limit(_TRIALS)
    for clause, wanted in (
        (trials.c.protocol == protocol, protocol is not None),
        (trials.c.code == code, code is not None),
        (trials.c.practice.is_(False), not practice),
    ):
        query, vouched = (query.where(clause), vouched.where(clause)) if wanted else (query, vouched)
    last = 0
    while True:
        with logbook.reading() as connection:
            if not last:
                whole(connection, "trials")
                whole(connection, "figures")
            counts = connection.execute(vouched.where(trials.c.id > last)).all()
            if not counts:
                return
            rows = connection.execute(query.where(trials.c.id > last, trials.c.id <= counts[-1][0])).all()
            found = [_figure(*row) for row in rows]
        if not names and len(found) != sum(count for _, count in counts):
            raise damaged("the list of figures")
        last = counts[-1][0]
        yield from found


def _figure(number: int, code: str, protocol: str, version: int, day: date, *rest: Any) -> FigureRow:  # noqa: ANN401
    values = unsealed((number, *rest), f"a figure of trial {number}")
    return FigureRow(number, code, protocol, version, day, *values[1:])


def batches(items: Iterable[Any], size: int) -> Iterator[list[Any]]:
    """Lists of up to ``size`` items."""
    source = iter(items)
    while piece := list(islice(source, size)):
        yield piece
