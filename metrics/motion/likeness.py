"""How much a movement is like itself a while later: the autocorrelation of all axes together, window by window.

The sum over the axes is the same however the sensor is turned in its mounting. A pair of samples counts for the window
in which its middle lies, so that every lag rests on as many pairs. Each lag is normalised by the energy of the samples
that enter it: a movement that grows, begins or has a gap is no less like itself.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .grid import Grid

_TINY = 1e-12  # below any movement [g²]
_CHUNK = 900  # steps at a time: half an hour, so that a gap slows only its own part, and memory stays small

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Likeness:
    """Normalised autocorrelation of windows.

    time_s : middle of each window, shape (w,)  [s]
    lag_s : shape (lags,)  [s]
    values : shape (w, lags), -1 to 1
    pairs : share of all pairs that were measured, shape (w, lags)
    size_g : root mean square of the movement, all axes together, in each window, shape (w,)  [g]
    """

    time_s: Floats
    lag_s: Floats
    values: Singles
    pairs: Singles
    size_g: Singles


def likeness(grid: Grid, window_s: float, lags_s: tuple[float, float]) -> Likeness:
    """Autocorrelate windows of a movement grid, four windows to a window's length.

    Parameters
    ----------
    grid : values of shape (n, axes), mean near 0; NaN where nothing was measured
    window_s : length of a window  [s]
    lags_s : shortest and longest lag  [s]
    """
    step = max(round(window_s / 4 * grid.rate_hz), 1)
    lags = np.arange(max(int(lags_s[0] * grid.rate_hz), 1), int(lags_s[1] * grid.rate_hz) + 2)
    blocks = -(-len(grid.values) // step) + 4  # two more at either end, where nothing is measured
    half = int(lags[-1]) // 2
    columns, energy, known = _padded(grid, 2 * step + half, blocks * step + int(lags[-1]) + 1)
    shape = len(lags), blocks
    products, energies = np.empty(shape, np.float32), np.empty(shape, np.float32)
    pairs = np.full(shape, step, np.float32)
    for first in range(0, blocks, _CHUNK):
        part = slice(first, min(first + _CHUNK, blocks))
        span = slice(part.start * step, part.stop * step + int(lags[-1]) + 1)
        shifts = half - lags // 2
        _products(columns[:, span], shifts, lags, step, products[:, part])
        if known[span].all():
            _whole_energies(energy[span], shifts, lags, step, energies[:, part])
        else:
            both, swapped = np.stack((energy[span], known[span])), np.stack((known[span], energy[span]))
            _products(both, shifts, lags, step, energies[:, part], swapped)
            _products(known[None, span], shifts, lags, step, pairs[:, part])
    power, count = (_sums(row[half : half + blocks * step], step) for row in (energy, known))
    return Likeness(
        grid.start_s + np.arange(blocks - 3) * step / grid.rate_hz,
        lags / grid.rate_hz,
        np.divide(2 * _fours(products), np.maximum(_fours(energies), _TINY), dtype=np.float32).T,
        np.divide(_fours(pairs), 4 * step, dtype=np.float32).T,
        np.sqrt(_fours(power) / np.maximum(_fours(count), 1.0)),
    )


def _products(rows: Singles, begins: Ints, lags: Ints, step: int, out: Singles, others: Singles | None = None) -> None:
    """Products of each row with itself, or with its other, one lag later: their sums over rows and steps.

    begins, lags : shape (lags,), where the earlier sample of the first pair lies, and how far behind the later one
    out : shape (lags, steps), filled
    """
    others = rows if others is None else others
    length = out.shape[1] * step
    work = np.empty(length, np.float32)  # one for all lags: memory that is fetched anew costs more than the sums
    for place, (begin, lag) in enumerate(zip(begins.tolist(), lags.tolist(), strict=True)):
        early, late = rows[:, begin : begin + length], others[:, begin + lag : begin + lag + length]
        np.einsum("ai,ai->i", early, late, out=work)
        out[place] = _sums(work, step)


def _whole_energies(energy: Singles, begins: Ints, lags: Ints, step: int, out: Singles) -> None:
    """Energy of the earlier and of the later samples where none is missing: differences of one running sum."""
    running = np.append(0.0, np.cumsum(energy, dtype=np.float64))
    sums = running[step:] - running[:-step]
    length = out.shape[1] * step
    for place, (begin, lag) in enumerate(zip(begins.tolist(), lags.tolist(), strict=True)):
        out[place] = sums[begin : begin + length : step] + sums[begin + lag : begin + lag + length : step]


def _padded(grid: Grid, front: int, length: int) -> tuple[Singles, Singles, Singles]:
    """The columns, their energy, and 1 where measured; 0 in gaps and around the ends."""
    columns, known = np.zeros((grid.values.shape[1], length), np.float32), np.zeros(length, np.float32)
    own = slice(front, front + len(grid.values))
    columns[:, own] = grid.values.T
    known[own] = np.isfinite(columns[:, own].sum(axis=0))
    columns[:, known == 0] = 0.0
    return columns, np.einsum("ai,ai->i", columns, columns), known


def _sums(row: Singles, step: int) -> Singles:
    """Sums of ``step`` samples each, shape (n // step,)."""
    return np.einsum("ij->i", row.reshape(-1, step))


def _fours(blocks: Singles) -> Singles:
    """Sums of four neighbours along the last axis, which becomes shorter by three."""
    pairs = blocks[..., 1:] + blocks[..., :-1]
    return np.add(pairs[..., 2:], pairs[..., :-2], dtype=np.float32)
