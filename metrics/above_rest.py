"""Effort without a maximum: the share of time well above rest, and the beats above rest.

Sources: PAHR-25 and PAHR-50, a youth index (Logan 2000; between-day reliability 0.81 and 0.56 at 5–7 years):
share of the measured time with a heart rate strictly above 1.25 and 1.50 times rest. Beats above rest: the area
between heart rate and rest, idea from Hood (2002). Both depend wholly on the rest: the same definition of it is
used for a baseline and its re-test.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .reserve import check_rate

PAHR_FACTORS = (1.25, 1.50)
"""Times rest, of PAHR-25 and PAHR-50."""


def above_rest_per_second(bpm: ArrayLike, rest_bpm: float) -> NDArray[np.float64]:
    """Beats in a second beyond those that rest would have taken, max(HR − rest, 0) / 60; summed over time, beats.

    Parameters
    ----------
    bpm : array_like, any shape
        [/min]; NaN stays NaN
    rest_bpm : float
        [/min]

    Returns
    -------
    ndarray, same shape  [1/s]

    Raises
    ------
    BasisError
        If the rest is no heart rate.
    """
    check_rate(rest_bpm, "the resting heart rate")
    return np.maximum(np.asarray(bpm, dtype=np.float64) - rest_bpm, 0.0) / 60.0
