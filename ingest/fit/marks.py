"""Laps, sessions, presses of the button, starts and stops, and the device's offset from UTC, out of a FIT file."""

from datetime import timedelta
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ..recording import Mark
from .columns import Clock, Rows, field_number, rows_of
from .scan import Part

_QUARTER_S = 900  # time zones are whole quarters of an hour
_WIDEST_S = 14 * 3600


def marks(data: bytes, part: Part, clock: Clock) -> list[Mark]:
    """Marks with times in seconds since the format's epoch, laps first."""
    return _laps(data, part, clock) + _events(data, part, clock)


def _laps(data: bytes, part: Part, clock: Clock) -> list[Mark]:
    """One mark a lap."""
    return [
        Mark(begin, "lap", "", end if np.isfinite(end) else None) for begin, end in _stretches(data, part, clock, "lap")
    ]


def sessions(data: bytes, part: Part, clock: Clock) -> list[float]:
    """Begins and ends of sessions, in seconds since the format's epoch."""
    return [moment for stretch in _stretches(data, part, clock, "session") for moment in stretch]


def _stretches(data: bytes, part: Part, clock: Clock, message: str) -> list[tuple[float, float]]:
    """Laps or sessions, each from its start for its elapsed time; without one, until its message was written."""
    start = field_number(message, "start_time")[0]
    elapsed, scale = field_number(message, "total_elapsed_time")
    found = []
    for rows in rows_of(data, part, message):
        begins, lasts = rows.table(start), rows.table(elapsed)
        if begins is None:
            continue
        begin = begins[:, 0]
        end = _in_force(rows, clock) if lasts is None else begin + lasts[:, 0] / scale
        known = np.isfinite(begin)
        found += zip(begin[known].tolist(), end[known].tolist(), strict=True)
    return found


def _events(data: bytes, part: Part, clock: Clock) -> list[Mark]:
    """Timer starts and stops, and presses of the button."""
    event, kind = field_number("event", "event")[0], field_number("event", "event_type")[0]
    found = []
    for rows in rows_of(data, part, "event"):
        events, types = rows.table(event), rows.table(kind)
        if events is None:
            continue
        codes = np.column_stack((events[:, 0], np.full(len(rows), np.nan) if types is None else types[:, 0]))
        words = [_word(*code) for code in codes.tolist()]
        if any(words):
            stamps = _in_force(rows, clock)
            said = zip(stamps.tolist(), words, strict=True)
            found += [Mark(stamp, word) for stamp, word in said if word and np.isfinite(stamp)]
    return found


def _in_force(rows: Rows, clock: Clock) -> NDArray[np.float64]:
    """Each message's own stamp, or the last one before it, shape (n,)."""
    own = rows.stamps(clock)
    return np.where(np.isnan(own), clock.at(rows.position), own) if np.isnan(own).any() else own


@cache
def _codes() -> dict[tuple[float, float | None], str]:
    """Our words for the profile's (event, event type); an event of any type has None for it."""
    from fitparse.profile import FIELD_TYPES

    events = {name: number for number, name in FIELD_TYPES["event"].values.items()}
    words: dict[tuple[float, float | None], str] = {
        (events["user_marker"], None): "button",
        (events["lap"], None): "button",
    }
    for number, name in FIELD_TYPES["event_type"].values.items():
        if name == "start" or name.startswith("stop"):
            words[events["timer"], number] = "start" if name == "start" else "stop"
    return words


def _word(event: float, kind: float) -> str:
    """Our word for an event; empty for those that say nothing about the trial."""
    return _codes().get((event, kind)) or _codes().get((event, None), "")


def clock_offset(data: bytes, part: Part) -> timedelta | None:
    """How far the device's wall clock is from UTC, from its ``activity`` message; None if it does not say."""
    number = field_number("activity", "local_timestamp")[0]
    for rows in rows_of(data, part, "activity"):
        local, stamp = rows.column(number), rows.seconds()
        if local is None or stamp is None or local.ndim != 1:
            continue
        apart = local - stamp
        for seconds in apart[np.abs(apart) <= _WIDEST_S].tolist():
            return timedelta(seconds=round(seconds / _QUARTER_S) * _QUARTER_S)
    return None
