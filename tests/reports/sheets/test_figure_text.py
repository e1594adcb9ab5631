"""A number with its unit, and a reason in the list of figures that are not given."""

import pytest
from ownmark.metrics.messages import heart_rate as why
from ownmark.records.change.quantities import amount_with_unit
from ownmark.reports.sheets.figure_text import unit_words
from ownmark.reports.sheets.figures_not_given import reason_line
from ownmark.reports.words import Words
from ownmark.words.message import Message


@pytest.mark.parametrize(("language", "one", "several"), [("en", "1 lap", "2 laps"), ("es", "1 vuelta", "2 vueltas")])
def test_one_of_a_hand_measure_is_singular_on_pages_and_in_comparisons(language, one, several):
    words = Words(language)
    assert words.message(amount_with_unit(1.0, "laps", "laps_done")) == one
    assert words.message(amount_with_unit(2.0, "laps", "laps_done")) == several
    assert f"1 {unit_words('laps_done', 'laps', words, family=False, one=True)}" == one
    assert f"2 {unit_words('laps_done', 'laps', words, family=False)}" == several


def test_every_unit_of_a_hand_measure_that_is_known_has_its_singular():
    words = Words("en")
    for unit in ("m", "cm", "s", "gates", "lengths", "breaths", "bends", "leans", "laps"):
        assert words.known(f"hand_unit.{unit}")
        assert words.known(f"hand_unit_one.{unit}")


@pytest.mark.parametrize("language", ["en", "es"])
def test_movement_is_told_in_thousandths_of_g_and_never_as_a_weight(language):
    unit = unit_words("motion_level", "mg", Words(language), family=False)
    assert unit == {"en": "milli-g", "es": "mili-g"}[language]
    assert Words(language).message(amount_with_unit(12.5, "mg", "motion_level")).endswith(f" {unit}")


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_list_of_what_is_not_given_does_not_say_so_again(language):
    words = Words(language)
    today, older = why.WHY_NO_DISTANCE, Message.english("Not given: no distance is known (--distance).")
    lines = [reason_line(each, ["cost_index"], words, family=False) for each in (today, older)]
    begin = words.get("form.not_given")
    assert words.message(today).startswith(begin)
    assert all(line and begin not in line for line in lines)


def test_a_reason_that_begins_otherwise_stands_whole():
    words = Words("en")
    assert words.reason(why.why_no_crossing(97.0)) == words.message(why.why_no_crossing(97.0))
