"""One uniform grid for a movement stream: resampled once, with the gaps kept as gaps.

Real sensors jitter, run a little off their nominal rate, and lose samples. Every movement figure is worked out on the
same grid, so that filters mean what they say; where nothing was measured the grid holds NaN, never a guess.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ...ingest.recording import Stream

GAP_STEPS, GAP_S = 2.5, 0.05
"""A step of more than so many usual ones, and of more than this, is a gap: nothing is drawn across it. One late sample
of a quick sensor is none: the quickest movement that is looked at is vibration of 12 Hz, and 0.05 s are little over
half of its period. Common practice, no source."""

_EVEN = 0.02
"""Stamps that lie within this share of a step from an even grid are on it."""

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Grid:
    """Samples at equal steps.

    start_s : time of the first sample  [s]
    rate_hz : samples in a second  [1/s]
    values : ndarray, shape (n,) or (n, 3); NaN where nothing was measured
    """

    start_s: float
    rate_hz: float
    values: Floats

    @property
    def time_s(self) -> Floats:
        """Time of each sample, shape (n,) [s]."""
        return self.start_s + np.arange(len(self.values)) / self.rate_hz

    @property
    def measured(self) -> Bools:
        """Which samples hold a value, shape (n,)."""
        return finite(self.values)

    @property
    def measured_s(self) -> float:
        """How much time the measured samples stand for [s]."""
        return float(np.count_nonzero(self.measured)) / self.rate_hz

    def between(self, from_s: float, until_s: float) -> "Grid":
        """The samples with ``from_s <= time < until_s``."""
        first = max(int(np.ceil((from_s - self.start_s) * self.rate_hz - 1e-6)), 0)
        last = max(int(np.ceil((until_s - self.start_s) * self.rate_hz - 1e-6)), first)
        return Grid(self.start_s + first / self.rate_hz, self.rate_hz, self.values[first:last])

    def runs(self) -> list[tuple[int, int]]:
        """First and one-past-last index of each measured stretch."""
        edges = np.flatnonzero(np.diff(np.concatenate(([False], self.measured, [False]))))
        return [(int(first), int(last)) for first, last in zip(edges[::2], edges[1::2], strict=True)]


def finite(values: Floats) -> Bools:
    """Which samples are numbers on every axis, shape (n,); quicker than a look along three-element rows."""
    if values.ndim == 1:
        return np.isfinite(values)
    found = np.isfinite(values[:, 0])
    for axis in values.T[1:]:
        found &= np.isfinite(axis)
    return found


def block_sums(values: Floats, size: int) -> Floats:
    """Sums of ``size`` samples each, shape (axes, n // size); NaN if one of them is. Samples over are left out.

    Sample by sample for all blocks at once: five times as fast as a sum over so short an axis.
    """
    whole = len(values) // size * size
    out = np.zeros((values.shape[1], whole // size))
    for place in range(size):
        for number, axis in enumerate(values[:whole].T):
            out[number] += axis[place::size]
    return out


@lru_cache(maxsize=1)
def sums_of(grid: Grid, size: int) -> Floats:
    """``block_sums`` of a grid, one axis or more; movement and rhythm ask for the same. Nobody may write to them."""
    out = block_sums(grid.values[:, None] if grid.values.ndim == 1 else grid.values, size)
    out.setflags(write=False)
    return out


def usual_step(time_s: Floats) -> float | None:
    """Mean step between stamps, gaps left out [s]; None for fewer than three stamps.

    The mean, because the median of a jittered or rounded clock is off by the rounding (10 ms stamps of a 400 Hz
    sensor); gaps are steps over 2.5 medians, and are not part of it.
    """
    steps = np.diff(time_s)
    if not (len(steps) and steps.min() > 0):  # else all of them count
        steps = steps[steps > 0]
    if len(steps) < 2:
        return None
    if steps.max() > GAP_STEPS * steps.min():  # else none is above so many medians, and none has to be looked for
        steps = steps[steps <= GAP_STEPS * np.median(steps)]
    return float(steps.mean())


def to_grid(stream: Stream, rate_hz: float | None = None) -> Grid | None:
    """Resample a stream's usable samples by straight lines between neighbours; None if it has no usual step.

    Parameters
    ----------
    stream : values of shape (n,) or (n, 3), flags set
    rate_hz : rate of the grid; None: the stream's own  [1/s]
    """
    good = stream.usable & finite(stream.values)
    whole = bool(good.all())
    time, values = (stream.time, stream.values) if whole else (stream.time[good], stream.values[good])
    step = usual_step(time)
    if step is None:
        return None
    rate = 1.0 / step if rate_hz is None else rate_hz
    first = float(time[0])
    count = int(np.floor((time[-1] - first) * rate + 1e-9)) + 1
    at: Floats = np.arange(count, dtype=np.float64)
    at /= rate
    at += first
    if count == len(time):
        away = time - at
        if np.abs(away, out=away).max() < _EVEN * step:
            return Grid(first, rate, values)
    columns: Floats = values[:, None] if values.ndim == 1 else values
    axes: list[Floats] = [np.interp(at, time, column) for column in columns.T]
    out = np.array(axes).T  # each axis in one piece of memory
    jumps: list[int] = np.flatnonzero(np.diff(time) > max(GAP_STEPS * step, GAP_S)).tolist()
    for jump in jumps:  # from just behind the last sample to just before the next
        low = int(np.searchsorted(at, float(time[jump]) + 0.5 * step, side="right"))
        high = int(np.searchsorted(at, float(time[jump + 1]) - 0.5 * step, side="left"))
        out[low:high] = np.nan
    return Grid(first, rate, out[:, 0] if values.ndim == 1 else out)
