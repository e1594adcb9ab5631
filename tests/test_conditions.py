"""Conditions that change what a heart rate means: what they block and what is said (reference 2, 9; tables 3B)."""

import re

import pytest
from ownmark.errors import BasisError
from ownmark.metrics.conditions import (
    ALIASES,
    ARMS_ONLY_CAUTION,
    CONDITIONS,
    GENERAL_CAUTIONS,
    POWER_CHAIR_CAUTION,
    find_condition,
)

# Reference section 2, "no age-predicted maximum for"; heart disease and rhythm disorder from tables 3B.
NO_PREDICTION = {
    "spinal-injury-t6-or-above",
    "spinal-injury-level-unknown",
    "heart-transplant",
    "pacemaker",
    "rate-limiting-medicine",
    "autonomic-disorder",
    "heart-rhythm-disorder",
    "heart-condition",
}
# Tables 3B, "use the cardiology plan": the rate does not follow effort even where its peak was measured.
NO_RESERVE = {"pacemaker", "heart-transplant", "heart-rhythm-disorder", "heart-condition"}


def every_sentence():
    yield from GENERAL_CAUTIONS
    yield POWER_CHAIR_CAUTION
    yield ARMS_ONLY_CAUTION
    for condition in CONDITIONS.values():
        yield from condition.cautions
        if condition.reason:
            yield condition.reason


@pytest.mark.parametrize("name", sorted(CONDITIONS))
def test_no_maximum_is_predicted_where_age_does_not_tell_it(name):
    assert CONDITIONS[name].blocks_prediction is (name in NO_PREDICTION)


@pytest.mark.parametrize("name", sorted(CONDITIONS))
def test_a_measured_maximum_does_not_help_where_the_rate_does_not_follow_effort(name):
    assert CONDITIONS[name].blocks_reserve is (name in NO_RESERVE)


def test_what_blocks_the_reserve_blocks_the_prediction_and_whatever_blocks_says_why():
    for condition in CONDITIONS.values():
        assert condition.blocks_prediction or not condition.blocks_reserve
        assert condition.reason or not condition.blocks_prediction
        assert condition.reason or condition.cautions


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("T6", "spinal-injury-t6-or-above"),
        ("sci-t6", "spinal-injury-t6-or-above"),
        ("SCI C5", "spinal-injury-t6-or-above"),
        ("t1", "spinal-injury-t6-or-above"),
        ("sci-t7", "spinal-injury-below-t6"),
        ("T12", "spinal-injury-below-t6"),
        ("L1", "spinal-injury-below-t6"),
        ("sci", "spinal-injury-level-unknown"),
        ("Spinal cord injury", "spinal-injury-level-unknown"),
        ("beta-blocker", "rate-limiting-medicine"),
        ("Beta_Blockers", "rate-limiting-medicine"),
        ("transplant", "heart-transplant"),
        ("  Down   syndrome ", "down-syndrome"),
        ("cp", "cerebral-palsy"),
    ],
)
def test_the_words_of_the_trade_find_their_condition(word, name):
    # Response close to usual only with injury at T7 or below: reference section 2.
    assert find_condition(word).name == name


def test_a_spinal_injury_of_unknown_level_is_treated_like_one_at_t6():
    unknown, high = find_condition("sci"), find_condition("t6")
    assert unknown.blocks_prediction
    assert unknown.cautions == high.cautions


def test_every_condition_is_found_by_its_own_name_and_title_case():
    for name, condition in CONDITIONS.items():
        assert condition.name == name
        assert find_condition(name) is condition
        assert find_condition(name.replace("-", " ").upper()) is condition


def test_every_alias_leads_to_a_condition_and_hides_none():
    assert set(ALIASES.values()) <= set(CONDITIONS)
    assert not set(ALIASES) & set(CONDITIONS)


@pytest.mark.parametrize(
    ("word", "nearest"),
    [("pacemakr", "pacemaker"), ("beta bloker", "rate-limiting-medicine"), ("sci-t66", "spinal-injury")],
)
def test_a_misspelt_condition_is_refused_with_the_nearest_name_and_all_names(word, nearest):
    with pytest.raises(BasisError) as caught:
        find_condition(word)
    assert re.search(rf"Did you mean [^?]*{nearest}", caught.value.mend)
    assert all(name in caught.value.mend for name in CONDITIONS)


def test_a_word_near_to_nothing_is_refused_with_all_names():
    with pytest.raises(BasisError) as caught:
        find_condition("qqqq")
    assert "Did you mean" not in caught.value.mend
    assert all(name in caught.value.mend for name in CONDITIONS)


@pytest.mark.parametrize("word", ["quadriplegia", "tetraplegia", "paraplegia", "t13", "c9", ""])
def test_a_word_that_could_mean_two_conditions_is_not_guessed(word):
    # Said of spinal injury and of cerebral palsy alike; T13 and C9 do not exist.
    with pytest.raises(BasisError):
        find_condition(word)


def test_the_dysreflexia_caution_names_signs_and_what_to_do():
    # Reference section 9, tables 10.6 and 10.7.
    said = " ".join(find_condition("t6").cautions).lower()
    for part in ("headache", "flushing", "sweating", "slow pulse", "emergency", "sit", "bladder", "bowel", "skin"):
        assert part in said
    assert "cannot rule it out" in said
    assert not any("dysreflexia" in caution for caution in find_condition("t7").cautions)


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("rate-limiting-medicine", "same medicine, dose and time"),  # tables 3B
        ("pacemaker", "cardiology plan"),  # tables 3B
        ("heart-transplant", "cardiology plan"),
        ("heart-rhythm-disorder", "cardiology plan"),
        ("heart-condition", "cardiology plan"),
        ("epilepsy", "5 minutes"),  # standard first aid, from memory
        ("shunt", "headache"),  # tables 10.11
        ("neck-instability", "no rolls"),  # tables 10.12
        ("down-syndrome", "no rolls"),
        ("brittle-bones", "no pulling"),  # tables 10.13
        ("latex-allergy", "straps"),  # tables 10.14
        ("spina-bifida", "Latex"),
        ("heat-sensitive", "room temperature"),  # tables 10.8
        ("spinal-injury-below-t6", "sweating"),
    ],
)
def test_each_condition_carries_the_caution_of_the_reference(name, part):
    assert any(part in caution for caution in CONDITIONS[name].cautions)


def test_the_general_cautions_say_who_decides_and_when_to_stop():
    # Reference section 9.
    assert "not a medical device" in GENERAL_CAUTIONS[0]
    assert "cannot say that exercise is safe" in GENERAL_CAUTIONS[0]
    said = " ".join(GENERAL_CAUTIONS)
    for part in ("physician", "therapist", "plan", "student asks", "chest pain", "faintness", "breathlessness"):
        assert part in said


def test_nothing_is_ever_called_safe_normal_or_ranked():
    for sentence in every_sentence():
        assert not re.search(
            r"\bsafe|\bnorm|percentile|\brank",
            sentence.replace("cannot say that exercise is safe", ""),
            re.IGNORECASE,
        )


def test_every_sentence_is_one_and_short():
    for sentence in every_sentence():
        assert sentence[0].isupper()
        assert sentence.endswith(".")
        assert len(sentence) <= 400
        assert "  " not in sentence


def test_with_arms_only_no_fixed_number_of_beats_is_taken_off():
    # Tables 3B: an automatic "minus 10" is refused; the direction alone is known.
    assert "unknown amount" in ARMS_ONLY_CAUTION
    assert "read too low" in ARMS_ONLY_CAUTION
    assert not re.search(r"\d", ARMS_ONLY_CAUTION)


def test_a_power_chair_carries_its_own_caution():
    # Reference section 9.
    for part in ("battery", "speed setting", "clear course", "spotter"):
        assert part in POWER_CHAIR_CAUTION
