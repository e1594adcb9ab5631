"""Parquet for programs that count: a column each with its own type, its unit and meaning in the field's metadata.

Two files: the trials, and beside them the hand results (``-hand-results``). A value that is not known is null.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import IO, Any

from ... import __version__
from .columns import HAND, Column, trial_columns
from .rows import Record, Row, hand_rows
from .selection import Asked

_AT_ONCE = 1000
"""Rows in a group: what is held in memory."""


def files(path: Path) -> tuple[Path, ...]:
    """The files of an export to ``path``, that one first."""
    return path, path.with_name(f"{path.stem}-hand-results{path.suffix}")


class Writer:
    """Writes record after record to the handles of ``files``."""

    def __init__(self, handles: Sequence[IO[bytes]], asked: Asked) -> None:
        self._asked = asked
        self._trials = _Table(handles[0], trial_columns(asked.change))
        self._hand = _Table(handles[1], HAND)

    def add(self, record: Record) -> None:
        """Write a trial."""
        self._trials.add(record.row)
        for row in hand_rows(record):
            self._hand.add(row)

    def close(self) -> None:
        """Write what is left, and the footers; the handles stay open."""
        self._trials.close()
        self._hand.close()

    def drop(self) -> None:
        """Let go without a footer."""
        self._trials.drop()
        self._hand.drop()


class _Table:
    """One file, written group by group."""

    def __init__(self, handle: IO[bytes], columns: Sequence[Column]) -> None:
        from pyarrow.parquet import ParquetWriter

        self._schema = schema_of(columns)
        self._writer = ParquetWriter(handle, self._schema)
        self._rows: list[Row] = []

    def add(self, row: Row) -> None:
        """Keep a row, and write a group when there are enough."""
        self._rows.append(row)
        if len(self._rows) == _AT_ONCE:
            self._write()

    def _write(self) -> None:
        import pyarrow as pa

        columns = zip(*self._rows, strict=True)
        arrays = [pa.array(cells, field.type) for cells, field in zip(columns, self._schema, strict=True)]
        self._writer.write_table(pa.Table.from_arrays(arrays, schema=self._schema))
        self._rows.clear()

    def close(self) -> None:
        """Write what is left, and the footer."""
        if self._rows:
            self._write()
        self._writer.close()

    def drop(self) -> None:
        """Never write the footer."""
        self._writer.is_open = False


def schema_of(columns: Sequence[Column]) -> Any:  # noqa: ANN401 a schema of the library, which is loaded on use
    """Types and metadata of a table."""
    import pyarrow as pa

    types = {
        "text": pa.string(),
        "integer": pa.int64(),
        "number": pa.float64(),
        "date": pa.date32(),
        "yes or no": pa.bool_(),
    }
    fields = [
        pa.field(
            each.name,
            types[each.kind],
            metadata={"unit": each.unit, "meaning": each.meaning, "source": each.source},
        )
        for each in columns
    ]
    return pa.schema(fields, metadata={"ownmark": __version__})
