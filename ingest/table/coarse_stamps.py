"""Many samples under one time stamp: a recorder that stamps more coarsely than it samples.

Movement and waveforms are often written with whole seconds, with the tick of a computer's clock, or with one stamp
for each packet. Such samples are no duplicates. They keep the order of the file and are spread evenly until the
next stamp; the note says so, because within one stamp nobody knows better.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

LEAST_SHARE = 0.1
"""Share of rows under the stamp of the row before, with other values, from which a recorder is called coarse. Our
own choice: a stamp repeated by accident is far rarer, a clock that ticks 1.2 times a sample repeats it 0.17 times."""

_USUAL = 1.5  # a step of at most so many usual ones is no gap
_FEW = 3.0  # samples to a stamp from which a short first stamp is told from a slow one

Floats = NDArray[np.float64]


def spread(time_s: ArrayLike, values: ArrayLike) -> tuple[Floats, float | None]:
    """Times of samples that share stamps, and how many do; the times as they are, and None, where the stamps are fine.

    Parameters
    ----------
    time_s : array_like, shape (n,)
        [s], finite, in the order of the file
    values : array_like, shape (n,) or (n, k)
        rows that are repeated with their stamp, value for value, are true duplicates and do not count

    Returns
    -------
    ndarray, shape (n,)  [s]
        Samples of a stamp stand evenly from it to the next. Before a gap, and at the end, they stand at the usual
        interval. A first stamp with fewer samples than usual began before its time: they are laid at its end.
    float or None
        how many samples share a stamp on average
    """
    time = np.asarray(time_s, np.float64)
    if not is_coarse(time, np.asarray(values, np.float64)):
        return time, None
    first = np.append(0, np.flatnonzero(np.diff(time) != 0) + 1)
    stamp, count = time[first], np.diff(np.append(first, len(time)))
    step = np.append(np.diff(stamp), np.inf)
    usual_s = float(np.median(step[(step > 0) & np.isfinite(step)])) if (step[:-1] > 0).any() else 0.0
    if not usual_s:
        return time, None
    whole = (step > 0) & (step <= _USUAL * usual_s)
    asked = whole.copy()
    asked[0] &= np.count_nonzero(whole) == 1  # the first stamp may be short
    usual_interval_s = float(step[asked].sum() / count[asked].sum())
    most_s = np.where(step > 0, step, usual_s) / count
    interval = np.where(whole, most_s, np.minimum(most_s, usual_interval_s))
    begin = stamp.copy()
    if whole[0] and count[0] * usual_interval_s < step[0] and usual_s >= _FEW * usual_interval_s:
        interval[0] = usual_interval_s
        begin[0] += step[0] - count[0] * usual_interval_s
    place = np.arange(len(time)) - np.repeat(first, count)
    spread_s = np.repeat(begin, count) + place * np.repeat(interval, count)
    return spread_s, usual_s / usual_interval_s


def is_coarse(time_s: Floats, values: Floats) -> bool:
    """Tell whether so many neighbours share a stamp, with different values, that it cannot be an accident."""
    same = np.diff(time_s) == 0
    if len(time_s) < 3 or np.count_nonzero(same) < LEAST_SHARE * len(same):
        return False
    changed = np.diff(values, axis=0) != 0  # NaN differs from anything, as an empty cell should
    changed = changed if changed.ndim == 1 else changed.any(axis=1)
    return bool(np.count_nonzero(same & changed) >= LEAST_SHARE * len(same))


def spread_rows(time_s: Floats, values: Floats, rows: NDArray[np.bool_]) -> tuple[Floats, float | None]:
    """Like ``spread`` for the chosen rows of a table, shape (n,); the times of other rows stay."""
    if not rows.any():
        return time_s, None
    spread_s, shared = spread(time_s[rows], values[rows])
    if shared is None:
        return time_s, None
    whole = time_s.copy()
    whole[rows] = spread_s
    return whole, shared
