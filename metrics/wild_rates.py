"""Rates that leap to and fro as no heart does: what a strap writes that lies on a table, or hangs in a hand.

A single leap tells nothing, and cleaning sets most of them aside. Many within seconds, in a recording that is otherwise
calm, are no heart. A heart that breathes strongly leaps all the time, so each recording is its own measure.
"""

import numpy as np
from numpy.typing import NDArray

NEAR_S = 3.0
"""Values further apart say nothing of leaps between them [s]."""
AROUND_S = 4.0
"""So far to either side of a moment its leaps are counted [s]."""
LEAST_SPEED = 5.0
"""A rate that moves by so much a second, on average, is wild [/min per s]. Our own choice: at the start of hard work a
heart climbs by 2 to 3."""
OVER_USUAL = 4.0
"""It also moves this many times as fast as the usual of the recording. Our own choice."""
LEAST_PAIRS = 4
"""Fewer values tell no speed."""

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


def wild(time_s: Floats, bpm: Floats) -> Bools:
    """Which values lie where the rate leaps to and fro, shape (n,).

    Parameters
    ----------
    time_s, bpm : ndarray, shape (n,), in order  [s], [/min]; values that were set aside already left out
    """
    step, leap = np.diff(time_s), np.abs(np.diff(bpm))
    near = step <= NEAR_S
    first = np.searchsorted(time_s, time_s - AROUND_S)
    last = np.searchsorted(time_s, time_s + AROUND_S, "right") - 1
    spent, moved, pairs = (
        _between(np.where(near, each, 0.0), first, last) for each in (step, leap, np.ones_like(step))
    )
    enough = pairs >= LEAST_PAIRS
    if not enough.any():
        return enough
    speed = np.zeros(len(time_s))
    speed[enough] = moved[enough] / spent[enough]
    return speed >= max(LEAST_SPEED, OVER_USUAL * float(np.median(speed[enough])))


def _between(values: Floats, first: NDArray[np.intp], last: NDArray[np.intp]) -> Floats:
    """Sums of what lies between pairs of places, shape (n,)."""
    until = np.append(0.0, np.cumsum(values))
    return np.asarray(until[last] - until[first], dtype=np.float64)
