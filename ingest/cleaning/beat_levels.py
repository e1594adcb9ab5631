"""Intervals that nothing vouches for because of what lies around them: another level for a while, or many false beats.

``beat_patterns`` holds each interval against the eleven around it. Where six of these are false, the false ones are the
neighbourhood: T waves counted as beats for a while read as a heart of twice the rate. Two looks from further off:

- The level, a median of five intervals, that changes within five beats by more than ``STEP`` and is back within a
  minute, after another such change, was no heart in its own rhythm. (It can be one in another rhythm, as in a
  paroxysmal tachycardia: so these intervals prove nothing, and a reading above the ceiling is still told as possible.)
- A few whole intervals amid false ones, and beside many of them, vouch for nothing.

The limits are our own choice, measured on made hearts from 40 to 210 /min (``tests/bench``) and on two real, strongly
varying ones, of whose 5,021 intervals the first look takes 0.3 % and the second none.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

LEVEL = 5
"""Intervals in a level."""
STEP = 0.7
"""A change of level to less than this, or back by as much, is an abrupt one."""
BACK = 0.75
"""A level that differs from the one before by no more is the same again."""
AWAY_S = 60.0
"""What lasts longer is a lasting change and left for a person to judge [s]."""
FEW = 3
"""Fewer whole intervals in a row than this, between false ones, vouch for nothing."""
MANY, BESIDE = 5, 2
"""Beside so many false ones in a row, so many intervals vouch for nothing."""

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Signs = NDArray[np.int8]


def other_levels(rr_s: Floats) -> Signs:
    """Intervals of a level that is none of the heart's own rhythm: -1 shorter, 1 longer, 0 all others, shape (n,).

    Parameters
    ----------
    rr_s : ndarray, shape (n,)  [s], above 0, in order of time
    """
    found = np.zeros(len(rr_s), np.int8)
    if len(rr_s) < LEVEL:
        return found
    level = np.median(np.lib.stride_tricks.sliding_window_view(rr_s, LEVEL), axis=1)
    cuts = _abrupt(np.log(level[LEVEL:] / level[:-LEVEL]))
    if not cuts:
        return found
    time_s = (np.cumsum(rr_s) - rr_s).tolist()
    before, behind = level[np.array(cuts) - LEVEL].tolist(), level[cuts].tolist()  # the levels on both sides of a cut
    at = 0
    while at < len(cuts):
        back = _back(cuts, time_s, before, behind, at)
        if back is not None:
            found[cuts[at] : cuts[back]] = np.sign(behind[at] - before[at])
        at = at + 1 if back is None else back + 1
    _judge_ends(rr_s, found, cuts, before, behind)
    return found


def _judge_ends(rr_s: Floats, found: Signs, cuts: list[int], before: list[float], behind: list[float]) -> None:
    """Of two levels that meet at an end of the recording, take the shorter one, if it is under a minute."""
    first, last = slice(0, cuts[0]), slice(cuts[-1], len(rr_s))
    second = slice(cuts[0], cuts[1] if len(cuts) > 1 else len(rr_s))
    if not found[second].any() and rr_s[first].sum() < min(AWAY_S, rr_s[second].sum()):
        found[first] = np.sign(before[0] - behind[0])
    earlier = rr_s[: cuts[-1]][found[: cuts[-1]] == 0].sum()
    if found[cuts[-1] - 1] == 0 and rr_s[last].sum() < min(AWAY_S, earlier):
        found[last] = np.sign(behind[-1] - before[-1])


def _abrupt(change: Floats) -> list[int]:
    """Where the level changes abruptly: the middle of where it does so most, of each run of changes one way."""
    way = np.sign(change) * (np.abs(change) > -np.log(STEP))
    edges = np.flatnonzero(np.diff(np.concatenate(([0.0], way, [0.0])))).tolist()
    found = []
    for begin, end in pairwise(edges):
        if way[begin]:
            size = np.abs(change[begin:end])
            most = np.flatnonzero(size == size.max())
            found.append(begin + int(most[len(most) // 2]) + LEVEL)
    return found


def _back(cuts: list[int], time_s: list[float], before: list[float], behind: list[float], first: int) -> int | None:
    """The cut behind which the level is that from before the cut ``first`` again; None if it is not within a minute."""
    for cut in range(first + 1, len(cuts)):
        if time_s[cuts[cut]] - time_s[cuts[first]] > AWAY_S:
            break
        stays = cut + 1 == len(cuts) or cuts[cut + 1] - cuts[cut] >= LEVEL
        if stays and BACK <= behind[cut] / before[first] <= 1 / BACK:
            return cut
    return None


def amid_false(false: Bools, levels: Signs) -> Bools:
    """Which intervals are false or of another level, between such ones, or beside many of them, shape (n,).

    Where a level of five intervals begins and ends is known to two: so many beside it are taken, however short it is.
    """
    found = _closed(false | (levels != 0))
    many = [(begin, end) for begin, end in _runs(found) if end - begin >= MANY]
    for begin, end in [*many, *_runs(levels != 0)]:
        found[max(begin - BESIDE, 0) : end + BESIDE] = True
    return _closed(found)


def _closed(false: Bools) -> Bools:
    """The mask with its short rows of whole intervals closed."""
    found = false.copy()
    for begin, end in _runs(~false):
        if end - begin < FEW and begin > 0 and end < len(false):
            found[begin:end] = True
    return found


def _runs(mask: Bools) -> list[tuple[int, int]]:
    """First and one-past-last index of each stretch of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8))).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))
