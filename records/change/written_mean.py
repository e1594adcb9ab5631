"""The mean of numbers as people wrote them down, so that whoever checks it by hand finds the same."""

import math
from collections.abc import Sequence
from fractions import Fraction


def written_mean(values: Sequence[float]) -> float:
    """Mean of at least one number, worked out in decimals: 7.3 and 6.6 make 6.95.

    A sum of binary fractions puts that mean just below, at 6.949999999999999, which is shown as 6.9 where everybody who
    adds up the form writes 7.0. An end of bounds that is infinite stays so.
    """
    if not all(map(math.isfinite, values)):
        return math.fsum(values) / len(values)
    return float(sum(Fraction(repr(float(each))) for each in values) / len(values))
