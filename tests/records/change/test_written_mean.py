"""Means of results that were written down by hand, against sums on paper."""

import math

import pytest
from ownmark.records.change.written_mean import written_mean
from ownmark.words.numbers import rounded


@pytest.mark.parametrize(
    ("values", "exact", "shown"),
    [
        # By hand: 13.9 / 2, 29.9 / 2, 66.1 / 2 and 0.3 / 2, each exactly a half of the last place shown.
        ((7.3, 6.6), 6.95, "7.0"),
        ((15.3, 14.6), 14.95, "15.0"),
        ((33.1, 33.0), 33.05, "33.1"),
        ((0.1, 0.2), 0.15, "0.2"),
        ((22.5, 22.0, 22.0), 66.5 / 3, "22.2"),
        ((-7.3, -6.6), -6.95, "-7.0"),
        ((12,), 12.0, "12.0"),
        ((1e-7, 3e-7), 2e-7, "0.0"),
    ],
)
def test_a_mean_is_the_one_that_is_worked_out_on_paper(values, exact, shown):
    assert written_mean(values) == exact
    assert rounded(written_mean(values), 1) == shown


def test_an_infinite_end_of_bounds_stays_infinite():
    assert written_mean((1.0, math.inf)) == math.inf
    assert written_mean((-math.inf, 2.0)) == -math.inf
