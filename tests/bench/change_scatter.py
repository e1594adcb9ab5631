"""Students who vary unlike each other: false verdicts and found changes by rule. ``scatter()`` prints four tables.

python -m tests.bench.change_scatter

Made classes of eight, whose errors scatter log-normally; every student is judged from the same few trials by each rule.
"false" is a change called beyond variation where nothing changed, over all students and over those whose true error
lies in the upper quarter; "found" a change of four of the student's own typical errors. The rules of the first table
are own error, one error pooled over the class, the own moderated by a prior from the class (Smyth 2004), the larger of
these two, the moderated with a limit at 99 %, and the one in use, which is ``judge`` itself.
"""

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ownmark.records.change.borrowed import Spread, Spreads, prior
from ownmark.records.change.detectable import t_quantile, widening
from ownmark.records.change.verdict import BEYOND, INCREASE, Bounded, Judged, judge

Floats = NDArray[np.float64]
CLASSES = 1_000
FOUND_ERRORS = 4.0
UPPER_QUARTER = 0.67449  # quantile of a normal distribution


@dataclass(frozen=True)
class Made:
    """Who was tested how: trials a side, SD of the logarithm of the errors, students, and what else moves.

    day : shift that all of a class share on a day, in typical errors
    drift : change from one baseline to the next, in typical errors; ``goes_on`` in the re-tests, else it has stopped
    """

    baselines: int
    retests: int
    scatter: float = 0.0
    students: int = 8
    day: float = 0.0
    drift: float = 0.0
    goes_on: bool = False


@dataclass
class Share:
    """Counts of verdicts, told as shares in %."""

    students: int = 0
    false: int = 0
    upper: int = 0
    upper_false: int = 0
    found: int = 0

    def add(self, *, false: bool, upper: bool, found: bool) -> None:
        """Count one student."""
        self.students += 1
        self.false += false
        self.upper += upper
        self.upper_false += upper and false
        self.found += found

    @property
    def shares(self) -> tuple[float, float, float]:
        """False overall, false in the most variable quarter (NaN without scatter), found."""
        quarter = 100 * self.upper_false / self.upper if self.upper else math.nan
        return 100 * self.false / self.students, quarter, 100 * self.found / self.students


def classes(made: Made, count: int, seed: int) -> Iterator[tuple[Floats, Floats]]:
    """Errors (k,) and trials (k, baselines + retests) of ``count`` classes, in the order of the days."""
    rng = np.random.default_rng(seed)
    trials = made.baselines + made.retests
    for _ in range(count):
        errors = np.exp(made.scatter * rng.standard_normal(made.students))
        values = errors[:, None] * rng.standard_normal((made.students, trials))
        values += made.day * rng.standard_normal(trials)
        steps = np.arange(trials) if made.goes_on else np.minimum(np.arange(trials), made.baselines - 1)
        yield errors, values + made.drift * steps


def in_use(made: Made, count: int = CLASSES, seed: int = 1) -> Share:
    """The rule in use, by the function that gives the verdicts."""
    share = Share()
    for errors, values in classes(made, count, seed):
        for error, false, found in zip(errors, judged(made, values), judged(made, values, errors), strict=True):
            share.add(
                false=false.verdict in BEYOND,
                upper=made.scatter > 0 and math.log(error) > UPPER_QUARTER * made.scatter,
                found=found.verdict == INCREASE,
            )
    return share


def judged(made: Made, values: Floats, errors: Floats | None = None) -> list[Judged]:
    """A class judged; with ``errors`` everybody changed by four of them."""
    lent = Spreads.of({str(place): each for place, each in enumerate(_spreads(made, values))})
    found = []
    for place, own in enumerate(values.tolist()):
        change = 0.0 if errors is None else FOUND_ERRORS * float(errors[place])
        exact = [Bounded(each, each, each) for each in own[: made.baselines]]
        later = [Bounded(each + change, each + change, each + change) for each in own[made.baselines :]]
        found.append(judge(exact, later, borrowed=None if lent is None else lent.borrowed_for(str(place))))
    return found


def _spreads(made: Made, values: Floats) -> list[Spread]:
    """Each student's baselines about their own mean."""
    before = values[:, : made.baselines]
    squares = ((before - before.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
    return [Spread(float(each), made.baselines - 1) for each in squares]


Limits = Callable[[Floats, int], Floats]
"""From the own variances of a class and their degrees of freedom to the limits, in errors of a difference of means."""


def own(variances: Floats, df: int) -> Floats:
    """The student's own error."""
    return t_quantile(df) * np.sqrt(variances)


def pooled(variances: Floats, df: int) -> Floats:
    """One error for the class."""
    return np.full(variances.shape, t_quantile(df * variances.size) * math.sqrt(variances.mean()))


def moderated(variances: Floats, df: int, percent: float = 95.0) -> Floats:
    """Smyth's, without this project's limits on the prior but that of its authors: no more than all repeats hold."""
    variance, prior_df = prior([Spread(float(each) * df, df) for each in variances])
    if math.isinf(prior_df):
        return np.full(variances.shape, t_quantile(df * variances.size, percent) * math.sqrt(variances.mean()))
    both = (prior_df * variance + df * variances) / (prior_df + df)
    return t_quantile(min(prior_df + df, df * variances.size), percent) * np.sqrt(both)


RULES: dict[str, Limits] = {
    "own": own,
    "pooled": pooled,
    "moderated": moderated,
    "larger of two": lambda variances, df: np.maximum(moderated(variances, df), pooled(variances, df)),
    "moderated, 99 %": lambda variances, df: moderated(variances, df, 99.0),
}


def by_rule(made: Made, count: int = CLASSES, seed: int = 1) -> dict[str, Share]:
    """Every rule on the same classes; own errors from the baselines alone."""
    shares = {name: Share() for name in RULES}
    wide = widening(made.baselines, made.retests)
    df = made.baselines - 1
    for errors, values in classes(made, count, seed):
        before, after = values[:, : made.baselines], values[:, made.baselines :]
        changes = after.mean(axis=1) - before.mean(axis=1)
        variances = before.var(axis=1, ddof=1)
        upper = np.log(errors) > UPPER_QUARTER * made.scatter if made.scatter else np.zeros(errors.shape, dtype=bool)
        for name, rule in RULES.items():
            limits = wide * rule(variances, df)
            each = zip(abs(changes) > limits, upper, changes + FOUND_ERRORS * errors > limits, strict=True)
            for false, most, found in each:
                shares[name].add(false=bool(false), upper=bool(most), found=bool(found))
    return shares


SCATTERS = (
    *(Made(2, 1, 0.0), Made(2, 1, 0.5), Made(3, 1, 0.0), Made(3, 1, 0.5), Made(3, 1, 0.8), Made(4, 1, 0.5)),
    *(Made(3, 3, 0.5), Made(2, 1, 0.5, students=3), Made(3, 1, 0.5, students=3), Made(3, 1, 0.5, students=30)),
)
DAYS = (*(Made(2, 1, 0.0, day=day) for day in (0.0, 1.0, 2.0)), *(Made(3, 1, 0.5, day=day) for day in (0.0, 1.0, 2.0)))
TRENDS = tuple(
    Made(baselines, retests, drift=drift, goes_on=drift == 0.2)
    for baselines, retests in ((4, 1), (6, 1), (6, 3))
    for drift in (0.0, 0.2, 0.5, 1.0)
)


def one_baseline(scatter_: float, lenders: int, count: int = 4 * CLASSES, seed: int = 1) -> Share:
    """One baseline and one re-test, with the error of ``lenders`` others who have two baselines each."""
    share = Share()
    rng = np.random.default_rng(seed)
    for _ in range(count):
        others = np.exp(scatter_ * rng.standard_normal(lenders)) ** 2 * rng.chisquare(1, lenders)
        lent = Spreads.of({str(place): Spread(float(each), 1) for place, each in enumerate(others)})
        error = math.exp(scatter_ * rng.standard_normal())
        before, after = (error * rng.standard_normal(2)).tolist()
        borrowed = None if lent is None else lent.borrowed_for("own")
        verdicts = [
            judge([Bounded(before, before, before)], [Bounded(each, each, each)], borrowed=borrowed).verdict
            for each in (after, after + FOUND_ERRORS * error)
        ]
        upper = scatter_ > 0 and math.log(error) > UPPER_QUARTER * scatter_
        share.add(false=verdicts[0] in BEYOND, upper=upper, found=verdicts[1] == INCREASE)
    return share


@dataclass
class TrendShare:
    """Beyond variation [%]: no look at the baselines' trend, a slope that way withholds it, and as in use."""

    unlooked: float
    by_slope: float
    in_use: float


def trend_shares(made: Made, count: int = CLASSES // 2, seed: int = 1) -> tuple[TrendShare, TrendShare]:
    """False verdicts and, where everybody changed by four errors, found ones."""
    counts = np.zeros((2, 3))
    for errors, values in classes(made, count, seed):
        for place, moved in enumerate((None, errors)):
            for each in judged(made, values, moved):
                beyond = each.verdict in BEYOND or each.rising
                same_way = each.drift is not None and each.drift * each.change > 0
                counts[place] += (beyond, beyond and not same_way, each.verdict in BEYOND)
    false, found = (100 * counts / (count * made.students)).tolist()
    return TrendShare(*false), TrendShare(*found)


def _told(share: Share) -> str:
    false, quarter, found = share.shares
    return f"{false:5.1f} /{'    –' if math.isnan(quarter) else f'{quarter:5.1f}'},{found:4.0f}"


def _row(say: Callable[[str], None], label: str, cells: Sequence[str]) -> None:
    say(f"{label:38}" + "".join(f"{cell:>18}" for cell in cells))


def scatter(say: Callable[[str], None] = print) -> None:
    """Print the tables."""
    began = time.perf_counter()
    say(f"False / false in the most variable quarter, found of a change of four errors, [%]; {CLASSES:,} classes a row")
    _row(say, "baselines + re-tests, scatter, students", [*RULES, "in use"])
    for made in SCATTERS:
        cells = [*by_rule(made).values(), in_use(made)]
        label = f"{made.baselines} + {made.retests}, {made.scatter:g}, {made.students}"
        _row(say, label, [_told(each) for each in cells])
    say("One baseline, one re-test, lenders with two baselines each (in use)")
    for lenders in (3, 8, 30):
        for scatter_ in (0.0, 0.5):
            _row(say, f"1 + 1, {scatter_:g}, {lenders} lenders", [_told(one_baseline(scatter_, lenders))])
    say("A shift that all of a class share on a day, in typical errors")
    for made in DAYS:
        cells = [*by_rule(made).values(), in_use(made)]
        label = f"{made.baselines} + {made.retests}, {made.scatter:g}, shift of {made.day:g}"
        _row(say, label, [_told(each) for each in cells])
    say("Baselines that drift, in typical errors a trial: not looked at / any slope that way withholds / in use")
    for made in TRENDS:
        label = f"{made.baselines} + {made.retests}, drift {made.drift:g}{', goes on' if made.goes_on else ''}"
        cells = [
            f"{name} {each.unlooked:.1f} / {each.by_slope:.1f} / {each.in_use:.1f}"
            for name, each in zip(("false", "found"), trend_shares(made), strict=True)
        ]
        say(f"{label:38}{cells[0]:28}{cells[1]}")
    say(f"{time.perf_counter() - began:.0f} s for these tables")


if __name__ == "__main__":
    scatter()
