"""Errors borrowed from other students, against an independent implementation and by hand."""

import math

import pytest
from ownmark.records.change.borrowed import LEAST_STUDENTS, MOST_DF, Borrowed, Spread, Spreads, prior
from ownmark.records.change.typical_error import PooledError


def spreads(variances, dfs):
    return [Spread(each * df, df) for each, df in zip(variances, dfs, strict=True)]


@pytest.mark.parametrize(
    ("variances", "dfs", "variance", "df"),
    [
        ([1, 4, 9, 25], [2] * 4, 8.87036534323409, 10.83776239574523),
        ([0.01, 2, 30, 0.4, 700, 0.5], [3] * 6, 0.25091539392187806, 0.5600962665360335),
        ([2, 5, 3, 40, 0.1, 90], [1, 2, 3, 1, 2, 3], 3.516534945583698, 1.2005434620112667),
    ],
)
def test_the_prior_is_that_of_an_independent_implementation(variances, dfs, variance, df):
    # pylimma 0.2.0 (a port of the authors' own R package, held against it by its tests), fit_f_dist.
    assert prior(spreads(variances, dfs)) == (pytest.approx(variance, rel=1e-9), pytest.approx(df, rel=1e-9))


def test_variances_that_scatter_no_more_than_chance_say_that_all_vary_alike():
    # The same library calls this infinite as well.
    assert prior(spreads([1, 1.2, 0.9, 1.1, 1.0], [3] * 5))[1] == math.inf


def test_a_prior_is_worth_four_degrees_at_the_most():
    # Equal variances of 2 with 2 degrees: mean logarithm log 2 − digamma(1) + log 1 = log 2 + 0.5772157; with 4 degrees
    # digamma(2) = 1 − 0.5772157 and log 2 come back: the variance is 2 · exp(1) / 2 = e.
    found = Spreads.of({code: Spread(4.0, 2) for code in "ABCDEFGH"})
    assert found is not None
    assert MOST_DF == 4.0
    assert found.df == 4.0
    assert found.variance == pytest.approx(math.e, rel=1e-9)
    # Variances that scatter by the trigamma(2) of 4 degrees, and more: fewer degrees, by the moments alone.
    wild = Spreads.of(dict(zip("ABCDEF", spreads([0.01, 2, 30, 0.4, 700, 0.5], [3] * 6), strict=True)))
    assert wild is not None
    assert wild.df == pytest.approx(0.5600962665360335)
    assert wild.variance == pytest.approx(0.25091539392187806)
    some = Spreads.of(dict(zip("ABCD", spreads([1, 4, 9, 25], [2] * 4), strict=True)))
    assert some is not None
    assert some.df == 4.0
    # By the moments 10.84 degrees; at 4 the mean logarithm stays, which is that of 8.8704 at 10.8378 degrees.
    mean = math.fsum(map(math.log, (1, 4, 9, 25))) / 4 + 0.5772156649
    assert some.variance == pytest.approx(math.exp(mean + 0.4227843351 - math.log(2)))


def test_of_fewer_than_three_students_or_of_those_who_never_vary_nothing_is_borrowed():
    assert LEAST_STUDENTS == 3
    assert Spreads.of({}) is None
    assert Spreads.of({"A": Spread(4.0, 2), "B": Spread(4.0, 2)}) is None
    assert Spreads.of({"A": Spread(4.0, 2), "B": Spread(4.0, 2), "C": Spread(4.0, 2)}) is not None
    assert Spreads.of({code: Spread(0.0, 2) for code in "ABCD"}) is None
    assert Spreads.of({"A": Spread(0.0, 2), "B": Spread(4.0, 2), "C": Spread(4.0, 2)}) is not None


def test_a_student_who_never_varied_among_others_counts_as_varying_hardly():
    # 1e-5 of the median variance, as the authors' package has it.
    with_zero = prior([Spread(0.0, 2), Spread(2.0, 2), Spread(4.0, 2), Spread(6.0, 2)])
    assert with_zero == prior([Spread(2e-5 * 2.0, 2), Spread(2.0, 2), Spread(4.0, 2), Spread(6.0, 2)])
    assert with_zero != prior([Spread(2.1e-5 * 2.0, 2), Spread(2.0, 2), Spread(4.0, 2), Spread(6.0, 2)])
    assert with_zero == prior([Spread(1.9e-5 * 2.0, 2), Spread(2.0, 2), Spread(4.0, 2), Spread(6.0, 2)])
    # The median is that of those who varied: 2 of 1, 2 and 3, whatever the number of zeros.
    with_two = prior([Spread(0.0, 2), Spread(0.0, 2), Spread(2.0, 2), Spread(4.0, 2), Spread(6.0, 2)])
    assert with_two == prior([*[Spread(2e-5 * 2.0, 2)] * 2, Spread(2.0, 2), Spread(4.0, 2), Spread(6.0, 2)])


def test_a_prior_between_three_and_four_degrees_is_taken_as_it_is():
    # Six variances with many degrees: their logarithms scatter by the trigamma of half the prior's degrees.
    variances = [math.exp(each) for each in (-1.3, -0.8, -0.2, 0.2, 0.8, 1.3)]
    found = Spreads.of(dict(zip("ABCDEF", spreads(variances, [1000] * 6), strict=True)))
    assert found is not None
    # Scatter 0.948 less 0.002 is the trigamma of half of 2.97: pylimma 0.2.0, fit_f_dist.
    assert found.df == pytest.approx(2.9732896111249945, rel=1e-9)
    assert found.variance == pytest.approx(0.6896366550507083, rel=1e-9)


def test_what_a_student_borrows_knows_no_more_than_the_others_repeats():
    found = Spreads.of({"A": Spread(4.0, 2), "B": Spread(2.0, 1), "C": Spread(2.0, 1)})
    assert found is not None
    assert found.df == 4.0
    assert found.borrowed_for("A") == Borrowed(math.sqrt(found.variance), 2.0, 2)
    assert found.borrowed_for("B") == Borrowed(math.sqrt(found.variance), 3.0, 2)
    assert found.borrowed_for("Z") == Borrowed(math.sqrt(found.variance), 4.0, 3)
    many = Spreads.of({code: Spread(4.0, 2) for code in "ABCDEFGH"})
    assert many is not None
    assert many.borrowed_for("A") == Borrowed(math.sqrt(math.e), 4.0, 7)
    assert Spreads({"A": Spread(1.0, 1)}, 1.0, 1.0).borrowed_for("A") is None


def test_own_repeats_moderate_the_prior_by_their_degrees_of_freedom():
    # By hand: (4 · 9 + 2 · 36) / 6 = 18.
    assert Borrowed(3.0, 4.0, 7).with_own(PooledError(6.0, 2)) == PooledError(pytest.approx(math.sqrt(18)), 6.0)
    assert Borrowed(3.0, 4.0, 7).with_own(None) == PooledError(3.0, 4.0)
    assert Borrowed(3.0, math.inf, 7).with_own(PooledError(6.0, 2)) == PooledError(3.0, math.inf)


def test_a_spread_is_its_squares_over_its_degrees():
    assert Spread(6.0, 3).variance == 2.0
