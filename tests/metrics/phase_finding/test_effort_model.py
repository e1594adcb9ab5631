"""The evidence on a grid against the same sums written out: dense matrices and scipy's multivariate normal density."""

import numpy as np
import pytest
from ownmark.metrics.phase_finding.effort_model import (
    AHEAD,
    AHEAD_S,
    DRIFT,
    MEMORY_S,
    PRIOR_MEAN,
    PRIOR_SD,
    REST,
    RISE,
    SHORTEST_S,
    STAYS,
    Evidence,
    Series,
    evidence,
    fitted_curve,
)
from scipy.stats import multivariate_normal

STEP_S, START_S = 3.0, 40.0
RISES_S, FALLS_S = (12.0, 40.0), (20.0, 60.0)
STARTS, ENDS = np.array([10, 14, 20]), np.array([30, 36])
AROUND_BPM = 78.0


def design(first, last, rise_s, fall_s, count, step_s=STEP_S):
    """The five columns of the curve, straight from the formulas of the docstring, shape (count, 5)."""
    out = np.zeros((count, 5))
    begin, end = first * step_s, last * step_s
    for row in range(count):
        time = (row + 0.5) * step_s
        if time < begin:
            out[row] = 1, 0, 0, 0, np.exp((time - begin) / 20)
            continue
        at = min(time, end) - begin
        height = np.array([0, 1 - np.exp(-at / rise_s), at, 0, np.exp(-at / rise_s)])
        left = np.exp(-max(time - end, 0) / fall_s)
        out[row] = height * left + np.array([1, 0, 0, 0, 0])
        out[row, 3] = 1 - left if time > end else 0
    return out


def made(lost=()):
    """Sixty means of a heart that works from the 14th to the 36th."""
    truth = design(14, 36, 25.0, 35.0, 60) @ np.array([80.0, 45.0, 0.01, 6.0, 4.0])
    bpm = truth + np.random.default_rng(3).standard_normal(60)
    bpm[list(lost)] = np.nan
    return Series(START_S, STEP_S, bpm)


def asked(series, noise=2.0):
    return evidence(series, STARTS, ENDS, RISES_S, FALLS_S, noise, AROUND_BPM)


def test_the_five_are_in_the_order_of_the_design():
    assert (REST, RISE, DRIFT, STAYS, AHEAD) == (0, 1, 2, 3, 4)
    assert (AHEAD_S, SHORTEST_S, MEMORY_S) == (20.0, 30.0, 18.0)


@pytest.mark.parametrize(("step_s", "news"), [(1.5, 12.0), (3.0, 6.0), (9.0, 2.0), (18.0, 1.0), (36.0, 1.0)])
@pytest.mark.parametrize("lost", [(), (3, 12, 13, 14, 25, 40, 59)])
def test_the_evidence_is_that_of_a_normal_distribution_with_the_five_integrated_out(lost, step_s, news):
    series = Series(START_S, step_s, made(lost).bpm)
    found = asked(series)
    known = np.isfinite(series.bpm)
    spread = 2.0 * news  # one mean in so many is news: the swings last 18 s
    mean = PRIOR_MEAN + np.array([AROUND_BPM, 0, 0, 0, 0])
    expected, fitted, left = (np.empty(found.log.shape + more) for more in ((), (5,), ()))
    for place in np.ndindex(*found.log.shape):
        first, last, rise, fall = place
        columns = design(STARTS[first], ENDS[last], RISES_S[rise], FALLS_S[fall], 60, step_s)[known]
        covariance = columns @ np.diag(PRIOR_SD**2) @ columns.T + spread * np.eye(known.sum())
        expected[place] = multivariate_normal.logpdf(series.bpm[known], columns @ mean, covariance)
        rows = np.vstack((columns / np.sqrt(spread), np.diag(1 / PRIOR_SD)))
        aim = np.concatenate((series.bpm[known] / np.sqrt(spread), mean / PRIOR_SD))
        fitted[place] = np.linalg.lstsq(rows, aim, rcond=None)[0]
        left[place] = np.mean((series.bpm[known] - columns @ fitted[place]) ** 2)
    long = (ENDS[None, :] - STARTS[:, None]) * step_s >= 30.0
    up = (fitted[..., RISE] > 0) & long[:, :, None, None]  # a heart that falls at work is no answer to it
    assert np.isneginf(found.log[~up]).all()
    assert found.log[up] - found.log.max() == pytest.approx(expected[up] - expected[up].max(), rel=1e-6, abs=1e-5)
    assert found.fitted == pytest.approx(fitted, rel=1e-6, abs=1e-8)
    assert found.left == pytest.approx(left, rel=1e-6)


def test_the_true_place_has_the_most_evidence():
    found = asked(made())
    assert (found.starts[found.best[0]], found.ends[found.best[1]]) == (14, 36)


@pytest.mark.parametrize("step_s", [1.0, 3.0])
def test_the_curve_of_the_best_place_is_its_five_times_the_design(step_s):
    series = Series(START_S, step_s, made().bpm)
    found = evidence(series, np.array([14]), np.array([53]), RISES_S, FALLS_S, 2.0, AROUND_BPM)
    first, last, rise, fall = found.best
    columns = design(found.starts[first], found.ends[last], RISES_S[rise], FALLS_S[fall], 60, step_s)
    assert fitted_curve(series, found) == pytest.approx(columns @ found.fitted[found.best], abs=1e-9)


def test_work_of_half_a_minute_is_the_shortest_and_a_heart_that_falls_is_none():
    series = made()
    found = evidence(series, np.array([14]), np.array([23, 24]), (25.0,), (35.0,), 2.0, AROUND_BPM)
    assert np.isfinite(found.log[0, :, 0, 0]).tolist() == [False, True]  # 9 and 10 means of 3 s
    down = Series(START_S, STEP_S, 160.0 - series.bpm)
    assert np.isneginf(asked(down).log).all()


def test_indices_are_moments():
    series = Series(40.0, 3.0, np.zeros(7))
    assert series.at(np.array([0, 2])).tolist() == [40.0, 46.0]
    assert float(series.at(7)) == series.until_s == 61.0


def test_the_best_place_is_the_largest():
    log = np.zeros((2, 2, 1, 2))
    log[1, 0, 0, 1] = 5.0
    found = Evidence(STARTS, ENDS, (1.0,), (1.0, 2.0), log, np.zeros((2, 2, 1, 2, 5)), log)
    assert found.best == (1, 0, 0, 1)
