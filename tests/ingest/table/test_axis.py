"""Times of rows from whole stamps, worked out by hand."""

import numpy as np
import pytest
from ownmark.ingest.table.axis import from_earliest, middle_of
from ownmark.ingest.table.time_numbers import EPOCH_S, times_of_numbers
from ownmark.ingest.table.units import MILLISECOND, SECOND

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


@pytest.mark.parametrize("far", [EPOCH_S[1], -EPOCH_S[1]])
def test_unix_times_beyond_what_is_one_are_not_used(far):
    # 604,800 s are a week: what is further from the middle one is not used either, so the limit shows by the middle
    near = int(abs(far)) - 86_400
    for kind in (np.int64, np.float64):
        stamps = np.array([near, near + 1, near + 2, int(far), int(far) + (1 if far > 0 else -1)], kind)
        axis = times_of_numbers(stamps, unit=SECOND)
        assert np.isfinite(axis.time).tolist() == [True, True, True, far > 0, False]
        assert axis.time[:3].tolist() == [0.0, 1.0, 2.0]


def test_unix_times_are_whole_numbers_exactly_and_fractions_to_the_microsecond():
    first = 1_770_000_000_000
    whole = times_of_numbers(np.array([first, first + 10, first + 35], np.int64), unit=MILLISECOND)
    assert whole.time.tolist() == [0.0, 0.01, 0.035]
    as_floats = times_of_numbers(np.array([first, np.nan, first + 35.0]), unit=MILLISECOND)
    assert (as_floats.time[[0, 2]].tolist(), np.isnan(as_floats.time[1])) == ([0.0, 0.035], True)
    parts = times_of_numbers(np.array([first / 1e3, first / 1e3 + 0.25, first / 1e3 + 0.3]), unit=SECOND)
    assert parts.time.tolist() == [0.0, 0.25, 0.3]
    assert whole.start == as_floats.start == parts.start
