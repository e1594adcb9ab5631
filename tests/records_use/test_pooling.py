"""Whose repeats may speak for another student, without a logbook."""

from datetime import timedelta

import pytest
from ownmark.records.catalogue import edited
from ownmark.records.change.borrowed import Spread
from ownmark.records.change.comparison import BasisSeen, FigureSeen
from ownmark.records.classmates import MOST_OTHERS, Classmates
from ownmark.records.pooling import MOST_STUDENTS, alike, by_code, same_set_up, spreads_of
from ownmark.records.store.glance import Outline

from tests.records_values.makers import CRANK, FIRST, REACH, reached, trial

NAME = "heart_rate_rise"


class Class:
    """Made students: (code, day, value, facts) of each trial, numbered from 1."""

    def __init__(self, *trials, protocol=CRANK, made=trial):
        self.protocol, self.loaded = protocol, []
        self.rows, self._trials = [], {}
        for number, (code, day, value, facts) in enumerate(trials, start=1):
            on, version, practice = FIRST + timedelta(days=day), facts.pop("version", 1), facts.get("practice", False)
            self.rows.append(Outline(number, code, protocol.name, version, on, practice))
            values = value if isinstance(value, tuple) else (value,)
            self._trials[number] = made(day, *values, protocol=protocol, id=number, **facts)

    def load(self, numbers):
        self.loaded.append(list(numbers))
        return [self._trials[number] for number in numbers]

    def spreads(self, fits=None, chosen=None):
        fits = {1: True} if fits is None else fits
        found = spreads_of(self.rows, self.protocol, fits, self.load, on_basis, chosen or {})
        return None if found is None else dict(found.by_code)

    def mates(self, fits=None):
        return Classmates(self.rows, self.protocol, fits or {1: True}, self.load, on_basis)

    def seen(self, *numbers):
        return [self._trials[number] for number in numbers]


def on_basis(first, other):
    return other


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
        trial(day, figures={"cadence_mean": FigureSeen(value, unit="/min", counts=counts)})
        for day, value, counts in ((0, 96, "cycle or half"), (7, 94, "pair"), (8, 48, "pair"), (9, 95, "pair"))
    ]
    assert alike(trials, "cadence_mean", on_basis) == [trials[0], trials[1], trials[3]]


def test_outlines_stand_by_code_in_its_order():
    rows = Class(("B", 0, 1, {}), ("A", 1, 2, {}), ("B", 2, 3, {})).rows
    assert {code: [each.id for each in own] for code, own in by_code(rows).items()} == {"A": [2], "B": [1, 3]}
    assert list(by_code(rows)) == ["A", "B"]


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
