"""Sliding one slow series along another: their correlation at every offset, gaps left out, and how sure its top is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LEAST_INDEPENDENT = 10.0
"""With fewer independent pairs a correlation of 0.99 is still chance: two recordings with one start and stop each."""
_TINY = 1e-12

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Match:
    """Correlation of two series at every offset.

    offset_s : what is added to the second series' time, shape (k,)  [s]
    r : correlation over the time that both measured, shape (k,); -1 where that is too short
    pairs : samples that both measured, shape (k,)
    memory : samples over which the series are like themselves: one independent pair for each
    """

    offset_s: Floats
    r: Floats
    pairs: Floats
    memory: float

    def best(self) -> int:
        """Index of the strongest correlation: a high one over a short overlap is worth less."""
        return int(np.argmax(self.strength()))

    def strength(self) -> Floats:
        """Correlation on Fisher's scale in standard errors, shape (k,): what chance seldom brings above 4."""
        independent = self.pairs / self.memory
        errors = np.where(independent >= LEAST_INDEPENDENT, np.sqrt(np.maximum(independent - 3.0, 0.0)), 0.0)
        return np.arctanh(np.clip(self.r, -1 + _TINY, 1 - _TINY)) * errors

    def rival(self, apart_s: float) -> float:
        """The highest strength further than ``apart_s`` from the best; 0 if there is none."""
        strength = self.strength()
        far = strength[np.abs(self.offset_s - self.offset_s[self.best()]) > apart_s]
        return max(float(far.max()), 0.0) if len(far) else 0.0

    def top_s(self) -> float:
        """Offset of the best, between the samples by a parabola  [s]."""
        place = self.best()
        if 0 < place < len(self.r) - 1:
            left, middle, right = self.r[place - 1 : place + 2]
            bend = left - 2 * middle + right
            if left > -1 and right > -1 and bend < 0:
                step = self.offset_s[1] - self.offset_s[0]
                return float(self.offset_s[place] + 0.5 * step * (left - right) / bend)
        return float(self.offset_s[place])


def match(
    first: Floats, first_start_s: float, second: Floats, second_start_s: float, step_s: float, most_s: float, least: int
) -> Match:
    """Correlate two series of equal step at every offset up to ``most_s`` either way.

    Parameters
    ----------
    first, second : shape (n,), (m,); NaN where nothing was measured
    first_start_s, second_start_s : time of their first samples, each on its own clock  [s]
    least : pairs that an offset must leave
    """
    size = 1 << (len(first) + len(second)).bit_length()
    (one, one_square, one_known), (other, other_square, other_known) = (
        _spectra(each, size) for each in (first, second)
    )

    def slid(left: NDArray[np.complex128], right: NDArray[np.complex128]) -> Floats:
        return np.fft.irfft(left * np.conj(right), size)

    pairs = np.maximum(np.rint(slid(one_known, other_known)), 1.0)
    mean_one, mean_other = slid(one, other_known) / pairs, slid(one_known, other) / pairs
    spread_one = np.maximum(slid(one_square, other_known) / pairs - mean_one**2, 0.0)
    spread_other = np.maximum(slid(one_known, other_square) / pairs - mean_other**2, 0.0)
    shared = slid(one, other) / pairs - mean_one * mean_other
    whole = np.sqrt(spread_one * spread_other)
    good = (pairs >= least) & (whole > 1e-9)
    r = np.where(good, shared / np.maximum(whole, _TINY), -1.0)
    lags = np.arange(-len(second) + 1, len(first))
    offset: Floats = np.asarray(first_start_s - second_start_s + lags * step_s, dtype=np.float64)
    near = np.abs(offset) <= most_s
    lags = lags[near]
    memory = max(min(_memory(first), _memory(second)), 1.0)
    return Match(offset[near], np.clip(r[lags % size], -1.0, 1.0), pairs[lags % size], memory)


def _spectra(series: Floats, size: int) -> tuple[NDArray[np.complex128], ...]:
    """Transforms of the values, their squares, and the mask, gaps as 0."""
    known = np.isfinite(series)
    level = float(series[known].mean()) if known.any() else 0.0
    filled = np.where(known, series - level, 0.0)
    return tuple(np.fft.rfft(row, size) for row in (filled, filled**2, known.astype(np.float64)))


def _memory(series: Floats) -> float:
    """Sum of the squared autocorrelation, both ways, in samples: by how much neighbours are no news."""
    known = np.isfinite(series)
    if np.count_nonzero(known) < 3:
        return float(len(series))
    filled = np.where(known, series - series[known].mean(), 0.0)
    size = 1 << (2 * len(series)).bit_length()
    power = np.fft.irfft(np.abs(np.fft.rfft(filled, size)) ** 2, size)[: len(series) // 3 + 1]
    if power[0] <= 0:
        return float(len(series))
    like = power / power[0]
    return float(1.0 + 2.0 * np.sum(like[1:] ** 2))
