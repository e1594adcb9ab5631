"""Laying a heart rate beside a movement by nothing but the heart's answer to work: rough, and often refused.

A heart heads for a level when work begins and back when it ends, most of the way within a minute: first order with a
time constant of some 20 to 60 s (common practice). The movement, still or moving, is passed through such answers, and
slid along the heart rate. How quickly this heart answers and how late its sensor writes cannot be told from an offset,
so half a second is out of reach by this way: on made hearts the error stays under 15 s, which is what is stated. A
trial with a single beginning and end fits at many offsets and is refused; three stretches of work or more are needed.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...ingest.recording import HEART_ONSET, Placing
from ..messages import trial as say
from .alignment import LEAST_OVERLAP_S, MOST_S, Refusal, activity, judged
from .cross_correlation import match
from .grid import Grid
from .heart_rate_series import mean_around

ANSWERS_S = (20.0, 35.0, 60.0)
"""Time constants that are tried [s]."""
LATE_S = 3.0
"""A heart-rate sensor writes its mean of the last seconds about this late [s]. Common practice, no source."""
WITHIN_S = 15.0
"""Error that was not exceeded on made hearts, rounded up [s]."""
LEAST_CHANGE_BPM = 10.0
"""A heart rate that spreads by less holds no onset [/min], 10th to 90th percentile."""
_APART_S = 40.0
_LEAST_RATIO = 3.0  # of the movement's 90th percentile to its 10th

Floats = NDArray[np.float64]


def by_heart_rate(
    grid: Grid, start_s: ArrayLike, held_s: ArrayLike, bpm: ArrayLike, most_s: float = MOST_S
) -> Placing | Refusal:
    """Offset of a heart rate's clock against a movement's.

    Parameters
    ----------
    grid : acceleration, shape (n, 3)  [g]
    start_s, held_s, bpm : array_like, shape (n,)
        where each heart rate begins to stand [s], for how long [s], and its value [/min], on its own clock
    most_s : offsets are looked for up to this far either way  [s]
    """
    begin, level = activity(grid, 1.0, 1.0)
    start = np.asarray(start_s, dtype=np.float64)
    at: Floats = np.arange(start[0], start[-1] + 1.0, dtype=np.float64) if len(start) else start
    heart = mean_around(start_s, held_s, bpm, at, 1.0)
    if min(np.count_nonzero(np.isfinite(each)) for each in (level, heart)) < LEAST_OVERLAP_S:
        return Refusal((say.clock_too_little_of_both(LEAST_OVERLAP_S),))
    if _spread(heart) < LEAST_CHANGE_BPM:
        return Refusal((say.clock_level_heart(LEAST_CHANGE_BPM),))
    if _spread(level) < np.log(_LEAST_RATIO):
        return Refusal((say.CLOCK_NO_ONSET,))
    tried = [
        match(answer(level, seconds), begin, heart, float(at[0]), 1.0, most_s, int(LEAST_OVERLAP_S))
        for seconds in ANSWERS_S
    ]
    best = max(tried, key=lambda each: float(each.strength().max()))
    found = judged(best, _APART_S, HEART_ONSET, WITHIN_S, "movement_and_heart")
    if isinstance(found, Refusal):
        return found
    return Placing(
        "",
        found.offset_s + LATE_S,
        found.how,
        WITHIN_S,
        found.confidence,
        notes=(say.clock_of_heart(WITHIN_S),),
    )


def _ends(values: Floats) -> tuple[float, float]:
    """10th and 90th percentile of what was measured."""
    low, high = np.nanpercentile(values, (10, 90)).tolist()
    return low, high


def _spread(values: Floats) -> float:
    low, high = _ends(values)
    return high - low


def answer(level: Floats, constant_s: float) -> Floats:
    """First-order answer to moving or still, one value a second, shape (n,); NaN where nothing was measured.

    Moving is a level above the middle between the 10th and 90th percentile.
    """
    known = np.isfinite(level)
    low, high = _ends(level)
    work = (known & (level > (low + high) / 2)).astype(np.float64)
    out, now = np.empty(len(work)), float(work[0])
    for second, toward in enumerate(work.tolist()):
        now += (toward - now) / constant_s
        out[second] = now
    return np.where(known, out, np.nan)
