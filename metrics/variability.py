"""How much beat-to-beat intervals vary: RMSSD and SDNN.

Source: as defined by the Task Force (1996), from memory. They tell how good the signal is; neither is a score of
fitness here.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def rmssd_ms(rr_s: ArrayLike, usable: ArrayLike | None = None) -> float:
    """Root mean square of successive differences [ms].

    Parameters
    ----------
    rr_s : array_like, shape (n,)
        [s]; NaN is never usable
    usable : array_like of bool, shape (n,), or None
        None for all

    Returns
    -------
    float  [ms]; only differences between two usable neighbours count: nothing is joined across a gap.
    NaN if there are none.
    """
    rr_ms, good = _usable(rr_s, usable)
    steps = np.diff(rr_ms)[good[1:] & good[:-1]]
    return float(np.sqrt(np.mean(steps**2))) if len(steps) else float("nan")


def sdnn_ms(rr_s: ArrayLike, usable: ArrayLike | None = None) -> float:
    """Standard deviation of the usable intervals, divisor n − 1 [ms]; NaN of fewer than two.

    Parameters
    ----------
    rr_s : array_like, shape (n,)
        [s]; NaN is never usable
    usable : array_like of bool, shape (n,), or None
        None for all
    """
    rr_ms, good = _usable(rr_s, usable)
    intervals = rr_ms[good]
    return float(np.std(intervals, ddof=1)) if len(intervals) > 1 else float("nan")


def _usable(rr_s: ArrayLike, usable: ArrayLike | None) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    rr_ms = 1000.0 * np.asarray(rr_s, dtype=np.float64)
    good = np.isfinite(rr_ms)
    return rr_ms, good if usable is None else good & np.asarray(usable, dtype=np.bool_)
