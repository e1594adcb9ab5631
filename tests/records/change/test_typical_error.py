"""Typical error, detectable change and agreement against published values and an independent library."""

import math

import numpy as np
import pandas as pd
import pingouin
import pytest
from ownmark.errors import NothingToCompare
from ownmark.records.change.detectable import (
    PERCENT,
    PERCENT_BORROWED,
    chance_beyond,
    detectable_change,
    level,
    t_quantile,
    widening,
)
from ownmark.records.change.typical_error import (
    agreement,
    error_from_icc,
    error_interval,
    pooled_typical_error,
    spread,
    typical_error_of_pairs,
)
from scipy import stats

INF = math.inf


def test_the_example_of_the_trade_reference():
    # Trade reference 8: differences +2, -4, +1, -3, +4 bpm: SD 3.39, typical error 2.40, MDC95 6.65.
    differences = [2, -4, 1, -3, 4]
    assert spread(differences) == pytest.approx(3.39, abs=0.005)
    error = typical_error_of_pairs([100] * 5, [100 + each for each in differences])
    assert error.sd == pytest.approx(2.40, abs=0.005)
    assert error.df == 4
    assert detectable_change(error.sd) == pytest.approx(6.65, abs=0.005)


def test_one_persons_repeats():
    # Trade tables 9.1 (Hopkins, from memory): mean 75.8333, SD 3.0605.
    assert spread([71, 76, 74, 79, 79, 76]) == pytest.approx(3.0605, abs=5e-5)
    assert pooled_typical_error([[71, 76, 74, 79, 79, 76]]).df == 5


def test_eight_pairs_and_the_interval_of_their_error():
    # Trade tables 9.2: SD 3.8545, TE 2.7255, 95 % limits 7.5548, 95 % interval of TE 1.80-5.55 with 7 degrees.
    differences = [4, -3, 2, -5, 1, 6, -2, -3]
    error = typical_error_of_pairs([0] * 8, differences)
    assert spread(differences) == pytest.approx(3.8545, abs=5e-5)
    assert error.sd == pytest.approx(2.7255, abs=5e-5)
    assert detectable_change(error.sd) == pytest.approx(7.5548, abs=2e-4)
    low, high = error_interval(error.sd, error.df)
    assert (round(low, 2), round(high, 2)) == (1.80, 5.55)


def test_the_error_from_an_intraclass_correlation():
    # Trade tables 9.3 (Weir 2005, from memory).
    assert error_from_icc(12, 0.91) == pytest.approx(3.600)
    for icc in (-0.1, 1.1, float("nan")):
        with pytest.raises(NothingToCompare):
            error_from_icc(12, icc)


@pytest.mark.parametrize(
    ("error", "percent", "expected"),
    [
        (3.6, 95, 9.9787),  # trade tables 9.4
        (2.27, 90, 5.281),  # Gauthier 2017: 2.27 mL/kg/min
        (2.27, 95, 6.292),
        (0.76, 90, 1.768),  # Gauthier 2017: 0.76 min
    ],
)
def test_detectable_change_with_a_well_known_error(error, percent, expected):
    assert detectable_change(error, percent=percent) == pytest.approx(expected, abs=6e-4)


def test_a_table_that_multiplies_by_t_and_not_by_1_96():
    # Trade tables 9.4: SEM 2.8 with t of about 2.1 gives 8.3; that t belongs to about 18 degrees of freedom.
    assert t_quantile(18) == pytest.approx(2.1, abs=0.005)
    assert detectable_change(2.8, 18) == pytest.approx(8.3, abs=0.05)
    assert detectable_change(2.8) == pytest.approx(7.761, abs=5e-4)


@pytest.mark.parametrize(("trials", "expected"), [(1, 9.7015), (2, 6.8600), (3, 5.6012)])
def test_more_trials_on_each_side_narrow_it(trials, expected):
    # Trade tables 9.6: TE 3.5.
    found = detectable_change(3.5, baselines=trials, retests=trials)
    assert found == pytest.approx(expected, abs=2e-4)


def test_2_77_errors_are_the_limit_and_few_trials_need_more():
    assert detectable_change(1.0) == pytest.approx(2.7719, abs=1e-4)
    assert detectable_change(1.0, 1e9) == pytest.approx(2.7719, abs=1e-4)
    # Student's t, any printed table: 12.706, 4.303, 3.182 for 1, 2, 3 degrees of freedom.
    for df, printed in ((1, 12.706), (2, 4.303), (3, 3.182)):
        assert detectable_change(1.0, df) / math.sqrt(2) == pytest.approx(printed, abs=6e-4)


def test_the_chance_of_a_change_that_matters():
    # Trade tables 9.7: change -10 where lower is better, smallest 3, TE 3.5.
    assert chance_beyond(10, 3, 3.5) == pytest.approx(0.9214, abs=5e-5)
    assert chance_beyond(10, 0, 3.5) == pytest.approx(0.9783, abs=5e-5)
    assert chance_beyond(10, 3, 3.5, df=4) == pytest.approx(stats.t.cdf(7 / (3.5 * math.sqrt(2)), 4))


@pytest.fixture(scope="module")
def table():
    rng = np.random.default_rng(3)
    return 100 + 12 * rng.standard_normal((9, 1)) + 4 * rng.standard_normal((9, 3)) + np.array([0.0, -3.0, -5.0])


@pytest.mark.filterwarnings("ignore:The inplace keyword")  # inside the library
def test_agreement_is_that_of_an_independent_library(table):
    long = pd.DataFrame(
        [(row, column, table[row, column]) for row in range(9) for column in range(3)], columns=["who", "trial", "bpm"]
    )
    found = pingouin.intraclass_corr(long, targets="who", raters="trial", ratings="bpm")
    values = dict(zip(found["Type"], found["ICC"], strict=True))
    name = next(name for name in ("ICC(A,1)", "ICC2") if name in values)
    assert agreement(table) == pytest.approx(values[name], abs=1e-6)


def test_agreement_of_two_students_in_two_trials_by_hand():
    # Rows 2 and 6, columns 3 and 5, nothing left over: 16 / (16 + 2 / 2 · 4).
    assert agreement([[1, 3], [5, 7]]) == pytest.approx(0.8)


@pytest.mark.filterwarnings("ignore:The inplace keyword")  # inside the library
def test_the_pooled_error_is_the_residual_of_an_analysis_of_variance(table):
    # Within-student mean square with a student as the only factor, by an independent library; unequal numbers too.
    groups = [list(table[row, : 1 + row % 3]) for row in range(9)]
    long = pd.DataFrame([(row, value) for row, group in enumerate(groups) for value in group], columns=["who", "bpm"])
    anova = pingouin.anova(long, dv="bpm", between="who", detailed=True).set_index("Source")
    pooled = pooled_typical_error(groups)
    assert pooled.sd**2 == pytest.approx(anova.loc["Within", "MS"])
    assert pooled.df == anova.loc["Within", "DF"] == 9
    assert pooled.students == 6


def test_pairs_take_a_shared_shift_out_and_the_pooled_error_keeps_it(table):
    first, second = table[:, 0], table[:, 1]
    pairs = typical_error_of_pairs(list(first), list(second))
    pooled = pooled_typical_error([list(pair) for pair in zip(first, second, strict=True)])
    shift = float(np.mean(second - first))
    # Algebra: n·pooled² = (n - 1)·pairs² + n·shift²/2.
    assert 9 * pooled.sd**2 == pytest.approx(8 * pairs.sd**2 + 9 * shift**2 / 2)
    assert pooled.sd > pairs.sd


def test_the_levels_of_one_and_of_two_limits():
    assert (PERCENT, PERCENT_BORROWED) == (95, 98)
    assert (level(borrowed=False), level(borrowed=True)) == (95, 98)
    assert (level(borrowed=False, verdicts=2), level(borrowed=True, verdicts=2)) == (97.5, 99)


def test_the_difference_of_two_means_is_wider_by_both_numbers_of_trials():
    assert widening(1, 1) == pytest.approx(math.sqrt(2))
    assert widening(4, 1) == pytest.approx(math.sqrt(1.25))
    assert widening(2, 3) == widening(3, 2) == pytest.approx(math.sqrt(5 / 6))
    # Any table of t: 2.776 for 4 degrees at 95 %, 3.747 at 98 %, 2.576 for infinitely many at 99 %.
    assert detectable_change(2.0, 4, baselines=4, retests=1) == pytest.approx(2.7764 * 2 * math.sqrt(1.25), abs=1e-3)
    assert t_quantile(4, 98) == pytest.approx(3.7469, abs=1e-4)
    assert t_quantile(INF, 99) == pytest.approx(2.5758, abs=1e-4)
    assert t_quantile(0.5) == pytest.approx(stats.t.ppf(0.975, 0.5))
    # Two on each side, df 4: (10 − 3) / (3.5 · 1) = 2.
    assert chance_beyond(10, 3, 3.5, df=4, baselines=2, retests=2) == pytest.approx(stats.t.cdf(2, 4))
    assert chance_beyond(3, 3, 3.5) == 0.5


def test_few_values_by_hand():
    # Mean 5: 9 + 0 + 9, over 2.
    assert spread([2, 5, 8]) == 3
    assert spread([1, 3]) == pytest.approx(math.sqrt(2))
    # 2 and 18 with 1 + 2 degrees; a lone value says nothing.
    found = pooled_typical_error([[1, 3], [2, 5, 8], [100]])
    assert (found.sd, found.df, found.students) == (pytest.approx(math.sqrt(20 / 3)), 3, 2)
    pairs = typical_error_of_pairs([10, 20, 30], [11, 23, 32])
    # Differences 1, 3, 2: SD 1.
    assert (pairs.sd, pairs.df, pairs.students) == (pytest.approx(math.sqrt(0.5)), 2, 3)
    assert error_from_icc(10, 0) == 10
    assert error_from_icc(10, 1) == 0
    assert error_from_icc(10, 0.64) == pytest.approx(6)
    # Chi-square of 4 degrees: 0.4844 and 11.1433 at 95 %, 0.7107 and 9.4877 at 90 %, in a printed table.
    assert error_interval(2.0, 4) == (pytest.approx(1.1983, abs=1e-4), pytest.approx(5.7472, abs=1e-3))
    assert error_interval(2.0, 4, 90.0) == (pytest.approx(1.2986, abs=1e-4), pytest.approx(4.7447, abs=1e-3))


def test_what_has_no_spread_is_refused():
    for call in (
        lambda: spread([1.0]),
        lambda: pooled_typical_error([[1.0], [], [2.0]]),
        lambda: typical_error_of_pairs([1.0, 2.0], [1.0]),
        lambda: typical_error_of_pairs([1.0], [2.0]),
        lambda: agreement([[1.0, 2.0]]),
        lambda: agreement([[1.0], [2.0]]),
        lambda: agreement([1.0, 2.0]),
        lambda: pooled_typical_error([]),
        lambda: typical_error_of_pairs([], []),
        lambda: t_quantile(-1),
        lambda: t_quantile(3, 0),
        lambda: widening(1, 0),
        lambda: chance_beyond(1, 0, -1),
        lambda: t_quantile(0),
        lambda: t_quantile(3, 100),
        lambda: detectable_change(1.0, baselines=0),
        lambda: chance_beyond(1, 0, 0),
    ):
        with pytest.raises(NothingToCompare):
            call()
    assert detectable_change(1.0, INF) > 0
