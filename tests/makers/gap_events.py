"""What a heart may do while nobody measures it: courses of 200 s, one a second, with an event that begins about a gap.

Sizes and times are drawn wider than what is published, from memory: they are there to break a bound, not to be typical.
Nothing here is shared with the code under test.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
SECONDS, GAP_FROM = 200, 100
OWN_RHYTHM = (
    "startle",
    "spasm",
    "stop and restart",
    "sprint and stop",
    "sprint start",
    "hard stop",
    "strain",
    "standing up",
    "faint",
    "breath held",
)
OTHER_RHYTHM = ("run of another rhythm", "pause")


def events(gap_s: int, rng: np.random.Generator) -> dict[str, Floats]:
    """One course for each event, shape (200,) [/min]."""
    time = np.arange(float(SECONDS))
    since = time - (GAP_FROM + rng.uniform(-2, 0.8 * gap_s))
    level, high = rng.uniform(70, 150), rng.uniform(130, 205)
    low = rng.uniform(75, high - 30)
    lasts = rng.uniform(2, max(gap_s, 3))
    inside = (since >= 0) & (since < lasts)
    fast, slow = rng.uniform(8, 30), rng.uniform(8, 40)
    made = {
        "startle": level + rng.uniform(15, 60) * _bump(since, rng.uniform(1, 4), 0.0, rng.uniform(3, 20)),
        "spasm": level + rng.uniform(15, 50) * _bump(since, rng.uniform(2, 6), rng.uniform(3, 20), rng.uniform(3, 15)),
        "stop and restart": _towards(np.where(inside, low, high), fast, slow),
        "sprint and stop": _towards(np.where(inside, high, low), fast, slow),
        "sprint start": level + rng.uniform(30, 215 - level) * _approach(since, rng.uniform(8, 20)),
        "hard stop": high - rng.uniform(20, high - 60) * _approach(since, rng.uniform(9, 25)),
        "strain": level + _strain(since, rng),
        "standing up": rng.uniform(70, 100)
        + rng.uniform(20, 55) * _bump(since, rng.uniform(5, 12), 0.0, rng.uniform(6, 20)),
        "faint": level - rng.uniform(30, 100) * np.clip(since / rng.uniform(8, 20), 0, 1),
        "breath held": level - rng.uniform(20, 70) * _bump(since, rng.uniform(10, 25), 0.0, 4.0),
        "run of another rhythm": np.where(inside, rng.uniform(180, 230), level),
        "pause": np.where((since >= 0) & (since < rng.uniform(2, 4)), 30.0, level),
    }
    wave = rng.uniform(0.5, 3) * np.sin(time / rng.uniform(0.6, 1.2) + rng.uniform(0, 6))
    return {name: np.clip(course + wave, 30.0, 230.0) for name, course in made.items()}


def smoothed(course: Floats, seconds: int) -> Floats:
    """The mean of the last seconds, in whole beats a minute, as a strap writes it."""
    padded = np.concatenate((np.full(seconds - 1, course[0]), course))
    return np.rint(np.convolve(padded, np.ones(seconds) / seconds, "valid"))


def _bump(since: Floats, rise_s: float, stay_s: float, fall_s: float) -> Floats:
    """0 to 1 in a straight line, then back to 0 with a time constant."""
    return np.clip(since / rise_s, 0, 1) * np.exp(-np.maximum(since - rise_s - stay_s, 0) / fall_s)


def _approach(since: Floats, constant_s: float) -> Floats:
    """From 0 at the event towards 1."""
    return 1 - np.exp(-np.maximum(since, 0) / constant_s)


def _towards(target: Floats, up_s: float, down_s: float) -> Floats:
    """A first-order answer to a target that moves."""
    rate, out = target[0], np.empty(len(target))
    for second, aim in enumerate(target):
        rate += (aim - rate) / (up_s if aim > rate else down_s)
        out[second] = rate
    return out


def _strain(since: Floats, rng: np.random.Generator) -> Floats:
    """A rise while the breath is pressed, a fall below the level behind it."""
    lasts = rng.uniform(5, 15)
    rise = np.where(since < lasts, rng.uniform(20, 60) * np.clip(since / lasts, 0, 1), 0.0)
    return rise - np.where(since >= lasts, rng.uniform(10, 40) * np.exp(-(since - lasts) / rng.uniform(4, 12)), 0.0)
