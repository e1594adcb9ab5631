"""Put a backup into an empty logbook, on either database: every hash first, then everything in one transaction."""

import json
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any
from zipfile import ZipFile

from sqlalchemy import Connection, Table, select

from ...errors import LogbookDamaged, NotEmpty
from .backup import TABLES, Manifest, blocks, checked, opened, refused
from .bulk import batches, insert_rows
from .logbook import Logbook
from .originals import keep, packed
from .seals import sealed
from .tables import files, originals, trials

_BATCH = 5000


def restore(logbook: Logbook, path: str | Path, *, progress: Callable[[int, int], None] | None = None) -> Manifest:
    """Put everything of a backup into the logbook, which must be empty.

    Raises
    ------
    BackupDamaged, LogbookNewer
        Before anything is written.
    NotEmpty
        If the logbook holds anything: nothing is ever mixed or overwritten.
    """
    where = str(path)
    with opened(path) as archive:
        manifest = checked(archive, where)
        try:
            with logbook.writing() as connection:
                _refuse_full(connection, logbook.place.shown)
                _put(connection, archive, manifest, where, progress or (lambda _done, _of: None))
        except (LogbookDamaged, ValueError, TypeError, LookupError):
            raise refused("its rows are not those of a logbook.", where) from None
    return manifest


def _refuse_full(connection: Connection, where: str) -> None:
    for table in (*TABLES, originals):
        if connection.execute(select(*table.primary_key.columns).limit(1)).first() is not None:
            raise NotEmpty(
                "this logbook is not empty.", where=where, mend="Restore into a new one: --logbook with a new place."
            )


def _put(
    connection: Connection, archive: ZipFile, manifest: Manifest, where: str, progress: Callable[[int, int], None]
) -> None:
    """Table by table; the originals before the rows that name them."""
    for table in TABLES:
        if table is files:
            hashes = [name for name in manifest.members if name.startswith(f"{originals.name}/")]
            for done, name in enumerate(hashes, 1):
                keep(connection, [packed(name, b"".join(blocks(archive, name, where)))])
                progress(done, len(hashes))
        for some in batches(_rows(archive, table, where), _BATCH):
            insert_rows(connection, table, some)


def _rows(archive: ZipFile, table: Table, where: str) -> Iterator[tuple[Any, ...]]:
    """A table's rows, sealed again."""
    day = [column.name for column in table.columns].index("day") if table is trials else None
    width = len(table.columns) - 1
    for line in _lines(archive, f"{table.name}.jsonl", where):
        values = json.loads(line)
        if not isinstance(values, list) or len(values) != width:
            raise ValueError(table.name)
        if day is not None:
            values[day] = date.fromisoformat(values[day])
        yield sealed(*values)


def _lines(archive: ZipFile, name: str, where: str) -> Iterator[bytes]:
    """A member's lines."""
    rest = b""
    for block in blocks(archive, name, where):
        *whole, rest = (rest + block).split(b"\n")
        yield from whole
    if rest:
        yield rest
