"""Effort without a maximum: the share of time well above rest, and the beats above rest.

Sources: PAHR-25 and PAHR-50, a youth index (Logan 2000; between-day reliability 0.81 and 0.56 at 5–7 years):
share of the measured time with a heart rate strictly above 1.25 and 1.50 times rest. Beats above rest: the area
between heart rate and rest, idea from Hood (2002). Both depend wholly on the rest: the same definition of it is
used for a baseline and its re-test.
"""

import numpy as np
from numpy.typing import ArrayLike

from .reserve import check_rate

PAHR_FACTORS = (1.25, 1.50)
"""Times rest, of PAHR-25 and PAHR-50."""


def share_above(bpm: ArrayLike, held_s: ArrayLike, rest_bpm: float, factor: float) -> float:
    """Percent of the measured time with a heart rate strictly above ``factor`` times rest.

    Parameters
    ----------
    bpm : array_like, shape (n,)
        [/min]; NaN is time not measured and left out on both sides of the fraction
    held_s : array_like, shape (n,)
        [s]; how long each heart rate stands
    rest_bpm : float
        [/min]
    factor : float
        [1], one of ``PAHR_FACTORS``

    Returns
    -------
    float  [%]; NaN if nothing was measured

    Raises
    ------
    BasisError
        If the rest is not a positive number.
    """
    check_rate(rest_bpm, "the resting heart rate")
    rate = np.asarray(bpm, dtype=np.float64)
    held = np.where(np.isnan(rate), 0.0, np.asarray(held_s, dtype=np.float64))
    measured_s = float(np.sum(held))
    if measured_s <= 0:
        return float("nan")
    return 100.0 * float(np.sum(held, where=rate > factor * rest_bpm)) / measured_s


def beats_above_rest(bpm: ArrayLike, held_s: ArrayLike, rest_bpm: float) -> float:
    """Beats beyond those that rest would have taken, Σ max(HR − rest, 0) · Δt / 60.

    Parameters
    ----------
    bpm : array_like, shape (n,)
        [/min]; a NaN makes the sum NaN: leave out what was not measured
    held_s : array_like, shape (n,) or float
        [s]; how long each heart rate stands
    rest_bpm : float
        [/min]

    Raises
    ------
    BasisError
        If the rest is not a positive number.
    """
    check_rate(rest_bpm, "the resting heart rate")
    above = np.maximum(np.asarray(bpm, dtype=np.float64) - rest_bpm, 0.0)
    return float(np.sum(above * np.asarray(held_s, dtype=np.float64)) / 60.0)
