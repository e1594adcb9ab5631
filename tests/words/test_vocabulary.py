"""The table of figures: whole, cheap to import, and with words in every language."""

import subprocess
import sys

import pytest
from ownmark.ingest.flags import RULES
from ownmark.words.render import LANGUAGES, texts
from ownmark.words.vocabulary import (
    CEILING_FIGURES,
    DIGITS,
    FIGURES,
    GROUPS,
    HIGHEST_BPM,
    LOWEST_BPM,
    MOTION_FIGURES,
    ON_CHAIR,
    OTHER_DIGITS,
    PLACEMENTS,
    ZONE_FIGURES,
    digits,
)

HEAVY = ("numpy", "pydantic", "scipy", "pandas", "jinja2", "matplotlib", "sqlalchemy")


def test_the_vocabulary_loads_nothing_heavy_and_no_catalogue():
    code = (
        "import sys, ownmark.words.vocabulary, ownmark.words.render as render; "
        f"print([each for each in {HEAVY} if each in sys.modules], render.texts.cache_info().currsize)"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[] 0"


def test_the_rates_that_a_heart_can_have_and_the_places_of_a_sensor():
    # Source: the clause on cleaning in docs/figures.md; common practice.
    assert (LOWEST_BPM, HIGHEST_BPM) == (30.0, 230.0)
    assert set(ON_CHAIR) == {"frame", "wheel"}
    assert set(PLACEMENTS) - ON_CHAIR == {"wrist", "crank", "trunk"}


def test_every_figure_stands_in_one_group_or_in_the_first_sentence_of_its_page():
    grouped = [name for _, names in GROUPS for name in names]
    assert sorted([*grouped, "coverage_heart_rate", "coverage_motion"]) == sorted(FIGURES)
    assert [group for group, _ in GROUPS] == ["heart", "reserve", "zones", "movement", "target", "ceiling"]
    assert all(names for _, names in GROUPS)
    assert all(entry.name == name for name, entry in FIGURES.items())


def test_the_families_of_figures_are_those_of_their_groups():
    assert dict(GROUPS)["zones"] == ZONE_FIGURES
    assert ZONE_FIGURES == ("time_very_light", "time_light", "time_moderate", "time_vigorous", "time_near_maximal")
    assert CEILING_FIGURES[0] == "time_above_ceiling"
    assert (MOTION_FIGURES[0], MOTION_FIGURES[-1], len(MOTION_FIGURES)) == (
        "coverage_motion",
        "heart_rate_moving_rise",
        11,
    )


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_figure_source_and_rule_has_its_words_and_no_other_has(language):
    known = texts(language)
    for section, names in (
        ("figure", FIGURES),
        ("meaning", FIGURES),
        ("source", {entry.source_key for entry in FIGURES.values()}),
        ("rule_name", RULES),
        ("rule_finds", RULES),
    ):
        assert {key.removeprefix(f"{section}.") for key in known if key.startswith(f"{section}.")} == set(names)


@pytest.mark.parametrize(
    ("name", "unit", "places"),
    [
        ("heart_rate_mean", "/min", 0),
        ("reserve_mean", "%", 1),
        ("time_light", "s", 0),
        ("stop_count", "1", 0),
        ("training_impulse", "1", 2),
        ("cost_index", "/m", 2),
        ("motion_level", "mg", 1),
        ("forward_reach", "cm", 1),
        ("gates_passed", "1", 0),
    ],
)
def test_decimal_places_of_figures_and_of_what_is_entered_by_hand(name, unit, places):
    # Source: the sentence on rounding at the foot of the page.
    assert digits(name, unit) == places
    assert OTHER_DIGITS == 1
    assert {entry.unit for entry in FIGURES.values()} == set(DIGITS)


def test_title_meaning_and_source_are_read_from_the_english_catalogue():
    entry = FIGURES["reserve_mean"]
    assert (entry.title, entry.source) == ("mean share of the reserve", "Karvonen 1957")
    assert entry.meaning == "mean at work, of heart-rate reserve"
