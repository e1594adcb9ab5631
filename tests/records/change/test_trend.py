"""The trend of baselines against an independent library and published values."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark.records.change.trend import CHANCE, LEAST_TRIALS, chance_of_order, slope
from scipy import stats

DISTINCT = st.lists(st.integers(-50, 50), min_size=2, max_size=8, unique=True)


def test_the_published_example_of_six_trials():
    # Following one student, section 1: 412, 420, 405, 431, 440, 452: slope 8.0, S = 11, exact p 0.0556 on both sides.
    trials = [412, 420, 405, 431, 440, 452]
    assert slope(trials) == 8.0
    assert 2 * chance_of_order(trials, upward=True) == pytest.approx(0.0556, abs=5e-5)


@given(DISTINCT)
def test_slope_and_chance_are_those_of_an_independent_library(trials):
    assert slope(trials) == pytest.approx(stats.theilslopes(trials)[0])
    places = range(len(trials))
    for upward, side in ((True, "greater"), (False, "less")):
        expected = stats.kendalltau(places, trials, method="exact", alternative=side).pvalue
        assert chance_of_order(trials, upward=upward) == pytest.approx(expected)


def test_the_chances_of_four_and_five_trials_by_hand():
    assert (LEAST_TRIALS, CHANCE) == (4, 0.10)
    assert chance_of_order([1, 2, 3, 4], upward=True) == pytest.approx(1 / 24)
    assert chance_of_order([1, 2, 4, 3], upward=True) == pytest.approx(4 / 24)
    assert chance_of_order([1, 2, 3, 4], upward=False) == 1
    # Of 120 orders of five one has no pair the wrong way, four have one, nine have two.
    assert chance_of_order([1, 2, 3, 5, 4], upward=True) == pytest.approx(5 / 120)
    assert chance_of_order([1, 2, 5, 3, 4], upward=True) == pytest.approx(14 / 120)
    assert chance_of_order([5, 4, 3, 1, 2], upward=False) == pytest.approx(5 / 120)


def test_equal_trials_make_a_chance_larger_and_never_smaller():
    assert chance_of_order([1, 2, 3, 3], upward=True) == pytest.approx(4 / 24)
    assert chance_of_order([1, 1, 1, 1], upward=True) == pytest.approx(15 / 24)
    for trials in itertools.product((1, 2, 3), repeat=4):
        apart = [value + place / 100 for place, value in enumerate(trials)]
        assert chance_of_order(trials, upward=True) >= chance_of_order(apart, upward=True)


def test_a_slope_of_an_even_number_of_pairs_is_the_middle_of_the_two():
    # Pairs of 40, 44, 41, 45: −3, 0.5, 0.5, 5/3, 4, 4.
    assert slope([40, 44, 41, 45]) == pytest.approx(13 / 12)
    assert slope([1, 3]) == 2
    assert slope([1, 3, 2]) == 0.5
