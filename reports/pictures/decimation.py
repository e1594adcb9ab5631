"""A long line at the resolution of its picture: no low or high value of a column is lost, no gap is bridged."""

import numpy as np
from numpy.typing import NDArray

from .series import Floats

STEP_PT = 0.5
"""Width of a column [points]: a sixth of a millimetre, less than half of the line itself."""


def thinned(x: Floats, y: Floats, step: float = STEP_PT) -> tuple[Floats, Floats]:
    """Of each column the first, lowest, highest and last point, in their order.

    x : shape (n,), not decreasing, in units of ``step``'s
    y : shape (n,)
    """
    keep = kept_places(x, y, step)
    return x[keep], y[keep]


def kept_places(x: Floats, y: Floats, step: float) -> NDArray[np.int64]:
    """Where the points stand that ``thinned`` keeps; all of them where few would go."""
    column = np.floor((x - x[0]) / step).astype(np.int64) if len(x) else np.empty(0, np.int64)
    firsts = np.flatnonzero(np.diff(column, prepend=-1))
    if len(x) <= 4 * len(firsts):
        return np.arange(len(x))
    group = np.repeat(np.arange(len(firsts)), np.diff(np.append(firsts, len(x))))
    lows = np.flatnonzero(y == np.minimum.reduceat(y, firsts)[group])
    highs = np.flatnonzero(y == np.maximum.reduceat(y, firsts)[group])
    first_low = lows[np.diff(group[lows], prepend=-1) != 0]
    last_high = highs[np.diff(group[highs], append=len(firsts)) != 0]
    ends = np.append(firsts[1:], len(x)) - 1
    return np.unique(np.concatenate((firsts, first_low, last_high, ends)))
