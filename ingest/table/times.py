"""From a column of time stamps to seconds: numbers, clock times, elapsed times, date-times, Unix time.

Seconds that count from somewhere are kept as they are, so that a file split in two reads as the whole. Stamps
with a date, and clock times, count from the earliest of them. Each choice that the data made is told in a note.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, timedelta, timezone, tzinfo

import numpy as np
from numpy.typing import NDArray

from ...errors import UnclearColumns
from ...words.message import Message
from .. import messages as say
from .. import refusal_messages as refused
from ..recording import HEART_RATE
from .axis import TimeAxis, from_earliest, moment, near_middle, nothing_readable
from .day_order import days_of, readings_of
from .header_words import CLOCK_WORDS, ELAPSED_WORDS
from .stamps import DAY, DAY_NS, HALF_DAY, LOCAL, LONG, NS, SHORT, UNREADABLE, ZONED, Stamps, read_stamps
from .time_numbers import times_of_numbers
from .units import Unit

_MORNING_NS = 6 * 3600 * NS
_NUMBER = re.compile(r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d{1,3})?")


def times_of_cells(
    cells: Sequence[str],
    *,
    unit: Unit | None = None,
    words: frozenset[str] = frozenset(),
    fastest: str = HEART_RATE,
    zone: tzinfo | None = None,
    where: str = "",
) -> TimeAxis:
    """Read stamps of any form. Arguments as in ``times_of_numbers`` and ``times_of_text``."""
    filled = sum(bool(cell) for cell in cells)
    numeric = sum(len(cell) <= 40 and _NUMBER.fullmatch(cell) is not None for cell in cells)
    if 2 * numeric <= filled:
        return times_of_text(cells, words=words, zone=zone, where=where)
    values = np.fromiter((_float(cell) for cell in cells), np.float64, len(cells))
    return times_of_numbers(values, unit=unit, fastest=fastest, where=where)


def times_of_text(
    cells: Sequence[str], *, words: frozenset[str] = frozenset(), zone: tzinfo | None = None, where: str = ""
) -> TimeAxis:
    """Read clock times, elapsed times or date-times; rows of another form than most have no time.

    Parameters
    ----------
    cells : n strings
    words : words of the column's header, which may say "elapsed", "clock" or "UTC"
    zone : for date-times that state none; without it they stay without one

    Raises
    ------
    UnclearColumns
        If the order of day and month stays open over several dates, or there are only dates.
    """
    stamps = read_stamps(cells)
    counts = np.bincount(stamps.kind, minlength=DAY + 1)
    counts[UNREADABLE] = 0
    kind = int(np.argmax(counts))
    if kind == UNREADABLE or not counts.any():
        raise nothing_readable(where, next((cell for cell in cells if cell), ""))
    rows = stamps.kind == kind
    if kind in (LOCAL, ZONED):
        return _date_times(stamps, rows, kind, UTC if words & {"utc", "gmt"} else zone, where)
    if kind == DAY:
        raise UnclearColumns(refused.FILE_DATES_ALONE, where=where, mend=refused.MEND_TIME_COLUMN)
    return _clock_or_elapsed(stamps.ns, rows, kind, words)


def _date_times(stamps: Stamps, rows: NDArray[np.bool_], kind: int, zone: tzinfo | None, where: str) -> TimeAxis:
    """Seconds from the earliest date-time; only the time of day where the order of day and month stays open."""
    days, exists, settled = days_of(stamps, rows)
    rows = rows & exists
    if not rows.any():
        raise nothing_readable(where)
    if not settled:
        dates = np.column_stack((stamps.day, stamps.month, stamps.year))[rows]
        if (dates != dates[0]).any():
            raise UnclearColumns(refused.FILE_DAY_OR_MONTH, where=where, mend=refused.MEND_DATES)
        axis = _clock(stamps.ns, rows)
        return replace(axis, notes=(say.table_either_day(readings_of(stamps, int(np.flatnonzero(rows)[0]))),))
    ns = days * DAY_NS + stamps.ns - stamps.offset_ns
    time, first_ns = from_earliest(ns, rows)
    if kind == ZONED:
        earliest = int(np.argmin(np.where(rows, ns, np.iinfo(np.int64).max)))
        offset = timedelta(microseconds=int(stamps.offset_ns[earliest]) // 1000)
        return TimeAxis(time, moment(first_ns).astimezone(timezone(offset) if offset else UTC))
    return TimeAxis(time, moment(first_ns).replace(tzinfo=zone))


def _clock_or_elapsed(ns: NDArray[np.int64], rows: NDArray[np.bool_], kind: int, words: frozenset[str]) -> TimeAxis:
    """Times of day count from the earliest; times that have passed stay as they are."""
    notes: tuple[Message, ...] = ()
    is_clock = bool(words & CLOCK_WORDS)
    if kind == HALF_DAY:
        is_clock = True
    elif words & ELAPSED_WORDS or ns[rows].max() >= DAY_NS:
        is_clock = False
    elif kind == LONG and not is_clock:
        is_clock = bool(ns[rows][0] >= _MORNING_NS)
        notes = (say.TABLE_TIME_OF_DAY if is_clock else say.TABLE_SINCE_START,)
    elif kind == SHORT and not is_clock:
        notes = (say.TABLE_MINUTES_SECONDS,)
    if not is_clock:
        time = np.where(rows, ns / NS, np.nan)
        time[~near_middle(time)] = np.nan
        return TimeAxis(time, notes=notes)
    return replace(_clock(ns * 60 if kind == SHORT else ns, rows), notes=notes)


def _clock(ns: NDArray[np.int64], rows: NDArray[np.bool_]) -> TimeAxis:
    """Times of day, a day added at each midnight: a step of more than half a day is one the other way round."""
    step = np.diff(ns[rows])
    turns = np.where(step < -DAY_NS // 2, 1, np.where(step > DAY_NS // 2, -1, 0))
    whole = ns.copy()
    whole[rows] += np.concatenate(([0], np.cumsum(turns))) * DAY_NS
    time, first_ns = from_earliest(whole, rows)
    return TimeAxis(time, clock_s=(first_ns % DAY_NS) / NS)


def _float(cell: str) -> float:
    """A number with a point or a comma, NaN for anything else."""
    return float(cell.replace(",", ".")) if len(cell) <= 40 and _NUMBER.fullmatch(cell) else np.nan
