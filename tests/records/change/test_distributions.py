"""Values of printed tables: they differ in every argument, so that none can be swapped for another."""

import math

import pytest
from ownmark.records.change import distributions as of


def test_derivatives_of_the_gamma_functions_logarithm():
    # Source: Abramowitz & Stegun, 6.3.2, 6.3.3 and 6.4.2 (from memory): -γ, -γ - 2 ln 2; π²/6, π²/2
    assert of.digamma(1) == pytest.approx(-0.5772156649, abs=1e-10)
    assert of.digamma(0.5) == pytest.approx(-0.5772156649 - 2 * math.log(2), abs=1e-10)
    assert of.trigamma(1) == pytest.approx(math.pi**2 / 6)
    assert of.trigamma(0.5) == pytest.approx(math.pi**2 / 2)


def test_the_normal_distribution_at_its_usual_bound():
    # Source: any table of the normal distribution
    assert of.normal_below(1.959964) == pytest.approx(0.975, abs=1e-7)
    assert of.normal_quantile(0.975) == pytest.approx(1.959964, abs=1e-6)


@pytest.mark.parametrize(("df", "t"), [(1, 12.706), (2, 4.303), (10, 2.228), (30, 2.042)])
def test_students_t_by_the_table_of_its_upper_2_5_percent(df: int, t: float):
    # Source: any table of Student's t
    assert of.student_t_quantile(df, 0.975) == pytest.approx(t, abs=5e-4)
    assert of.student_t_below(df, t) == pytest.approx(0.975, abs=1e-4)


def test_chi_squared_and_f_by_the_tables_of_their_upper_5_percent():
    # Source: any table of χ² and of F
    assert of.chi_squared_above(1, 3.841) == pytest.approx(0.05, abs=5e-5)
    assert of.chi_squared_above(10, 18.307) == pytest.approx(0.05, abs=5e-5)
    assert of.f_above(1, 10, 4.965) == pytest.approx(0.05, abs=5e-5)
    assert of.f_above(10, 1, 241.88) == pytest.approx(0.05, abs=5e-5)
