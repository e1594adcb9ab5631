"""The changes of those who were tested on the same days."""

from ownmark.records.classmates import MOST_OTHERS

from tests.records.classes import Class
from tests.records.makers import REACH, reached


def shifted():
    """Four students on days 0, 7 and 60; D was away on day 0 and 7."""
    trials = [
        *(("A", 0, 40, {}), ("A", 7, 44, {}), ("A", 60, 30, {})),
        *(("B", 0, 50, {}), ("B", 60, 41, {})),
        *(("C", 7, 60, {}), ("C", 60, 48, {})),
        *(("D", 8, 60, {}), ("D", 60, 48, {})),
        *(("E", 0, 60, {"practice": True}), ("E", 60, 48, {})),
        *(("F", 0, 70, {}), ("F", 60, 55, {}), ("F", 61, 5, {})),
    ]
    return Class(*trials)


def test_the_others_of_the_same_days_changed_each_against_the_own_baseline():
    group = shifted()
    found = group.mates().changes("A", group.seen(1, 2), group.seen(3))
    # B 50 to 41, C 60 to 48, F 70 to 55; D and E share no baseline day; day 61 is nobody else's.
    assert found == [-9, -12, -15]
    mates = group.mates()
    loads = len(group.loaded)
    assert mates.changes("B", group.seen(1), group.seen(3)) == [-10, -15]  # A's day 0 alone: 40 to 30
    once = len(group.loaded)
    assert mates.changes("F", group.seen(1), group.seen(3)) == [-10, -9]
    assert (once > loads, len(group.loaded)) == (True, once)


def test_others_of_another_set_up_or_without_a_value_are_no_classmates():
    group = Class(
        *(("A", 0, 40, {}), ("A", 60, 30, {})),
        *(("B", 0, 50, {"version": 2}), ("B", 60, 41, {})),
        *(("C", 0, None, {}), ("C", 60, 48, {})),
        *(("D", 0, 50, {"device_settings": "2"}), ("D", 60, 41, {"device_settings": "3"})),
        *(("E", 0, 50, {}), ("E", 60, 41, {})),
    )
    assert group.mates({1: True, 2: False}).changes("A", group.seen(1), group.seen(2)) == [-9]


def test_so_many_classmates_are_looked_at_and_no_more():
    assert MOST_OTHERS == 8
    trials = [(f"S-{n:02d}", day, 40 - n * (day > 0), {}) for n in range(12) for day in (0, 60)]
    group = Class(*trials)
    found = group.mates().changes("S-03", group.seen(7), group.seen(8))
    assert found == [0, -1, -2, -4, -5, -6, -7, -8]
    assert group.mates().changes("Z", group.seen(7), group.seen(8)) == [0, -1, -2, -3, -4, -5, -6, -7]
    assert sum(map(len, group.loaded)) == 2 * 2 * (MOST_OTHERS + 1)


def test_both_sides_of_a_classmate_are_one_change():
    group = Class(
        *(("A", 0, (20, 10), {}), ("A", 60, (30, 14), {})),
        *(("B", 0, (20, 10), {}), ("B", 60, (30, None), {})),
        protocol=REACH,
        made=reached,
    )
    assert group.mates().changes("Z", group.seen(1), group.seen(2)) == [7, 10]
