"""The plan as the table that a class's day is added from: sure rows first, and a column ``check`` in words."""

import csv
import os
from io import StringIO
from pathlib import Path

from ...words.message import Message
from ...words.plain import cell_text
from ...words.render import Words
from .day import Plan
from .row import Planned

COLUMNS = ("code", "protocol", "files", "date", "rest", "work", "recovery", "zone", "confirm", "notes", "check")


def check_text(checks: tuple[Message, ...], words: Words) -> str:
    """Everything to look at, in a language."""
    return " ".join(map(words.message, checks))


def table_of(plan: Plan, out: Path, words: Words) -> bytes:
    """The table as a file's bytes; files are named from the folder of ``out``, and ``check`` is in a language."""
    text = StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    writer.writerows(_cells(row, plan.zone, out.parent, words) for row in plan.rows)
    return text.getvalue().encode("utf-8", "surrogateescape")


def _cells(row: Planned, zone: str | None, folder: Path, words: Words) -> tuple[str, ...]:
    files = "; ".join(_from(path, folder) for path in row.files)
    day = "" if row.on is None else row.on.isoformat()
    phases = row.phases
    given = (row.code or "", row.protocol or "", files, day, phases.rest, phases.work, phases.recovery)
    return (
        *given,
        zone if zone and row.files else "",
        "",
        cell_text(row.notes),
        cell_text(check_text(row.checks, words)),
    )


def _from(path: Path, folder: Path) -> str:
    """A file's path from a folder, so that no spreadsheet takes it for a formula."""
    try:
        found = os.path.relpath(path, folder)
    except ValueError:  # another drive
        found = str(path.resolve())
    return f"./{found}" if found[:1] in "=+-@" else found
