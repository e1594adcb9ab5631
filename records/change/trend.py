"""Whether repeats that should show nothing but day-to-day variation already go one way: learning, growth, a new chair.

Sources: the median of the slopes of all pairs (Theil 1950, Sen 1968); the chance of so many pairs in order if every
order were equally likely (Kendall 1938), exact. The tests hold both against an independent library.
"""

import itertools
import math
from collections.abc import Sequence
from functools import lru_cache

LEAST_TRIALS = 4
"""Of three trials one order in six goes straight up by chance: no trend can be told."""
CHANCE = 0.10
"""An order that chance brings about less often than this, one-sided, is a trend. Four trials must all be in order."""


def slope(values: Sequence[float]) -> float:
    """Median change from one trial to the next, over all pairs [unit of the values a trial]; at least two values."""
    slopes = sorted(
        (later - earlier) / (second - first)
        for (first, earlier), (second, later) in itertools.combinations(enumerate(values), 2)
    )
    middle = len(slopes) // 2
    return slopes[middle] if len(slopes) % 2 else (slopes[middle - 1] + slopes[middle]) / 2


def chance_of_order(values: Sequence[float], *, upward: bool) -> float:
    """Chance that at least so many pairs would go ``upward`` (or down) if every order were equally likely [0 to 1].

    Equal values count for neither way, which makes the chance too large rather than too small.
    """
    sign = 1 if upward else -1
    score = sum(sign * ((later > earlier) - (later < earlier)) for earlier, later in itertools.combinations(values, 2))
    count = len(values)
    most = count * (count - 1) // 2
    against = (most - score + 1) // 2  # pairs the wrong way; of two equal pairs one is taken to be
    orders = _orders(count)
    return math.fsum(orders[: against + 1]) / math.fsum(orders)


@lru_cache(maxsize=64)
def _orders(count: int) -> tuple[float, ...]:
    """How many orders of ``count`` values have 0, 1, 2… pairs the wrong way (Mahonian numbers)."""
    found = [1.0]
    for size in range(2, count + 1):
        longer = [0.0] * (len(found) + size - 1)
        for place, each in enumerate(found):
            for shift in range(size):
                longer[place + shift] += each
        found = longer
    return tuple(found)
