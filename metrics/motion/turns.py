"""Turns of the chair from angular rate: when, to which side, how far.

The rate about the vertical is what counts. Where acceleration was recorded beside it, gravity says which way is up,
however the sensor is mounted; without it the axis with most rotation is taken and left cannot be told from right.
Seated turns only: a sensor on a limb turns with the limb.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from .edges import Runs, painted, runs
from .envelope import Means, running_sum, short_means
from .grid import Grid

LEAST_DEG = 45.0
"""A turn is a rotation of at least this. Common practice, no source; adjustable."""
WITHIN_S = 8.0
"""... within this time: a wide curve that takes longer is no turn. Common practice, no source; adjustable."""
STEP_S = 0.05
SMOOTH_S = 0.5
"""The rate is smoothed over this: each push on a wheel makes a chair nod left and right once or twice a second."""
SLOWEST = LEAST_DEG / WITHIN_S
"""Rotation slower than the slowest turn is none  [deg/s]."""
NOD_DEG = 8.0
"""A rotation smaller than this neither makes nor ends a turn."""
LULL_S = 0.8
"""Rotation that goes on in the same direction within this time is the same turn."""
UP_S = 4.0
"""Gravity is averaged over this: a chair that turns is pushed sideways for a second or two."""
MOST_BIAS = 8.0
"""No gyroscope in use reads more than this at rest; a steady rate above it is a turn  [deg/s]. From memory."""

Floats = NDArray[np.float64]
Side = Literal["left", "right"]


@dataclass(frozen=True, slots=True)
class Turn:
    """One rotation in one direction.

    degrees : positive counter-clockwise seen from above, if ``side`` is known; else of either sign
    side : None where nothing says which way is up
    """

    from_s: float
    until_s: float
    degrees: float
    side: Side | None


def turns(
    rate: Grid, acceleration: Grid | None = None, *, least_deg: float = LEAST_DEG, within_s: float = WITHIN_S
) -> tuple[Turn, ...]:
    """Find the turns. A turn that a gap cuts into counts only for what was measured of it.

    Parameters
    ----------
    rate : angular rate, shape (n, 3), NaN in gaps  [deg/s]
    acceleration : of the same sensor, at rest +1 g along the axis that points up, shape (m, 3)  [g]
    """
    means = short_means(rate, STEP_S)
    if not means.measured.any():
        return ()
    about_up = _about_vertical(means, acceleration)
    smooth = _smoothed(about_up, means, SMOOTH_S)
    found = _one_way(np.sign(smooth) * (np.abs(smooth) > SLOWEST), about_up, means)
    total = np.concatenate(([0.0], np.cumsum(about_up) * means.step_s))
    reach = max(int(within_s / means.step_s), 1)
    out: list[Turn] = []
    for first, last in zip(found.first[found.state != 0], found.last[found.state != 0], strict=True):
        degrees = float(total[last] - total[first])
        span = total[first : last + 1]
        most = float(np.abs(span[reach:] - span[:-reach]).max()) if len(span) > reach else abs(degrees)
        if most >= least_deg:
            side = None if acceleration is None else "left" if degrees > 0 else "right"
            begin, end = (means.start_s + edge * means.step_s for edge in (int(first), int(last)))
            out.append(Turn(begin, end, degrees, side))
    return tuple(out)


def _about_vertical(means: Means, acceleration: Grid | None) -> Floats:
    """Rate about the vertical, its bias taken off, 0 where not measured, shape (n,) [deg/s]."""
    unbiased = means.values - _bias(means)[:, None]
    unbiased[:, ~means.measured] = 0.0
    if acceleration is None:
        _, axes = np.linalg.eigh(unbiased @ unbiased.T)
        up = axes[:, -1] * np.sign(axes[np.argmax(np.abs(axes[:, -1])), -1])
        return up @ unbiased
    return np.einsum("an,an->n", _up(means, acceleration), unbiased)


def _up(means: Means, acceleration: Grid) -> Floats:
    """Unit vector that points up, at each short mean of the rate, shape (3, n)."""
    coarse = short_means(acceleration, 5 * STEP_S)
    width = coarse.odd_steps(UP_S)
    count = running_sum(coarse.measured.astype(float), width)
    gravity = np.stack([running_sum(axis, width) for axis in coarse.values])
    known = count > 0
    if not known.any():
        return np.zeros((3, len(means.measured)))
    at = coarse.start_s + (np.flatnonzero(known) + 0.5) * coarse.step_s
    wanted = means.start_s + (np.arange(len(means.measured)) + 0.5) * means.step_s
    axes: list[Floats] = [np.interp(wanted, at, axis[known] / count[known]) for axis in gravity]
    up = np.stack(axes)
    return up / np.maximum(np.linalg.norm(up, axis=0), 1e-9)


def _bias(means: Means) -> Floats:
    """What the gyroscope reads at rest, from its steadiest seconds, shape (3,) [deg/s]; 0 if it never rests."""
    width = means.odd_steps(1.0)
    count = np.maximum(running_sum(means.measured.astype(float), width), 1.0)
    mean = np.stack([running_sum(axis, width) for axis in means.values]) / count
    square = np.stack([running_sum(axis * axis, width) for axis in means.values]) / count
    spread = np.sqrt(np.maximum(square - mean**2, 0.0).sum(axis=0))
    resting = means.measured & (count >= 0.5 * width) & (np.abs(mean).max(axis=0) < MOST_BIAS)
    if not resting.any():
        return np.zeros(3)
    steady = resting & (spread <= 1.5 * np.quantile(spread[resting], 0.1))
    return np.median(mean[:, steady], axis=1)


def _smoothed(values: Floats, means: Means, smooth_s: float) -> Floats:
    width = means.odd_steps(smooth_s)
    return running_sum(values, width) / np.maximum(running_sum(means.measured.astype(float), width), 1.0)


def _one_way(direction: Floats, about_up: Floats, means: Means) -> Runs:
    """Runs of rotation in one direction: nods taken out, those of one direction joined across a lull."""
    state = direction.astype(np.int8)
    state[~means.measured] = 0
    found = runs(state)
    degrees = np.add.reduceat(about_up, found.first) * means.step_s
    found = runs(painted(found, np.where(np.abs(degrees) < NOD_DEG, np.int8(0), found.state)))
    gap = np.add.reduceat((~means.measured).astype(np.int8), found.first, dtype=np.intp) > 0
    before, after = np.roll(found.state, 1), np.roll(found.state, -1)
    join = (found.state == 0) & (before == after) & ~gap & (found.length <= means.steps(LULL_S))
    join[[0, -1]] = False
    return runs(painted(found, np.where(join, before, found.state)))
