"""A verdict uses the narrower bounds of a mean only where the wide ones cannot tell, and says so."""

import pytest
from ownmark.records.change.borrowed import Borrowed
from ownmark.records.change.comparison import compare
from ownmark.records.change.messages import REMARK_OWN_RHYTHM
from ownmark.records.change.results import bounded
from ownmark.reports.sheets.verdict_words import verdict_sentence
from ownmark.reports.words import Words

from tests.records.makers import ON_REST, figure_of, trial

LENT = Borrowed(1.0, 4.0, 20)
"""By hand: t of 4 degrees at 98 % is 3.747 in a printed table, so one and one must differ by 5.30."""


def retest(value, wide, narrow):
    figure = figure_of(value, *wide, "/min", rests_on=ON_REST, own_rhythm_low=narrow[0], own_rhythm_high=narrow[1])
    return trial(60, figures={"heart_rate_rise": figure})


def test_what_wide_bounds_cannot_tell_narrower_ones_may():
    found = compare([trial(0, 40)], [retest(30, (26, 37), (28, 33))], LENT)
    assert (found.verdict, found.own_rhythm) == ("decrease beyond day-to-day variation", True)
    assert (found.change_low, found.change_high) == (-12, -7)
    assert "variation, which explains up to 5.3 /min" in found.sentence
    assert ", if the heart kept its own rhythm in the short unmeasured stretches." in found.sentence
    assert "whatever the unmeasured" not in found.sentence
    assert found.notes.count(REMARK_OWN_RHYTHM) == 1


def test_a_verdict_that_holds_whatever_the_heart_did_assumes_nothing():
    found = compare([trial(0, 40)], [retest(30, (28, 33), (29, 31))], LENT)
    assert (found.verdict, found.own_rhythm) == ("decrease beyond day-to-day variation", False)
    assert (found.change_low, found.change_high) == (-12, -7)
    assert "whatever happened in the unmeasured stretches" in found.sentence
    assert REMARK_OWN_RHYTHM not in found.notes


def test_narrower_bounds_may_show_that_nothing_changed():
    found = compare([trial(0, 40)], [retest(41, (30, 50), (38, 44))], LENT)
    assert (found.verdict, found.own_rhythm) == ("within day-to-day variation", True)
    assert REMARK_OWN_RHYTHM in found.notes


@pytest.mark.parametrize("narrow", [(27, 36), (None, 33), (28, None), (None, None)])
def test_narrower_bounds_that_do_not_tell_either_change_nothing(narrow):
    found = compare([trial(0, 40)], [retest(30, (26, 37), narrow)], LENT)
    assert (found.verdict, found.own_rhythm) == ("cannot be told from day-to-day variation", False)
    assert (found.change_low, found.change_high) == (-14, -3)
    assert REMARK_OWN_RHYTHM not in found.notes


def test_one_baseline_without_an_error_asks_for_no_rhythm():
    found = compare([trial(0, 40)], [retest(30, (26, 37), (28, 33))])
    assert (found.verdict, found.own_rhythm) == ("cannot be told from day-to-day variation", False)


def test_which_bounds_a_figure_has():
    figure = figure_of(30, 26, 37, "/min", own_rhythm_low=28, own_rhythm_high=33)
    assert bounded(figure) == (30, 26, 37)
    assert bounded(figure, own_rhythm=True) == (30, 28, 33)
    assert bounded(figure_of(30, 26, 37, "/min"), own_rhythm=True) == (30, 26, 37)


def test_pages_say_what_the_verdict_hangs_on_in_either_language():
    found = compare([trial(0, 40)], [retest(30, (26, 37), (28, 33))], LENT)
    assert verdict_sentence(found, Words("en")) == found.sentence
    assert "si el corazón mantuvo su propio ritmo en los tramos cortos sin medir" in verdict_sentence(
        found, Words("es", family=True)
    )
    (note,) = (each for each in found.notes if each == REMARK_OWN_RHYTHM)
    assert "su propio ritmo" in Words("es").message(note)
