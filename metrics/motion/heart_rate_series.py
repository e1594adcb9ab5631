"""Heart rate as an even series, to be laid beside a movement."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

_ROUNDING_S = 1e-6  # by which half of the time may seem to be missing

Floats = NDArray[np.float64]


def mean_around(start_s: ArrayLike, held_s: ArrayLike, bpm: ArrayLike, middle_s: Floats, half_s: float) -> Floats:
    """Time-weighted mean rate around each moment, shape as given [/min]; NaN where half of the time was not measured.

    Parameters
    ----------
    start_s, held_s, bpm : array_like, shape (n,), in order
        where each heart rate begins to stand [s], for how long [s], and its value [/min]; pieces do not overlap
    middle_s : ndarray of any shape  [s]
    half_s : mean over this long to either side  [s]
    """
    start, held, value = (np.asarray(row, dtype=np.float64) for row in (start_s, held_s, bpm))
    real = np.isfinite(value) & (held > 0)
    start, held, value = start[real], held[real], value[real]
    if not len(start):
        return np.full(middle_s.shape, np.nan)
    edges = np.column_stack((start, start + held)).ravel()
    sums = [np.append(0.0, np.cumsum(row)) for row in (held, held * value)]
    low, high = middle_s - half_s, middle_s + half_s
    measured, area = (
        np.interp(high, edges, ends) - np.interp(low, edges, ends)
        for ends in (np.column_stack((row[:-1], row[1:])).ravel() for row in sums)
    )
    unknown = np.full(middle_s.shape, np.nan)
    return np.divide(area, measured, out=unknown, where=measured >= half_s - _ROUNDING_S)
