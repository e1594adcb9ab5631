"""What a change is held against, when the values that make its error move inside their bounds too."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

MOST_CORNERS = 4096


class Bounded(NamedTuple):
    """A value, and the least and greatest that unmeasured stretches allow."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Yardstick:
    """A detectable change: ``factor`` times an error of √((known + own squares) / df), and never less than ``floor``.

    factor : quantile of t times the widening of a difference of means
    df : degrees of freedom of the error
    known : sum of squares that does not move with the student's values [unit²]
    own : the student's own repeats add their squares about their mean, on either side
    floor : least error that the reading of the figure allows [unit]
    """

    factor: float
    df: float
    known: float
    own: bool
    floor: float = 0.0

    def limit(self, squares: float = 0.0) -> float:
        """The detectable change with these squares of the student's own repeats."""
        return self.factor * max(math.sqrt((self.known + squares) / self.df), self.floor)


def change_of(baselines: Sequence[Bounded], retests: Sequence[Bounded]) -> Bounded:
    """Mean of the re-tests minus mean of the baselines, with the least and the greatest that the bounds allow."""
    return Bounded(
        mean([each.value for each in retests]) - mean([each.value for each in baselines]),
        mean([each.low for each in retests]) - mean([each.high for each in baselines]),
        mean([each.high for each in retests]) - mean([each.low for each in baselines]),
    )


def margin(baselines: Sequence[Bounded], retests: Sequence[Bounded], yardstick: Yardstick, *, upward: bool) -> float:
    """Least of (change in the direction asked − detectable change) over all values within the bounds; all finite.

    It is concave in the values, so its least lies in a corner of their bounds: corners are tried one by one where they
    are not too many, else the error is taken at its largest.
    """
    change = change_of(baselines, retests)
    if not yardstick.own:
        return (change.low if upward else -change.high) - yardstick.limit()
    sign = 1.0 if upward else -1.0
    choices = [(each.value,) if each.low == each.high else (each.low, each.high) for each in (*baselines, *retests)]
    split = len(baselines)
    if math.prod(map(len, choices)) <= MOST_CORNERS:
        return min(
            sign * (mean(corner[split:]) - mean(corner[:split]))
            - yardstick.limit(squares(corner[:split]) + squares(corner[split:]))
            for corner in itertools.product(*choices)
        )
    middles = [(each.low + each.high) / 2 for each in (*baselines, *retests)]
    halves = [(each.high - each.low) / 2 for each in (*baselines, *retests)]
    at_middle = math.sqrt(squares(middles[:split]) + squares(middles[split:]))
    # Triangle inequality: taking the mean off never lengthens a vector.
    most = at_middle + math.sqrt(math.fsum(half * half for half in halves))
    return (change.low if upward else -change.high) - yardstick.limit(most * most)


def least_limit(baselines: Sequence[Bounded], retests: Sequence[Bounded], yardstick: Yardstick) -> float:
    """The smallest detectable change that the bounds allow."""
    return yardstick.limit(least_squares(baselines) + least_squares(retests) if yardstick.own else 0.0)


def least_squares(values: Sequence[Bounded]) -> float:
    """Least sum of squares about the mean that values within their bounds can have.

    All move towards one level as far as their bounds let them; the best level is found by bisection, since the sum
    of pulls falls steadily with it.
    """
    if all(each.low == each.high for each in values):
        return squares([each.value for each in values])
    below, above = min(each.high for each in values), max(each.low for each in values)
    if below >= above:
        return 0.0  # one level lies within all bounds
    for _ in range(60):
        level = (below + above) / 2
        pull = math.fsum(min(max(level, each.low), each.high) - level for each in values)
        below, above = (level, above) if pull > 0 else (below, level)
    level = (below + above) / 2
    return squares([min(max(level, each.low), each.high) for each in values])


def mean(values: Sequence[float]) -> float:
    """Arithmetic mean."""
    return math.fsum(values) / len(values)


def squares(values: Sequence[float]) -> float:
    """Sum of squares about the mean."""
    middle = mean(values)
    return math.fsum((value - middle) ** 2 for value in values)
