"""The band that rhythm lives in: a movement grid slowed to 12 to 24 samples a second, without vibration and tilt.

Arms, pushes and strides move at 0.3 to 3 Hz; a chair shakes at 4 to 12 Hz (trade tables 7.20, common practice), and
gravity wanders through the axes with every change of posture. Both are taken out before a rhythm is looked for.
"""

from collections.abc import Sequence

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from .grid import Grid, sums_of

CUT_HZ = 3.3
"""Half of the amplitude passes here; all below 2.3 Hz, nothing above 4.3 Hz. Common practice: 3 to 4 Hz."""
TAPS_S = 1.6
"""Length of the low-pass: a Hamming window goes from all to nothing within 3.3 / length = 2 Hz."""
DRIFT_S = 4.0
"""What a mean over this long still sees is posture, no rhythm: one cycle at 15 /min."""
LEAST_RATE_HZ = 12.0
"""The slowed grid keeps at least this rate, nearly three times the highest frequency that the low-pass leaves."""

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]


def slowed(grid: Grid) -> Grid:
    """Means over as many samples as leave 24 a second or more; NaN where one of them is.

    Parameters
    ----------
    grid : values of shape (n,) or (n, 3)  [g]

    Returns
    -------
    Grid with values of shape (m, 1) or (m, 3)  [g]
    """
    every = max(int(grid.rate_hz / (2 * LEAST_RATE_HZ)), 1)
    start = grid.start_s + (every - 1) / (2 * grid.rate_hz)
    return Grid(start, grid.rate_hz / every, (sums_of(grid, every) / every).T)


def rhythm_band(grid: Grid) -> Grid:
    """The grid's values between about 0.2 and 3.3 Hz, at a lower rate; NaN where nothing was measured.

    Inside gaps the filters see straight lines, and the samples there are put back to NaN.

    Parameters
    ----------
    grid : ``slowed``, values of shape (n, axes)  [g]

    Returns
    -------
    Grid with values of shape (m, axes)  [g]; empty for a grid without a measured sample
    """
    known = grid.measured
    if not known.any():
        return Grid(grid.start_s, grid.rate_hz, np.empty((0, grid.values.shape[1])))
    every = max(int(grid.rate_hz / LEAST_RATE_HZ), 1)
    columns = _low_passed(bridged(grid.values.T, known).astype(np.float32), grid.rate_hz, every)
    (drift,) = running_means(columns, [max(round(DRIFT_S * grid.rate_hz / every), 1)])
    out = np.ascontiguousarray((columns - drift).T)
    out[~known[::every]] = np.nan
    return Grid(grid.start_s, grid.rate_hz / every, out)


def bridged(columns: Floats, known: Bools) -> Floats:
    """Straight lines over the gaps, for the filters only, shape (axes, n)."""
    if known.all():
        return columns
    place, gaps, out = np.flatnonzero(known), np.flatnonzero(~known), columns.copy()
    for column in out:
        column[gaps] = np.interp(gaps, place, column[place])
    return out


def running_means(columns: NDArray[np.floating], counts: Sequence[int]) -> list[Floats]:
    """Centred means over so many samples, each of the shape given; at the ends the first and last value stand on."""
    most = max(counts)
    padded = np.pad(columns, ((0, 0), (most // 2 + 1, most)), mode="edge")
    sums, width = np.cumsum(padded, axis=1, dtype=np.float64), columns.shape[1]
    out: list[Floats] = []
    for count in counts:
        first = most // 2 - count // 2
        out.append((sums[:, first + count : first + count + width] - sums[:, first : first + width]) / count)
    return out


def _low_passed(columns: Singles, rate: float, every: int) -> Singles:
    """Low-passed columns, of which one sample in ``every`` is kept, shape (axes, ceil(n / every))."""
    half = max(int(TAPS_S * rate / 2), 1)
    taps = np.sinc(2 * CUT_HZ / rate * np.arange(-half, half + 1)) * np.hamming(2 * half + 1)
    taps = (taps / taps.sum()).astype(np.float32)
    padded = np.pad(columns, ((0, 0), (half, half)), mode="edge")
    return np.einsum("aij,j->ai", sliding_window_view(padded, len(taps), axis=1)[:, ::every], taps, order="C")
