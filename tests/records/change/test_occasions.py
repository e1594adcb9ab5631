"""Which trials are the baseline and which the re-test."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as some
from ownmark.errors import NothingToCompare
from ownmark.records.change import messages as say
from ownmark.records.change.messages import REMARK_TWO_DAYS, remark_between
from ownmark.records.change.occasions import WITHIN, occasions
from ownmark.records.trial import Trial
from ownmark.words.render import Words, english

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
    assert notes == (remark_between((MAY + timedelta(days=100),)),)


def test_two_days_within_four_weeks_are_a_pair_and_three_are_repeats():
    before, after, notes = split(0, 14)
    assert (before, after) == ([0], [14])
    assert notes == (REMARK_TWO_DAYS,)
    with pytest.raises(NothingToCompare, match="repeats of one baseline"):
        split(0, 7, 14)
    assert split(0, 7, 14, retest_from=MAY + timedelta(days=14))[:2] == ([0, 7], [14])


def test_one_day_is_no_pair_and_a_practice_trial_is_no_day():
    for days, practice in (((0,), ()), ((0, 0), ()), ((0, 50), (0,))):
        with pytest.raises(NothingToCompare, match="two days are needed"):
            split(*days, practice=practice)
    with pytest.raises(NothingToCompare, match="no trial yet"):
        split()
    with pytest.raises(NothingToCompare, match="no trial before"):
        split(0, 50, retest_from=MAY)


def test_four_weeks_are_28_days_at_either_end():
    assert WITHIN.days == 28
    # Day 28 is still a baseline and day 29 lies between; day 172 is in the last four weeks before day 200, 171 is not.
    assert split(0, 28, 29, 171, 172, 200)[:2] == ([0, 28], [172, 200])
    # Two days 28 apart may be a pair with a note; 29 apart they are one without.
    assert len(split(0, 28)[2]) == 1
    assert split(0, 29) == ([0], [29], ())
    with pytest.raises(NothingToCompare, match="repeats of one baseline"):
        split(0, 7, 28)
    assert split(0, 7, 29) == ([0, 7], [29], ())


def test_where_the_two_four_weeks_would_meet_the_first_ones_go_first():
    # Day 40 − 28 is 12: days 12 to 28 are baselines, and the re-test begins on day 29.
    assert split(0, 12, 28, 29, 40) == ([0, 12, 28], [29, 40], ())
    assert split(0, 20, 30) == ([0, 20], [30], ())
    # Day 57 − 28 is 29: nothing is left between.
    assert split(0, 28, 29, 57) == ([0, 28], [29, 57], ())
    assert split(0, 29, 58)[:2] == ([0], [58])
    assert split(0, 29, 58)[2] == (remark_between((MAY + timedelta(days=29),)),)


def test_a_practice_trial_stands_on_the_side_of_its_day_and_sets_no_limit():
    # Four weeks run from day 10 and back from day 100, the first and last days that count.
    assert split(0, 10, 38, 72, 100, 105, practice=(0, 105))[:2] == ([0, 10, 38], [72, 100, 105])
    assert split(0, 39, 10, 38, 100, practice=(0,))[:2] == ([0, 10, 38], [100])
    # In a pair of days the second one's practice is of the re-test, one between of the baseline.
    assert split(0, 5, 14, practice=(5,))[:2] == ([0, 5], [14])
    assert split(0, 14, 20, practice=(20,))[:2] == ([0], [14, 20])


def test_the_line_that_a_person_draws_belongs_to_the_retest():
    assert split(0, 7, 14, 50, retest_from=MAY + timedelta(days=14)) == ([0, 7], [14, 50], ())
    assert split(0, 7, 14, 50, retest_from=MAY + timedelta(days=15)) == ([0, 7, 14], [50], ())
    line = MAY + timedelta(days=40)
    assert split(0, 5, 50, 60, practice=(5, 60), retest_from=line)[:2] == ([0, 5], [50, 60])
    with pytest.raises(NothingToCompare, match="no trial on or after May 25, 2026"):
        split(0, 20, 21, practice=(21,), retest_from=MAY + timedelta(days=21))
    with pytest.raises(NothingToCompare, match="no trial before May 5, 2026"):
        split(0, 20, 21, practice=(0,), retest_from=MAY + timedelta(days=1))


def test_trials_of_one_day_stand_by_their_number():
    before, after, _ = occasions(trials(0, 50, 0, 50))
    assert [each.id for each in before] == [0, 2]
    assert [each.id for each in after] == [1, 3]


def test_every_trial_in_between_is_named_once():
    assert tuple(map(english, split(0, 100, 100, 101, 200)[2])) == (
        "Trials between baseline and re-test are left out: August 12, 2026 and August 13, 2026. "
        "--retest-from draws the line elsewhere.",
    )


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


def refused(*days, **how):
    """Code and values of what is refused, and of how to mend it."""
    with pytest.raises(NothingToCompare) as found:
        split(*days, **how)
    return found.value.what, found.value.mend


def test_a_refusal_is_a_message_that_every_language_has():
    day = MAY + timedelta(days=50)
    assert refused(0, 50, retest_from=MAY) == (say.no_pair_none_before(MAY), say.NO_PAIR_DAY_BETWEEN)
    assert refused(0, 49, retest_from=day) == (say.no_pair_none_from(day), say.NO_PAIR_DAY_BETWEEN)
    # A practice trial on one side is none; where both sides lack one, the first is told.
    practised = refused(0, 20, 50, retest_from=day, practice=(50,))
    assert practised == (say.no_pair_none_from(day), say.NO_PAIR_DAY_BETWEEN)
    assert refused(0, 50, 60, retest_from=day, practice=(0,))[0] == say.no_pair_none_before(day)
    assert Words("es").message(say.no_pair_none_from(day)) == "no hay ninguna prueba el 23 de junio de 2026 ni después."
