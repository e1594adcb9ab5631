"""Knocks: the joints of a floor, a kerb, a wheel against a cone. They are short, and no part of a body's rhythm.

Slabs as long as a chair rolls in four seconds knock at it 15 times a minute, and a knock may be stronger than a push.
What tells them apart is their length: a wheel passes a joint in 0.05 to 0.2 s, a push or a step lasts 0.3 s and more.
So the acceleration is held against its own mean over 0.4 s. A knock leaves most of itself there and a push little; and
it stands out from what the movement leaves there all the time, by which quick steps and claps stay what they are.

Out of reach: knocks no stronger than the vibration around them, and knocks less than about 0.8 s apart, which fill so
much of the time that they are the movement: hard steps, beats on a drum.
"""

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from .band import bridged, running_means
from .grid import Grid

SHORT_S, BRIEF_S, AROUND_S = 0.1, 0.4, 3.0
"""Means over these: under the first a sensor's noise goes, the second is longer than a knock, the third than a push."""
SHARP, BESIDE = 0.5, 1.25
"""A knock leaves at least the first share of itself beside the mean over 0.4 s: half a sine wave of 0.2 s leaves 0.68,
one of 0.3 s 0.54, one of 0.5 s 0.26. More than the second is not itself, but the mean of a push that lies beside."""
LEVEL, STANDS_OUT, LEVEL_S = 0.9, 1.5, 12.0
"""... and this many times what the movement around, over 12 s, leaves there in nine tenths of the time. Set on made
knocks of six forms between pushes of 20 to 110 a minute; common practice, no source."""
WEIGHS = 1.5
"""... and its power within the band is this many times that of the rest of the 12 s around: a lesser one cannot make a
rhythm."""
MARGIN_S = 0.12
"""A knock rings on and begins before it is seen."""
_LEAST_SHARE = 0.1
_LEAST_G = 1e-4  # nothing in a signal without noise stands out

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def knocks(grid: Grid, band: Grid) -> Bools:
    """Which samples belong to a knock that would weigh on a rhythm, shape (n,).

    Parameters
    ----------
    grid : values of shape (n, axes) at 24 samples a second or more, if the sensor had as many; NaN in gaps  [g]
    band : ``rhythm_band`` of it  [g]
    """
    count, known = len(grid.values), grid.measured
    if not known.any():
        return np.zeros(count, bool)
    brief, around = _left(bridged(grid.values.T, known), grid.rate_hz)
    brief[~known] = np.nan
    level = np.maximum(_level(brief, max(round(LEVEL_S * grid.rate_hz), 1)), _LEAST_G)
    hit = _sharp(brief, around, level)
    side = round(MARGIN_S * grid.rate_hz)
    return _heavy(np.convolve(hit, np.ones(2 * side + 1), "same") > 0, band, round(grid.rate_hz / band.rate_hz))


def _left(columns: Floats, rate_hz: float) -> tuple[Floats, Floats]:
    """What a signal leaves beside its mean over 0.4 s, and beside that over 3 s, shape (n,) each [g]."""
    lengths = [max(round(rate_hz * length), 1) for length in (SHORT_S, BRIEF_S, AROUND_S)]
    short, brief, around = running_means(columns, lengths)
    return _size(short - brief), _size(short - around)


def _sharp(brief: Floats, around: Floats, level: Floats) -> Bools:
    """Where what is left beside 0.4 s is enough of what is left beside 3 s, and of what usually is, shape (n,)."""
    with np.errstate(invalid="ignore"):
        return (brief > STANDS_OUT * level) & (brief > SHARP * around) & (brief < BESIDE * around)


def _heavy(hit: Bools, band: Grid, every: int) -> Bools:
    """The stretches that hold more of the band's power than the movement around them, shape (n,)."""
    if not hit.any():
        return hit
    power = np.nan_to_num(np.einsum("ia,ia->i", band.values, band.values))
    calm = band.measured & ~hit[::every][: len(power)]
    (rest,) = running_means(np.stack((power * calm, calm.astype(np.float64))), [max(round(LEVEL_S * band.rate_hz), 1)])
    around = rest[0] / np.maximum(rest[1], _LEAST_SHARE)
    edges = np.flatnonzero(np.diff(hit, prepend=False, append=False))
    begin, until = edges[::2] // every, -(-edges[1::2] // every)
    sums = np.append(0.0, np.cumsum(power))
    own = (sums[until] - sums[begin]) / (until - begin)
    heavy = own > WEIGHS * around[(begin + until) // 2]
    return np.repeat(
        np.append(np.column_stack((np.zeros(len(heavy), bool), heavy)).ravel(), False),
        np.diff(edges, prepend=0, append=len(hit)),
    )


def _size(columns: Floats) -> Floats:
    """Length of the vector at each moment, shape (n,)."""
    return np.sqrt(np.einsum("ai,ai->i", columns, columns))


def _level(size: Floats, width: int) -> Floats:
    """What nine tenths of the measured samples around each moment stay below, shape (n,)."""
    step = max(width // 4, 1)
    parts = sliding_window_view(size, min(width, len(size)))[::step]
    there = np.sort(parts, axis=1)  # what was not measured comes last
    count = np.isfinite(there).sum(axis=1)
    place = (LEVEL * np.maximum(count - 1, 0)).astype(np.intp)
    levels = np.where(count > 0, there[np.arange(len(there)), place], np.inf)
    return np.interp(np.arange(len(size)), step * np.arange(len(there)) + width / 2, levels)
