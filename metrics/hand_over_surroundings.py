"""What a heart rate does on both sides of a loss: whether another student may have worn the strap behind it.

Two questions, and nothing about *who*: does the loss lie in a rest between two efforts, as a hand-over does? Does it
lie amid one effort, high on both sides, where nobody changes straps? Both look at means of 10 s, so that breathing does
not count. Levels at rest are not compared: two people at rest differ by less than 8 /min more often than not.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

BIN_S = 10.0
"""Means are over so long [s]."""
BESIDE_BINS = 3
"""The level beside a loss is the median of so many means."""
EFFORT_BPM = 8.0
"""A rate that goes up by this and comes down by this is an effort [/min]: a heart at rest wanders by less."""
REST_S = 120.0
"""Between two students' efforts lie at least so much recovery, change of straps and rest together [s]; a pause in one
student's work lasts up to a minute. Our own reasoning."""
HIGH_SHARE = 0.5
"""A heart is at work where it is this far up between the lowest and the highest level of its side."""
AMID_RISE_BPM = 12.0
"""Where a side rises by less, no part of it is told to be work [/min]. Our own choice."""
AMID_BPM = 15.0
"""In one effort the rate before and behind a loss differs by no more than this [/min]. Our own choice."""

_TINY_S = 1e-6  # a value before a loss stands until the next one

Floats = NDArray[np.float64]
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Side:
    """Means on one side of a loss, from far to near: when [s], and the rate [/min], shapes (n,)."""

    time_s: Floats
    bpm: Floats

    @property
    def beside_bpm(self) -> float:
        """The level right beside the loss [/min]."""
        return float(np.median(self.bpm[-BESIDE_BINS:]))

    def effort_bpm(self, valley_bpm: float) -> tuple[float, float]:
        """The largest rise of this side that also comes down towards the loss: its height, and its top [/min].

        valley_bpm : the level at the loss  [/min]
        """
        height = np.minimum(self.bpm - np.minimum.accumulate(self.bpm), self.bpm - valley_bpm)
        place = int(np.argmax(height))
        return float(height[place]), float(self.bpm[place])

    def low_since_s(self, below_bpm: float) -> float:
        """When the rate was last above a level, seen from the loss; the far end if never [s]."""
        high = np.flatnonzero(self.bpm > below_bpm)
        return float(self.time_s[high[-1]] if len(high) else self.time_s[0])

    @property
    def at_work(self) -> bool:
        """Whether the rate beside the loss is that of work, on this side alone."""
        low, high = float(self.bpm.min()), float(self.bpm.max())
        return high - low >= AMID_RISE_BPM and self.beside_bpm >= low + HIGH_SHARE * (high - low)


def sides(time_s: Floats, bpm: Floats, from_s: float, until_s: float) -> tuple[Side, Side] | None:
    """What lies before and behind a loss; None where a side holds too little.

    Parameters
    ----------
    time_s, bpm : ndarray, shape (n,), in order; usable values  [s], [/min]
    from_s, until_s : the loss  [s]
    """
    before, behind = time_s < from_s, time_s >= until_s
    left = _means(from_s - time_s[before][::-1] - _TINY_S, bpm[before][::-1])
    right = _means(time_s[behind] - until_s, bpm[behind])
    if min(len(left[0]), len(right[0])) < BESIDE_BINS:
        return None
    return Side(from_s - left[0][::-1], left[1][::-1]), Side(until_s + right[0][::-1], right[1][::-1])


def _means(apart_s: Floats, bpm: Floats) -> tuple[Floats, Floats]:
    """Means over stretches of equal length away from a loss: how far off [s], rate [/min]; near to far."""
    if not len(apart_s):
        return apart_s, bpm
    place = (apart_s / BIN_S).astype(np.int_)
    count = np.bincount(place)
    known = np.flatnonzero(count)
    middle = np.asarray((known + 0.5) * BIN_S, dtype=np.float64)
    return middle, np.asarray(np.bincount(place, bpm)[known] / count[known], dtype=np.float64)


def rest_between(before: Side, behind: Side) -> Span | None:
    """The rest between two efforts in which a loss lies [s]; None: it lies in none.

    That is the pattern of two students, or of one who worked twice.
    """
    valley = min(before.beside_bpm, behind.beside_bpm)
    (first, first_top), (second, second_top) = before.effort_bpm(valley), behind.effort_bpm(valley)
    if min(first, second) < EFFORT_BPM:
        return None
    level = valley + HIGH_SHARE * (min(first_top, second_top) - valley)
    rest = before.low_since_s(level), behind.low_since_s(level)
    return rest if rest[1] - rest[0] >= REST_S else None


def amid_work(before: Side, behind: Side) -> bool:
    """Whether a loss lies amid one effort: at work on both sides, and about as high."""
    return before.at_work and behind.at_work and abs(before.beside_bpm - behind.beside_bpm) <= AMID_BPM
