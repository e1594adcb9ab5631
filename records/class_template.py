"""An empty class table, or list of students, with every column explained: as CSV, or as a spreadsheet's workbook."""

import csv
import io
from collections.abc import Sequence
from typing import Any

from ..words.render import Words
from .entry import SHORT, TYPED
from .student_table import COLUMNS as OF_STUDENTS

_SHORTER = {name: short for short, name in SHORT.items() if short not in ("student", "day", "rest", "note")}
_BEYOND = ("files", "strap", "laps", "columns", "offset", "clock_shift", "check")
FIRST = ("code", "protocol", "files", "date", "rest_phase", "work", "recovery", "confirm", "notes")
"""The columns that most tables need, in the order in which they are filled in."""


def columns() -> tuple[str, ...]:
    """Every column that a class table can have, those that most need first; hand measures come beside them."""
    every = (*_BEYOND, *(_SHORTER.get(name, name) for name in TYPED))
    return (*FIRST, *(name for name in every if name not in FIRST))


def template_csv(language: str = "en", *, students: bool = False) -> bytes:
    """Header and one line that explains each column; a row that begins with # is passed over when it is read."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    told = explained(language, students=students)
    writer.writerow([name for name, _ in told])
    writer.writerow([f"# {why}" if place == 0 else why for place, (_, why) in enumerate(told)])
    return b"\xef\xbb\xbf" + text.getvalue().encode()


def template_xlsx(language: str = "en", *, students: bool = False) -> bytes:
    """A sheet with the header alone, frozen, and one that explains the columns.

    Of students every cell is a text: a month of birth, 2014-03, would else become a date.
    """
    from xlsxwriter import Workbook  # pyright: ignore[reportMissingTypeStubs] it has none

    out = io.BytesIO()
    book: Any = Workbook(out, {"in_memory": True})  # pyright: ignore[reportArgumentType] an open file will do
    bold = book.add_format({"bold": True})
    table, reference = book.add_worksheet("students" if students else "class"), book.add_worksheet("columns")
    told = explained(language, students=students)
    if students:
        table.set_column(0, len(told) - 1, None, book.add_format({"num_format": "@"}))
    table.write_row(0, 0, [name for name, _ in told], bold)
    table.freeze_panes(1, 1)
    for place, row in enumerate(told):
        reference.write_row(place, 0, row)
    reference.set_column(0, 0, 24)
    reference.set_column(1, 1, 110)
    book.close()
    return out.getvalue()


def explained(language: str = "en", *, students: bool = False) -> Sequence[tuple[str, str]]:
    """Each column with what stands in it."""
    words = Words(language)
    if students:
        return [(name, words.get(f"student_column.{name}")) for name in OF_STUDENTS]
    return [(name, words.get(f"class_column.{name}")) for name in columns()]
