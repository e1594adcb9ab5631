"""How much movement there was: the mean amplitude deviation, and the Euclidean norm minus one.

Sources: ENMO van Hees et al. (2013); MAD Vähä-Ypyä et al. (2015), definition as in Bakrania et al. (2016). Departure:
epochs of 5 s for both (Vähä-Ypyä: 6 s). No cut-point for an intensity is given: those that are published are for
walking adults and contradict each other.
"""

import numpy as np
from numpy.typing import NDArray

from ..bounds import Bounded
from .envelope import MG_PER_G
from .grid import Grid

EPOCH_S = 5.0
"""Length of an epoch, as for ENMO in van Hees et al. (2013), from memory."""
HIGHEST_LEVEL_MG = 4000.0
"""No limb keeps up more than this for an epoch: what an unmeasured epoch may have been. The highest published level is
1,609 mg, of running (tables 7.4). Common practice, no source."""

Floats = NDArray[np.float64]


def enmo(values_g: Floats, samples_per_epoch: int) -> Floats:
    """Mean over each epoch of max(√(x² + y² + z²) − 1 g, 0).

    Meaningless where gravity was taken out, and as wrong as the sensor's scale: see ``gravity.unit_check``.

    Parameters
    ----------
    values_g : ndarray, shape (n, 3)  [g]
    samples_per_epoch : at least 1; samples behind the last whole epoch are left out

    Returns
    -------
    ndarray, shape (n // samples_per_epoch,)  [mg]; NaN for an epoch with a NaN in it
    """
    return MG_PER_G * np.maximum(_norms(values_g, samples_per_epoch) - 1.0, 0.0).mean(axis=1)


def mad(values_g: Floats, samples_per_epoch: int) -> Floats:
    """Mean over each epoch of |r − mean of r|, with r = √(x² + y² + z²).

    Parameters, result and NaN as for ``enmo``. A constant offset along gravity cancels out.
    """
    norm = _norms(values_g, samples_per_epoch)
    return MG_PER_G * np.abs(norm - norm.mean(axis=1, keepdims=True)).mean(axis=1)


def motion_level(grid: Grid, from_s: float, until_s: float, epoch_s: float = EPOCH_S) -> Bounded:
    """Time mean of MAD over the whole epochs of a phase [mg].

    Epochs count from the start of the phase. The value is over those that were measured throughout; for the bounds
    each of the others may hold stillness or the hardest shaking there is. None if no epoch was measured.

    Parameters
    ----------
    grid : acceleration, shape (n, 3), NaN in gaps  [g]
    from_s, until_s : the phase  [s]
    """
    size = max(round(epoch_s * grid.rate_hz), 1)
    count = int((until_s - from_s) * grid.rate_hz / size + 1e-6)
    if count < 1:
        return Bounded(None, 0.0, HIGHEST_LEVEL_MG)
    levels = mad(_phase(grid, from_s, count * size), size)
    seen = levels[np.isfinite(levels)]
    low = float(seen.sum()) / count
    high = low + HIGHEST_LEVEL_MG * (count - len(seen)) / count
    value = min(max(float(seen.mean()), low), high) if len(seen) else None
    return Bounded(value, low, max(low, high))


def _norms(values_g: Floats, size: int) -> Floats:
    """Length of the vector, one row an epoch."""
    if size < 1:
        raise ValueError(f"an epoch of {size} samples")
    values = np.asarray(values_g, dtype=np.float64)
    count = len(values) // size
    square = np.zeros(count * size)
    for axis in values[: count * size].T:  # four times as fast as a norm along rows
        square += np.square(axis)
    return np.sqrt(square, out=square).reshape(count, size)


def _phase(grid: Grid, from_s: float, samples: int) -> Floats:
    """So many samples from a moment on, NaN where the grid holds none."""
    first = int(np.ceil((from_s - grid.start_s) * grid.rate_hz - 1e-6))
    begin, end = max(first, 0), min(first + samples, len(grid.values))
    if begin == first and end == first + samples:
        return grid.values[begin:end]
    out = np.full((samples, 3), np.nan)
    if end > begin:
        out[begin - first : end - first] = grid.values[begin:end]
    return out
