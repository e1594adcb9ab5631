"""Named rules that judge movement and waveforms. They set flags; no sample is altered, bridged or deleted.

| rule | what it finds | limit |
| --- | --- | --- |
| dropout | an axis without a value | |
| frozen | all axes stand still to the last bit while the sensor shows noise elsewhere | over 1 s |
| saturated | samples at the largest or smallest value of an axis, several in a row; still used | 3 samples |

A sensor at rest is never still to the last bit, unless it is coarse: where its own quiet seconds are dead, or its
steps are so large that they hide its noise, nothing is called frozen, because stillness of a student is a finding.
A recording that never changes at all is frozen, whatever the sensor.

Saturated samples are used: the truth is at least as large, so that movement, stops and rhythm stand, and only sizes
read low. The limits are common practice, with no source.
"""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from ..flags import Flag
from ..recording import ACCELERATION, ANGULAR_RATE

FROZEN_S = 1.0
QUIET: Mapping[str, float] = {ACCELERATION: 0.02, ANGULAR_RATE: 2.0}
"""Standard deviation of every axis in a second in which the sensor lies still [g], [deg/s]; a waveform has none."""

COARSE: Mapping[str, float] = {ACCELERATION: 0.004, ANGULAR_RATE: 0.25}
"""Steps of a sensor [g], [deg/s] from which its noise may hide in one. Measured: real ones of 0.0039 g never stood
still for more than two samples."""

SMALLEST_RANGE: Mapping[str, float] = {ACCELERATION: 1.5, ANGULAR_RATE: 100.0}
"""Nobody builds a sensor for less: its range begins at 2 g, 125 deg/s. A smaller largest value is no limit."""

CLIPPED_SAMPLES = 3
_CLIPPED_RUNS = 2  # a waveform has no known range: its limit must be reached twice

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def motion_flags(name: str, time_s: Floats, values: Floats) -> NDArray[np.uint16]:
    """Flags of every rule, shape (n,), for samples in order of time.

    Parameters
    ----------
    name : name of the stream, which sets the limits
    time_s : ndarray, shape (n,)  [s]
    values : ndarray, shape (n,) or (n, k)  [the stream's unit]; NaN where the file says "no value"
    """
    axes = np.asfortranarray(values.reshape(len(values), -1))  # each axis in one piece of memory
    whole = _on_every_axis(np.isfinite, axes)
    flags = np.where(whole, np.uint16(0), np.uint16(Flag.DROPOUT))
    kept = slice(None) if whole.all() else np.flatnonzero(whole)
    time_s, axes = time_s[kept], axes[kept]
    if len(axes) > CLIPPED_SAMPLES:
        for flag, found in (
            (Flag.FROZEN, frozen(name, time_s, axes)),
            (Flag.SATURATED, saturated(name, axes)),
        ):
            if found.any():
                flags[kept] |= np.where(found, np.uint16(flag), np.uint16(0))
    return flags


def frozen(name: str, time_s: Floats, axes: Floats) -> Bools:
    """All but the first sample of each stretch that stands still to the last bit for over a second, shape (n,)."""
    found = np.zeros(len(axes), bool)
    first, stop = _stretches(_on_every_axis(lambda axis: axis[1:] == axis[:-1], axes))
    still = time_s[stop - 1] - time_s[first] > FROZEN_S
    if not still.any():
        return found
    for begin, end in zip(first[still].tolist(), stop[still].tolist(), strict=True):
        found[begin + 1 : end] = True
    return found if _shows_noise(name, time_s, axes, found) else np.zeros(len(axes), bool)


def _shows_noise(name: str, time_s: Floats, axes: Floats, found: Bools) -> bool:
    """Tell whether the sensor, where it is not frozen, shows that it is never still to the last bit.

    Asked are its quiet seconds: most must be alive. Without one, its steps must be finer than its noise. A sensor
    that never moves by a bit, and a wave that stands still, are dead in any case.
    """
    alive = axes[~found]
    size = max(2, round(1.0 / max(float(np.median(np.diff(time_s))), 1e-3)))
    if name not in QUIET or len(alive) < size:
        return True
    seconds = alive[: len(alive) // size * size].reshape(-1, size, axes.shape[1])
    quiet = seconds[seconds.std(axis=1).max(axis=1) < QUIET[name]]
    if len(quiet):
        return bool((np.ptp(quiet, axis=1).max(axis=1) > 0).mean() > 0.5)
    step = np.abs(np.diff(alive, axis=0))
    step = step[step > 0]
    return bool(len(step) and np.percentile(step, 1) < COARSE[name])


def saturated(name: str, axes: Floats) -> Bools:
    """Samples that stand at an axis's own limit, three or more in a row, shape (n,)."""
    found = np.zeros(len(axes), bool)
    for axis in axes.T:
        for limit in (axis.min(), axis.max()):
            if abs(limit) < SMALLEST_RANGE.get(name, 0.0):
                continue
            at = axis == limit
            first, stop = _stretches(at[1:] & at[:-1])
            runs = stop - first >= CLIPPED_SAMPLES
            if np.count_nonzero(runs) < (1 if name in SMALLEST_RANGE else _CLIPPED_RUNS):
                continue
            for begin, end in zip(first[runs].tolist(), stop[runs].tolist(), strict=True):
                found[begin:end] = True
    return found


def _on_every_axis(test: Callable[[Floats], Bools], axes: Floats) -> Bools:
    """Where a test of each axis, shape (n,), holds for all of them; quicker than a look along short rows."""
    found = test(axes[:, 0])
    for axis in axes.T[1:]:
        found &= test(axis)
    return found


def _stretches(same: Bools) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Where stretches of equal samples begin and stop; ``same`` tells of each sample but the first, shape (n - 1,)."""
    edge = np.flatnonzero(np.diff(np.concatenate(([False], same, [False]))))
    return edge[::2], edge[1::2] + 1
