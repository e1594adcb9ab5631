"""Which trials are the baseline and which the re-test."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as some
from ownmark.errors import NothingToCompare
from ownmark.records.change.occasions import WITHIN, occasions
from ownmark.records.trial import Trial

MAY = date(2026, 5, 4)


def trials(*days, practice=()):
    return [
        Trial(
            id=place,
            code="TH-11",
            protocol="a",
            protocol_version=1,
            on=MAY + timedelta(days=each),
            practice=each in practice,
        )
        for place, each in enumerate(days)
    ]


def split(*days, retest_from=None, practice=()):
    before, after, notes = occasions(trials(*days, practice=practice), retest_from)
    return [(each.on - MAY).days for each in before], [(each.on - MAY).days for each in after], notes


def test_the_first_four_weeks_are_held_against_the_last_four():
    assert split(0, 7, 200) == ([0, 7], [200], ())
    assert split(0, 7, 28, 190, 218)[:2] == ([0, 7, 28], [190, 218])


def test_what_lies_between_is_left_out_and_named():
    before, after, notes = split(0, 100, 200)
    assert (before, after) == ([0], [200])
    assert (MAY + timedelta(days=100)).isoformat() in notes[0]


def test_two_days_within_four_weeks_are_a_pair_and_three_are_repeats():
    before, after, notes = split(0, 14)
    assert (before, after) == ([0], [14])
    assert "within four weeks" in notes[0]
    with pytest.raises(NothingToCompare, match="repeats of one baseline"):
        split(0, 7, 14)
    assert split(0, 7, 14, retest_from=MAY + timedelta(days=14))[:2] == ([0, 7], [14])


def test_one_day_is_no_pair_and_a_practice_trial_is_no_day():
    for days, practice in (((0,), ()), ((0, 0), ()), ((0, 50), (0,))):
        with pytest.raises(NothingToCompare, match="two are needed"):
            split(*days, practice=practice)
    with pytest.raises(NothingToCompare, match="no trial yet"):
        split()
    with pytest.raises(NothingToCompare, match="no trial before"):
        split(0, 50, retest_from=MAY)


@given(some.lists(some.integers(0, 400), min_size=2, max_size=12))
def test_no_trial_is_on_both_sides_and_the_first_and_last_day_are_always_in(days):
    try:
        before, after, _ = split(*days)
    except NothingToCompare:
        return
    assert not set(before) & set(after)
    assert min(days) in before
    assert max(days) in after
    assert max(before) < min(after)
    assert max(before) - min(before) <= WITHIN.days
