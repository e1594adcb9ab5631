"""Patterns in which intervals are no heart's own: an extra beat, a missed one, a premature one with its pause.

Each interval is looked at as a share ``q`` of its neighbourhood, the median of the eleven plausible ones around it.
In 5,021 real intervals of two strongly varying hearts (the files of the tests) ``q`` runs from 0.75 to 1.47 and steps
up by at most 0.47 from one interval to the next: what lies outside is no breathing. Plausible intervals alone make the
neighbourhood, but every interval is looked at: of a beat of 0.5 s that is cut into 0.2 and 0.3 the first is too short
for any heart and the second is not, and both are false.

The limits are our own choice, measured on those hearts and on made ones from 40 to 210 /min with extra, missed and
premature beats (``tests/bench``).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

NEIGHBOURS = 11
"""Intervals in the local median."""
SHORT, LONG = 0.75, 1.5
"""Shares of the neighbourhood below and from which an interval is no whole beat of a heart, and more than one."""
FITS = 0.15
"""So near to 1 or 2 neighbourhoods must the sum of short intervals come to be those beats cut in pieces."""
UNEVEN = 0.15
"""An interval beside pieces of a beat that is further from 1 than this may hold a piece itself."""
TINY = 0.4
"""A shorter one comes too soon for a premature beat: it is a piece of a beat, of whichever neighbour."""
EARLY = 0.9
STEP, STILL_STEP, STEPS = 0.45, 0.2, 6.0
"""A premature interval is below ``EARLY`` and its pause longer by ``STEP``; among intervals that hardly change by six
times their median change, and by ``STILL_STEP`` at least."""
TOGETHER = 0.7
"""A premature interval and its pause make two neighbourhoods to within this: the pause need not be whole."""
_FEWEST = 3
_BLOCK = 10_000  # medians at a time: of all at once the windows would be copied, eleven values for each one

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]


class Patterns(NamedTuple):
    """Which intervals belong to a pattern, shape (n,) each; none belongs to two."""

    missed: Bools
    extra: Bools
    premature: Bools


def patterns(rr_s: Floats, plausible: Bools) -> Patterns:
    """Find the intervals of extra, missed and premature beats.

    Parameters
    ----------
    rr_s : ndarray, shape (n,)  [s], above 0, in order of time
    plausible : ndarray of bool, shape (n,); the neighbourhood is made of these
    """
    if np.count_nonzero(plausible) < _FEWEST:
        return Patterns(*(np.zeros(len(rr_s), bool) for _ in range(3)))
    share = rr_s / neighbourhood(rr_s, plausible)
    early = _premature(share)
    premature = early | np.append(False, early[:-1])
    extra = (_pieces(share, (share < SHORT) & ~premature) | _perhaps_late(share, early)) & ~premature
    return Patterns((share >= LONG) & ~premature & ~extra, extra, premature)


def neighbourhood(rr_s: Floats, plausible: Bools) -> Floats:
    """Median of the eleven plausible intervals around each, itself included where it is one, shape (n,) [s]."""
    kept = np.flatnonzero(plausible)
    nearest = np.minimum(np.searchsorted(kept, np.arange(len(rr_s))), len(kept) - 1)
    return local_median(rr_s[kept])[nearest]


def local_median(values: Floats) -> Floats:
    """Median of the eleven values around each, shape (n,), n at least 1; fewer at the ends."""
    padded = np.pad(values, NEIGHBOURS // 2, constant_values=np.nan)
    windows = np.lib.stride_tricks.sliding_window_view(padded, NEIGHBOURS)
    blocks = range(0, len(values), _BLOCK)
    return np.concatenate([np.nanmedian(windows[at : at + _BLOCK], axis=1) for at in blocks])


def _premature(share: Floats) -> Bools:
    """The first of each two intervals that are a premature beat and its pause, shape (n,)."""
    step = np.append(np.diff(share), 0.0)
    least = np.clip(STEPS * local_median(np.abs(step)), STILL_STEP, STEP)
    behind = np.append(share[1:], 0.0)
    alone = np.append(True, share[:-1] >= SHORT)
    inside = (share >= TINY) & (share < EARLY) & (np.abs(share + behind - 2) <= TOGETHER)
    return inside & (step >= least) & alone


def _perhaps_late(share: Floats, early: Bools) -> Bools:
    """Intervals before a premature one that may be part of a beat cut in two instead, shape (n,)."""
    off = (np.abs(share + np.append(share[1:], 0.0) - 2) > FITS) & (share < SHORT)
    before = np.append(1.0, share[:-1]) < 1 - UNEVEN
    return np.append((early & (off | before))[1:], False)


def _pieces(share: Floats, short: Bools) -> Bools:
    """Short intervals, and those beside them that may hold a part of the same beat, shape (n,).

    Where short ones in a row make one beat together, or three or more of them two, they are its pieces and their
    neighbours are whole, unless a neighbour is uneven itself or a tiny piece at the edge could be its. All others,
    one short interval alone among them, belong to the interval before or the one behind, and nobody can tell to
    which: both are taken.
    """
    first, stop = np.flatnonzero(np.diff(np.concatenate(([False], short, [False])).astype(np.int8))).reshape(-1, 2).T
    found = short.copy()
    if not len(first):
        return found
    sums = np.append(0.0, np.cumsum(np.where(short, share, 0.0)))
    total, count = sums[stop] - sums[first], stop - first
    fits = ((count > 1) & (np.abs(total - 1) <= FITS)) | ((count > 2) & (np.abs(total - 2) <= FITS))
    around = np.concatenate(([1.0], share, [1.0]))  # one ahead: the neighbour before ``first`` stands at ``first``
    for beside, piece in ((first, share[first]), (stop + 1, share[stop - 1])):
        doubtful = ~fits | (np.abs(around[beside] - 1) > UNEVEN) | ((count > 2) & (piece < TINY))
        at = beside[doubtful] - 1
        found[at[(at >= 0) & (at < len(share))]] = True
    return found
