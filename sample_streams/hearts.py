"""Made-up hearts: second by second, the rate that a perfect sensor would write."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Effort:
    """A stretch of the test: how long it lasts and the rate the heart heads for.  [s], [beats/min]."""

    seconds: int
    toward_bpm: float


def heart(
    efforts: tuple[Effort, ...], start_bpm: float, rng: np.random.Generator, slow_s: float = 35.0, wander: float = 1.6
) -> NDArray[np.int64]:
    """Whole beats per minute for each second: a first-order answer to effort, with a slow wander on top.

    slow_s : time constant of the answer [s]; wander : standard deviation of the wander [beats/min]
    """
    target = np.concatenate([np.full(effort.seconds, effort.toward_bpm) for effort in efforts])
    rate, drift = start_bpm, 0.0
    found = np.empty(len(target))
    for second, toward in enumerate(target):
        rate += (toward - rate) / slow_s
        drift = 0.92 * drift + rng.normal(0.0, wander * np.sqrt(1 - 0.92**2))
        found[second] = rate + drift
    return np.rint(found).astype(np.int64)


def beats(bpm: NDArray[np.int64], rng: np.random.Generator) -> Floats:
    """RR intervals that follow a rate, with a little variation from beat to beat, in whole ms.  [s]."""
    intervals, now = [], 0.0
    while now < len(bpm) - 1:
        interval = 60.0 / bpm[int(now)] * (1 + rng.normal(0.0, 0.02))
        intervals.append(round(interval, 3))
        now += intervals[-1]
    return np.array(intervals)
