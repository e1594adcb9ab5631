"""What still stretches say about a sensor: gravity must be 1 g whichever way it points.

``unit_check`` tells what is wrong and changes nothing: whether to scale a recording is the caller's
decision. ``calibrate`` works out gain and offset where the recording allows it. Swapped axes, or an axis with its sign
turned, cannot be told: the length of the vector stays the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...ingest.recording import Stream
from ...words.message import Message
from ...words.render import english
from ..messages import movement as say
from .grid import Grid, finite, to_grid

WINDOW_S = 1.0
"""Stillness is judged second by second. van Hees et al. (2014) use 10 s: a trial has no such rests (departure)."""
STILL_SHARE = 0.013
"""Still: no axis varies by more than this share of gravity (13 mg of 1 g, van Hees et al. 2014, from memory). A share,
so that it holds in any unit."""
NOISY_SHARE = 0.03
"""A noisier sensor is still in its quietest seconds, up to this share. Common practice: low-cost sensors, 20 mg."""
GRAVITY = 9.80665
UNITS = (
    (GRAVITY, "metric_as_g"),
    (1 / GRAVITY, "g_as_metric"),
    (1000.0, "milli_as_g"),
    (1000.0 / GRAVITY, "milli_as_metric"),
    (0.001, "g_as_milli"),
)
"""Gravity as it shows after a wrong unit, and the mistake, a key of the words for it."""
UNIT_TOLERANCE = 0.2
"""A sensor is off by a tenth at most; two units differ by a factor of nine at least."""
OFF_G = 0.05
"""Gravity that is off by more than this is told: ENMO is off by as much. Common practice, no source."""
NO_GRAVITY_G = 0.5
"""Below this length at rest there is no gravity in the signal."""
CLIP_RUN = 3
"""So many equal extreme samples in a row are a sensor at its limit, not a peak."""
AT_LIMIT = 1e-4
"""Equal to within this share of the extreme."""
CLIP_G = 1.8
"""... if they lie beyond this many times gravity: a resting sensor repeats its values too."""

AXES = ("x", "y", "z")
Floats = NDArray[np.float64]
Extremes = Sequence[tuple[float, float]]
"""Highest and lowest value of each axis [g]."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something wrong with a sensor.

    code : wrong_unit, off_scale, no_gravity, no_stillness, constant_axis, same_axes, clipped
    factor : what the values would have to be divided by; None if a factor mends nothing
    """

    code: str
    message: Message
    factor: float | None = None

    @property
    def sentence(self) -> str:
        """The message in English."""
        return english(self.message)


@dataclass(frozen=True, eq=False)
class Still:
    """The still seconds of a recording: start of each, shape (n,) [s], and mean vector, shape (n, 3) [g]."""

    time_s: Floats
    mean_g: Floats

    @property
    def gravity_g(self) -> float | None:
        """Middle length of the mean vectors [g]; None without stillness."""
        return float(np.median(np.linalg.norm(self.mean_g, axis=1))) if len(self.time_s) else None


def still_stretches(grid: Grid) -> Still:
    """Find the seconds in which nothing moves, in whatever unit the values are.

    Parameters
    ----------
    grid : acceleration with gravity in it, shape (n, 3), NaN in gaps; without gravity nothing is found
    """
    time_s, mean, spread = _seconds(grid)
    length = np.linalg.norm(mean, axis=1)
    share = np.divide(spread, length, out=np.full(len(length), np.inf), where=length > 0)
    quietest = float(np.sort(share)[len(share) // 50]) if len(share) else np.inf
    quiet = share <= max(STILL_SHARE, min(1.5 * quietest, NOISY_SHARE))
    return Still(time_s[quiet], mean[quiet])


def unit_check(stream: Stream, grid: Grid | None = None, still: Still | None = None) -> tuple[Finding, ...]:
    """Say what is wrong with an acceleration stream, as far as still stretches show it; nothing is rescaled.

    Parameters
    ----------
    stream : acceleration, flags set
    grid, still : its grid, and the still stretches of that, if they are at hand
    """
    grid = to_grid(stream) if grid is None else grid
    if grid is None:
        return ()
    good = stream.usable & finite(stream.values)
    values = stream.values if good.all() else stream.values[good]
    extremes = [(float(axis.max()), float(axis.min())) for axis in values.T]  # far quicker than along axis 0
    axes = _axis_findings(values, extremes)
    gravity = (still_stretches(grid) if still is None else still).gravity_g
    return (*_length_findings(grid, gravity), *axes, *_clip_findings(values, extremes, gravity))


def _length_findings(grid: Grid, gravity: float | None) -> tuple[Finding, ...]:
    """What the length of the vector at rest says, or in the quieter half where nothing rests."""
    usual = _usual_length(grid) if gravity is None else gravity
    told = say.sensor_wrong_unit_moving if gravity is None else say.sensor_wrong_unit
    for factor, mistake in UNITS:
        if abs(usual / factor - 1) < UNIT_TOLERANCE and (gravity is not None or factor > 1):
            return (Finding("wrong_unit", told(usual, mistake), factor),)
    if usual < NO_GRAVITY_G:
        return (Finding("no_gravity", say.sensor_no_gravity(usual)),)
    if gravity is None:
        return (Finding("no_stillness", say.SENSOR_NO_STILLNESS),)
    if abs(gravity - 1) > OFF_G:
        return (Finding("off_scale", say.sensor_off_scale(gravity, 1000 * abs(gravity - 1)), gravity),)
    return ()


def _usual_length(grid: Grid) -> float:
    """Middle length of the vector in the quieter half of the seconds."""
    _, mean, spread = _seconds(grid)
    if not len(spread):
        return float(np.median(np.linalg.norm(grid.values[grid.measured], axis=1)))
    quiet = spread <= np.median(spread)
    return float(np.median(np.sqrt((mean[quiet] ** 2).sum(axis=1) + spread[quiet] ** 2)))


def _axis_findings(values: Floats, extremes: Extremes) -> tuple[Finding, ...]:
    """Axes that never change, and axes that are copies of each other."""
    flat = [highest == lowest for highest, lowest in extremes]
    found = [
        Finding("constant_axis", say.sensor_constant_axis(AXES[axis], float(values[0, axis])))
        for axis in np.flatnonzero(flat)
    ]
    for first, second in ((0, 1), (0, 2), (1, 2)):
        alike = not flat[first] and values[0, first] == values[0, second]  # else no look at all of them is needed
        if alike and np.array_equal(values[:, first], values[:, second]):
            found.append(Finding("same_axes", say.sensor_same_axes(AXES[first], AXES[second])))
    return tuple(found)


def _clip_findings(values: Floats, extremes: Extremes, gravity: float | None) -> tuple[Finding, ...]:
    """Axes that stay at their highest or lowest value for several samples."""
    found: list[Finding] = []
    for axis in range(3):
        for extreme in extremes[axis]:
            if not abs(extreme) > CLIP_G * (gravity or 1.0):
                continue
            at_limit = np.abs(values[:, axis] - extreme) <= AT_LIMIT * abs(extreme)
            edges = np.flatnonzero(np.diff(np.concatenate(([False], at_limit, [False]))))
            longest = int((edges[1::2] - edges[::2]).max())
            if CLIP_RUN <= longest < len(values):
                count = int(np.count_nonzero(at_limit))
                found.append(Finding("clipped", say.sensor_clipped(AXES[axis], extreme, longest, count)))
    return tuple(found)


def _seconds(grid: Grid) -> tuple[Floats, Floats, Floats]:
    """``(time, mean vector, spread of the worst axis)`` of each whole second that was measured throughout."""
    size = max(round(WINDOW_S * grid.rate_hz), 2)
    count = len(grid.values) // size
    rows = grid.values[: count * size].reshape(count, size, 3)
    mean = _sums(rows) / size
    whole = np.isfinite(mean).all(axis=1)
    if not whole.all():
        rows, mean = rows[whole], mean[whole]
    spread = np.sqrt(_squares(rows, mean) / (size - 1))
    time_s = grid.start_s + np.flatnonzero(whole) * size / grid.rate_hz
    return time_s, mean, spread.max(axis=1)


def _sums(rows: Floats) -> Floats:
    """Sums over each second of ``rows``, shape (n, samples, 3)."""
    if _axis_by_axis(rows):
        return np.einsum("nsa->na", rows)
    return np.add.reduce(_side_by_side(rows), axis=0, initial=0.0).T


def _squares(rows: Floats, mean: Floats) -> Floats:
    """Sums of squared deviations from the mean of each second."""
    if _axis_by_axis(rows):
        centred = rows - mean[:, None]
        return np.einsum("nsa,nsa->na", centred, centred)
    centred = _side_by_side(rows)
    centred -= mean.T
    return np.add.reduce(np.square(centred, out=centred), axis=0, initial=0.0).T


def _axis_by_axis(rows: Floats) -> bool:
    """Whether each axis lies in one piece of memory."""
    return rows.strides[1] < rows.strides[2]


def _side_by_side(rows: Floats) -> Floats:
    """A copy with all seconds beside each other, shape (samples, 3, n): three axes are too short a row."""
    return rows.transpose(1, 2, 0).copy()
