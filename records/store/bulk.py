"""Many rows at once: the driver's ``executemany`` on SQLite, COPY on PostgreSQL.

SQLAlchemy's own ``insert`` handles every value by itself, which takes as long as the database does.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import islice
from typing import TYPE_CHECKING, TypeAlias, TypeVar, cast

from sqlalchemy import Connection, Date, Table

from .cells import Row

if TYPE_CHECKING:
    import psycopg

Rows: TypeAlias = Sequence[Row]
Item = TypeVar("Item")
_BATCH = 5000


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


def _with_text_days(row: Row, days: Sequence[int]) -> Row:
    """The row with its days as SQLAlchemy keeps them in SQLite: YYYY-MM-DD."""
    return tuple(
        value.isoformat() if place in days and isinstance(value, date) else value for place, value in enumerate(row)
    )


def _copy(connection: Connection, table: str, names: list[str], rows: Rows) -> None:
    """Add rows by COPY: several times faster than INSERT, and in the same transaction."""
    driver = cast("psycopg.Connection[Row]", connection.connection.driver_connection)
    with driver.cursor() as cursor, cursor.copy(f"COPY {table} ({', '.join(names)}) FROM STDIN".encode()) as copy:
        for row in rows:
            copy.write_row(row)


def batches(items: Iterable[Item], size: int) -> Iterator[list[Item]]:
    """Lists of up to ``size`` items."""
    source = iter(items)
    while piece := list(islice(source, size)):
        yield piece
