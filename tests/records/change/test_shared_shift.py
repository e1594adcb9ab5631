"""Whether those who were tested on the same days moved together."""

import pytest
from ownmark.records.change.shared_shift import LEAST_OTHERS, shared_shift


def test_fewer_than_three_others_tell_nothing():
    assert LEAST_OTHERS == 3
    assert shared_shift(10, [], 1.0) == shared_shift(10, [9, 10], 1.0) == "unknown"
    assert shared_shift(10, [9, 10, 11], 1.0) == "same way"


def test_others_moved_if_the_interval_of_their_mean_leaves_zero_out():
    # Three others one apart: SD 1, t of 2 degrees 4.3027 in a printed table, so 4.3027 / √3 = 2.4842.
    for middle, told in ((2.485, "same way"), (2.483, "none"), (-2.483, "none"), (-2.485, "other way")):
        assert shared_shift(5, [middle - 1, middle, middle + 1], 1.0) == told
    assert shared_shift(-5, [-3.485, -2.485, -1.485], 1.0) == "same way"
    assert shared_shift(-5, [3.485, 2.485, 1.485], 1.0) == "other way"


def test_others_who_moved_by_the_same_step_are_no_surer_than_it_is_read():
    # Step 1: SD 1 / √12, so 4.3027 · 0.28868 / √3 = 0.7171.
    assert shared_shift(5, [1, 1, 1], 1.0) == "same way"
    assert shared_shift(5, [0.717, 0.717, 0.717], 1.0) == "none"
    assert shared_shift(5, [0.7172, 0.7172, 0.7172], 1.0) == "same way"
    assert shared_shift(5, [0.0, 0.0, 0.0], 0.0) == "none"


def test_small_shifts_go_with_small_changes_as_large_ones_do():
    small = [0.019, 0.02, 0.021]
    assert shared_shift(0.01, small, 0.0) == shared_shift(-0.01, [-each for each in small], 0.0) == "same way"
    assert shared_shift(-0.01, small, 0.0) == shared_shift(0.01, [-each for each in small], 0.0) == "other way"


@pytest.mark.parametrize("others", [[4, -4, 1, 2], [0, 0, 0]])
def test_others_who_went_their_own_ways_did_not_move(others):
    assert shared_shift(10, others, 1.0) == "none"
