"""What a change is held against, by hand and against every value on a grid."""

import itertools
import math

import numpy as np
import pytest
from ownmark.records.change.yardstick import (
    MOST_CORNERS,
    Bounded,
    Yardstick,
    change_of,
    least_limit,
    least_squares,
    margin,
    mean,
    squares,
)


def exact(*values: float) -> list[Bounded]:
    return [Bounded(value, value, value) for value in values]


def within(*spans: tuple[float, float, float]) -> list[Bounded]:
    return [Bounded(*span) for span in spans]


def test_a_limit_is_the_factor_times_an_error_from_known_and_own_squares():
    # √((7 + 2) / 4) = 1.5.
    assert Yardstick(2.0, 4.0, 7.0, own=True).limit(2.0) == 3.0
    assert Yardstick(2.0, 4.0, 9.0, own=True).limit() == 3.0
    assert Yardstick(2.0, 4.0, 7.0, own=True, floor=1.6).limit(2.0) == 3.2


def test_a_change_is_between_the_means_and_its_bounds_are_those_of_the_farthest_values():
    found = change_of(within((10, 9, 12), (20, 18, 20)), within((30, 29, 34)))
    assert found == Bounded(15, 29 - 16, 34 - 13.5)


def test_the_margin_of_a_fixed_limit_is_that_of_the_nearest_change():
    yardstick = Yardstick(2.0, 1.0, 4.0, own=False)
    assert margin(within((10, 9, 12)), within((30, 29, 34)), yardstick, upward=True) == 29 - 12 - 4
    assert margin(within((10, 9, 12)), within((30, 29, 34)), yardstick, upward=False) == -(34 - 9) - 4
    # Own repeats do not count: the squares of 10 and 30 would make it far larger.
    assert margin(exact(10, 30), exact(50), yardstick, upward=True) == 30 - 4
    assert least_limit(exact(10, 30), exact(50), yardstick) == 4


@pytest.mark.parametrize("upward", [True, False])
def test_the_margin_is_the_least_over_every_value_within_the_bounds(upward):
    baselines, retests = within((10, 9, 13), (12, 11, 12.5)), within((15, 14, 19), (16, 16, 16))
    yardstick = Yardstick(1.7, 3.0, 0.4, own=True, floor=0.2)
    grids = [np.linspace(each.low, each.high, 9) for each in (*baselines, *retests)]
    sign = 1 if upward else -1
    every = [
        sign * (np.mean(values[2:]) - np.mean(values[:2]))
        - yardstick.limit(float(np.var(values[:2]) * 2 + np.var(values[2:]) * 2))
        for values in itertools.product(*grids)
    ]
    assert margin(baselines, retests, yardstick, upward=upward) == pytest.approx(min(every))


def test_too_many_corners_give_a_bound_that_is_careful():
    assert MOST_CORNERS == 4096
    # 12 values with gaps are 4096 corners: still exact. By hand: all baselines 99 or 101; squares at most 6 on a side.
    yardstick = Yardstick(1.0, 10.0, 0.0, own=True)
    twelve = within(*[(100, 99, 101)] * 6), within(*[(110, 109, 111)] * 6)
    corner = min(
        10 - (2 * up / 6 - 1) + (2 * low / 6 - 1) - math.sqrt((4 * up * (6 - up) / 6 + 4 * low * (6 - low) / 6) / 10)
        for up in range(7)
        for low in range(7)
    )
    assert margin(*twelve, yardstick, upward=True) == pytest.approx(corner)
    # One more: least change 8, squares at the middles 0, half widths √13.
    thirteen = within(*[(100, 99, 101)] * 7), within(*[(110, 109, 111)] * 6)
    assert margin(*thirteen, yardstick, upward=True) == pytest.approx(8 - math.sqrt(13 / 10))
    assert margin(*thirteen, yardstick, upward=False) == pytest.approx(-12 - math.sqrt(13 / 10))
    wide = Yardstick(1.0, 10.0, 5.0, own=True)
    assert margin(*thirteen, wide, upward=True) == pytest.approx(8 - math.sqrt(18 / 10))
    # Unequal middles: 7 baselines about 100 and 102 in turn (4 and 3, squares 4 · 3 / 7 · 4), half widths 1.
    spread = within(*[(100 + 2 * (place % 2), 99 + 2 * (place % 2), 101 + 2 * (place % 2)) for place in range(7)])
    change = 110 - (100 + 6 / 7) - 2
    most = (math.sqrt(4 * 4 * 3 / 7) + math.sqrt(13)) ** 2
    assert margin(spread, thirteen[1], yardstick, upward=True) == pytest.approx(change - math.sqrt(most / 10))
    lopsided = within(*[(100, 99, 103)] * 7), within(*[(110, 109, 111)] * 6)
    # Middles 101, half widths 2 of the baselines: √(7 · 4 + 6).
    assert margin(*lopsided, yardstick, upward=True) == pytest.approx(109 - 103 - math.sqrt(34 / 10))


def test_the_least_limit_takes_the_values_as_near_together_as_they_may_be():
    yardstick = Yardstick(1.0, 1.0, 0.0, own=True)
    # 10 and 12 to 14: nearest 2 apart, squares 2; re-tests 5 to 7 and 6 to 9 may be equal.
    found = least_limit([*exact(10), *within((13, 12, 14))], within((5, 5, 7), (8, 6, 9)), yardstick)
    assert found == pytest.approx(math.sqrt(2))


@pytest.mark.parametrize(
    "spans",
    [[(1, 0, 2), (5, 4, 9), (3, 2.5, 7)], [(1, 0, 2), (1, 1, 3)], [(0, 0, 1), (9, 8, 9), (4, 3, 5), (8, 7, 8)]],
)
def test_the_least_error_within_the_bounds_is_found(spans):
    grids = [np.linspace(low, high, 21) for _, low, high in spans]
    best = min(float(np.var(each) * len(each)) for each in itertools.product(*grids)) if len(spans) < 4 else None
    found = least_squares(within(*spans))
    if best is None:
        # By hand: whatever the level, the nearest values are 1, 8, 5 and 7, whose mean of 5.25 is that level.
        assert found == pytest.approx(sum((x - 5.25) ** 2 for x in (1, 8, 5, 7)))
    else:
        assert found <= best + 1e-9
        assert found == pytest.approx(best, abs=0.3)


def test_values_without_bounds_have_their_own_squares():
    # Mean 4: 9 + 0 + 9.
    assert least_squares(exact(1, 4, 7)) == 18
    assert squares([1, 4, 7]) == 18
    assert mean([1, 4, 10]) == 5
    # One exact value among others is not enough: 1, then 3 to 4 and 2 to 6 meet at 3 and 2.
    assert least_squares([*exact(1), *within((3.5, 3, 4), (5, 2, 6))]) == pytest.approx(2.0, abs=1e-9)
