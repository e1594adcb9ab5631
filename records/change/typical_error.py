"""How much a student's result varies from day to day with nothing changed: the typical error.

The spread of repeats about their own mean, pooled over groups of repeats, follows n_i − 1 degrees of freedom each. (The
other form that is known, the spread of the differences between two trials divided by √2, takes out a shift that all
students share; it needs a class, and the comparison pools no class that way.)

Source: Hopkins 2000 (definitions, as read in its abstract).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ...errors import NothingToCompare
from .yardstick import squares


@dataclass(frozen=True, slots=True)
class PooledError:
    """Typical error ``sd`` and its degrees of freedom, infinite if it is known."""

    sd: float
    df: float


def spread(values: Sequence[float]) -> float:
    """Standard deviation of one student's repeats, n − 1 in the denominator [unit of the values].

    Raises
    ------
    NothingToCompare
        For fewer than two values.
    """
    if len(values) < 2:
        raise NothingToCompare("one value has no spread.", mend="Repeat the trial on another day.")
    return math.sqrt(squares(values) / (len(values) - 1))


def pooled_typical_error(groups: Sequence[Sequence[float]]) -> PooledError:
    """Typical error from groups of repeats, each about its own mean: a student's on each side, or several students'.

    Parameters
    ----------
    groups : sequences of repeats of any length; those with fewer than two say nothing and are left out

    Returns
    -------
    PooledError with Σ(nᵢ − 1) degrees of freedom.

    Raises
    ------
    NothingToCompare
        If no group has two.
    """
    repeated = [group for group in groups if len(group) >= 2]
    df = sum(len(group) - 1 for group in repeated)
    if not df:
        raise NothingToCompare("nobody has two trials to tell the error from.", mend="Repeat the trial on another day.")
    return PooledError(math.sqrt(math.fsum(map(squares, repeated)) / df), df)
