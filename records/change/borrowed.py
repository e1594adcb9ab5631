"""Day-to-day error borrowed from the other students on a protocol, where a student's own repeats are too few.

Students differ in how much they vary. One error pooled over all of them is right on average and wrong for those who
vary most: with a standard deviation of 0.5 in the logarithm of their errors, 17 in 100 unchanged students of the most
variable quarter would be called changed, not 5 (``tests.bench.change_rates`` prints the table). So the own variance is
*moderated*: it is averaged with a prior variance, each weighted by its degrees of freedom, and those of the prior come
from how much the students' variances scatter beyond what few repeats explain. Departures from the source, all on the
careful side:

- The prior is never worth more than ``MOST_DF``. Whether eight students with two days each vary alike cannot be known,
  and an estimate that says so by luck is what makes false verdicts. 4 degrees are a scatter of 0.40 in the logarithm.
- Nor is it worth more than the degrees of freedom of the others' repeats behind it.
- The limit of a change is taken at 98 % in place of 95 (``detectable.PERCENT_BORROWED``).

Source: Smyth 2004 (empirical Bayes; moments of the logarithm of the variances), as in the public code of its authors'
package; the tests hold it against an independent implementation.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from .distributions import digamma, trigamma
from .typical_error import PooledError

MOST_DF = 4.0
LEAST_STUDENTS = 3
"""Of fewer students with repeats nothing is borrowed: it finds no more changes than the own error does, and with one
baseline it calls 10 in 100 of the most variable quarter changed."""
_LEAST_SHARE = 1e-5
"""No variance is taken to be less than this share of the median one: a logarithm needs more than zero."""


@dataclass(frozen=True, slots=True)
class Spread:
    """One student's repeats about their own mean: sum of squares, and its degrees of freedom."""

    squares: float
    df: int

    @property
    def variance(self) -> float:
        """Variance from day to day."""
        return self.squares / self.df


@dataclass(frozen=True, slots=True)
class Borrowed:
    """A prior error for one student: its size, what it is worth in degrees of freedom, and the other students behind.

    ``df`` may be infinite for an error that is known, as a published one.
    """

    sd: float
    df: float
    students: int

    def with_own(self, own: PooledError | None) -> PooledError:
        """The error moderated by the student's own repeats, or as it is without any.  Source: Smyth 2004."""
        if own is None or math.isinf(self.df):
            return PooledError(self.sd, self.df)
        df = self.df + own.df
        return PooledError(math.sqrt((self.df * self.sd**2 + own.df * own.sd**2) / df), df)


@dataclass(frozen=True, slots=True)
class Spreads:
    """Every student's spread on one protocol, by code, and the prior (variance, degrees of freedom) that they give."""

    by_code: Mapping[str, Spread]
    variance: float
    df: float

    @classmethod
    def of(cls, by_code: Mapping[str, Spread]) -> "Spreads | None":
        """What these students give; None if they are fewer than three, or nobody varies at all."""
        found = list(by_code.values())
        if len(found) < LEAST_STUDENTS or not any(each.squares > 0 for each in found):
            return None
        return cls(MappingProxyType(dict(by_code)), *prior(found, MOST_DF))

    def borrowed_for(self, code: str) -> Borrowed | None:
        """What one student may borrow; None if nobody else has repeats."""
        others = {each: spread for each, spread in self.by_code.items() if each != code}
        if not others:
            return None
        behind = sum(each.df for each in others.values())
        return Borrowed(math.sqrt(self.variance), min(self.df, float(behind)), len(others))


def prior(spreads: Sequence[Spread], most_df: float = math.inf) -> tuple[float, float]:
    """``(variance, df)`` of the prior by Smyth's moments; ``df`` is ``most_df`` at the most, else it may be infinite.

    Source: Smyth 2004.
    """
    mean, excess = _log_moments(spreads)
    df = most_df if math.isfinite(most_df) and excess <= trigamma(most_df / 2) else _df_of(excess)
    return _variance_of(mean, df), df


def _log_moments(spreads: Sequence[Spread]) -> tuple[float, float]:
    """Mean logarithm of the variances without its bias, and their scatter beyond what few repeats explain."""
    positive = sorted(each.variance for each in spreads if each.squares > 0)
    least = _LEAST_SHARE * positive[len(positive) // 2]
    halves = [each.df / 2 for each in spreads]
    logs = [
        math.log(max(each.variance, least)) - digamma(half) + math.log(half)
        for each, half in zip(spreads, halves, strict=True)
    ]
    mean = math.fsum(logs) / len(logs)
    scatter = math.fsum((each - mean) ** 2 for each in logs) / (len(logs) - 1)
    return mean, scatter - math.fsum(map(trigamma, halves)) / len(halves)


def _df_of(excess: float) -> float:
    """Degrees of freedom whose trigamma(df / 2) is ``excess``: the more scatter, the fewer. By bisection."""
    if excess <= 0:
        return math.inf
    low, high = -40.0, 40.0  # of the logarithm of df / 2; trigamma falls from e80 to e-40
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if trigamma(math.exp(middle)) > excess else (low, middle)
    return 2 * math.exp((low + high) / 2)


def _variance_of(mean: float, df: float) -> float:
    """The prior variance; with infinite degrees of freedom the variances' geometric mean without its bias."""
    return math.exp(mean if math.isinf(df) else mean + digamma(df / 2) - math.log(df / 2))
