"""From a column of numbers to times: seconds, ms, µs, ns, minutes, Unix time; the unit stated, or shown by the data."""

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...errors import UnclearColumns
from ...words.message import Message
from .. import messages as say
from .. import refusal_messages as refused
from ..recording import ACCELERATION, ANGULAR_RATE, HEART_RATE, RR_INTERVAL, WAVEFORM
from .axis import TimeAxis, from_earliest, middle_of, moment, near_middle, nothing_readable
from .stamps import NS
from .units import MICROSECOND, MILLISECOND, NANOSECOND, SECOND, Unit

EPOCH_S = (9.4e8, 4.2e9)
"""Unix time from October 1999 to 2103: seconds, ms, µs and ns of it cannot be confused with each other."""

STEP_S = {
    WAVEFORM: (1e-4, 0.1),
    ACCELERATION: (2e-4, 2.0),
    ANGULAR_RATE: (2e-4, 2.0),
    HEART_RATE: (0.008, 120.0),
    RR_INTERVAL: (0.008, 120.0),
}
"""Shortest and longest step [s] between the rows of a table, by the fastest thing it holds [common practice]."""

SPAN_S = (5.0, 86_400.0)
"""Shortest and longest recording [s] that is likely enough to decide between two units [common practice]."""


def times_of_numbers(
    values: NDArray[Any], *, unit: Unit | None = None, fastest: str = HEART_RATE, where: str = ""
) -> TimeAxis:
    """Read numbers: of the stated unit, or of the only unit that gives a likely step and length.

    Parameters
    ----------
    values : ndarray, shape (n,), float64 with NaN, or int64
    unit : as the header states it
    fastest : name of the fastest stream of the table, which bounds the step

    Raises
    ------
    UnclearColumns
        If no unit is stated and the data fit more than one, or none, or contradict the stated one.
    """
    good = np.isfinite(values)
    if not good.any():
        raise nothing_readable(where)
    known = values if good.all() else values[good]
    middle = middle_of(known)
    notes: tuple[Message, ...] = ()
    if unit is None:
        unit, told = _unit_of(known, middle, fastest, where)
        notes = (told,)
    if abs(middle) * unit.times / unit.over > EPOCH_S[1]:
        raise UnclearColumns(
            f"the time column says {unit.symbol}, but its numbers are too large for that.",
            where=where,
            mend="Write the right unit into the header, for example 'time (ms)'.",
        )
    if unit.times == 1 and EPOCH_S[0] <= middle / unit.over <= EPOCH_S[1]:
        return replace(_unix_time(values, good, int(unit.over)), notes=notes)
    time = np.where(good, values, np.nan) * unit.times / unit.over
    near = near_middle(time)
    if not near.all():
        time[~near] = np.nan
    return TimeAxis(time, notes=notes)


def _unix_time(values: NDArray[Any], good: NDArray[np.bool_], per_second: int) -> TimeAxis:
    """Unix time: whole numbers exactly, fractions to the microsecond that a float of that size holds."""
    furthest = EPOCH_S[1]
    if not good.all() or max(-float(values.min()), float(values.max())) / per_second > furthest:
        good = good & (np.abs(values / per_second) <= furthest)
    whole = values if good.all() else np.where(good, values, 0)
    if whole.dtype.kind != "i" and not (whole % 1 == 0).all():
        whole, per_second = np.round(whole / per_second * 1e6), 1_000_000
    ns = whole.astype(np.int64) * (NS // per_second)
    time, first_ns = from_earliest(ns, good)
    return TimeAxis(time, moment(first_ns))


def _unit_of(values: NDArray[Any], middle: float, fastest: str, where: str) -> tuple[Unit, Message]:
    """The only unit that fits: Unix time by its size, else by the step between rows, else by the length too."""
    step = _step(values)
    shortest, longest = STEP_S[fastest]
    for unit in (SECOND, MILLISECOND, MICROSECOND, NANOSECOND):
        if EPOCH_S[0] <= middle / unit.over <= EPOCH_S[1] and abs(step) / unit.over <= longest:
            return unit, say.table_unix_time(unit.symbol)
    units = [u for u in (SECOND, MILLISECOND, MICROSECOND, NANOSECOND) if shortest <= step / u.over <= longest]
    if len(units) > 1:
        span = float(values.max()) - float(values.min())
        units = [unit for unit in units if SPAN_S[0] <= span / unit.over <= SPAN_S[1]] or units
    if len(units) == 1:
        return units[0], say.table_time_unit(units[0].symbol)
    raise UnclearColumns(refused.FILE_TIME_UNIT, where=where, mend=refused.MEND_TIME_UNIT)


def _step(values: NDArray[Any]) -> float:
    """The median step; where most rows share their stamp with the next, the mean one. 0 where there is none."""
    if len(values) < 2:
        return 0.0
    step = float(np.median(np.diff(values)))
    return step if step > 0 else (float(values.max()) - float(values.min())) / (len(values) - 1)
