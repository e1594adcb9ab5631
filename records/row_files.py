"""What a row of a class's table says of its files, by their bare names."""

from typing import TypedDict

from ..ingest.clock_shift import shifts_by_name
from ..ingest.column_choices import choices
from ..words.plain import printable
from .class_table import Row
from .result_numbers import number_of


class OfFiles(TypedDict):
    """By bare name: columns of all and of each, how much later it starts and what is added to its clock [s]."""

    columns: dict[str, str]
    file_columns: dict[str, dict[str, str]]
    offsets: dict[str, float]
    clock_shifts: dict[str, float]


def of_files(row: Row) -> OfFiles:
    """What a row says of its files, by their bare names.

    Raises
    ------
    OwnmarkError
        If a cell is not written as it must be, or names no file of the row.
    """
    names = [printable(path.name) for path in row.files]
    said = choices(row.columns, names)
    shifts = shifts_by_name(row.clock_shifts, names)
    return {
        "columns": said.columns,
        "file_columns": said.by_file,
        "offsets": {printable(name): number_of("offset", value) for name, value in row.offsets.items()},
        "clock_shifts": {name: seconds for name, seconds in shifts.items() if seconds},
    }
