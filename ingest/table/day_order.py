"""Which number of a date such as 08/06/2019 is the day: settled by the dates themselves, or left open."""

from collections.abc import Iterator
from datetime import date

import numpy as np
from numpy.typing import NDArray

from .stamps import Stamps, days_since_1970

FURTHEST_DAYS = 7
"""Stamps of one recording lie within a week [common practice: a school trial takes minutes]."""

_SHARE = 0.01


def days_of(stamps: Stamps, rows: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.bool_], bool]:
    """Days since 1970 of every row, which dates exist, and whether the order of day and month is settled.

    An order is settled by a number over 12, by two equal numbers, by points between the numbers (day first), or by
    a second date that only one order puts near the first. A year of two digits settles nothing but with points.
    Where it is not settled, the days mean nothing, and a date exists that does in any order.
    """
    first, second = stamps.day, stamps.month
    open_rows = rows & stamps.open_order
    day_first = _day_first(stamps, open_rows)
    swap = stamps.open_order & (day_first is False)
    days, good = days_since_1970(stamps.year, np.where(swap, first, second), np.where(swap, second, first))
    if day_first is None:
        good = good | _exist_otherwise(stamps)
    return days, good, day_first is not None


def _exist_otherwise(stamps: Stamps) -> NDArray[np.bool_]:
    """Which dates exist with the month first, or, where it has two digits, with the year first."""
    first, second, year = stamps.day, stamps.month, stamps.year
    by_month = days_since_1970(year, first, second)[1]
    return by_month | (stamps.short_year & days_since_1970(2000 + first, second, year - 2000)[1])


def readings_of(stamps: Stamps, row: int) -> tuple[date, ...]:
    """The days that a date may be whose order stays open, the earliest first."""
    first, second, year = (int(numbers[row]) for numbers in (stamps.day, stamps.month, stamps.year))
    tries = [(year, second, first), (year, first, second)]
    tries += [(2000 + first, second, year - 2000)] if stamps.short_year[row] else []
    return tuple(sorted(set(_existing(tries))))


def _existing(tries: list[tuple[int, int, int]]) -> Iterator[date]:
    for year, month, day in tries:
        try:
            yield date(year, month, day)
        except ValueError:
            continue


def _day_first(stamps: Stamps, rows: NDArray[np.bool_]) -> bool | None:
    """True, False, or None where the dates do not tell; True where no date is open."""
    if not rows.any():
        return True
    first, second, year = stamps.day[rows], stamps.month[rows], stamps.year[rows]
    dotted = bool(stamps.dotted[rows].mean() > 0.5)
    if stamps.short_year[rows].any() and not dotted:
        return None
    by_day, day_good = days_since_1970(year, second, first)
    by_month, month_good = days_since_1970(year, first, second)
    lead = int(np.count_nonzero(day_good)) - int(np.count_nonzero(month_good))
    if abs(lead) > _SHARE * len(first):
        return lead > 0
    both = day_good & month_good
    if dotted or not both.any() or (first[both] == second[both]).all():
        return True
    day_span, month_span = np.ptp(by_day[both]), np.ptp(by_month[both])
    if min(day_span, month_span) <= FURTHEST_DAYS < max(day_span, month_span):
        return bool(day_span < month_span)
    return None
