"""Which number of a date such as 08/06/2019 is the day: settled by the dates themselves, or left open."""

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
    """
    first, second = stamps.day, stamps.month
    open_rows = rows & stamps.open_order
    day_first = _day_first(stamps, open_rows)
    swap = stamps.open_order & (day_first is False)
    days, good = days_since_1970(stamps.year, np.where(swap, first, second), np.where(swap, second, first))
    return days, good, day_first is not None


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
