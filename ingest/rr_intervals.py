"""RR intervals in units and in time: what tables, lists and packets have in common."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..words.message import Message
from . import messages as say
from .cleaning.beat_patterns import neighbourhood
from .table.units import MILLISECOND, SECOND, Unit

SECONDS = (0.2, 3.0)
"""Median interval [s] of any heart, 20 to 300 beats a minute: 200 to 3000 can only be ms [common practice]."""

LONGEST_S = 3600.0
"""A number above it is no interval; as one, it would move every later beat [common practice]."""


def unit_of_intervals(values: NDArray[np.float64]) -> Unit | None:
    """The unit that the median interval shows, None if it fits neither; zeros and gaps are not asked."""
    asked = values[np.isfinite(values) & (values > 0)]
    if not len(asked):
        return None
    middle = float(np.median(asked))
    for unit in (SECOND, MILLISECOND):
        if SECONDS[0] <= middle / unit.over <= SECONDS[1]:
            return unit
    return None


def cover_of(rr_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """How long each interval stands [s], shape (n,): itself, and 0 where it is missing or not positive."""
    return np.where(np.isfinite(rr_s) & (rr_s > 0) & (rr_s <= LONGEST_S), rr_s, 0.0)


def lasting(rr_s: NDArray[np.float64], written: NDArray[np.bool_] | None = None) -> NDArray[np.float64]:
    """How long each entry of a list took that has no times of its own [s], shape (n,).

    An interval takes itself. What is written in the place of one and is none (0, a negative number, text) was at
    least a beat: it takes the median of the eleven intervals around it, so that it counts as unmeasured. Where
    nothing is written (``written`` False) nothing was.
    """
    known = cover_of(rr_s)
    there = known > 0
    if there.all() or not there.any():
        return known
    lost = ~there if written is None else ~there & written
    return np.where(lost, neighbourhood(rr_s, there), known)


def told_of_lost(lasts_s: NDArray[np.float64], rr_s: NDArray[np.float64]) -> list[Message]:
    """A note on the entries that took time and are no interval, if there are any."""
    lost = (lasts_s > 0) & (cover_of(rr_s) == 0)
    count = int(np.count_nonzero(lost))
    if not count:
        return []
    return [say.intervals_lost(count, float(lasts_s[lost].sum()))]


def starts_of(lasts_s: ArrayLike) -> NDArray[np.float64]:
    """Start of each entry [s], shape (n,), the first at 0, each where the one before it ends."""
    ends = np.cumsum(np.asarray(lasts_s, np.float64))
    return np.concatenate(([0.0], ends[:-1]))[: len(ends)]
