"""How much the acceleration changes from moment to moment, whichever way the sensor is mounted.

Short means (20 to 33 a second) thin the samples out; the spread of these means inside half a second, all three axes
together, is the envelope. A window of finite length forgets gravity and posture at once: a filter would ring for
seconds behind a strong movement and blur its end.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .grid import Grid, finite, sums_of

MG_PER_G = 1000.0
WINDOW_S = 0.5
"""Length over which the spread is taken: long enough to hold a quarter of the slowest cadence's swing (0.33 Hz),
short enough to see a pause of one second. Common practice, no source."""

_LEAST_NOISE = 25  # fewer samples cannot tell noise from vibration
_RESAMPLED = 0.3  # resampling by straight lines makes neighbours as alike as this
_NOISE_MOST = 0.1  # 50 samples of noise, the least there are, reach this once in 500 times

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Means:
    """Means of short equal stretches.

    start_s, step_s : begin of the first stretch, length of each  [s]
    values : ndarray, shape (3, n), 0 where not measured  [g]
    measured : ndarray of bool, shape (n,), at least half of the stretch's samples have a value
    """

    start_s: float
    step_s: float
    values: Floats
    measured: Bools

    def steps(self, seconds: float) -> int:
        """How many stretches come nearest to a length, at least 1."""
        return max(round(seconds / self.step_s), 1)

    def odd_steps(self, seconds: float) -> int:
        """The same, odd, so that a window has a middle."""
        return 2 * round((seconds / self.step_s - 1) / 2) + 1


def short_means(grid: Grid, step_s: float) -> Means:
    """Means over the whole number of samples nearest to ``step_s``, of those that were measured if half of them were.

    Parameters
    ----------
    grid : values of shape (n, 3), NaN in gaps  [g]
    step_s : wished length of a mean; one sample if the samples lie further apart  [s]
    """
    size = max(round(step_s * grid.rate_hz), 1)
    out = sums_of(grid, size) / size
    measured: Bools = np.asarray(np.isfinite(out).all(axis=0))
    for place in np.flatnonzero(~measured):
        block = grid.values[place * size : (place + 1) * size]
        known = finite(block)
        measured[place] = 2 * np.count_nonzero(known) >= size
        out[:, place] = block[known].mean(axis=0) if measured[place] else 0.0
    return Means(grid.start_s - 0.5 / grid.rate_hz, size / grid.rate_hz, out, measured)


def smoothed(means: Means, smooth_s: float) -> Means:
    """Running mean of an odd number of stretches: takes tremor and hum out. Unmeasured ones do not enter."""
    width = means.odd_steps(smooth_s)
    if width == 1:
        return means
    count = _counts(means.measured, width)
    values = np.empty_like(means.values)
    for axis, out in zip(means.values, values, strict=True):
        np.divide(running_sum(axis, width), count, out=out)
    if not means.measured.all():
        values[:, ~means.measured] = 0.0
    return Means(means.start_s, means.step_s, values, means.measured)


def changes(means: Means, going: Bools) -> Means:
    """From one stretch to the next, on the scale of the values: slow sway is weak in it, steps are as strong as before.

    Parameters
    ----------
    going : ndarray of bool, shape (n,), the stretches over which both are to be equally strong
    """
    values = np.diff(means.values, axis=1, prepend=means.values[:, :1])
    pair = means.measured.copy()
    pair[1:] &= means.measured[:-1]
    values[:, ~pair] = 0.0
    going = going & pair
    if going.any():
        strong, weak = (float(np.var(rows[:, going], axis=1).sum()) for rows in (means.values, values))
        values *= np.sqrt(strong / weak) if weak > 0 else 1.0
    return Means(means.start_s, means.step_s, values, means.measured)


def envelope(means: Means, window_s: float = WINDOW_S) -> Floats:
    """Spread about the local mean, √(Σ over axes of the variance) in a window around each stretch.

    Returns
    -------
    ndarray, shape (n,)  [mg]; NaN where less than half of the window was measured
    """
    width = means.odd_steps(window_s)
    count = _counts(means.measured, width)
    square = np.zeros(len(means.measured))
    mean_square = np.zeros(len(means.measured))
    for axis in means.values:
        centred = axis - (axis.mean() if len(axis) else 0.0)  # small numbers, small rounding
        if not means.measured.all():
            centred[~means.measured] = 0.0
        mean = running_sum(centred, width) / count
        mean_square += mean * mean
        square += np.square(centred, out=centred)
    variance = running_sum(square, width) / count - mean_square
    out = MG_PER_G * np.sqrt(np.maximum(variance, 0.0, out=variance))
    out[~means.measured | (count < min(width / 2, np.count_nonzero(means.measured)))] = np.nan
    return out


def quick_envelope(means: Means, window_s: float) -> Floats:
    """Spread about a local parabola, √(Σ over axes of the mean square that it leaves): what is too quick for posture.

    Straight lines bridge what was not measured.

    Returns
    -------
    ndarray, shape (n,)  [mg]; NaN where nothing was measured
    """
    width, count = means.odd_steps(window_s), len(means.measured)
    out = np.full(count, np.nan)
    place = np.flatnonzero(means.measured)
    if count < width or not len(place):
        return out
    basis, _ = np.linalg.qr(np.vander(np.linspace(-1.0, 1.0, width), 3))
    square = np.zeros(count)
    axis: Floats
    for axis in means.values:
        whole = np.interp(np.arange(count), place, axis[place])
        whole -= whole.mean()
        padded = np.pad(whole, width // 2, mode="edge")
        square += np.convolve(padded * padded, np.ones(width), "valid")
        for column in basis.T:
            square -= np.convolve(padded, column[::-1], "valid") ** 2
    out[place] = MG_PER_G * np.sqrt(np.maximum(square[place], 0.0) / width)
    return out


def quietest(level: Floats, means: Means, seconds: float, every_s: float) -> tuple[float, float]:
    """Mean level [mg] and begin [s] of the quietest unbroken stretch; the level is infinite if there is none.

    Parameters
    ----------
    level : envelope of the means, shape (n,), NaN where not known  [mg]
    seconds : length of the stretch; of a shorter recording as much as there is  [s]
    every_s : one value of the level in so many seconds is looked at  [s]
    """
    stride = max(int(every_s / means.step_s), 1)
    level, step_s = level[::stride], stride * means.step_s
    if not len(level):
        return np.inf, means.start_s
    whole = np.isfinite(level)
    width = min(2 * round(seconds / step_s / 2) + 1, max(len(level) - 1 + len(level) % 2, 1))  # odd: it has a middle
    count = running_sum(whole.astype(float), width)
    mean = running_sum(np.where(whole, level, 0.0), width) / np.maximum(count, 1.0)
    mean[~whole | (count < min(width, count.max()))] = np.inf
    place = int(mean.argmin())
    return float(mean[place]), means.start_s + (place + 0.5) * step_s - seconds / 2


def is_noise(values: Floats) -> bool:
    """Whether samples at rest vary as a sensor's own noise does: each without regard to those before it.

    The sum of the first three squared autocorrelations (the portmanteau of Box and Pierce, 1970, from memory). That of
    a chair's vibration of 4 to 12 Hz is 0.2 at 25 samples a second, 0.4 at 32 and more above; that of noise is 3 over
    the number of values.

    Parameters
    ----------
    values : ndarray, shape (n, 3); a NaN in it, and it is no noise
    """
    if len(values) < _LEAST_NOISE:
        return False
    place = np.linspace(-1.0, 1.0, len(values))
    away = values - values.mean(axis=0)
    away -= place[:, None] * (place @ away) / (place @ place)  # posture drifts
    power = float((away * away).sum())
    first, second, third = (float((away[lag:] * away[:-lag]).sum()) / max(power, 1e-30) for lag in (1, 2, 3))
    return min(first, 0.0) ** 2 + max(first - _RESAMPLED, 0.0) ** 2 + second**2 + third**2 < _NOISE_MOST


def running_sum(values: Floats, width: int) -> Floats:
    """Sum over an odd number of neighbours, cut short at the ends, shape (n,)."""
    half, count = width // 2, len(values)
    total = np.zeros(count + 2 * half + 1)
    np.cumsum(values, out=total[half + 1 : half + 1 + count])
    total[half + 1 + count :] = total[half + count]
    return total[width:] - total[:-width]


def _counts(measured: Bools, width: int) -> Floats:
    """How many measured stretches lie in each window, at least 1."""
    if len(measured) < width or not measured.all():
        return np.maximum(running_sum(measured.astype(float), width), 1.0)
    count = np.full(len(measured), float(width))  # at the ends the window is cut short
    at_end = np.arange(width // 2 + 1.0, width)
    count[: len(at_end)], count[len(count) - len(at_end) :] = at_end, at_end[::-1]
    return count
