"""How much movement there was: the mean amplitude deviation (MAD).

Source: Vähä-Ypyä et al. (2015), definition as in Bakrania et al. (2016). Departure: epochs of 5 s in place of 6. The
Euclidean norm minus one (ENMO), as wrong as the sensor's scale, is not worked out. No cut-point for an intensity is
given: those that are published are for walking adults and contradict each other.
"""

import numpy as np
from numpy.typing import NDArray

from ..bounds import Bounded
from .envelope import MG_PER_G
from .grid import Grid, finite

EPOCH_S = 5.0
"""Length of an epoch, as in van Hees et al. (2013), from memory."""
HIGHEST_LEVEL_MG = 4000.0
"""No limb keeps up more than this for an epoch: what an unmeasured epoch may have been. The highest published level is
1,609 mg, of running (tables 7.4). Common practice, no source."""
LONGEST_G = 2 * HIGHEST_LEVEL_MG / MG_PER_G
"""A vector that swings between nothing and this has the highest level: no unmeasured sample is taken to be longer."""
LEAST_SHARE = 0.8
"""An epoch of which at least this much was measured has a level, with bounds for the rest. As for heart rate."""

Floats = NDArray[np.float64]


def mad(values_g: Floats, samples_per_epoch: int) -> Floats:
    """Mean over each epoch of |r − mean of r|, with r = √(x² + y² + z²).

    Meaningless in a wrong unit: see ``gravity.unit_check``. A constant offset along gravity cancels out.

    Parameters
    ----------
    values_g : ndarray, shape (n, 3)  [g]
    samples_per_epoch : at least 1; samples behind the last whole epoch are left out

    Returns
    -------
    ndarray, shape (n // samples_per_epoch,)  [mg]; NaN for an epoch with a NaN in it
    """
    norm = _norms(values_g, samples_per_epoch)
    return MG_PER_G * np.abs(norm - norm.mean(axis=1, keepdims=True)).mean(axis=1)


def motion_level(grid: Grid, from_s: float, until_s: float, epoch_s: float = EPOCH_S) -> Bounded:
    """Time mean of MAD over the whole epochs of a phase [mg].

    Epochs count from the start of the phase. The value is over those that were measured to four fifths at least; for
    the bounds each of the others may hold stillness or the hardest shaking there is, and so may what is missing in
    one. None if no epoch was measured.

    Parameters
    ----------
    grid : acceleration, shape (n, 3), NaN in gaps  [g]
    from_s, until_s : the phase  [s]
    """
    size, count = _epochs(grid, from_s, until_s, epoch_s)
    if count < 1:
        return Bounded(None, 0.0, HIGHEST_LEVEL_MG)
    values = _phase(grid, from_s, count * size)
    value = mad(values, size)
    low, high = value.copy(), value.copy()
    for place in np.flatnonzero(~np.isfinite(value)):
        value[place], low[place], high[place] = _partly(values[place * size : (place + 1) * size])
    seen = value[np.isfinite(value)]
    least, most = float(low.sum()) / count, float(high.sum()) / count
    return Bounded(min(max(float(seen.mean()), least), most) if len(seen) else None, least, most)


def measured_percent(grid: Grid, from_s: float, until_s: float, epoch_s: float = EPOCH_S) -> float:
    """Share of the samples of a phase's whole epochs that were measured; 0 without an epoch [%]."""
    size, count = _epochs(grid, from_s, until_s, epoch_s)
    if count < 1:
        return 0.0
    return 100.0 * float(np.count_nonzero(finite(_phase(grid, from_s, count * size)))) / (count * size)


def _epochs(grid: Grid, from_s: float, until_s: float, epoch_s: float) -> tuple[int, int]:
    """``(samples in an epoch, whole epochs in the phase)``."""
    size = max(round(epoch_s * grid.rate_hz), 1)
    return size, int((until_s - from_s) * grid.rate_hz / size + 1e-6)


def _partly(values: Floats) -> tuple[float, float, float]:
    """``(value, low, high)`` of an epoch with something missing; the value is NaN where too much is [mg].

    What was measured lies no nearer to any mean than to its own median. What is missing raises the level most where
    all of it is as long as can be (true up to a fifth of an epoch, and lengths of 6 g).
    """
    length = np.linalg.norm(values[finite(values)], axis=1)
    size, missing = len(values), len(values) - len(length)
    if not len(length):
        return np.nan, 0.0, HIGHEST_LEVEL_MG
    low = MG_PER_G * float(np.abs(length - np.median(length)).sum()) / size
    if len(length) < LEAST_SHARE * size:
        return np.nan, min(low, HIGHEST_LEVEL_MG), HIGHEST_LEVEL_MG
    filled = np.concatenate((length, np.full(missing, LONGEST_G)))
    high = MG_PER_G * float(np.abs(filled - filled.mean()).mean())
    value = MG_PER_G * float(np.abs(length - length.mean()).mean())
    return min(max(value, low), high), low, high


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
