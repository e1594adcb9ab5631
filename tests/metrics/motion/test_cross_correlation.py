"""Sliding one series along another: by plain correlation at each offset, and hand values of its strength."""

import numpy as np
import pytest
from ownmark.metrics.motion.cross_correlation import LEAST_INDEPENDENT, Match, match

NAN = np.nan
RNG = np.random.default_rng(3)
FIRST, SECOND = RNG.standard_normal(40), RNG.standard_normal(30)
FIRST[5:9], SECOND[20] = NAN, NAN


def plain(first, second, lag):
    """Correlation of what both measured where the second lies so many samples later."""
    at = np.arange(len(second)) + lag
    inside = (at >= 0) & (at < len(first))
    one, other = first[at[inside]], second[inside]
    known = np.isfinite(one) & np.isfinite(other)
    return np.corrcoef(one[known], other[known])[0, 1] if known.sum() > 1 else NAN, known.sum()


def test_the_correlation_at_every_offset_is_that_of_the_time_that_both_measured():
    found = match(FIRST, 100.0, SECOND, 90.0, 0.5, 1000.0, 8)
    assert found.offset_s == pytest.approx(10.0 + 0.5 * np.arange(-29, 40))
    for offset, r, pairs in zip(found.offset_s, found.r, found.pairs, strict=True):
        expected, count = plain(FIRST, SECOND, round((offset - 10.0) / 0.5))
        assert pairs == pytest.approx(max(count, 1))
        assert r == pytest.approx(expected if count >= 8 else -1.0, abs=1e-9)


def test_offsets_end_at_the_most_either_way():
    found = match(FIRST, 100.0, SECOND, 90.0, 0.5, 12.0, 8)
    assert found.offset_s[[0, -1]].tolist() == [-4.5, 12.0]
    assert match(FIRST, 0.0, SECOND, 0.0, 0.5, 3.0, 8).offset_s.tolist() == np.arange(-3.0, 3.1, 0.5).tolist()


def test_levels_far_from_nought_do_not_matter():
    plainly, lifted = match(FIRST, 0, SECOND, 0, 1.0, 20.0, 8), match(FIRST + 1e4, 0, SECOND - 1e4, 0, 1.0, 20.0, 8)
    assert lifted.r == pytest.approx(plainly.r, abs=1e-6)
    assert lifted.memory == pytest.approx(plainly.memory)


def test_a_level_series_is_like_nothing():
    assert (match(np.ones(30), 0, SECOND, 0, 1.0, 20.0, 8).r == -1).all()
    assert (match(np.full(30, NAN), 0, SECOND, 0, 1.0, 20.0, 8).r == -1).all()


def memory(series):
    """1 and twice the sum of the squared autocorrelation up to a third of the length, gaps as the mean."""
    away = np.nan_to_num(series - np.nanmean(series))
    like = [away[lag:] @ away[: len(away) - lag] / (away @ away) for lag in range(1, len(series) // 3 + 1)]
    return 1 + 2 * np.sum(np.square(like))


def test_memory_is_by_how_much_neighbours_are_no_news_in_the_one_that_has_less():
    noise, slow = RNG.standard_normal(301), np.repeat(RNG.standard_normal(40), 10)
    slow[33:60] = NAN
    assert match(noise, 0, noise, 0, 1.0, 5.0, 8).memory == pytest.approx(memory(noise))
    assert match(slow, 0, slow, 0, 1.0, 5.0, 8).memory == pytest.approx(memory(slow))
    assert match(slow, 0, noise, 0, 1.0, 5.0, 8).memory == pytest.approx(memory(noise))
    assert memory(noise) + 2 < memory(slow)
    assert match(np.ones(40), 0, np.ones(40), 0, 1.0, 5.0, 8).memory == 40.0
    assert match(np.empty(0), 0, np.ones(3), 0, 1.0, 5.0, 8).memory == 1.0
    three = np.array([1.0, 2.0, 4.0, NAN])  # enough to be looked at
    assert match(three, 0, three, 0, 1.0, 5.0, 1).memory == pytest.approx(max(memory(three), 1.0))
    assert memory(three) < 3.9
    one = np.array([NAN, 1.0, NAN, 2.0])
    assert match(one, 0, one, 0, 1.0, 5.0, 1).memory == 4.0


def made(r, pairs=103.0, memory=1.0):
    r = np.array(r, dtype=float)
    return Match(2.0 * np.arange(len(r)), r, np.broadcast_to(np.asarray(pairs, dtype=float), r.shape), memory)


def test_strength_is_fishers_in_standard_errors():
    # atanh(0.5) = 0.5493; 103 pairs have a standard error of 1 / √100.
    assert made([0.5]).strength()[0] == pytest.approx(5.493, abs=0.001)
    assert made([0.5], memory=2.0).strength()[0] == pytest.approx(0.5493 * np.sqrt(48.5), abs=0.001)
    assert made([-0.5]).strength()[0] == pytest.approx(-5.493, abs=0.001)
    assert np.isfinite(made([1.0, -1.0]).strength()).all()


def test_fewer_than_ten_independent_pairs_have_no_strength():
    assert LEAST_INDEPENDENT == 10
    assert made([0.9], pairs=9.99).strength()[0] == 0.0
    assert made([0.9], pairs=10.0).strength()[0] == pytest.approx(np.arctanh(0.9) * np.sqrt(7))


def test_the_best_is_the_strongest_and_a_rival_lies_further_away():
    found = made([0.6, 0.1, 0.2, 0.8, 0.3], pairs=[103, 103, 103, 28, 103])
    assert found.best() == 0  # 0.693 · 10 against 1.0986 · 5
    assert found.rival(5.9) == pytest.approx(5.493, abs=0.001)
    assert found.rival(6.0) == pytest.approx(np.arctanh(0.3) * 10)
    assert found.rival(8.0) == 0.0
    assert made([0.6, -0.5]).rival(1.0) == 0.0
    assert made([0.3, 0.1, 0.8]).rival(2.0) == pytest.approx(np.arctanh(0.3) * 10)  # before it as well


def test_the_top_lies_between_samples_by_a_parabola():
    assert made([0.2, 0.6, 0.4]).top_s() == pytest.approx(2.0 + (0.4 - 0.2) / (2 * (1.2 - 0.6)) * 2.0)
    assert made([0.4, 0.6, 0.4]).top_s() == 2.0
    assert made([-0.2, 0.6, -0.4]).top_s() == pytest.approx(2.0 + 0.2 / (2 * -1.8) * 2.0)


def test_a_top_of_tall_series_and_one_place_before_the_last_lies_by_the_same_step():
    found = Match(np.array([-6.0, -4.0, -2.0, 0.0]), np.array([0.2, 0.6, 0.4, 0.1]), np.full(4, 103.0), 1.0)
    assert found.top_s() == pytest.approx(-4.0 + (0.4 - 0.2) / (2 * (1.2 - 0.6)) * 2.0)


def test_a_series_that_is_another_one_correlates_wholly():
    found = match(FIRST, 0.0, FIRST, 0.0, 1.0, 0.0, 8)
    assert found.r.tolist() == pytest.approx([1.0])
    assert match(FIRST, 0.0, -FIRST, 0.0, 1.0, 0.0, 8).r.tolist() == pytest.approx([-1.0])
    small = 0.01 * FIRST  # whose squares add up to less than 1
    assert match(small, 0.0, small, 0.0, 1.0, 0.0, 8).memory == pytest.approx(memory(FIRST))


def test_at_the_ends_and_beside_what_is_too_short_the_top_is_a_sample():
    assert made([0.7, 0.6, 0.4]).top_s() == 0.0
    assert made([0.2, 0.4, 0.6]).top_s() == 4.0
    assert made([-1.0, 0.6, 0.4]).top_s() == 2.0
    assert made([0.4, 0.6, -1.0]).top_s() == 2.0
    assert made([0.6, 0.6, 0.6]).top_s() == 0.0
