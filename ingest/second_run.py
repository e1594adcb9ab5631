"""A clock that runs over the same time twice in one file: two recordings in one, or a clock that was set anew.

Stamps that step back a little are put in order. Where a clock steps far back and other values follow for the seconds
that hold some already, nobody can tell which of them are the recording, and sorting would mix two hearts into one.
"""

import numpy as np
from numpy.typing import NDArray

from ..errors import DamagedFile
from ..words.numbers import nearest

STEP_BACK_S = 10.0
"""A clock that steps back by no more is put in order: packets that come late do [common practice]."""
TWICE_S = 10
"""So many whole seconds may be written twice with other values [common practice]."""

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


def refuse_second_run(time_s: Floats, values: Floats, read: Bools, where: str) -> None:
    """Refuse samples in which the clock steps back and goes over the same seconds again with other values.

    Parameters
    ----------
    time_s : shape (n,), in the order of the file  [s]
    values : shape (n,) or (n, k)
    read : shape (n,), which samples hold a value

    Raises
    ------
    DamagedFile
    """
    if not read.any():
        return
    time_s, values = time_s[read], values[read].reshape(int(read.sum()), -1)
    cuts = np.flatnonzero(np.diff(time_s) < 0) + 1
    depth_s = np.maximum.accumulate(time_s)[cuts - 1] - time_s[cuts]
    ends = np.append(cuts[1:], len(time_s))
    for place in np.flatnonzero((depth_s > STEP_BACK_S) & (ends - cuts > TWICE_S)):
        twice_s = _written_twice(time_s, values, int(cuts[place]), int(ends[place]))
        if twice_s > TWICE_S:
            raise DamagedFile(
                f"its clock steps back by {nearest(depth_s[place])} s and covers {twice_s} s a second time with "
                "other values: two recordings in one file, or a clock that was reset on the way.",
                where=where,
                mend="Export each recording as a file of its own.",
            )


def _written_twice(time_s: Floats, values: Floats, begin: int, end: int) -> int:
    """In how many whole seconds a run holds other values than what stands before it in the file [s]."""
    order = np.argsort(time_s[:begin], kind="stable")
    before, before_values = time_s[:begin][order], values[:begin][order]
    run, run_values = time_s[begin:end], values[begin:end]
    place = np.minimum(np.searchsorted(before, run), begin - 1)
    same = (before[place] == run) & (before_values[place] == run_values).all(axis=1)
    return int(np.isin(np.unique(np.floor(run[~same])), np.floor(before)).sum())
