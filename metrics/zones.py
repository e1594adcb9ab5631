"""The published intensity classes: very light, light, moderate, vigorous, near-maximal.

Source: position stand of 2011 (Garber and others), seen as tabulated in a later consensus. Printed tables give
whole percents ("30–39", "40–59") and leave gaps; here each class is half-open on unrounded values, [40, 60).
Where tables disagree (vigorous up to 84 or 89 %HRR; near-maximal from 95 or 96 % of maximum) the edges below
are the ones used. The classes were drawn up for healthy adults and whole-body work: for a student they are
names for a height, not proof of a training effect.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..words.vocabulary import ZONES
from .reserve import check_basis, check_rate, target_heart_rate

RESERVE_EDGES = (30, 40, 60, 90)
"""Lower edges of the classes from light on [% of reserve]."""

MAXIMUM_EDGES = (57, 64, 77, 96)
"""Lower edges of the classes from light on [% of maximum]."""

EDITION = "intensity classes of the 2011 position stand, as tabulated in a consensus statement"
"""Named in every report: the edition of 2000 drew other edges (20, 40, 60, 85 %HRR)."""

NOT_MEASURED = -1


def zone_index_by_reserve(heart_rate: ArrayLike, rest_bpm: float, maximum_bpm: float) -> NDArray[np.intp]:
    """Place in ``ZONES`` of each heart rate, by percent of reserve.

    Compared as 100 (HR − rest) ≥ edge · (maximum − rest), which is exact at the edges for whole beats.

    Parameters
    ----------
    heart_rate : array_like, any shape
        [/min]
    rest_bpm, maximum_bpm : float
        [/min], rest < maximum

    Returns
    -------
    ndarray of int, same shape: 0 to 4, ``NOT_MEASURED`` (−1) where the heart rate is NaN

    Raises
    ------
    BasisError
        If the reserve is not positive.
    """
    check_basis(rest_bpm, maximum_bpm)
    above_rest = np.asarray(heart_rate, dtype=np.float64) - rest_bpm
    return _index(100.0 * above_rest, np.array(RESERVE_EDGES) * (maximum_bpm - rest_bpm))


def zone_index_by_maximum(heart_rate: ArrayLike, maximum_bpm: float) -> NDArray[np.intp]:
    """Place in ``ZONES`` of each heart rate, by percent of maximum: for when no rest was measured.

    The two scales disagree for one and the same beat (with rest 70 and maximum 200, 122 /min is moderate by
    reserve and light by maximum): a baseline and its re-test use the same one.

    Parameters
    ----------
    heart_rate : array_like, any shape
        [/min]
    maximum_bpm : float
        [/min]

    Returns
    -------
    ndarray of int, same shape: 0 to 4, ``NOT_MEASURED`` (−1) where the heart rate is NaN

    Raises
    ------
    BasisError
        If the maximum is not a positive number.
    """
    check_rate(maximum_bpm, "the maximum heart rate")
    return _index(100.0 * np.asarray(heart_rate, dtype=np.float64), np.array(MAXIMUM_EDGES) * maximum_bpm)


def edges_bpm(rest_bpm: float, maximum_bpm: float) -> NDArray[np.float64]:
    """Lower edges of light, moderate, vigorous, near-maximal by reserve, shape (4,)  [/min]."""
    return target_heart_rate(RESERVE_EDGES, rest_bpm, maximum_bpm)


def maximum_edges_bpm(maximum_bpm: float) -> NDArray[np.float64]:
    """Lower edges of light, moderate, vigorous, near-maximal by percent of maximum, shape (4,)  [/min]."""
    check_rate(maximum_bpm, "the maximum heart rate")
    return np.array(MAXIMUM_EDGES) * maximum_bpm / 100.0


def time_in_zones(zone_index: ArrayLike, held_s: ArrayLike) -> NDArray[np.float64]:
    """Seconds in each class; time that was not measured is in none, so the sum is the measured time.

    Parameters
    ----------
    zone_index : array_like of int, shape (n,)
        from one of the functions above
    held_s : array_like, shape (n,)
        [s]; how long each heart rate stands

    Returns
    -------
    ndarray, shape (5,)  [s], in the order of ``ZONES``
    """
    index = np.asarray(zone_index, dtype=np.intp)
    held = np.asarray(held_s, dtype=np.float64)
    measured = index != NOT_MEASURED
    sums = np.bincount(index[measured], weights=held[measured], minlength=len(ZONES))
    return sums.astype(np.float64)


_ROUNDING = 1e-7
"""Beats per minute times percent: a rate at an edge must not fall below it by the last bit of a product."""


def _index(scaled: NDArray[np.float64], edges: NDArray[np.float64]) -> NDArray[np.intp]:
    place = np.searchsorted(edges - _ROUNDING, scaled, side="right")
    return np.where(np.isnan(scaled), NOT_MEASURED, place)
