"""How much a movement is like itself a while later: the autocorrelation of all axes together, window by window.

The sum over the axes is the same however the sensor is turned in its mounting. A pair of samples counts for the window
in which its middle lies, so that every lag rests on as many pairs. Each lag is normalised by the energy of the samples
that enter it: a movement that grows, begins or has a gap is no less like itself. A window near the end of a bout sees
that bout alone: what comes after a stop is another beginning, and says nothing of the rhythm before it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .grid import Grid

_TINY = 1e-12  # below any movement [g²]
_CHUNK = 900  # steps at a time: half an hour, so that a gap slows only its own part, and memory stays small

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Likeness:
    """Normalised autocorrelation of windows.

    time_s : middle of each window, shape (w,)  [s]
    lag_s : shape (lags,)  [s]
    values : shape (w, lags), -1 to 1
    pairs : share of all pairs that were measured and seen, shape (w, lags)
    measured : share of those at the shortest lag that were measured, seen or not, shape (w,)
    size_g : root mean square of the movement, all axes together, in each window, shape (w,)  [g]
    """

    time_s: Floats
    lag_s: Floats
    values: Singles
    pairs: Singles
    measured: Singles
    size_g: Singles


def likeness(
    grid: Grid, window_s: float, lags_s: tuple[float, float], bouts: Sequence[tuple[float, float]] | None = None
) -> Likeness:
    """Autocorrelate windows of a movement grid, four windows to a window's length.

    Parameters
    ----------
    grid : values of shape (n, axes), mean near 0; NaN where nothing was measured
    window_s : length of a window  [s]
    lags_s : shortest and longest lag  [s]
    bouts : (from, until) in order, further apart than a quarter of a window; a window whose middle lies in one, or
        within an eighth of its length of it, sees nothing beyond it; None: no bounds  [s]
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
        there = np.flatnonzero(known[span])
        if len(there) and there[-1] - there[0] == len(there) - 1:
            run = int(there[0]), int(there[-1]) + 1
            energies[:, part], pairs[:, part] = _unbroken(energy[span], run, shifts, lags, step)
        else:
            both, swapped = np.stack((energy[span], known[span])), np.stack((known[span], energy[span]))
            _products(both, shifts, lags, step, energies[:, part], swapped)
            _products(known[None, span], shifts, lags, step, pairs[:, part])
    power, count = (_sums(row[half : half + blocks * step], step) for row in (energy, known))
    step_s = float(step / grid.rate_hz)
    measured = np.divide(_fours(pairs[0], None), 4 * step, dtype=np.float32)
    seen = _seen(grid.start_s, step_s, blocks, bouts)
    products, energies, pairs, power, count = (_fours(row, seen) for row in (products, energies, pairs, power, count))
    return Likeness(
        grid.start_s + np.arange(blocks - 3, dtype=np.float64) * step_s,
        lags / grid.rate_hz,
        np.divide(2 * products, np.maximum(energies, _TINY), dtype=np.float32).T,
        np.divide(pairs, 4 * step, dtype=np.float32).T,
        measured,
        np.sqrt(power / np.maximum(count, 1.0)),
    )


def _seen(start_s: float, step_s: float, blocks: int, bouts: Sequence[tuple[float, float]] | None) -> Bools | None:
    """Which of its four blocks each window sees, shape (4, w); None if every window sees all."""
    if bouts is None or not len(bouts):
        return None
    edges = np.array(bouts, dtype=np.float64) + np.array([-0.5, 0.5]) * step_s
    own, middle = (
        np.searchsorted(edges.ravel(), start_s + at * step_s, side="right")
        for at in (np.arange(blocks) - 1.5, np.arange(blocks - 3))
    )
    seen = np.stack([own[place : place + len(middle)] == middle for place in range(4)])
    seen |= middle % 2 == 0  # a window in stillness is not used, and may see anything
    return None if seen.all() else seen


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


def _unbroken(energy: Singles, run: tuple[int, int], begins: Ints, lags: Ints, step: int) -> tuple[Singles, Singles]:
    """Energy of the earlier and the later samples, and pairs, where one run without a gap was measured.

    Differences of one running sum, cut where either sample of a pair would lie outside of the run.

    Returns
    -------
    two ndarrays of shape (lags, steps)
    """
    running = np.append(0.0, np.cumsum(energy, dtype=np.float64))
    steps = (len(energy) - int(lags[-1]) - 1) // step
    edges = begins[:, None] + step * np.arange(steps + 1)
    inside = np.maximum(np.minimum(edges, run[1] - lags[:, None]), run[0])
    early, late = (np.diff(running[inside + shift], axis=1) for shift in (0, lags[:, None]))
    return (early + late).astype(np.float32), np.diff(inside, axis=1).astype(np.float32)


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


def _fours(blocks: Singles, seen: Bools | None) -> Singles:
    """Sums of four neighbours along the last axis, which becomes shorter by three; those not seen are left out."""
    pairs = blocks[..., 1:] + blocks[..., :-1]
    out = np.add(pairs[..., 2:], pairs[..., :-2], dtype=np.float32)
    if seen is not None:
        partly = np.flatnonzero(~seen.all(axis=0))
        shares = seen[:, partly].astype(np.float32)
        out[..., partly] = sum(blocks[..., partly + place] * shares[place] for place in range(4))
    return out
