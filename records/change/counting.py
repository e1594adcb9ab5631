"""Whether trials count the same: left and right together, or in one of them each by itself.

A movement sensor cannot always tell a stride from a step. A sheet says what its cadence counts; where that is not the
same in all trials, or not sure, a difference nearer to double than to nothing may be one of counting alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from .observation import COUNTS, OLDER, TrialSeen

FAR = 2**0.5


@dataclass(frozen=True, slots=True)
class Apart:
    """Lowest and highest cadence of the trials [/min]; ``older``: some sheets were made by another rule."""

    low: float
    high: float
    older: bool


def counted_apart(trials: Sequence[TrialSeen], name: str) -> Apart | None:
    """Why ``name`` cannot be compared over these trials for what it counts; None if it can."""
    if name not in COUNTS:
        return None
    given = [(each.counted, each.figures[COUNTS[0]].value) for each in trials if COUNTS[0] in each.figures]
    found = [(what, value) for what, value in given if what and value]
    if not found:
        return None
    kinds, low, high = {what for what, _ in found}, min(value for _, value in found), max(value for _, value in found)
    if OLDER in kinds and len(kinds) > 1:
        return Apart(low, high, older=True)
    sure = kinds in ({"cycle"}, {"pair"})
    return None if sure or high <= FAR * low else Apart(low, high, older=False)
