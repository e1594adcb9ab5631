"""The smallest change that day-to-day variation alone would not explain.

For a mean of ``baselines`` trials against a mean of ``retests`` trials, with a typical error s of df degrees of
freedom, it is t(df) · s · √(1/baselines + 1/retests). For one trial each and a well-known error that is the
1.96 · √2 · s = 2.77 · s of the literature (Weir 2005), its limit; with an error from few trials it is wider, and
must be.
"""

import math
from functools import lru_cache

from ...errors import NothingToCompare
from .distributions import normal_below, normal_quantile, student_t_below, student_t_quantile

PERCENT = 95.0
PERCENT_BORROWED = 98.0
"""Level of a limit from an error that is borrowed from other students. At 95 % it would be right on average and call
13 in 100 unchanged students of the most variable quarter changed; at 98 % they are 7 (the bench prints the table)."""


def level(*, borrowed: bool, verdicts: int = 1) -> float:
    """Level of each of ``verdicts`` limits [%]: together they are wrong for no more students than one is.

    Two sides are two chances to be wrong: with 97.5 % on each, at most 5 in 100 students get a false verdict.
    """
    return 100 - (100 - (PERCENT_BORROWED if borrowed else PERCENT)) / verdicts


@lru_cache(maxsize=1024)
def t_quantile(df: float, percent: float = PERCENT) -> float:
    """Two-sided quantile of Student's t: ``percent`` of it lies within ± this. ``df`` may be infinite.

    Raises
    ------
    NothingToCompare
        Without a degree of freedom, or for a level that is none.
    """
    if not df > 0 or not 0 < percent < 100:
        raise NothingToCompare("there is nothing to take the error from.", mend="Repeat the trial on another day.")
    upper = 0.5 + percent / 200
    return normal_quantile(upper) if math.isinf(df) else student_t_quantile(df, upper)


def widening(baselines: int, retests: int) -> float:
    """Error of the difference of two means in typical errors: √(1/baselines + 1/retests); √2 for one trial each."""
    if baselines < 1 or retests < 1:
        raise NothingToCompare("there are not two trials to compare.", mend="Add the other one.")
    return math.sqrt(1 / baselines + 1 / retests)


def detectable_change(
    error: float, df: float = math.inf, *, baselines: int = 1, retests: int = 1, percent: float = PERCENT
) -> float:
    """Smallest change beyond day-to-day variation [unit of ``error``].

    Parameters
    ----------
    error : typical error of one trial
    df : degrees of freedom behind it; infinite for a well-known one
    baselines, retests : trials averaged on each side
    percent : share of students without a true change that stay below it
    """
    return t_quantile(df, percent) * error * widening(baselines, retests)


def chance_beyond(
    change: float,
    smallest: float,
    error: float,
    df: float = math.inf,
    *,
    baselines: int = 1,
    retests: int = 1,
) -> float:
    """Chance that the true change is larger than ``smallest`` in the direction of ``change`` [0 to 1].

    Parameters
    ----------
    change : found change, positive in the direction that is asked about
    smallest : smallest change that matters, agreed before the re-test

    Source: Hopkins 2000 and 2004, from memory: Φ((change − smallest) / (√2 · error)); with few degrees of freedom t
    stands in for Φ.
    """
    scale = error * widening(baselines, retests)
    if scale <= 0:
        raise NothingToCompare("without an error there is no chance to state.")
    ratio = (change - smallest) / scale
    return normal_below(ratio) if math.isinf(df) else student_t_below(df, ratio)
