"""Pauses inside a stretch of work: where the heart comes down for a while and goes up again.

A pause is no end of the work, and the curve of one stretch knows none. What lies clearly under it amid the work is left
out before start and end are set: else the dip pulls at both, and makes both look far less sure than they are.
"""

import numpy as np
from numpy.typing import NDArray

from .effort_model import Series

SMOOTH_S = 15.0
"""Dips are looked for in running means of this length [s]."""
LEAST_DIP_BPM, LEAST_DIP_SDS = 3.0, 2.5
"""A dip lies so far under the curve: beats [/min], and standard deviations of what the curve leaves. Our own choice."""
SHORTEST_S = 12.0
"""A shorter dip is none [s]."""
AFTER_START_S, BEFORE_END_S = 20.0, 10.0
"""So close to its start and end the work has no pause, but a start or an end that lies elsewhere [s]."""
_TO_SD = 1.4826  # from the median of absolute values to a standard deviation, of a normal distribution

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


def dips(series: Series, curve_bpm: Floats, start_s: float, end_s: float) -> Bools:
    """Which means belong to pauses, shape (n,).

    Parameters
    ----------
    series : heart rate
    curve_bpm : what the curve of one stretch of work says, shape (n,)  [/min]
    start_s, end_s : of the work  [s]
    """
    left = series.bpm - curve_bpm
    known = np.isfinite(left)
    width = round(SMOOTH_S / series.step_s)
    smooth = np.convolve(np.where(known, left, 0.0), np.full(width, 1.0 / width), "same")
    limit = max(LEAST_DIP_BPM, LEAST_DIP_SDS * _TO_SD * float(np.median(np.abs(left[known]))))
    middle = series.at(np.arange(len(left))) + series.step_s / 2
    inside = (middle > start_s + AFTER_START_S) & (middle < end_s - BEFORE_END_S)
    low = (smooth < -limit) & inside
    if np.count_nonzero(low) * series.step_s < SHORTEST_S:
        return np.zeros(len(low), bool)
    reach = 2 * round(SMOOTH_S / series.step_s) + 1
    return (np.convolve(low, np.ones(reach), "same") > 0) & inside
