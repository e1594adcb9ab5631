"""CSV by RFC 4180: commas, CRLF, quotes where needed, UTF-8, one header. An empty field is a value that is not known.

Three files: the trials, beside them the hand results (``-hand-results``), and what every column means (``-columns``).
No byte-order mark: readers that do not expect one take it for a part of the first column's name. A spreadsheet
program that guesses the coding wrong is better served by the XLSX.

A text that a spreadsheet would run as a formula gets an apostrophe before it (``words.plain``), and control characters
are replaced: the file may be looked at on a terminal. Numbers are never touched: a negative one is a number.
"""

import csv
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import IO

from ...words.plain import cell_text
from .columns import EXPLAINED, HAND, explained, trial_columns
from .rows import Cell, Record, Row, hand_rows
from .selection import Asked

_WRITTEN = (str, bool, date)


def files(path: Path) -> tuple[Path, ...]:
    """The files of an export to ``path``, that one first."""
    return path, *(path.with_name(f"{path.stem}-{more}{path.suffix}") for more in ("hand-results", "columns"))


class Writer:
    """Writes record after record to the handles of ``files``."""

    def __init__(self, handles: Sequence[IO[bytes]], asked: Asked) -> None:
        self._asked = asked
        self._trials, self._hand, columns = (csv.writer(_Utf8(each), lineterminator="\r\n") for each in handles)
        self._trials.writerow([each.header for each in trial_columns(asked.change)])
        self._hand.writerow([each.header for each in HAND])
        columns.writerow(EXPLAINED)
        columns.writerows(fields(row) for row in explained(asked.change))

    def add(self, record: Record) -> None:
        """Write a trial."""
        self._trials.writerow(fields(record.row))
        self._hand.writerows(fields(row) for row in hand_rows(record))

    def close(self) -> None:
        """Nothing is left to be written."""

    def drop(self) -> None:
        """Nothing is held."""


class _Utf8:
    """Text to an open file of bytes."""

    def __init__(self, handle: IO[bytes]) -> None:
        self._handle = handle

    def write(self, text: str) -> int:
        """Write one row. A sign that UTF-8 cannot hold is written as its number, not lost."""
        return self._handle.write(text.encode("utf-8", "backslashreplace"))


def fields(row: Row) -> list[object]:
    """A row as CSV holds it; the csv module writes a float with every digit that it has."""
    return [_field(cell) if isinstance(cell, _WRITTEN) else cell for cell in row]


def _field(cell: Cell) -> str:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return cell.isoformat() if isinstance(cell, date) else cell_text(str(cell))
