"""How much a student's result varies from day to day with nothing changed: the typical error.

Two forms are known. The spread of one student's repeats about their own mean, pooled over students, follows
n_i − 1 degrees of freedom each. The spread of the differences between two trials, divided by √2, takes out a shift
that all students share (learning), and is the smaller of the two where there is one.

Source: Hopkins 2000 (definitions, as read in its abstract); Weir 2005 for the error from an intraclass correlation.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ...errors import NothingToCompare


@dataclass(frozen=True, slots=True)
class PooledError:
    """Typical error ``sd``, its degrees of freedom (infinite if it is known), and the students with repeats."""

    sd: float
    df: float
    students: int


def spread(values: Sequence[float]) -> float:
    """Standard deviation of one student's repeats, n − 1 in the denominator [unit of the values].

    Raises
    ------
    NothingToCompare
        For fewer than two values.
    """
    if len(values) < 2:
        raise NothingToCompare("one value has no spread.", mend="Repeat the trial on another day.")
    return math.sqrt(_squares(values) / (len(values) - 1))


def pooled_typical_error(groups: Sequence[Sequence[float]]) -> PooledError:
    """Typical error from the repeats of several students, each about their own mean.

    Parameters
    ----------
    groups : one sequence of repeats a student, of any length; those with fewer than two say nothing and are left out

    Returns
    -------
    PooledError with Σ(nᵢ − 1) degrees of freedom. A shift that all students share stays in it.

    Raises
    ------
    NothingToCompare
        If no student has two.
    """
    repeated = [group for group in groups if len(group) >= 2]
    df = sum(len(group) - 1 for group in repeated)
    if not df:
        raise NothingToCompare("nobody has two trials to tell the error from.", mend="Repeat the trial on another day.")
    return PooledError(math.sqrt(math.fsum(map(_squares, repeated)) / df), df, len(repeated))


def typical_error_of_pairs(first: Sequence[float], second: Sequence[float]) -> PooledError:
    """Typical error from two trials of several students: SD of the differences / √2, n − 1 degrees of freedom.

    Raises
    ------
    NothingToCompare
        If the two are not equally long, or hold fewer than two students.
    """
    if len(first) != len(second):
        raise NothingToCompare("the two trials are not of the same students.", mend="Give one pair a student.")
    differences = [after - before for before, after in zip(first, second, strict=True)]
    return PooledError(spread(differences) / math.sqrt(2), len(differences) - 1, len(differences))


def error_interval(sd: float, df: float, percent: float = 95.0) -> tuple[float, float]:
    """Interval for the true typical error, from the χ² distribution of df·s²/σ² [unit of ``sd``].

    Source: the usual interval for a standard deviation. With 7 degrees of freedom it is threefold wide.
    """
    from scipy.special import chdtri

    outside = (1 - percent / 100) / 2
    return sd * math.sqrt(df / float(chdtri(df, outside))), sd * math.sqrt(df / float(chdtri(df, 1 - outside)))


def error_from_icc(sd: float, icc: float) -> float:
    """Standard error of measurement SD·√(1 − ICC).  Source: Weir 2005. The model of the ICC must be stated beside it.

    Raises
    ------
    NothingToCompare
        For a correlation outside 0 to 1.
    """
    if not 0 <= icc <= 1:
        raise NothingToCompare(f"an intraclass correlation of {icc:g} gives no error.", mend="It lies between 0 and 1.")
    return sd * math.sqrt(1 - icc)


def agreement(table: Sequence[Sequence[float]]) -> float:
    """Intraclass correlation for absolute agreement of single trials, ICC(A,1).

    Parameters
    ----------
    table : one row a student, one column a trial, without holes; at least two of each

    Source: McGraw & Wong 1996 from memory, (MSr − MSe) / (MSr + (k − 1)·MSe + k/n·(MSc − MSe)); the tests check it
    against an independent library.
    """
    import numpy as np

    values = np.asarray(table, dtype=float)
    if values.ndim != 2 or min(values.shape) < 2:
        raise NothingToCompare("agreement needs two trials of two students.", mend="Give a row a student.")
    students, trials = values.shape
    mean = values.mean()
    rows = trials * ((values.mean(axis=1) - mean) ** 2).sum() / (students - 1)
    columns = students * ((values.mean(axis=0) - mean) ** 2).sum() / (trials - 1)
    residual = values - values.mean(axis=1, keepdims=True) - values.mean(axis=0, keepdims=True) + mean
    error = (residual**2).sum() / ((students - 1) * (trials - 1))
    return float((rows - error) / (rows + (trials - 1) * error + trials / students * (columns - error)))


def _squares(values: Sequence[float]) -> float:
    """Sum of squares about the mean."""
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values)
