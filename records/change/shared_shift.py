"""Whether those who were tested on the same days moved together: what a day brings to all of them.

A hot room or a new floor moves a whole class. Two things follow. The error must know of it: repeats on different days
hold it, the student's own and the others', and a borrowed error is never taken to be known better than by four degrees
of freedom, because the students of one class share few days (with a shared day effect as large as the typical error,
one pooled error calls 8 to 9 in 100 changed, the own and the borrowed one no more than 5; the bench prints the table).
And it must be *said* where the others moved the same way. It is not taken off the change: what all have in common may
as well be what they all trained for, and no arithmetic tells the two apart.
"""

import math
from collections.abc import Sequence
from typing import Literal, TypeAlias

from .detectable import t_quantile
from .typical_error import spread
from .yardstick import mean

Shift: TypeAlias = Literal["same way", "other way", "none", "unknown"]
LEAST_OTHERS = 3


def shared_shift(change: float, others: Sequence[float], resolution: float) -> Shift:
    """How the mean change of ``others`` on the same days goes with this student's ``change``.

    Parameters
    ----------
    change : the student's own
    others : the changes of the others, each against the own baseline
    resolution : step in which the figure is read; their spread is not taken to be less than what it makes

    Returns
    -------
    "none" if the 95 % interval of the others' mean (Student's t) holds 0, "unknown" for fewer than three others.
    """
    if len(others) < LEAST_OTHERS:
        return "unknown"
    middle = mean(others)
    error = max(spread(others), resolution / math.sqrt(12)) / math.sqrt(len(others))
    if abs(middle) <= t_quantile(len(others) - 1) * error:
        return "none"
    return "same way" if (middle > 0) == (change > 0) else "other way"
