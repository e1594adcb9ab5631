"""Hundreds of made class days: whose a file is and when the work was is never wrong where the plan says sure."""

import pytest

from tests.makers.class_days import class_day
from tests.records.plan.test_day_truth import assert_true

pytestmark = pytest.mark.soak
DAYS = 1500


def test_nothing_sure_is_wrong_on_many_days(tmp_path):
    files, sure = 0, 0
    for seed in range(1000, 1000 + DAYS):
        found = assert_true(seed, tmp_path / str(seed))
        files += len(class_day(seed).files)
        sure += len(found.sure)
    print(f"{files} files of {DAYS} made days: {sure} sure, none of them wrong")
    assert sure > 0.15 * files  # a plan that is never sure would pass all else
