"""Whether typed texts say the same thing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark.records.change.near_duplicates import likeness, tokens


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Level 3", " level  3."),
        ("level3", "Level-3"),
        ("chest strap", "cheststrap"),
        ("arm-band (left)", "Arm band, left"),
        ("2,5 kg", "2.50 kg"),
        ("gear 03", "gear 3"),
        ("sillón eléctrico", "SILLON ELECTRICO"),
        ("level -3", "level −3"),
        ("21 º", "21°"),
        ("", ""),
    ],
)
def test_what_does_not_change_a_set_up_is_the_same(one, other):
    assert likeness([one, other]) == likeness([other, one]) == "same"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("load 3", "load mark 3"),
        ("left belt", "belt left"),
        ("crank", "crank 2"),
        ("beta-blocker", "beta-blocker 50 mg"),
        ("5", "5 %"),
        ("own chair, blue wheels", "own chair"),
        ("no belt, gloves", "no belt"),
        ("2 of 3", "3 of 2"),
    ],
)
def test_words_left_out_or_in_another_order_are_perhaps_the_same(one, other):
    assert likeness([one, other]) == likeness([other, one]) == "perhaps"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("level 2", "level 3"),
        ("load 3", "load mark 4"),
        ("level 3", "level -3"),
        ("crank 2 level 3", "crank 2"),
        ("gear 1 1", "gear 11"),
        ("chest strap", "armband"),
        ("none", "beta-blocker"),
        ("20 W", "20 kg"),
        ("beta-blocker", "no beta-blocker"),
        ("cojín", "sin cojín"),
        ("belt", "belt off"),
        ("own chair", "own bench"),
        ("", "load 3"),
        ("?", "load 3"),
        ("left left", "left right"),
        ("crank 1234567", "crank 1234568"),
        ("crank 12345678901234567890123456789012", "crank 12345678901234567890123456789013"),
    ],
)
def test_other_numbers_other_words_and_a_negation_are_different(one, other):
    assert likeness([one, other]) == likeness([other, one]) == "different"


@pytest.mark.parametrize(
    "word", ["no", "not", "non", "none", "never", "without", "off", "out", "sin", "nunca", "ninguno"]
)
def test_each_word_of_negation_turns_a_set_up_round(word):
    assert likeness([f"belt {word}", "belt"]) == likeness(["belt", f"{word.upper()} belt"]) == "different"


def test_of_several_texts_the_least_alike_pair_decides():
    assert likeness(["load 3", "Load 3.", "load-3"]) == "same"
    assert likeness(["load 3", "load mark 3", "load 3"]) == "perhaps"
    assert likeness(["load 3", "load mark 3", "load 4"]) == "different"
    assert likeness(["load 3", "load 4", "load mark 3"]) == "different"
    assert likeness(["load 3"]) == "same"


def test_a_text_is_taken_apart_into_words_numbers_and_signs():
    assert tokens("Level-3, 2,50 kg at 5 %!") == ("level", "3", "2.5", "kg", "at", "5", "%")
    assert tokens("−2 to -4") == ("-2", "to", "-4")
    assert tokens("9-11") == ("9", "11")
    assert tokens("1.2.3") == ("1.2", "3")
    assert tokens("12345678901234567890") == ("12345678901234567890",)
    assert tokens("< 60") == ("<", "60")
    assert tokens("100 0 00.50 -0") == ("100", "0", "0.5", "-0")
    assert tokens("٣ ½") == ("3", "1", "2")


@given(st.lists(st.text(max_size=20), min_size=1, max_size=4))
def test_any_text_at_all_has_an_answer_that_does_not_hang_on_the_order(texts):
    assert likeness(texts) == likeness(texts[::-1])
    assert likeness([texts[0]] * 3) == "same"
