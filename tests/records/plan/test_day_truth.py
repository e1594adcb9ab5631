"""Made days of a class: what is sure is true, and everything odd is told by its own name."""

from collections import Counter

import pytest

from tests.makers.class_days import class_day
from tests.records.plan.judged import judged

TOLD = {
    "empty": {"day_plan.empty"},
    "unreadable": {"day_plan.unread"},
    "two": {"day_plan.worn_by_two"},
    "day": {"day_plan.other_day", "day_plan.several_days"},
    "twice": {"day_plan.twice"},
    "name": {"day_plan.against_list", "day_plan.shared", "day_plan.other_time", "day_plan.two_files"},
}
"""By which sentence, one of these, each oddity is told; a file that cannot be used is of no day. A name of one who wore
the same strap at another time does not speak against the list; its time, or a second file, does."""
UNUSABLE = frozenset({"empty", "unreadable"})


def assert_true(seed, folder):
    """One day: nothing sure is wrong, and what is odd is not sure and said."""
    day = class_day(seed)
    found = judged(day, folder)
    assert found.wrong == (), seed
    planned = [path.name for row in found.plan.rows for path in row.files]
    assert set(planned) == set(day.files), seed
    days = Counter(truth.on for truth in day.truth.values() if not truth.odd & UNUSABLE)
    most = max(days.values(), default=0)
    for name, truth in day.truth.items():
        leads = (
            days[truth.on] == most and list(days.values()).count(most) == 1
        )  # nothing could tell it from the class's
        plain = truth.odd - {"day"} if leads else truth.odd
        if plain:
            assert name not in found.sure, (seed, name, truth.odd)
        for odd in plain:
            if odd in TOLD and not (odd not in UNUSABLE and truth.odd & UNUSABLE):
                assert TOLD[odd] & found.told[name], (seed, name, odd, found.told[name])
    for row in found.plan.rows:
        assert row.sure == (not row.checks)
        assert not row.sure or (row.code and row.protocol and row.files and row.on and row.phases.work), seed
    return found


@pytest.mark.parametrize("seed", range(8))
def test_what_is_sure_is_true_and_what_is_odd_is_told(seed, tmp_path):
    assert_true(seed, tmp_path / "bag")
