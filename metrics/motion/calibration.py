"""Gain and offset of a sensor from its own still stretches: gravity must lie on a sphere of 1 g.

Source: van Hees et al. (2014), auto-calibration. Departures: stillness of 1 s instead of 10 s, and each posture counts
once however long it was held, because a trial is short and mostly spent in one posture.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .envelope import MG_PER_G
from .gravity import Still

SPREAD_G = 0.3
"""Postures must reach beyond this, up and down, on all axes. van Hees et al. (2014), from memory."""
LEAST_POSTURES = 9
"""Six unknowns need more than six postures; with half as many again an error still shows. Common practice."""
SAME_POSTURE_G = 0.15
"""Mean vectors closer than this, some 9 degrees, are one posture."""
SCALE_G = 0.01
"""With one posture the scale is set only if gravity is off by more than this: less is temperature and noise."""
_ROUNDS = 1000
_SETTLED = 1e-10

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Calibration:
    """What turns readings into calibrated ones: ``reading · gain + offset``, axis by axis.

    method : axes (gain and offset of each), scale (one gain for all), none (left as it is)
    gain, offset_g : for x, y, z  [1], [g]
    error_before_mg, error_after_mg : mean distance of gravity from 1 g over the postures; None without stillness  [mg]
    postures : how many different ones were held
    """

    method: str
    gain: tuple[float, float, float]
    offset_g: tuple[float, float, float]
    error_before_mg: float | None
    error_after_mg: float | None
    postures: int

    def apply(self, values_g: Floats) -> Floats:
        """Calibrated values, shape (n, 3) [g]."""
        return values_g * np.array(self.gain) + np.array(self.offset_g)


def calibrate(still: Still) -> Calibration:
    """Work out gain and offset of each axis if the postures allow it, else one scale if that is needed.

    Parameters
    ----------
    still : still seconds in g, roughly: set the unit right first (``gravity.unit_check``)
    """
    points = _postures(still.mean_g)
    if not len(points):
        return Calibration("none", (1.0, 1.0, 1.0), (0.0, 0.0, 0.0), None, None, 0)
    before = _error_mg(points)
    if _spread_enough(points):
        gain, offset = _closest_sphere(points)
        after = _error_mg(points * gain + offset)
        if after < before:
            return Calibration("axes", _three(gain), _three(offset), before, after, len(points))
    scale = 1.0 / float(np.median(np.linalg.norm(still.mean_g, axis=1)))
    after = _error_mg(points * scale)
    if abs(1 / scale - 1) > SCALE_G and after < before:
        return Calibration("scale", (scale, scale, scale), (0.0, 0.0, 0.0), before, after, len(points))
    return Calibration("none", (1.0, 1.0, 1.0), (0.0, 0.0, 0.0), before, before, len(points))


def _postures(mean_g: Floats) -> Floats:
    """Mean of all the seconds in each posture, shape (m, 3); empty without any."""
    left = mean_g
    found: list[Floats] = []
    while len(left):
        near = np.linalg.norm(left - left[0], axis=1) < SAME_POSTURE_G
        found.append(left[near].mean(axis=0))
        left = left[~near]
    return np.array(found)


def _spread_enough(points: Floats) -> bool:
    reached = (points.min(axis=0) < -SPREAD_G) & (points.max(axis=0) > SPREAD_G)
    return len(points) >= LEAST_POSTURES and bool(reached.all())


def _closest_sphere(points: Floats) -> tuple[Floats, Floats]:
    """Draw each point to the closest one on the unit sphere, fit a straight line an axis, and again."""
    gain, offset = np.ones(3), np.zeros(3)
    for _ in range(_ROUNDS):
        moved = points * gain + offset
        target = moved / np.linalg.norm(moved, axis=1, keepdims=True)
        centre_x, centre_y = moved.mean(axis=0), target.mean(axis=0)
        spread = ((moved - centre_x) ** 2).sum(axis=0)
        slope = ((moved - centre_x) * target).sum(axis=0) / spread  # distances from a centre add up to nothing
        shift = centre_y - slope * centre_x
        gain, offset = gain * slope, offset * slope + shift
        if np.abs(slope - 1).max() + np.abs(shift).max() < _SETTLED:
            break
    return gain, offset


def _error_mg(points: Floats) -> float:
    return MG_PER_G * float(np.abs(np.linalg.norm(points, axis=1) - 1).mean())


def _three(values: Floats) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])
