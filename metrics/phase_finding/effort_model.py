"""A heart rate before, in and after one stretch of work, as a curve that is linear in all but four numbers.

With work from ``s`` to ``e``, time constants τ of the rise and φ of the fall, and u = t − s, v = t − e:

    before   b + p · exp(u / 20)
    work     b + a · (1 − exp(−u / τ)) + d · u + p · exp(−u / τ)
    after    b + (its height above b at e) · exp(−v / φ) + c · (1 − exp(−v / φ))

b is the level of rest, a the rise, d the drift of work, c by how much recovery stays above rest, p the rise ahead of
the start. The curve is continuous. For every s, e, τ and φ of a grid the five are found at once by regularised least
squares (Gaussian priors, so that a short rest or recovery cannot make them absurd), and the evidence for each place of
the grid by integrating them out. An exponential onset and recovery is the usual first-order model of heart-rate
kinetics; real hearts answer partly at once, which the middle of the evidence hardly feels. Sums over the stretches are
taken from running sums, so that a grid of thousands of places costs milliseconds and needs no iteration.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

REST, RISE, DRIFT, STAYS, AHEAD = range(5)
"""Places of b, a, d, c and p among the five."""
AHEAD_S = 20.0
"""How long ahead of the start a heart begins to rise [s]. Common practice, no source."""
PRIOR_SD = np.array([40.0, 40.0, 8.0 / 600.0, 10.0, 4.0])
PRIOR_MEAN = np.array([0.0, 40.0, 0.0, 5.0, 2.0])
"""What is likely before anything is seen, widely [/min], drift [/min per s]; the mean of b is added by the caller."""
SHORTEST_S = 30.0
"""Less is no stretch of work [s]."""
MEMORY_S = 18.0
"""The swings of a heart at rest last so long that only a sample in so many seconds is news [s]: swings of breathing and
of blood pressure, 4 to 10 s (common practice), and the sensor's own mean."""

Floats = NDArray[np.float64]
Indices = NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class Series:
    """Means over equal stretches.

    start_s, step_s : begin of the first, length of each  [s]
    bpm : ndarray, shape (n,); NaN where half of a stretch or more was not measured  [/min]
    """

    start_s: float
    step_s: float
    bpm: Floats

    def at(self, index: Indices | int) -> Floats:
        """Where a stretch begins [s]."""
        return self.start_s + np.asarray(index) * self.step_s

    @property
    def until_s(self) -> float:
        """End of the last [s]."""
        return self.start_s + len(self.bpm) * self.step_s


@dataclass(frozen=True, slots=True)
class Evidence:
    """How well each place of the grid agrees with what was measured.

    starts, ends : first index in work, and first behind it, shapes (s,) and (e,)
    rises_s, falls_s : time constants  [s]
    log : logarithm of the evidence, shape (s, e, τ, φ); −inf where a place cannot be
    fitted : the five, shape (s, e, τ, φ, 5)
    left : mean square of what the curve leaves, shape as ``log``  [/min²]
    """

    starts: Indices
    ends: Indices
    rises_s: tuple[float, ...]
    falls_s: tuple[float, ...]
    log: Floats
    fitted: Floats
    left: Floats

    @property
    def best(self) -> tuple[int, ...]:
        """The place with the most evidence."""
        return tuple(int(each) for each in np.unravel_index(int(np.argmax(self.log)), self.log.shape))


def evidence(
    series: Series,
    starts: Indices,
    ends: Indices,
    rises_s: tuple[float, ...],
    falls_s: tuple[float, ...],
    noise: float,
    around_bpm: float,
) -> Evidence:
    """The evidence on a grid.

    Parameters
    ----------
    series : heart rate
    starts, ends : indices that are tried, shapes (s,) and (e,)
    rises_s, falls_s : time constants that are tried  [s]
    noise : variance of one mean about the curve  [/min²]
    around_bpm : where the level of rest is likely to be  [/min]
    """
    known = np.isfinite(series.bpm)
    weight, bpm = known.astype(np.float64), np.where(known, series.bpm, 0.0)
    time = (np.arange(len(bpm)) + 0.5) * series.step_s
    since = time[None, :] - (starts * series.step_s)[:, None]
    behind = time[None, :] - (ends * series.step_s)[:, None]
    length = np.asarray((ends[None, :] - starts[:, None]) * series.step_s, dtype=np.float64)
    rest = _before(since, weight, bpm)
    work = _within(since, ends, weight, bpm, rises_s)
    after = _after(behind, weight, bpm, falls_s)
    gram, toward = _joined(rest, work, after, length, rises_s)
    spread = noise * max(MEMORY_S / series.step_s, 1.0)
    mean = PRIOR_MEAN + np.array([around_bpm, 0.0, 0.0, 0.0, 0.0])
    grip = spread / PRIOR_SD**2
    square = float(bpm @ bpm)
    whole, aim = gram + np.diag(grip), toward + grip * mean
    fitted = np.asarray(np.linalg.solve(whole, aim[..., None])[..., 0], dtype=np.float64)
    penalised = square + float(grip @ mean**2) - (fitted * aim).sum(axis=-1)
    log = -0.5 * penalised / spread - 0.5 * np.linalg.slogdet(whole / spread)[1]
    can_be = (length >= SHORTEST_S)[:, :, None, None] & (fitted[..., RISE] > 0)
    left = square - 2 * (fitted * toward).sum(-1) + np.einsum("...i,...ij,...j->...", fitted, gram, fitted)
    return Evidence(starts, ends, rises_s, falls_s, np.where(can_be, log, -np.inf), fitted, left / weight.sum())


def fitted_curve(series: Series, found: Evidence) -> Floats:
    """The curve of the place with the most evidence, at the middle of each mean, shape (n,) [/min]."""
    first, last, rise, fall = found.best
    rest, up, drift, stays, ahead = found.fitted[found.best]
    since = (np.arange(len(series.bpm)) + 0.5 - found.starts[first]) * series.step_s
    behind = (np.arange(len(series.bpm)) + 0.5 - found.ends[last]) * series.step_s
    length = float(found.ends[last] - found.starts[first]) * series.step_s

    def working(after_s: Floats | float) -> Floats:
        left = np.exp(-np.asarray(after_s, dtype=np.float64) / found.rises_s[rise])
        return rest + up * (1.0 - left) + drift * after_s + ahead * left

    before = rest + ahead * np.exp(np.minimum(since, 0.0) / AHEAD_S)
    left = np.exp(-np.maximum(behind, 0.0) / found.falls_s[fall])
    after = rest + (working(length) - rest) * left + stays * (1.0 - left)
    return np.where(since < 0, before, np.where(behind < 0, working(np.maximum(since, 0.0)), after))


@dataclass(frozen=True, slots=True)
class _Sums:
    """Sums over a stretch: products of its basis, shape (…, k, k), and its products with the rate, shape (…, k)."""

    basis: Floats
    toward: Floats


def _before(since: Floats, weight: Floats, bpm: Floats) -> _Sums:
    """Before each start, basis 1 and exp(u / 20): shapes (s, 2, 2), (s, 2)."""
    inside = weight * (since < 0)
    basis = np.stack((np.ones_like(since), np.exp(np.minimum(since, 0.0) / AHEAD_S)))
    return _Sums(
        np.einsum("kst,lst,st->skl", basis, basis, inside),
        np.einsum("kst,st->sk", basis, inside * bpm),
    )


def _within(since: Floats, ends: Indices, weight: Floats, bpm: Floats, rises_s: tuple[float, ...]) -> _Sums:
    """From each start to each end, basis 1, exp(−u / τ) and u: shapes (s, e, τ, 3, 3), (s, e, τ, 3)."""
    inside, u = weight * (since > 0), np.maximum(since, 0.0)

    def until(values: Floats) -> Floats:
        return np.pad(np.cumsum(inside * values, axis=1), ((0, 0), (1, 0)))[:, ends]

    count, line, squares, rate, line_rate = (until(each) for each in (np.ones_like(u), u, u * u, bpm + 0 * u, u * bpm))
    basis = np.empty((*count.shape, len(rises_s), 3, 3))
    toward = np.empty((*count.shape, len(rises_s), 3))
    for place, rise_s in enumerate(rises_s):
        decay = np.exp(-u / rise_s)
        first, second, mixed = until(decay), until(decay * decay), until(u * decay)
        rows = ((count, first, line), (first, second, mixed), (line, mixed, squares))
        basis[:, :, place] = np.moveaxis(np.array(rows), (0, 1), (2, 3))
        toward[:, :, place] = np.stack((rate, until(decay * bpm), line_rate), axis=-1)
    return _Sums(basis, toward)


def _after(behind: Floats, weight: Floats, bpm: Floats, falls_s: tuple[float, ...]) -> _Sums:
    """Behind each end, basis 1 and exp(−v / φ): shapes (e, φ, 2, 2), (e, φ, 2)."""
    inside, v = weight * (behind > 0), np.maximum(behind, 0.0)
    decay = np.exp(-v[:, None, :] / np.array(falls_s)[None, :, None])
    basis = np.stack((np.ones_like(decay), decay))
    return _Sums(
        np.einsum("kept,lept,et->epkl", basis, basis, inside),
        np.einsum("kept,et->epk", basis, inside * bpm),
    )


_OF_REST = np.array([[1, 0], [0, 0], [0, 0], [0, 0], [0, 1]], dtype=np.float64)
_OF_WORK = np.array([[1, 0, 0], [1, -1, 0], [0, 0, 1], [0, 0, 0], [0, 1, 0]], dtype=np.float64)
"""How the five make the curve out of the basis of a stretch, shapes (5, 2) and (5, 3)."""


def _joined(
    rest: _Sums, work: _Sums, after: _Sums, length: Floats, rises_s: tuple[float, ...]
) -> tuple[Floats, Floats]:
    """Normal equations of the five for each place of the grid: shapes (s, e, τ, φ, 5, 5) and (s, e, τ, φ, 5)."""
    left = np.exp(-np.maximum(length, 0.0)[:, :, None] / np.array(rises_s))
    of_after = np.zeros((*left.shape, 5, 2))
    of_after[..., REST, 0] = 1.0
    of_after[..., STAYS, :] = (1.0, -1.0)
    of_after[..., RISE, 1], of_after[..., AHEAD, 1] = 1.0 - left, left
    of_after[..., DRIFT, 1] = length[:, :, None]
    early = np.einsum("ik,skl,jl->sij", _OF_REST, rest.basis, _OF_REST)[:, None, None]
    middle = _OF_WORK @ work.basis @ _OF_WORK.T
    late = of_after[:, :, :, None] @ after.basis[None, :, None] @ np.swapaxes(of_after, -1, -2)[:, :, :, None]
    gram = (early + middle)[:, :, :, None] + late
    toward = (rest.toward @ _OF_REST.T)[:, None, None] + work.toward @ _OF_WORK.T
    toward = toward[:, :, :, None] + (of_after[:, :, :, None] @ after.toward[None, :, None, :, :, None])[..., 0]
    return gram, toward
