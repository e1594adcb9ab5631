"""Hearts that answer movement, and optical sensors that follow the movement instead: the truth, second by second.

Nothing here is shared with the code under test.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Spans = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Heart:
    """A heart: a first-order answer to work, a slow drift, and the swings of breathing and of blood pressure.

    rest_bpm, work_bpm : where it heads at rest and at work  [/min]
    rise_s, fall_s : time constants  [s]
    drift_bpm : further rise over ten minutes of work  [/min]
    wander_bpm : standard deviation of the swings  [/min]
    """

    rest_bpm: float = 80.0
    work_bpm: float = 125.0
    rise_s: float = 30.0
    fall_s: float = 45.0
    drift_bpm: float = 5.0
    wander_bpm: float = 2.0


def heart(life: Heart, moving: Spans, seconds: int, rng: np.random.Generator) -> Floats:
    """True rate at each second, shape (seconds,) [/min]."""
    work = spans_mask(moving, np.arange(seconds))
    rate, drift, out = life.rest_bpm, 0.0, np.empty(seconds)
    for second in range(seconds):
        toward = life.work_bpm if work[second] else life.rest_bpm
        rate += (toward - rate) / (life.rise_s if toward > rate else life.fall_s)
        drift += life.drift_bpm / 600.0 if work[second] else 0.0
        out[second] = rate + drift
    breathing = np.sin(2 * np.pi * np.cumsum(0.25 * (1 + 0.2 * rng.standard_normal(seconds))))
    return out + life.wander_bpm * (0.8 * wandering(seconds, 8.0, rng) + 0.6 * breathing)


def wandering(seconds: int, memory_s: float, rng: np.random.Generator) -> Floats:
    """A first-order random walk back to 0, standard deviation 1, shape (seconds,)."""
    keep, past = np.exp(-1.0 / memory_s), round(6 * memory_s)
    kicks = rng.standard_normal(seconds + past) * np.sqrt(1 - keep**2)
    return np.convolve(kicks, keep ** np.arange(past), "valid")[:seconds]


def cadence(
    per_minute: float,
    moving: Spans,
    seconds: int,
    rng: np.random.Generator,
    *,
    share: float = 0.03,
    memory_s: float = 30.0,
) -> Floats:
    """Cadence at each second, wandering by ``share`` of itself; NaN where nothing moves, shape (seconds,) [/min]."""
    found = per_minute * (1 + share * wandering(seconds, memory_s, rng))
    return np.where(spans_mask(moving, np.arange(seconds)), found, np.nan)


def locked(true_bpm: Floats, per_minute: Floats, times: int, when: Spans) -> Floats:
    """What reaches an optical sensor that follows ``times`` the cadence for a while."""
    follow = spans_mask(when, np.arange(len(true_bpm))) & np.isfinite(per_minute)
    return np.where(follow, times * np.nan_to_num(per_minute), true_bpm)


def shown(
    bpm: Floats, rng: np.random.Generator, *, smooth_s: int = 5, late_s: int = 3, noise_bpm: float = 0.5
) -> Floats:
    """Whole beats a minute as a sensor writes them: a mean of the last seconds, late, and a little wrong."""
    padded = np.concatenate((np.full(smooth_s + late_s - 1, bpm[0]), bpm))
    smooth = np.convolve(padded, np.ones(smooth_s) / smooth_s, "valid")[: len(bpm)]
    return np.rint(smooth + noise_bpm * rng.standard_normal(len(bpm)))


def seen(per_minute: Floats, rng: np.random.Generator, *, error: float = 0.004) -> tuple[Floats, Floats]:
    """The cadence as windows of 8 s, 2 s apart, find it: ``(time_s, per_minute)``."""
    known = np.isfinite(per_minute).astype(np.float64)
    nine = np.ones(9)
    count, total = np.convolve(known, nine, "same"), np.convolve(np.nan_to_num(per_minute), nine, "same")
    found = np.where(count >= 5, total / np.maximum(count, 1), np.nan)[::2]
    return np.arange(0.0, len(per_minute), 2.0), found * (1 + error * rng.standard_normal(len(found)))


def spans_mask(spans: Spans, time_s: NDArray[np.generic]) -> Bools:
    """Which moments lie in a span."""
    inside = np.zeros(len(time_s), bool)
    for begin, until in spans:
        inside |= (time_s >= begin) & (time_s < until)
    return inside
