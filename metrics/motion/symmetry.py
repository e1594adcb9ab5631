"""How alike the two halves of a cycle are, as they stand or as mirror images of each other.

A walker's trunk rises and falls with every step and sways left and right with every second one: the right step is the
left one in a mirror, and a plain comparison of the halves misses that. So the halves are compared on all axes at once:
the products of each axis now with each axis half a cycle later make a matrix of 3 × 3, whose own directions, however
the sensor is turned, show what repeats (positive) and what turns over (negative). One direction may turn over, as in a
mirror, if what repeats outweighs it by half; a swing to and fro, which only turns over, is no pair of halves.
"""

import numpy as np
from numpy.typing import NDArray

from .grid import Grid

OUTWEIGHS = 1.5
"""What repeats is at least this many times what turns over. Real walks at the waist show 1.9 to 2.9 (middle values of
three walks), pushes and swings, of which the half turns over, under 1."""
_TINY = 1e-12

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]


def halves(band: Grid, time_s: Floats, length_s: Floats, window_s: float) -> Floats:
    """Likeness of the halves of a cycle, 1 for equal or mirrored ones, 0 or less for unlike ones, shape (w,).

    Parameters
    ----------
    band : values of shape (n, axes), mean near 0; NaN where nothing was measured, which counts for nothing  [g]
    time_s, length_s : middle of each window, at most a quarter of one outside of the grid, and length of its cycle,
        shape (w,)  [s]
    window_s : length of a window  [s]
    """
    if not len(time_s):
        return np.empty(0)
    size = round(window_s * band.rate_hz)
    half = length_s * band.rate_hz / 2.0
    lags = np.maximum(np.rint(half).astype(np.int64), 2)[:, None] + np.arange(-1, 2)
    around = np.zeros((size + int(lags.max()), band.values.shape[1]), np.float32)
    padded = np.concatenate((around, np.nan_to_num(band.values).astype(np.float32), around))
    middle = np.rint((time_s - band.start_s) * band.rate_hz).astype(np.int64) + len(around)
    begin = middle - size // 2 - lags[:, 1] // 2
    early = _rows(padded, begin, size)
    power = np.square(early).sum(axis=(1, 2))
    shares = np.empty(lags.shape)
    for place in range(3):
        late = _rows(padded, begin + lags[:, place], size)
        whole = 0.5 * (power + np.square(late).sum(axis=(1, 2)))
        products = early.transpose(0, 2, 1) @ late
        shares[:, place] = _mirrored(products) / np.maximum(whole, _TINY)
    return _top(shares)


def _rows(padded: Singles, begin: Ints, size: int) -> Singles:
    """Stretches of ``size`` samples, shape (w, size, axes)."""
    return padded[begin[:, None] + np.arange(size)]


def _mirrored(products: Singles) -> Floats:
    """What repeats plus what one direction turns over, or the plain sum where that outweighs, shape (w,)."""
    own = np.linalg.eigvalsh(0.5 * (products + products.transpose(0, 2, 1)))  # in rising order
    lowest: Singles = own[:, 0]
    rest: Singles = own[:, 1:].sum(axis=1)
    mirror = (lowest < 0) & (rest >= -OUTWEIGHS * lowest)
    return np.where(mirror, rest - lowest, rest + lowest).astype(np.float64)


def _top(shares: Floats) -> Floats:
    """The highest of three neighbouring lags, by a parabola where the middle one is highest, shape (w,)."""
    left, middle, right = shares.T
    bend = left - 2.0 * middle + right
    peak = (middle >= left) & (middle >= right) & (bend < 0)
    above = np.divide((left - right) ** 2, -8.0 * bend, out=np.zeros(len(shares)), where=peak)
    return shares.max(axis=1) + above
