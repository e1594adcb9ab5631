"""Whose repeats may speak for another student, without a logbook."""

import pytest
from ownmark.records.catalogue import edited
from ownmark.records.change.borrowed import Spread
from ownmark.records.change.comparison import BasisSeen
from ownmark.records.pooling import MOST_STUDENTS, Known, alike, by_code, same_set_up

from tests.records.classes import Class, on_basis
from tests.records.makers import CRANK, figure_of, trial

NAME = "heart_rate_rise"


def repeats(code, *values, **facts):
    """Baselines a week apart, and a re-test that counts for nothing here."""
    return [*((code, 7 * place, value, dict(facts)) for place, value in enumerate(values)), (code, 100, 5, dict(facts))]


THREE = (*repeats("A", 40, 42), *repeats("B", 50, 54), *repeats("C", 60, 60))


def test_each_students_baselines_are_one_spread():
    # By hand: 40, 42 give 2; 50, 54 give 8; 60 twice what reading to 1 makes, 1/12.
    expected = {"A": Spread(2, 1), "B": Spread(8, 1), "C": Spread(pytest.approx(1 / 12), 1)}
    assert Class(*THREE).spreads() == expected


def test_a_retest_never_counts_and_neither_do_practice_or_two_trials_of_one_day():
    group = Class(*THREE, ("B", 3, 99, {"practice": True}), ("D", 0, 1, {}), ("D", 0, 9, {}), ("D", 100, 3, {}))
    assert group.spreads() == Class(*THREE).spreads()
    assert group.loaded == [[1, 2, 4, 5, 7, 8]]


def test_trials_of_four_weeks_are_repeats_and_the_day_after_is_not():
    for last, expected in ((28, Spread(8, 2)), (29, Spread(2, 1))):
        group = Class(*THREE[3:], ("A", 0, 40, {}), ("A", 7, 42, {}), ("A", last, 44, {}), ("A", 100, 44, {}))
        assert group.spreads()["A"] == expected


def test_three_days_within_four_weeks_are_repeats_and_two_are_a_pair_that_lends_nothing():
    group = Class(*THREE, *(("D", day, 40 + day, {}) for day in (0, 2, 4)), ("E", 0, 40, {}), ("E", 28, 50, {}))
    found = group.spreads()
    assert set(found) == {"A", "B", "C", "D"}
    assert found["D"] == Spread(8, 2)


def test_baselines_that_a_comparison_was_told_to_use_are_those():
    # 40, 42 and the 5 of day 100.
    assert Class(*THREE).spreads(chosen={"A": [1, 2, 3]})["A"] == Spread(pytest.approx(866), 2)
    assert "A" not in Class(*THREE, *repeats("D", 1, 2)).spreads(chosen={"A": [1]})


def test_two_students_with_repeats_lend_nothing_and_no_sheet_is_read():
    few = Class(*THREE[:6], ("C", 0, 60, {}), ("C", 100, 60, {}))
    assert few.spreads() is None
    assert few.loaded == []


def test_trials_of_another_set_up_are_left_out():
    group = Class(*THREE, *repeats("D", 40, 42, version=2), *repeats("E", 40, 42, version=3))
    assert set(group.spreads({1: True, 2: False, 3: True})) == {"A", "B", "C", "E"}
    half = Class(*THREE, ("D", 0, 40, {}), ("D", 7, 42, {"version": 2}), ("D", 99, 1, {}))
    assert set(half.spreads({1: True, 2: False})) == {"A", "B", "C"}
    differs = Class(
        *THREE, ("D", 0, 40, {"device_settings": "2"}), ("D", 7, 42, {"device_settings": "3"}), ("D", 99, 1, {})
    )
    assert set(differs.spreads()) == {"A", "B", "C"}


def test_so_many_students_are_looked_at_and_no_more():
    many = [each for number in range(MOST_STUDENTS + 5) for each in repeats(f"S-{number:03d}", 40, 42)]
    found = Class(*many[::-1]).spreads()
    assert MOST_STUDENTS == 200
    assert list(found) == [f"S-{number:03d}" for number in range(MOST_STUDENTS)]


def test_two_versions_are_one_set_up_if_they_agree_in_all_that_must_match():
    assert same_set_up(CRANK, edited(CRANK, {"seating": "moulded", "title": "Other"}))
    assert not same_set_up(CRANK, edited(CRANK, {"resistance": "60 W"}))
    assert not same_set_up(CRANK, edited(CRANK, {"duration_s": "300"}))
    plain = edited(CRANK, {"resistance": "Level 3"})
    assert same_set_up(plain, edited(CRANK, {"resistance": "level-3"}))
    assert not same_set_up(plain, edited(CRANK, {"resistance": "level mark 3"}))


def test_repeats_are_put_on_the_first_ones_basis_or_left_out():
    first, other = trial(0, 40), trial(7, 44, basis=BasisSeen(rest_bpm=80.0))
    moved = trial(7, 54)
    assert alike([first, other], NAME, lambda one, two: moved) == [first, moved]
    assert alike([first, other], NAME, on_basis) == [first]
    assert alike([first, trial(7, 44)], NAME, lambda one, two: None) == [first, trial(7, 44)]
    settings = [trial(day, 40, device_settings=text) for day, text in ((0, "2"), (7, "3"), (8, "2"))]
    assert alike(settings, NAME, on_basis) == [settings[0], settings[2]]


def test_repeats_that_count_something_else_are_left_out():
    trials = [
        trial(day, figures={"cadence_mean": figure_of(value, unit="/min")}, counted=counts)
        for day, value, counts in ((0, 96, "cycle or half"), (7, 94, "pair"), (8, 48, "pair"), (9, 95, "pair"))
    ]
    assert alike(trials, "cadence_mean", on_basis) == [trials[0], trials[1], trials[3]]


def test_outlines_stand_by_code_in_its_order():
    rows = Class(("B", 0, 1, {}), ("A", 1, 2, {}), ("B", 2, 3, {})).rows
    assert {code: [each.id for each in own] for code, own in by_code(rows).items()} == {"A": [2], "B": [1, 3]}
    assert list(by_code(rows)) == ["A", "B"]


def test_what_is_known_of_a_students_repeats_is_not_looked_up_again_but_for_other_baselines():
    known = Known()
    group = Class(*THREE)
    first = group.spreads(known=known)
    assert group.spreads(known=known) == first
    assert group.loaded == [[1, 2, 4, 5, 7, 8], []]
    # A comparison that was told to use the re-test too: 40, 42, 5 about their mean of 29 give 866.
    assert group.spreads(chosen={"A": [1, 2, 3]}, known=known)["A"] == Spread(866, 2)
    assert group.loaded[2] == [1, 2, 3]
    assert group.spreads(known=known) == first


def test_after_a_write_the_baselines_stay_known_where_the_trials_are_the_same_and_no_spread_does():
    group = Class(*THREE)
    known = Known.anew(group.rows, None)
    assert known.groups is None
    first = group.spreads(known=known)
    after = Known.anew(list(group.rows), known)
    assert (after.groups, after.spreads) == (known.groups, {})
    assert group.spreads(known=after) == first
    assert Known.anew(group.rows[1:], known).groups is None


def test_after_a_write_a_spread_holds_on_where_no_mark_of_its_trials_changed():
    group, seals = Class(*THREE), dict.fromkeys(range(1, 10), "as it was")
    group.marks = lambda numbers: {number: seals[number] for number in numbers if number in seals}
    known = Known.anew(group.rows, None)
    first = group.spreads(known=known)
    same = Known.anew(list(group.rows), known)
    assert group.spreads(known=same) == first
    seals[5] = "touched"  # the second baseline of B
    group.spreads(known=Known.anew(list(group.rows), same))
    del seals[1]  # gone, or not told: looked up again
    group.spreads(known=Known.anew(list(group.rows), same))
    group.spreads(known=Known.anew(list(group.rows), same))
    assert group.loaded == [[1, 2, 4, 5, 7, 8], [], [4, 5], [1, 2], [1, 2]]


def test_marks_are_read_before_the_trials_are():
    group, order = Class(*THREE), []
    load = group.load
    group.marks = lambda numbers: order.append("marks") or {}
    group.load = lambda numbers: order.append("trials") or load(numbers)
    group.spreads(known=Known())
    assert order == ["marks", "trials"]
