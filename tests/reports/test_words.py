"""Texts in two languages: nothing is missing, nothing is left in the other, and both say the same numbers."""

import re
import tomllib
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Literal, get_args, get_origin

import pytest
from ownmark.metrics.conditions import ARMS_ONLY_CAUTION, CONDITIONS, GENERAL_CAUTIONS, POWER_CHAIR_CAUTION
from ownmark.metrics.figure import as_messages
from ownmark.records import messages as say_ceiling
from ownmark.records.catalogue import catalogue
from ownmark.records.change.messages import remark_caution, remark_on_basis
from ownmark.records.protocol import FIELDS, Protocol
from ownmark.records.trial import TRIAL_FIELDS
from ownmark.reports.sheets.cautions import cautions_of
from ownmark.reports.words import FOLDER, Words, pattern_of, rounded
from ownmark.words.message import Message, Quoted
from ownmark.words.render import MissingWords, english, texts
from ownmark.words.vocabulary import FIGURES

from . import pages_made as made

CHAIR = "the chair moving: floor, speed and motor, not the student's effort"
"""As older sheets have it."""

EN, ES = made.EN, made.ES
FUNCTION_WORDS = frozenset(
    "the of and is are was were with from not at for to by in on it its this that be been or as an which than "
    "while who what when where both only each given measured student heart rate trial above below".split()
)
"""English words that Spanish does not have."""


def patterns_of_old_sheets():
    return tomllib.loads((FOLDER / "said.toml").read_text(encoding="utf-8"))


def spanish_sayings():
    return {key.removeprefix("said."): text for key, text in texts("es").items() if key.startswith("said.")}


def braces(text):
    return set(re.findall(r"\{(\w+)\}", text))


def test_both_languages_hold_the_same_keys_with_the_same_values_in_them():
    english, spanish = texts("en"), texts("es")
    said = {key for key in spanish if key.startswith("said.")}
    assert set(english) == set(spanish) - said
    assert [key for key in english if braces(english[key]) != braces(spanish[key])] == []


def test_every_sentence_that_can_be_said_again_is_said_in_spanish_with_no_value_of_its_own():
    patterns, spanish = patterns_of_old_sheets(), spanish_sayings()
    assert set(patterns) - set(older_cautions()) == set(spanish)
    assert [key for key, text in spanish.items() if not braces(text) <= braces(patterns[key])] == []


def test_no_two_patterns_fit_the_same_sentence_so_that_each_is_translated_as_itself():
    patterns = patterns_of_old_sheets()
    for key, text in patterns.items():
        plain = re.sub(r"\{n_\w+\}", "7", re.sub(r"\{(?!n_)\w+\}", "Something", text))
        wide = {"no_band_of_reserve", "note_band_dips", "no_clock"}  # begin with a whole sentence
        fits = [other for other, each in patterns.items() if pattern_of(each).fullmatch(plain) and other not in wide]
        assert fits in ([key], []) if key in wide else fits == [key], text


def older_cautions():
    """Cautions without a value, and the reasons of them, by the key of their older text."""
    patterns = patterns_of_old_sheets()
    return {
        key: text
        for key, text in patterns.items()
        if key.startswith(("caution_", "reason_", "planned_")) and not braces(text)
    }


@pytest.mark.parametrize(("key", "older"), older_cautions().items())
def test_a_caution_of_an_older_sheet_is_said_in_the_words_of_now_so_that_it_stands_once(key, older):
    now = Message(key.replace("_", ".", 1))
    for words in (EN, ES):
        assert words.said(older) == words.message(now) == words.told(Message.english(older))
    page = list(cautions_of([now, Message.english(older)], [older], EN))
    assert page[-1].items == (EN.message(now),)


def cautions_of_the_trade():
    found = [*GENERAL_CAUTIONS, POWER_CHAIR_CAUTION, ARMS_ONLY_CAUTION]
    for condition in CONDITIONS.values():
        found += [*condition.cautions, *([condition.reason] if condition.reason else [])]
    return dict.fromkeys(as_messages(found))


@pytest.mark.parametrize("caution", cautions_of_the_trade())
def test_every_caution_is_said_in_both_languages_and_unchanged_in_english(caution):
    assert EN.told(caution) == english(caution)
    assert ES.told(caution) not in (None, english(caution))
    assert EN.said(english(caution)) == english(caution)  # as a copied protocol holds it
    assert ES.said(english(caution)) not in (None, english(caution))


def test_cautions_of_the_catalogue_are_words_of_both_languages_and_no_others_are():
    cautions = {text for protocol in catalogue().values() for text in protocol.cautions}
    planned = {text for key, text in texts("en").items() if key.startswith("planned.")}
    assert planned == cautions
    for text in cautions:
        said = remark_caution(Quoted(text))
        assert EN.told(said) == text
        told = ES.told(said)
        assert told in {each for key, each in texts("es").items() if key.startswith("planned.")}, text
    assert ES.told(remark_caution(Quoted("Look out."))) == "«Look out.»"
    assert EN.told(remark_caution(Quoted("Look out."))) == "Look out."


def test_every_condition_figure_title_and_fact_has_a_word_in_both_languages():
    for words in (EN, ES):
        assert all(words.known(f"condition.{name}") for name in CONDITIONS)
        assert all(words.known(f"figure.{name}") for name in FIGURES)
        assert all(words.known(f"title.{name}") for name in catalogue())
        assert all(words.known(f"field.{name}") for name in (*FIELDS, *TRIAL_FIELDS))
        measures = [one for protocol in catalogue().values() for one in protocol.hand_measures]
        assert all(words.known(f"hand.{one.name}") and words.known(f"hand_unit.{one.unit}") for one in measures)


def test_every_value_that_a_fact_of_a_protocol_can_have_is_a_word_of_both_languages():
    kinds = [kind for info in Protocol.model_fields.values() for kind in (info.annotation, *get_args(info.annotation))]
    values = {value for kind in kinds if get_origin(kind) is Literal for value in get_args(kind)}
    assert {"higher", "no direction", "in turn", "own pace", "strength"} <= values
    for words in (EN, ES):
        assert [value for value in sorted(values) if words.typed(value)[0] in "«“"] == []


def test_surfaces_and_devices_of_the_catalogue_are_words_of_both_languages():
    texts_of = {text for one in catalogue().values() for text in (one.surface, one.device) if text is not None}
    assert {"firm mat", "elastic band", "gym floor"} <= texts_of
    assert [text for text in sorted(texts_of) if ES.typed(text)[0] == "«"] == []


def test_english_words_are_those_of_the_trades_own_lists():
    assert [name for name, one in CONDITIONS.items() if EN.get(f"condition.{name}") != one.title] == []
    assert [name for name, one in catalogue().items() if EN.get(f"title.{name}") != one.title] == []
    rules = {**FIELDS, **TRIAL_FIELDS}
    apart = [name for name, rule in rules.items() if EN.get(f"field.{name}") != rule.label.partition(", as ")[0]]
    assert apart == []


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(0.5, 0, "1"), (2.5, 0, "3"), (-2.5, 0, "-3"), (1.005, 2, "1.01"), (-0.4, 0, "0"), (0, 1, "0.0"), (59.5, 0, "60")],
)
def test_numbers_are_rounded_half_up_from_what_the_json_says(value, digits, text):
    # Source: the rule itself, by hand; Python's own rounding gives 0, 2, -2, 1.0 here.
    assert rounded(value, digits) == text


def test_days_and_decimals_are_written_as_the_language_writes_them():
    # Source: the usual forms of both languages, from memory.
    assert EN.date(date(2026, 5, 2)) == "May 2, 2026"
    assert ES.date(date(2026, 5, 2)) == "2 de mayo de 2026"
    assert EN.date(date(2026, 10, 20), short=True) == "Oct 20, 2026"
    assert ES.date(date(2026, 10, 20), short=True) == "20 oct 2026"


def test_a_start_in_utc_never_reads_as_the_time_on_the_wall():
    start = datetime(2026, 10, 20, 14, 5, 9)  # noqa: DTZ001 a file that states no zone shows the clock on the wall
    assert EN.moment(start) == "October 20, 2026, 14:05:09"
    assert EN.moment(start.replace(tzinfo=UTC)) == "October 20, 2026, 14:05:09 UTC"
    assert EN.moment(start.replace(tzinfo=UTC), day_only=True) == "October 20, 2026 (UTC)"
    denver = start.replace(tzinfo=timezone(timedelta(hours=-6)))
    assert EN.moment(denver) == "October 20, 2026, 14:05:09 (UTC−06:00)"
    assert EN.moment(denver, day_only=True) == EN.moment(start, day_only=True) == "October 20, 2026"
    assert ES.moment(start.replace(tzinfo=UTC)) == "20 de octubre de 2026, 14:05:09 UTC"
    assert (EN.number(0.25, 1), ES.number(0.25, 1), ES.number(-4)) == ("0.3", "0,3", "−4")


def test_a_sentence_keeps_its_numbers_and_hands_known_words_on():
    why = "Not given: heart rate was measured for only 71 % of the work phase; 80 % are needed."
    assert made.numbers(ES.said(why)) == ["71", "80"]
    blocked = CONDITIONS["pacemaker"]
    said = ES.said(f"Not given: {blocked.title}. {english(blocked.reason)} The cardiology plan decides.")
    assert said.startswith("No se da: marcapasos. Con un marcapasos")
    assert ES.said(f"{CHAIR}; still for at least 3 s between two movements").count(";") == 1
    assert ES.message(remark_on_basis(date(2026, 5, 12))).count("12 de mayo") == 1


def test_what_no_pattern_fits_stays_in_english_and_is_not_guessed_in_spanish():
    assert EN.said("Wires came  loose (--offset FILE=S).") == "Wires came loose."
    assert ES.said("Wires came loose.") is None
    assert ES.said("still for at least 3 s between two movements; wires came loose") is None


def test_words_that_people_chose_from_a_list_are_translated_and_their_own_are_quoted():
    assert ES.typed("partial physical") == "ayuda física parcial"
    assert ES.typed("Own  power chair") == "silla de ruedas eléctrica propia"
    assert (ES.typed("blue mat"), EN.typed("blue mat")) == ("«blue mat»", "blue mat")


def test_an_unknown_language_is_refused():
    with pytest.raises(MissingWords, match="no language"):
        Words("xx")


def spoken(page):
    """A page's text without quotations, file names and what is the same in every language."""
    text = made.page_text(page)
    text = re.sub(r"«[^»]*»|[\w-]+\.(?:fit|tcx|csv\.gz|csv|gpx)|SHA-256 [0-9a-f]+", " ", text)
    return set(re.findall(r"[^\W\d_]+", text.lower()))


@pytest.mark.parametrize("which", made.TRIALS)
def test_no_english_word_is_left_in_the_familys_effort_sheet(which):
    page = made.effort(which, ES, family=True, picture=None, notes="It was the loudest day of all.")
    assert spoken(page) & FUNCTION_WORDS == set()


@pytest.mark.parametrize("kind", made.VERDICTS)
def test_no_english_word_is_left_in_the_familys_change_sheet(kind):
    assert spoken(made.change(kind, ES, family=True, pictures=False)) & FUNCTION_WORDS == set()


def test_the_check_for_english_words_finds_them_where_they_are():
    assert len(spoken(made.effort("crank", picture=None)) & FUNCTION_WORDS) > 15


def test_no_page_holds_an_option_of_the_command_line_or_a_word_that_ranks_or_promises():
    for name, page in made.every_page().items():
        text = made.page_text(page)
        assert re.findall(r"\s--[a-z]", text) == [], name
        assert re.findall(r"(?i)\b(?:percentiles?|norms?|rank\w*|scores?|grade[ds]?|average child)\b", text) == [], name
        assert re.findall(r"(?i)\bzone \d", text) == [], name
        told = text.replace(english(GENERAL_CAUTIONS[0]), "").replace("Safety sheet", "")
        assert re.findall(r"(?i)\bsafe\w*\b", told) == [], name


def test_spanish_joins_with_e_before_its_own_sound():
    assert made.ES.listed(["latidos por cada metro", "índice de coste"]).endswith(" e índice de coste")
    assert made.ES.listed(["padres", "hijos"]) == "padres e hijos"
    assert made.ES.listed(["nieve", "hielo"]) == "nieve y hielo"


def test_sheets_kept_by_earlier_versions_are_said_again_in_their_own_spelling():
    es = Words("es")
    for then, now in (
        ("Leave two metres free behind each turn.", "Leave two meters free behind each turn."),
        (
            "End with dizziness, a colour change or unusual breathlessness.",
            "End with dizziness, a color change or unusual breathlessness.",
        ),
    ):
        assert es.typed(then) == es.typed(now)
        assert "«" not in es.typed(then)
    assert es.typed("the wheel's colour") == "«the wheel's colour»"


def test_a_page_writes_its_days_in_words_on_the_terminal_too():
    when = say_ceiling.ceiling_set_on(110.0, Quoted("therapist"), date(2026, 4, 1))
    for terminal in (False, True):
        text = Words("en", terminal=terminal).message(when)
        assert text == "Ceiling 110 /min, set by the therapist on April 1, 2026."
    assert english(when) == "Ceiling 110 /min, set by the therapist on April 1, 2026."
