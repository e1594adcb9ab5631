"""Typical error and detectable change against published values and an independent library."""

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
from ownmark.records.change.typical_error import pooled_typical_error, spread
from scipy import stats

INF = math.inf


def test_the_example_of_the_trade_reference():
    # Trade reference 8: differences +2, -4, +1, -3, +4 bpm: SD 3.39, typical error 2.40 (SD/√2), MDC95 6.65.
    differences = [2, -4, 1, -3, 4]
    assert spread(differences) == pytest.approx(3.39, abs=0.005)
    assert detectable_change(spread(differences) / math.sqrt(2)) == pytest.approx(6.65, abs=0.005)


def test_one_persons_repeats():
    # Trade tables 9.1 (Hopkins, from memory): mean 75.8333, SD 3.0605.
    assert spread([71, 76, 74, 79, 79, 76]) == pytest.approx(3.0605, abs=5e-5)
    assert pooled_typical_error([[71, 76, 74, 79, 79, 76]]).df == 5


def test_the_limits_of_eight_pairs():
    # Trade tables 9.2: SD 3.8545, TE 2.7255 (SD/√2), 95 % limits 7.5548.
    differences = [4, -3, 2, -5, 1, 6, -2, -3]
    assert spread(differences) == pytest.approx(3.8545, abs=5e-5)
    assert detectable_change(spread(differences) / math.sqrt(2)) == pytest.approx(7.5548, abs=2e-4)


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
def test_the_pooled_error_is_the_residual_of_an_analysis_of_variance(table):
    # Within-student mean square with a student as the only factor, by an independent library; unequal numbers too.
    groups = [list(table[row, : 1 + row % 3]) for row in range(9)]
    long = pd.DataFrame([(row, value) for row, group in enumerate(groups) for value in group], columns=["who", "bpm"])
    anova = pingouin.anova(long, dv="bpm", between="who", detailed=True).set_index("Source")
    pooled = pooled_typical_error(groups)
    assert pooled.sd**2 == pytest.approx(anova.loc["Within", "MS"])
    assert pooled.df == anova.loc["Within", "DF"] == 9


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
    assert (found.sd, found.df) == (pytest.approx(math.sqrt(20 / 3)), 3)


def test_what_has_no_spread_is_refused():
    for call in (
        lambda: spread([1.0]),
        lambda: pooled_typical_error([[1.0], [], [2.0]]),
        lambda: pooled_typical_error([]),
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
