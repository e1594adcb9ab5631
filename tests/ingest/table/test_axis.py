"""Times of rows from whole stamps, worked out by hand."""

import numpy as np
import pytest
from ownmark.ingest.table.axis import from_earliest, middle_of

WEEK_NS = 7 * 86_400 * 10**9
NOON_NS = 1_770_000_000 * 10**9


def test_the_middle_of_rising_and_of_other_numbers():
    assert middle_of(np.array([5])) == 5
    assert middle_of(np.array([1, 2, 9])) == 2
    assert middle_of(np.array([1, 2, 4, 9])) == 3
    assert middle_of(np.array([2, 2, 2, 9])) == 2
    assert middle_of(np.array([9, 1, 2])) == 2
    assert middle_of(np.array([9, 1, 2, 4])) == 3
    assert middle_of(np.array([1.5, 2.5])) == 2
    assert isinstance(middle_of(np.array([1, 2, 9])), float)


@pytest.mark.parametrize(
    ("far", "used"), [(WEEK_NS - 1000, True), (WEEK_NS, True), (WEEK_NS + 1000, False), (3 * WEEK_NS, False)]
)
@pytest.mark.parametrize("sign", [1, -1])
def test_a_stamp_further_than_a_week_from_the_middle_one_is_not_used(far, used, sign):
    ns = np.array([NOON_NS, NOON_NS, NOON_NS, NOON_NS + sign * far])
    time, first = from_earliest(ns, np.ones(4, bool))
    assert np.isfinite(time).tolist() == [True, True, True, used]
    assert first == (NOON_NS - far if used and sign < 0 else NOON_NS)


def test_both_ends_may_lie_a_week_from_the_middle():
    ns = np.array([NOON_NS - WEEK_NS, NOON_NS, NOON_NS + WEEK_NS])
    time, first = from_earliest(ns, np.ones(3, bool))
    assert (time.tolist(), first) == ([0.0, 604_800.0, 1_209_600.0], NOON_NS - WEEK_NS)


def test_rows_that_are_not_chosen_have_no_time_and_no_say():
    ns = np.array([0, NOON_NS + 1999, NOON_NS + 10**9])
    time, first = from_earliest(ns, np.array([False, True, True]))
    assert first == NOON_NS + 1000  # cut to the microsecond
    assert np.isnan(time[0])
    assert time[1:].tolist() == [9.99e-7, 0.999999]


def test_a_stamp_long_before_1970_and_one_far_ahead_do_not_wrap_around():
    ns = np.array([-4_200_000_000 * 10**9, NOON_NS, NOON_NS + 10**9, 4_200_000_000 * 10**9])
    time, first = from_earliest(ns, np.ones(4, bool))
    assert np.isfinite(time).tolist() == [False, True, True, False]
    assert first == NOON_NS
