"""Dates as spreadsheets and people write them: which number is the day is settled by the table itself, or left open."""

import re
from collections.abc import Sequence
from datetime import date

FIRST_DAY = date(1950, 1, 1)
"""Nothing of a student at school was measured, set or said before."""
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ].*)?")
_OTHER = re.compile(r"(\d{1,2})([-/.])\s?(\d{1,2})\2\s?(\d{4}|\d{2})(?:[T ].*)?")
_CENTURY = 2000
"""Of a year of two digits: nobody tested before."""


def days_of(written: Sequence[str]) -> list[tuple[date, ...]]:
    """For each text the day that it means; both days where that is open; nothing where it is no date.

    The year first, or points between the numbers, leave no doubt. Else one date of the column with a number over 12
    settles the order of all.
    """
    read = [_readings(text.strip()) for text in written]
    orders = {order for each in read if each is not None and (order := _sure(each)) is not None}
    settled = orders.pop() if len(orders) == 1 else None
    return [() if each is None else _days(each, settled) for each in read]


_Readings = tuple[date | None, date | None]
"""With the day first, and with the month first; both the same where it does not matter."""


def _readings(text: str) -> _Readings | None:
    found = _ISO.fullmatch(text)
    if found is not None:
        day = _date(int(found[1]), int(found[2]), int(found[3]))
        return (day, day) if day else None
    found = _OTHER.fullmatch(text)
    if found is None:
        return None
    first, second, year = int(found[1]), int(found[3]), int(found[4])
    year += _CENTURY if year < 100 else 0
    day_first = _date(year, second, first)
    month_first = day_first if found[2] == "." else _date(year, first, second)
    return None if day_first is None and month_first is None else (day_first, month_first)


def _date(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _sure(each: _Readings) -> int | None:
    """Which of both readings is the only one: 0 or 1; None where both are possible, or the same."""
    day_first, month_first = each
    if (day_first is None) == (month_first is None):
        return None
    return 1 if day_first is None else 0


def _days(each: _Readings, settled: int | None) -> tuple[date, ...]:
    order = settled if settled is not None and each[settled] is not None else _sure(each)
    if order is not None:
        only = each[order]
        return () if only is None else (only,)
    return tuple(dict.fromkeys(day for day in each if day is not None))
