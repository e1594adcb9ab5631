"""The verdict on a change, which must hold for every value that unmeasured stretches allow.

The typical error comes from the student's own repeats where they are four or more, and is borrowed from the other
students on the protocol where they are fewer (``borrowed``). Own repeats lie within their bounds like any other value,
so both the change and its error move with them: the verdict is taken over all of them together (``yardstick``).
Baselines that were going the way of the change already take a verdict away (``trend``).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from .borrowed import Borrowed
from .detectable import PERCENT, level, t_quantile, widening
from .distributions import chi_squared_above, f_above
from .trend import CHANCE, LEAST_TRIALS, chance_of_order, slope
from .typical_error import PooledError, pooled_typical_error
from .yardstick import Bounded, Yardstick, change_of, least_limit, margin

__all__ = ["Bounded", "Judged", "Verdict", "judge"]

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
ErrorSource: TypeAlias = Literal["own", "borrowed", "borrowed with own"]
Withheld: TypeAlias = Literal["rising baselines"]
BEYOND: tuple[Verdict, ...] = (INCREASE, DECREASE)

OWN_ENOUGH_DF = 3
"""Degrees of freedom from which the own error is used alone: four baselines and a re-test, or as many repeats on both
sides together. It then finds nearly as much as a borrowed one and is unfair to nobody."""
SUSPICIOUS = 0.05
"""A student's own error counts as larger than the borrowed one if chance would make it so in fewer cases than this."""


@dataclass(frozen=True, slots=True)
class Judged:
    """A verdict and everything behind it, in the unit of the figure.

    low, high : least and greatest change that unmeasured stretches allow
    percent : level of the verdict
    error, df, detectable : None with a single baseline and no borrowed error
    others : students from whom the error is borrowed; 0 for the student's own
    with_own : the student's own repeats are a part of a borrowed error
    floored : the repeats are closer together than the figure is read, so reading sets the error
    wilder : the own repeats scatter more than the borrowed error explains
    drift : change from one baseline to the next, of four or more
    rising : the baselines were going the way of the change already, so that the verdict is withheld
    """

    verdict: Verdict
    change: float
    low: float
    high: float
    percent: float = PERCENT
    error: float | None = None
    df: float | None = None
    detectable: float | None = None
    others: int = 0
    with_own: bool = False
    floored: bool = False
    wilder: bool = False
    drift: float | None = None
    rising: bool = False

    @property
    def source(self) -> "ErrorSource | None":
        """Whose repeats the error comes from."""
        if self.error is None:
            return None
        return "own" if not self.others else "borrowed with own" if self.with_own else "borrowed"

    @property
    def withheld(self) -> "Withheld | None":
        """Why a change beyond variation is not called one."""
        return "rising baselines" if self.rising else None


def judge(
    baselines: Sequence[Bounded],
    retests: Sequence[Bounded],
    *,
    borrowed: Borrowed | None = None,
    resolution: float = 0.0,
    verdicts: int = 1,
) -> Judged:
    """Judge a change between the means of baselines and re-tests, each on a day of its own, in the order of the days.

    Parameters
    ----------
    baselines, retests : at least one each
    borrowed : error of the other students on the protocol, used while the student's own repeats are few, unless they
        scatter more than it can explain (F test): then the own, wider one is used. Taking the wider can only make a
        verdict more careful.
    resolution : smallest step in which the figure is read; an error is never taken to be less than what rounding to
        it makes, resolution/√12, so that repeats that happen to be equal do not make every change real
    verdicts : how many are given at once, one a side; they share the chance of a false one

    Own repeats of both sides are used, as in a two-sample t test with equal spread; with a single re-test these are
    the baselines alone. One baseline says nothing about its spread, whatever the number of re-tests.
    """
    change = change_of(baselines, retests)
    sides = [[each.value for each in side] for side in (baselines, retests)]
    own = pooled_typical_error(sides) if len(baselines) >= 2 else None
    few = own is None or own.df < OWN_ENOUGH_DF
    wilder = few and own is not None and borrowed is not None and _wilder(own, borrowed)
    lent = borrowed if few and not wilder else None
    error = own if lent is None else lent.with_own(own)
    percent = level(borrowed=lent is not None, verdicts=verdicts)
    if error is None:
        return Judged(CANNOT_BE_TOLD, *change, percent)
    factor = t_quantile(error.df, percent) * widening(len(baselines), len(retests))
    floor = resolution / math.sqrt(12)
    yardstick = _yardstick(factor, error, lent, floor, own=own is not None)
    found = Judged(
        _verdict(baselines, retests, yardstick),
        *change,
        percent,
        error=max(error.sd, floor),
        df=error.df,
        detectable=factor * max(error.sd, floor),
        others=0 if lent is None else lent.students,
        with_own=yardstick.own,
        floored=error.sd < floor,
        wilder=wilder,
    )
    return _without_trend(found, baselines, retests, yardstick)


def _verdict(baselines: Sequence[Bounded], retests: Sequence[Bounded], yardstick: Yardstick) -> Verdict:
    """What holds for every value within the bounds.

    "Within" is decided by the smallest error that the bounds allow, which is on the careful side.
    """
    change = change_of(baselines, retests)
    if yardstick.own and not (math.isfinite(change.low) and math.isfinite(change.high)):
        return CANNOT_BE_TOLD
    if margin(baselines, retests, yardstick, upward=True) > 0:
        return INCREASE
    if margin(baselines, retests, yardstick, upward=False) > 0:
        return DECREASE
    inside = least_limit(baselines, retests, yardstick)
    return WITHIN if -inside <= change.low and change.high <= inside else CANNOT_BE_TOLD


def _without_trend(
    found: Judged, baselines: Sequence[Bounded], retests: Sequence[Bounded], yardstick: Yardstick
) -> Judged:
    """The verdict, taken away where baselines that went the same way may be what made it.

    From four baselines on two things must not be so: that they stand in an order that chance alone rarely brings about,
    and that the change, counted from the level that they had reached at the end, is no longer beyond variation. A
    slope alone takes nothing away: half of all students who do not change have one.
    """
    if len(baselines) < LEAST_TRIALS:
        return found
    values = [each.value for each in baselines]
    drift = slope(values)
    found = replace(found, drift=drift)
    upward = found.verdict == INCREASE
    if found.verdict not in BEYOND or drift == 0 or (drift > 0) != upward:
        return found
    reached = drift * (len(values) - 1) / 2
    at_the_end = [Bounded(*(part + reached for part in each)) for each in baselines]
    in_order = chance_of_order(values, upward=upward) <= CHANCE
    if in_order or _verdict(at_the_end, retests, yardstick) != found.verdict:
        return replace(found, verdict=CANNOT_BE_TOLD, rising=True)
    return found


def _yardstick(factor: float, error: PooledError, lent: Borrowed | None, floor: float, *, own: bool) -> Yardstick:
    """The detectable change: all of it, a part of it, or nothing of it moves with the student's own values."""
    if lent is None:
        return Yardstick(factor, error.df, 0.0, own=True, floor=floor)
    if math.isinf(lent.df):
        return Yardstick(factor, 1.0, lent.sd**2, own=False, floor=floor)
    return Yardstick(factor, error.df, lent.df * lent.sd**2, own=own, floor=floor)


def _wilder(own: PooledError, borrowed: Borrowed) -> bool:
    """Tell whether the student's own repeats scatter more than the borrowed error explains (one-sided F test)."""
    if borrowed.sd == 0:
        return own.sd > 0
    ratio = (own.sd / borrowed.sd) ** 2
    if math.isinf(borrowed.df):
        return chi_squared_above(own.df, own.df * ratio) < SUSPICIOUS
    return f_above(own.df, borrowed.df, ratio) < SUSPICIOUS
