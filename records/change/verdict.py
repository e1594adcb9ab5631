"""The verdict on a change, which must hold for every value that unmeasured stretches allow.

The typical error is either known from elsewhere (pooled over students) or comes from the student's own repeats. Own
repeats lie within their bounds like any other value, so both the change and its error move with them: the verdict is
taken over all of them together.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple, TypeAlias

from .detectable import PERCENT, t_quantile, widening
from .typical_error import PooledError

INCREASE = "increase beyond day-to-day variation"
DECREASE = "decrease beyond day-to-day variation"
WITHIN = "within day-to-day variation"
CANNOT_BE_TOLD = "cannot be told from day-to-day variation"
NOT_COMPARABLE = "not comparable"
NOT_GIVEN = "not given"
Verdict: TypeAlias = Literal[
    "increase beyond day-to-day variation",
    "decrease beyond day-to-day variation",
    "within day-to-day variation",
    "cannot be told from day-to-day variation",
    "not comparable",
    "not given",
]

MOST_CORNERS = 4096
SUSPICIOUS = 0.05
"""A student's own error counts as larger than the pooled one if chance would make it so in fewer cases than this."""


class Bounded(NamedTuple):
    """A value, and the least and greatest that unmeasured stretches allow."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Judged:
    """A verdict and everything behind it, in the unit of the figure.

    low, high : least and greatest change that unmeasured stretches allow
    error, df, detectable : None with a single baseline and no pooled error
    own : the error comes from the student's own repeats
    floored : the repeats are closer together than the figure is read, so reading sets the error
    wilder_than_pooled : the own repeats scatter more than the pooled error explains
    """

    verdict: Verdict
    change: float
    low: float
    high: float
    error: float | None = None
    df: float | None = None
    detectable: float | None = None
    own: bool = False
    floored: bool = False
    wilder_than_pooled: bool = False


def judge(
    baselines: Sequence[Bounded],
    retests: Sequence[Bounded],
    *,
    pooled: PooledError | None = None,
    resolution: float = 0.0,
    percent: float = PERCENT,
) -> Judged:
    """Judge a change between the means of baselines and re-tests, each on a day of its own.

    Parameters
    ----------
    baselines, retests : at least one each
    pooled : typical error over students, used if it knows more than the student's own repeats, unless these scatter
        more than it can explain (F test): then the own, wider one is used. Taking the wider can only make a verdict
        more careful.
    resolution : smallest step in which the figure is read; an error is never taken to be less than what rounding to
        it makes, resolution/√12, so that repeats that happen to be equal do not make every change real
    percent : share of students without a true change that must not get "beyond"

    Own repeats of both sides are used, as in a two-sample t test with equal spread; with a single re-test these are
    the baselines alone. One baseline says nothing about its spread, whatever the number of re-tests.
    """
    change = _mean([each.value for each in retests]) - _mean([each.value for each in baselines])
    low = _mean([each.low for each in retests]) - _mean([each.high for each in baselines])
    high = _mean([each.high for each in retests]) - _mean([each.low for each in baselines])
    own = _own_error(baselines, retests) if len(baselines) >= 2 else None
    wilder = own is not None and pooled is not None and pooled.df > own.df and _wilder(own, pooled)
    chosen = own if own is not None and (pooled is None or own.df >= pooled.df or wilder) else pooled
    if chosen is None:
        return Judged(CANNOT_BE_TOLD, change, low, high)
    factor = t_quantile(chosen.df, percent) * widening(len(baselines), len(retests))
    floor = resolution / math.sqrt(12)
    error = max(chosen.sd, floor)
    is_own = chosen is own
    if is_own:
        verdict = _by_own_error(baselines, retests, low, high, factor, floor, chosen.df)
    else:
        verdict = _by_fixed_error(low, high, factor * error)
    return Judged(
        verdict,
        change,
        low,
        high,
        error=error,
        df=chosen.df,
        detectable=factor * error,
        own=is_own,
        floored=chosen.sd < floor,
        wilder_than_pooled=wilder,
    )


def _by_fixed_error(low: float, high: float, detectable: float) -> Verdict:
    """Verdict with an error that does not depend on this student's values."""
    if low > detectable:
        return INCREASE
    if high < -detectable:
        return DECREASE
    return WITHIN if -detectable <= low and high <= detectable else CANNOT_BE_TOLD


def _by_own_error(
    baselines: Sequence[Bounded],
    retests: Sequence[Bounded],
    low: float,
    high: float,
    factor: float,
    floor: float,
    df: float,
) -> Verdict:
    """Verdict with an error that moves with the values inside their bounds.

    The change minus factor · error is concave in the values, so its least lies in a corner of their bounds: corners
    are tried one by one where they are not too many, else the error is taken at its largest. "Within" is decided by
    the smallest error that the bounds allow, which is on the careful side.
    """
    if not (math.isfinite(low) and math.isfinite(high)):
        return CANNOT_BE_TOLD
    if _margin(baselines, retests, factor, floor, df, upward=True) > 0:
        return INCREASE
    if _margin(baselines, retests, factor, floor, df, upward=False) > 0:
        return DECREASE
    least = math.sqrt((_least_squares(baselines) + _least_squares(retests)) / df)
    inside = factor * max(least, floor)
    return WITHIN if -inside <= low and high <= inside else CANNOT_BE_TOLD


def _margin(
    baselines: Sequence[Bounded], retests: Sequence[Bounded], factor: float, floor: float, df: float, *, upward: bool
) -> float:
    """Least of (change in the direction asked − factor · error) over all values within the bounds."""
    sign = 1.0 if upward else -1.0
    choices = [(each.value,) if each.low == each.high else (each.low, each.high) for each in (*baselines, *retests)]
    split = len(baselines)
    if math.prod(map(len, choices)) <= MOST_CORNERS:
        return min(
            sign * (_mean(corner[split:]) - _mean(corner[:split]))
            - factor * max(math.sqrt((_squares(corner[:split]) + _squares(corner[split:])) / df), floor)
            for corner in itertools.product(*choices)
        )
    middles = [(each.low + each.high) / 2 for each in (*baselines, *retests)]
    halves = [(each.high - each.low) / 2 for each in (*baselines, *retests)]
    change = sign * (_mean(middles[split:]) - _mean(middles[:split])) - _mean(halves[split:]) - _mean(halves[:split])
    at_middle = math.sqrt(_squares(middles[:split]) + _squares(middles[split:]))
    # Triangle inequality: taking the mean off never lengthens a vector.
    most = (at_middle + math.sqrt(math.fsum(half * half for half in halves))) / math.sqrt(df)
    return change - factor * max(most, floor)


def _least_squares(values: Sequence[Bounded]) -> float:
    """Least sum of squares about the mean that values within their bounds can have.

    All move towards one level as far as their bounds let them; the best level is found by bisection, since the sum
    of pulls falls steadily with it.
    """
    below, above = min(each.high for each in values), max(each.low for each in values)
    if below >= above:
        return 0.0  # one level lies within all bounds
    for _ in range(60):
        level = (below + above) / 2
        pull = math.fsum(min(max(level, each.low), each.high) - level for each in values)
        below, above = (level, above) if pull > 0 else (below, level)
    level = (below + above) / 2
    return _squares([min(max(level, each.low), each.high) for each in values])


def _own_error(baselines: Sequence[Bounded], retests: Sequence[Bounded]) -> PooledError:
    df = len(baselines) + len(retests) - 2
    squares = _squares([each.value for each in baselines]) + _squares([each.value for each in retests])
    return PooledError(math.sqrt(squares / df), df, 1)


def _wilder(own: PooledError, pooled: PooledError) -> bool:
    """Tell whether the student's own repeats scatter more than the pooled error explains (one-sided F test)."""
    if own.sd <= pooled.sd:
        return False
    if pooled.sd == 0:
        return True
    from scipy.special import fdtrc

    return bool(fdtrc(own.df, pooled.df, (own.sd / pooled.sd) ** 2) < SUSPICIOUS)


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def _squares(values: Sequence[float]) -> float:
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values)
