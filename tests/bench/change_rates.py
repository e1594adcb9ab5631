"""How often a change is called real when nothing changed, and how often a real one is found: ``rates()`` prints both.

python -m tests.bench.change_rates

Every row is 10,000 made students through the same function that gives the verdicts. Without a true change a verdict
"beyond variation" is false; with the student's own error it comes to 5 % exactly by the mathematics where values have
no gaps, with a borrowed error to less where all students vary alike. With a true change of twice the detectable one the
share found is given two ways: twice the detectable change that the student's own comparison states (97.5 % by the
mathematics with the own error), and twice the one of the true error (less certain, since an error from two trials may
come out far too large). How the rules do where students vary unlike each other stands in ``change_scatter``, whose
tables are printed below.
"""

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ownmark.records.change.borrowed import Borrowed, Spread, Spreads
from ownmark.records.change.detectable import t_quantile, widening
from ownmark.records.change.verdict import BEYOND, INCREASE, Bounded, Judged, judge

from tests.bench.change_scatter import scatter

Floats = NDArray[np.float64]
STUDENTS = 10_000
ERROR = 4.0


@dataclass(frozen=True)
class Design:
    """What was measured: trials a side, where the error comes from, and what else stands in the way.

    others : students from whom an error is borrowed, 0 for the student's own alone
    gap : widest bounds as a share of the error; the truth lies anywhere inside them
    step : values are read to this step
    uneven : errors of students differ by this factor up and down (log-normal SD)
    """

    words: str
    baselines: int
    retests: int
    others: int = 0
    gap: float = 0.0
    step: float = 0.0
    uneven: float = 0.0
    lengths: tuple[int, ...] = (2,)
    error: float = ERROR


DESIGNS = (
    Design("1 and 1, borrowed from 60", 1, 1, others=60),
    Design("1 and 1, borrowed from 12", 1, 1, others=12),
    Design("3 and 1, borrowed from 12", 3, 1, others=12),
    Design("2 and 1, own", 2, 1),
    Design("3 and 1, own", 3, 1),
    Design("3 and 2, own", 3, 2),
    Design("5 and 3, own", 5, 3),
    Design("4 and 1, own", 4, 1),
    Design("2 and 1, borrowed from 30 unequal", 2, 1, others=30, lengths=(1, 2, 3, 4)),
    Design("1 and 1, borrowed from 60, gaps", 1, 1, others=60, gap=1.0),
    Design("3 and 1, borrowed from 12, gaps", 3, 1, others=12, gap=1.0),
    Design("3 and 2, own, gaps", 3, 2, gap=1.0),
    Design("2 and 1, own, counts (error 0.6)", 2, 1, step=1.0, error=0.6),
    Design("3 and 1, own, counts (error 0.6)", 3, 1, step=1.0, error=0.6),
    Design("3 and 1, own, counts (error 0.3)", 3, 1, step=1.0, error=0.3),
    Design("3 and 1, borrowed from 30, errors uneven", 3, 1, others=30, uneven=0.3),
)


@dataclass(frozen=True)
class Rates:
    """Shares in %: false verdicts, and changes found of twice the stated and twice the true detectable change."""

    false: float
    found_of_stated: float
    found_of_true: float


def rates_of(design: Design, students: int = STUDENTS, seed: int = 1) -> Rates:
    """Simulate ``students`` three times over: no change, twice the stated and twice the true detectable change."""
    rng = np.random.default_rng(seed)
    false = found_stated = found_true = 0
    for _ in range(students):
        sd = design.error * math.exp(design.uneven * rng.standard_normal()) if design.uneven else design.error
        lent = _lent(design, rng)
        trials = 150.0 + sd * rng.standard_normal(design.baselines + design.retests)
        offsets = rng.random((design.baselines + design.retests, 2)) * design.gap * sd / 2
        verdict = _judged(design, trials, offsets, lent)
        false += verdict.verdict in BEYOND
        stated = verdict.detectable or 0.0
        found_stated += _found(design, _moved(trials, design, 2 * stated), offsets, lent)
        known = t_quantile(verdict.df or math.inf, verdict.percent) * sd * widening(design.baselines, design.retests)
        found_true += _found(design, _moved(trials, design, 2 * known), offsets, lent)
    return Rates(*(100 * count / students for count in (false, found_stated, found_true)))


def _lent(design: Design, rng: np.random.Generator) -> Borrowed | None:
    """The error over other students, drawn anew for every student, as another class would give it."""
    degrees = [design.lengths[number % len(design.lengths)] - 1 for number in range(design.others)]
    errors = design.error * np.exp(design.uneven * rng.standard_normal(design.others))
    spreads = {
        str(place): Spread(float(error**2 * rng.chisquare(df)), df)
        for place, (error, df) in enumerate(zip(errors, degrees, strict=True))
        if df
    }
    found = Spreads.of(spreads)
    return None if found is None else found.borrowed_for("own")


def _found(design: Design, truth: Floats, offsets: Floats, lent: Borrowed | None) -> bool:
    """Whether an increase is found; one that is withheld because the baselines were rising is none."""
    return _judged(design, truth, offsets, lent).verdict == INCREASE


def _moved(trials: Floats, design: Design, change: float) -> Floats:
    moved = trials.copy()
    moved[design.baselines :] += change
    return moved


def _judged(design: Design, truth: Floats, offsets: Floats, lent: Borrowed | None) -> Judged:
    """The verdict on values of which only bounds that hold the truth are known."""
    shown = np.round(truth / design.step) * design.step if design.step else truth
    low, high = shown - offsets[:, 0], shown + offsets[:, 1]
    values = [
        Bounded((a + b) / 2, a, b) if design.gap else Bounded(a, a, a)
        for a, b in zip(low.tolist(), high.tolist(), strict=True)
    ]
    split = design.baselines
    return judge(values[:split], values[split:], borrowed=lent, resolution=design.step)


def own_pair_by_expected_error(students: int = STUDENTS, seed: int = 1) -> float:
    """Share found [%] with two baselines and one re-test, of a change twice what the error shows on average.

    An error from two trials comes out at 0.80 of the true one on average and at more than twice that in one student
    of nine, whose change is then missed: no rule that keeps false verdicts at 5 % can do without that.
    """
    rng = np.random.default_rng(seed)
    change = 2 * t_quantile(1) * math.sqrt(2 / math.pi) * ERROR * widening(2, 1)
    design = Design("", 2, 1)
    found = 0
    for _ in range(students):
        trials = _moved(150.0 + ERROR * rng.standard_normal(3), design, change)
        found += _judged(design, trials, np.zeros((3, 2)), None).verdict == INCREASE
    return 100 * found / students


def seconds_for_all(students: int = STUDENTS) -> float:
    """Time to compare as many students with one baseline and one re-test each, figures in memory [s]."""
    from ownmark.records.change.comparison import compare

    from tests.records.makers import trial

    pairs = [([trial(0, 40.0 + number % 7)], [trial(60, 30.0)]) for number in range(students)]
    lent = Borrowed(ERROR, 4.0, 100)
    began = time.perf_counter()
    for before, after in pairs:
        compare(before, after, lent)
    return time.perf_counter() - began


def above_five(percent: float, students: int = STUDENTS) -> bool:
    """Tell whether so many false verdicts would come in fewer than 1 of 1,000 runs at a true rate of 5 %."""
    from scipy.special import bdtrc

    return bool(bdtrc(round(percent * students / 100) - 1, students, 0.05) < 0.001)


def rates(say: Callable[[str], None] = print) -> None:
    """Print the table."""
    began = time.perf_counter()
    say(f"Verdicts on {STUDENTS:,} made students a row (trials at baseline and re-test, where the error comes from)")
    say(f"{'':42}{'false, of no change':>21}{'above 5 %?':>12}{'found, 2 x stated':>19}{'found, 2 x true':>18}")
    for design in DESIGNS:
        found = rates_of(design)
        spread = 1.96 * math.sqrt(found.false * (100 - found.false) / STUDENTS)
        above = "by chance" if found.false > 5 and not above_five(found.false) else "no"
        say(
            f"{design.words:42}{found.false:11.2f} ± {spread:.2f} %{'YES' if above_five(found.false) else above:>12}"
            f"{found.found_of_stated:17.2f} %{found.found_of_true:16.2f} %"
        )
    say(
        "An error from two trials is so uncertain that of a change twice the detectable one of the average error"
        f" {own_pair_by_expected_error():.1f} % are found; a third baseline or a borrowed error mends that."
    )
    say(f"{time.perf_counter() - began:.0f} s for this table")
    say(f"compare() for {STUDENTS:,} students, figures in memory: {seconds_for_all():.1f} s")
    scatter(say)


if __name__ == "__main__":
    rates()
