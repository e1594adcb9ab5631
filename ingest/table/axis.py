"""The times of a table's rows as a value, and what every way to them needs."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...errors import DamagedFile
from ...words.message import Message
from .day_order import FURTHEST_DAYS
from .stamps import DAY_NS, NS

_FURTHEST_NS = FURTHEST_DAYS * DAY_NS


@dataclass(frozen=True, slots=True, eq=False)
class TimeAxis:
    """``time`` [s], shape (n,), NaN for a row whose stamp cannot be used; ``start`` and ``clock_s`` as in Recording.

    A stamp further than a week from the middle one is none of this recording, and is not used.
    """

    time: NDArray[np.float64]
    start: datetime | None = None
    clock_s: float | None = None
    notes: tuple[Message, ...] = ()


def from_earliest(ns: NDArray[np.int64], rows: NDArray[np.bool_]) -> tuple[NDArray[np.float64], int]:
    """Seconds from the earliest stamp [ns], which is cut to the microsecond that a clock can hold."""
    chosen = ns if rows.all() else ns[rows]
    first = int(chosen.min())
    if int(chosen.max()) - first > _FURTHEST_NS:  # else none can lie further than that from the middle one
        middle = int(middle_of(chosen))
        rows = rows & (np.abs(ns - middle) <= _FURTHEST_NS)
        first = int(ns[rows].min()) if rows.any() else middle
    first = first // 1000 * 1000
    time = (ns - first) / NS
    return time if rows.all() else np.where(rows, time, np.nan), first


def middle_of(values: NDArray[Any]) -> float:
    """The median, at once where the values rise, as times do."""
    if (values[1:] >= values[:-1]).all():
        half = len(values) // 2
        return float(values[half] if len(values) % 2 else np.mean(values[half - 1 : half + 1]))
    return float(np.median(values))


def near_middle(time: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which stamps lie within a week of the middle one; NaN do not."""
    if len(time) and time.max() - time.min() <= FURTHEST_DAYS * 86_400.0:  # no NaN, and no need of the middle one
        return np.ones(len(time), bool)
    return np.abs(time - np.nanmedian(time)) <= FURTHEST_DAYS * 86_400.0


def moment(ns: int) -> datetime:
    """The moment, in UTC, so many nanoseconds after 1970."""
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=ns // 1000)


def nothing_readable(where: str, cell: str = "") -> DamagedFile:
    """No stamp could be read. The only cell that is ever shown, cut short: without it nobody could mend it."""
    shown = "".join(sign for sign in cell[:20] if sign.isprintable())
    example = f" It begins with '{shown}'." if shown else ""
    return DamagedFile(
        f"no time stamp in the time column could be read.{example}",
        where=where,
        mend="Write the times as seconds, as 10:25:50, or as 2019-08-06 10:25:50.",
    )
