"""A workbook of three sheets: trials, hand results, and what every column means. Cells are typed, never formulas.

Written with constant memory: each sheet goes to a file of its own in a folder beside the target, and is packed at
the end. A cell holds every digit; its format decides how many are shown.
"""

import shutil
from collections.abc import Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import IO, Any

from ...errors import UsageError
from .columns import EXPLAINED, HAND, Column, explained, trial_columns
from .rows import Cell, Record, Row, hand_rows
from .selection import Asked

MOST_ROWS = 1_048_575
"""Rows that a sheet can hold under its header (limit of the format)."""
MOST_SIGNS = 32_767
"""Signs that a cell can hold, in UTF-16 (limit of the format)."""
CUT = " … [cut: a cell holds no more; CSV, Parquet and JSON have the whole text]"
_WIDTHS = {"text": 18, "integer": 9, "number": 13, "date": 11, "yes or no": 9}
_WIDE = {"notes", "cautions", "figures_not_given", "figure_notes", "stops", "not_compared", "verdict"}


class _Exact(float):
    """A number that is written with every digit it has; the library's own 16 can be one too few to read it back."""

    def __format__(self, _spec: str) -> str:
        return float.__repr__(self)


def files(path: Path) -> tuple[Path, ...]:
    """The files of an export to ``path``."""
    return (path,)


class Writer:
    """Writes record after record to the workbook."""

    def __init__(self, handles: Sequence[IO[bytes]], asked: Asked) -> None:
        from xlsxwriter import Workbook

        self._folder = Path(f"{handles[0].name}-sheets")
        self._folder.mkdir(mode=0o700)
        options = {"constant_memory": True, "tmpdir": str(self._folder)}
        self._book = Workbook(handles[0], options)  # pyright: ignore[reportArgumentType] an open file will do
        self._formats: dict[str, Any] = {}
        self._rows = self._hand_rows = 0
        self._columns = trial_columns(asked.change)
        try:
            self._quoted = self._book.add_format({"num_format": "@", "quote_prefix": True})
            head = self._book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
            self._trials = self._sheet("Trials", self._columns, head)
            self._hand = self._sheet("Hand results", HAND, head)
            self._explain(head, asked)
        except BaseException:
            self.drop()
            raise

    def _sheet(self, name: str, columns: Sequence[Column], head: Any) -> Any:  # noqa: ANN401
        sheet = self._book.add_worksheet(name)
        for place, column in enumerate(columns):
            width = 40 if column.name in _WIDE else _WIDTHS[column.kind]
            sheet.set_column(place, place, width, self._format(column))
        sheet.freeze_panes(1, 2)
        sheet.set_row(0, 48)
        for place, column in enumerate(columns):
            sheet.write_string(0, place, column.header, head)
        return sheet

    def _format(self, column: Column) -> Any:  # noqa: ANN401 a format of the library
        """How a column is shown."""
        if column.kind == "number":
            shown = f"0.{'0' * column.decimals}"
        else:
            shown = {"date": "yyyy-mm-dd", "integer": "0"}.get(column.kind, "@")
        if shown not in self._formats:
            self._formats[shown] = self._book.add_format({"num_format": shown})
        return self._formats[shown]

    def _explain(self, head: Any, asked: Asked) -> None:  # noqa: ANN401
        sheet = self._book.add_worksheet("Columns")
        for place, width in enumerate((13, 30, 8, 11, 90, 50)):
            sheet.set_column(place, place, width)
        sheet.freeze_panes(1, 2)
        for place, text in enumerate(EXPLAINED):
            sheet.write_string(0, place, text, head)
        rows = explained(asked.change)
        for number, row in enumerate(rows, start=1):
            for place, text in enumerate(row):
                sheet.write_string(number, place, text)
        sheet.autofilter(0, 0, len(rows), len(EXPLAINED) - 1)

    def add(self, record: Record) -> None:
        """Write a trial.

        Raises
        ------
        UsageError
            If there are more than a sheet can hold.
        """
        self._rows += 1
        self._write(self._trials, self._rows, record.row)
        for row in hand_rows(record):
            self._hand_rows += 1
            self._write(self._hand, self._hand_rows, row)

    def _write(self, sheet: Any, number: int, row: Row) -> None:  # noqa: ANN401 a sheet of the library
        if number > MOST_ROWS:
            raise UsageError(
                f"a sheet holds {MOST_ROWS} rows, and there are more.",
                mend="Export fewer days with --from and --to, or use csv or parquet.",
            )
        for place, cell in enumerate(row):
            if cell is not None:
                self._cell(sheet, number, place, cell)

    def _cell(self, sheet: Any, number: int, place: int, cell: Cell) -> None:  # noqa: ANN401
        if isinstance(cell, bool):
            sheet.write_boolean(number, place, cell)
        elif isinstance(cell, float):
            sheet.write_number(number, place, _Exact(cell))
        elif isinstance(cell, int):
            sheet.write_number(number, place, cell)
        elif isinstance(cell, date):
            sheet.write_datetime(number, place, cell)
        elif cell:
            self._text(sheet, number, place, shortened(cell))

    def _text(self, sheet: Any, number: int, place: int, text: str) -> None:  # noqa: ANN401
        if text.startswith("<r>") and text.endswith("</r>"):
            # The library takes such a text for markup of its own: in two pieces it is text again.
            sheet.write_rich_string(number, place, text[:1], self._formats["@"], text[1:])
        elif text[:1] in "=+-@\t\r":
            # A text for good: editing the cell, or saving it as CSV, must not make a formula of it.
            sheet.write_string(number, place, text, self._quoted)
        else:
            sheet.write_string(number, place, text)

    def close(self) -> None:
        """Pack the workbook into the handle, which stays open."""
        from xlsxwriter.exceptions import FileCreateError

        self._trials.autofilter(0, 0, self._rows, len(self._columns) - 1)
        self._hand.autofilter(0, 0, self._hand_rows, len(HAND) - 1)
        try:
            self._book.close()
        except FileCreateError as failure:
            raise failure.args[0] if isinstance(failure.args[0], OSError) else OSError(str(failure)) from None
        finally:
            self.drop()

    def drop(self) -> None:
        """Let go of what was written so far."""
        for sheet in self._book.worksheets():
            with suppress(OSError):  # what a full disk did not take is not wanted any more
                if sheet.row_data_fh is not None:
                    sheet.row_data_fh.close()
        shutil.rmtree(self._folder, ignore_errors=True)


def shortened(text: str) -> str:
    """The text as a cell can hold it: its beginning and a remark where it is too long."""
    if len(text.encode("utf-16-le", "surrogatepass")) // 2 <= MOST_SIGNS:
        return text
    room = (MOST_SIGNS - len(CUT)) * 2
    return text.encode("utf-16-le", "surrogatepass")[:room].decode("utf-16-le", "ignore") + CUT
