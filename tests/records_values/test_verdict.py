"""The verdict: exact where the mathematics is known, and right in the share of cases that it promises."""

import itertools
import math

import numpy as np
import pingouin
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from ownmark.records.change.detectable import detectable_change
from ownmark.records.change.typical_error import PooledError
from ownmark.records.change.verdict import CANNOT_BE_TOLD, DECREASE, INCREASE, WITHIN, Bounded, judge
from scipy import stats

from tests.bench.change_rates import Design, rates_of

KNOWN = PooledError(3.5, math.inf, 50)
BEYOND = (INCREASE, DECREASE)


def exact(*values: float) -> list[Bounded]:
    return [Bounded(value, value, value) for value in values]


def within(*spans: tuple[float, float, float]) -> list[Bounded]:
    return [Bounded(*span) for span in spans]


def test_a_fall_of_ten_just_reaches_beyond_an_error_of_3_5():
    # Trade tables 9.5: pre 128, post 118, TE 3.5: MDC95 9.7015, interval -19.7015 to -0.2985.
    found = judge(exact(128), exact(118), pooled=KNOWN)
    assert found.verdict == DECREASE
    assert found.detectable is not None
    # The table takes 1.96 for 1.959964.
    assert found.change - found.detectable == pytest.approx(-19.7015, abs=2e-4)
    assert found.change + found.detectable == pytest.approx(-0.2985, abs=2e-4)
    assert judge(exact(128), exact(118.3), pooled=KNOWN).verdict == WITHIN
    assert judge(exact(118), exact(128), pooled=KNOWN).verdict == INCREASE


def test_one_baseline_alone_tells_nothing_however_large_the_change():
    for retests in (exact(20), exact(20, 21, 19)):
        found = judge(exact(128), retests)
        assert found.verdict == CANNOT_BE_TOLD
        assert found.detectable is None
    assert judge(exact(128), exact(20)).change == -108


@pytest.mark.parametrize(("baselines", "retests"), [((70, 74, 69), (80, 83)), ((70, 71, 69), (71, 70)), ((9, 4), (1,))])
def test_own_repeats_give_the_verdict_of_a_t_test_with_equal_spread(baselines, retests):
    found = judge(exact(*baselines), exact(*retests))
    assert found.df == len(baselines) + len(retests) - 2
    if len(retests) > 1:
        table = pingouin.ttest(list(retests), list(baselines), correction=False)
        column = next(name for name in table.columns if name.startswith("CI95"))
        low, high = table[column].iloc[0]
        assert found.detectable is not None
        # The library prints its interval to two digits.
        assert (found.change - found.detectable, found.change + found.detectable) == (
            pytest.approx(low, abs=0.0051),
            pytest.approx(high, abs=0.0051),
        )
        p = stats.ttest_ind(retests, baselines).pvalue
        assert (found.verdict in BEYOND) == (p < 0.05)
    else:
        spread = float(np.std(baselines, ddof=1))
        assert found.detectable == pytest.approx(detectable_change(spread, 1, baselines=2))


def test_the_error_with_more_behind_it_is_used():
    baselines = exact(70, 74)
    pooled = judge(baselines, exact(60), pooled=PooledError(3.0, 40, 30))
    assert (pooled.own, pooled.error, pooled.df) == (False, 3.0, 40)
    own = judge(exact(70, 74, 71, 73), exact(60), pooled=PooledError(3.0, 2, 1))
    assert (own.own, own.df) == (True, 3)


def test_a_student_who_varies_more_than_the_others_keeps_the_own_error():
    pooled = PooledError(1.0, 40, 30)
    found = judge(exact(60, 80, 70), exact(85), pooled=pooled)
    assert found.wilder_than_pooled
    assert found.own
    assert found.error == pytest.approx(10.0)
    # F of 2 and 40 degrees is 3.23 at 5 % in any printed table, a ratio of errors of 1.797.
    assert judge(exact(68.15, 70, 71.85), exact(85), pooled=pooled).wilder_than_pooled
    assert not judge(exact(68.25, 70, 71.75), exact(85), pooled=pooled).wilder_than_pooled
    calm = judge(exact(69.5, 71, 70), exact(85), pooled=pooled)
    assert not calm.wilder_than_pooled
    assert calm.error == 1.0


def test_repeats_that_happen_to_be_equal_do_not_make_every_change_real():
    # Rounding to a step spreads values evenly over it: standard deviation step / sqrt(12).
    found = judge(exact(12, 12, 12), exact(13), resolution=1.0)
    assert found.floored
    assert found.error == pytest.approx(0.2887, abs=5e-5)
    assert found.verdict == WITHIN
    assert judge(exact(12, 12), exact(14), resolution=1.0).verdict == WITHIN
    assert judge(exact(12, 12, 12), exact(20), resolution=1.0).verdict == INCREASE
    assert not judge(exact(12, 14, 12), exact(13), resolution=1.0).floored


def test_the_verdict_must_hold_for_every_value_within_the_bounds():
    # Detectable 9.70: a change of 20 with 3 left open holds, with 11 left open it does not.
    assert judge(exact(100), within((120, 117, 123)), pooled=KNOWN).verdict == INCREASE
    assert judge(exact(100), within((120, 109, 123)), pooled=KNOWN).verdict == CANNOT_BE_TOLD
    assert judge(within((100, 95, 106)), within((117, 115, 118)), pooled=KNOWN).verdict == CANNOT_BE_TOLD
    assert judge(exact(100), within((105, 98, 109)), pooled=KNOWN).verdict == WITHIN
    assert judge(exact(100), within((105, 98, 110)), pooled=KNOWN).verdict == CANNOT_BE_TOLD
    # Own error of exact baselines: SD 1, t of 2 degrees 4.303, so 4.968.
    assert judge(exact(99, 100, 101), within((103, 102, 104.9))).verdict == WITHIN
    assert judge(exact(99, 100, 101), within((103, 102, 105.1))).verdict == CANNOT_BE_TOLD


def test_a_side_without_a_bound_is_open():
    open_above = [Bounded(120, 118, math.inf)]
    assert judge(exact(100), open_above, pooled=KNOWN).verdict == INCREASE
    assert judge(exact(120), open_above, pooled=KNOWN).verdict == CANNOT_BE_TOLD
    assert judge(exact(100, 101, 99), open_above).verdict == CANNOT_BE_TOLD


VALUES = st.floats(0, 200).map(lambda value: round(value, 2))
WIDTHS = st.floats(0, 15).map(lambda value: round(value, 2))
BOUNDED = st.builds(lambda value, down, up: Bounded(value, value - down, value + up), VALUES, WIDTHS, WIDTHS)
POOLED = st.none() | st.builds(PooledError, st.floats(0.1, 20), st.integers(1, 60), st.just(9))
SIDE = st.lists(BOUNDED, min_size=1, max_size=3)


PLACES = st.lists(st.sampled_from([0.0, 1.0, 0.5, 0.3]), min_size=6, max_size=6)


@given(SIDE, SIDE, POOLED, st.lists(PLACES, min_size=4, max_size=4))
def test_no_value_within_the_bounds_contradicts_a_verdict(baselines, retests, pooled, picks):
    found = judge(baselines, retests, pooled=pooled)
    assume(found.verdict != CANNOT_BE_TOLD)
    for places in picks:
        at = iter(places)
        before, after = (
            exact(*(each.low + next(at) * (each.high - each.low) for each in side)) for side in (baselines, retests)
        )
        picked = judge(before, after, pooled=None if found.own else pooled)
        limit = picked.detectable if found.own else found.detectable
        assert limit is not None
        assert (picked.change > limit - 1e-9) >= (found.verdict == INCREASE)
        assert (picked.change < 1e-9 - limit) >= (found.verdict == DECREASE)
        assert (abs(picked.change) <= limit + 1e-9) >= (found.verdict == WITHIN)


@given(SIDE, SIDE, POOLED, st.lists(WIDTHS, min_size=12, max_size=12))
def test_wider_bounds_never_turn_a_verdict_into_another_one(baselines, retests, pooled, more):
    widths = iter(more)

    def wider(side):
        return [Bounded(each.value, each.low - next(widths), each.high + next(widths)) for each in side]

    before = judge(baselines, retests, pooled=pooled).verdict
    after = judge(wider(baselines), wider(retests), pooled=pooled).verdict
    assert after in (before, CANNOT_BE_TOLD)


@given(SIDE, SIDE, POOLED, st.sampled_from([-64.0, 32.0, 1024.0]), st.sampled_from([0.5, 2.0, 64.0]))
def test_a_verdict_does_not_hang_on_the_unit_or_its_zero(baselines, retests, pooled, shift, scale):
    def moved(side):
        return [Bounded(*(scale * part + shift for part in each)) for each in side]

    before = judge(baselines, retests, pooled=pooled)
    after = judge(
        moved(baselines), moved(retests), pooled=pooled and PooledError(pooled.sd * scale, pooled.df, pooled.students)
    )
    assume(before.detectable is None or abs(abs(before.change) - before.detectable) > 1e-6)
    assume(before.detectable is None or min(abs(abs(x) - before.detectable) for x in (before.low, before.high)) > 1e-6)
    if before.detectable is None or not before.own:
        assert after.verdict == before.verdict
    assert after.change == pytest.approx(before.change * scale, abs=1e-6)


@given(SIDE, SIDE, POOLED)
def test_mirrored_values_give_the_mirrored_verdict(baselines, retests, pooled):
    def mirrored(side):
        return [Bounded(-each.value, -each.high, -each.low) for each in side]

    swap = {INCREASE: DECREASE, DECREASE: INCREASE}
    before = judge(baselines, retests, pooled=pooled).verdict
    assert judge(mirrored(baselines), mirrored(retests), pooled=pooled).verdict == swap.get(before, before)


@given(st.permutations([70.0, 74.0, 71.0]), st.permutations([80.0, 95.0]))
def test_the_order_of_the_trials_does_not_matter(baselines, retests):
    found, expected = judge(exact(*baselines), exact(*retests)), judge(exact(70, 74, 71), exact(80, 95))
    assert found.verdict == expected.verdict
    assert found.detectable == pytest.approx(expected.detectable)


def test_many_trials_with_gaps_get_the_careful_bound_and_not_a_wait():
    # 7 + 6 trials with gaps are 8192 corners: beyond that the error is taken at its largest.
    many = within(*[(100 + i % 3, 99 + i % 3, 101 + i % 3) for i in range(7)])
    assert judge(many, within(*[(150, 149, 151)] * 6)).verdict == INCREASE
    # By hand: least change 1.44; error at most (sqrt(4.857) + sqrt(13)) / sqrt(11) = 1.75, times 2.201 * 0.556.
    assert judge(many, within(*[(104.3, 103.3, 105.3)] * 6)).verdict == CANNOT_BE_TOLD
    assert judge(many, within(*[(105.1, 104.1, 106.1)] * 6)).verdict == INCREASE


@pytest.mark.parametrize(
    "spans",
    [[(1, 0, 2), (5, 4, 9), (3, 2.5, 7)], [(1, 0, 2), (1, 1, 3)], [(0, 0, 1), (9, 8, 9), (4, 3, 5), (8, 7, 8)]],
)
def test_the_least_error_within_the_bounds_is_found(spans):
    from ownmark.records.change.verdict import _least_squares

    grids = [np.linspace(low, high, 21) for _, low, high in spans]
    best = min(float(np.var(each) * len(each)) for each in itertools.product(*grids)) if len(spans) < 4 else None
    found = _least_squares(within(*spans))
    if best is None:
        # By hand: whatever the level, the nearest values are 1, 8, 5 and 7, whose mean of 5.25 is that level.
        assert found == pytest.approx(sum((x - 5.25) ** 2 for x in (1, 8, 5, 7)))
    else:
        assert found <= best + 1e-9
        assert found == pytest.approx(best, abs=0.3)


STUDENTS = 1000
CASES = (
    Design("pooled", 1, 1, others=200),
    Design("own pair", 2, 1),
    Design("own", 3, 2),
    Design("unequal", 3, 2, others=30, lengths=(1, 2, 3, 4)),
    Design("gaps", 1, 1, others=200, gap=1.0),
    Design("counts", 2, 1, step=1.0, error=0.6),
)


@pytest.mark.parametrize("design", CASES, ids=lambda each: each.words)
def test_of_students_without_a_change_at_most_five_in_a_hundred_are_called_changed(design):
    # Exact binomial limits: at a true rate of 5 %, fewer than 1 run in 10,000 has more than this.
    rates = rates_of(design, STUDENTS, seed=7)
    most = stats.binom.ppf(0.9999, STUDENTS, 0.05)
    assert rates.false * STUDENTS / 100 <= most
    if not design.gap and not design.step:
        # Nor is the verdict careful beyond need: a rule that never speaks would fail here.
        assert rates.false * STUDENTS / 100 >= stats.binom.ppf(0.0001, STUDENTS, 0.05)
        # Noncentral by half a detectable change: 97.5 % by the mathematics.
        assert rates.found_of_stated * STUDENTS / 100 >= stats.binom.ppf(0.0001, STUDENTS, 0.975)
        assert rates.found_of_stated >= 95
