"""What the columns of a row hold: the drivers promise nothing, so each cell is looked at when its value is used."""

from datetime import date
from typing import TypeAlias

Row: TypeAlias = tuple[object, ...]
"""The values of one row, in the order of the table's columns."""


def text(cell: object) -> str:
    """A text.

    Raises
    ------
    ValueError
        If the cell holds something else.
    """
    if not isinstance(cell, str):
        raise ValueError("no text")
    return cell


def whole(cell: object) -> int:
    """A whole number; a truth is none.

    Raises
    ------
    ValueError
        If the cell holds something else.
    """
    if type(cell) is not int:
        raise ValueError("no whole number")
    return cell


def day(cell: object) -> date:
    """A day.

    Raises
    ------
    ValueError
        If the cell holds something else.
    """
    if not isinstance(cell, date):
        raise ValueError("no day")
    return cell
