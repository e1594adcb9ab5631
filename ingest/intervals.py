"""RR intervals in units and in time: what tables, lists and packets have in common."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .table_units import MILLISECOND, SECOND, Unit

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


def starts_of(rr_s: ArrayLike) -> NDArray[np.float64]:
    """Start of each interval [s], shape (n,), the first at 0, each where the one before it ends.

    A missing interval takes no time, because nobody knows how long it was: all later starts are early by it.
    """
    ends = np.cumsum(cover_of(np.asarray(rr_s, np.float64)))
    return np.concatenate(([0.0], ends[:-1]))[: len(ends)]
