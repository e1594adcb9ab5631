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

from tests.makers.sheets import in_english

# Reference section 2, "no age-predicted maximum for"; heart disease and rhythm disorder from tables 3B.
NO_PREDICTION = {
    "spinal-injury-t6-or-above",
    "spinal-injury-level-unknown",
    "heart-transplant",
    "pacemaker",
    "rate-limiting-medicine",
    "rate-raising-medicine",  # Mahon 2008: 8 to 13 /min more at the same work, and a higher peak
    "muscular-dystrophy",  # Bartels 2015, Thomas 2012: the heart is often affected, the rate does not fall with age
    "autonomic-disorder",
    "heart-rhythm-disorder",
    "heart-condition",
}
# Tables 3B, "use the cardiology plan": the rate does not follow effort even where its peak was measured.
NO_RESERVE = {"pacemaker", "heart-transplant", "heart-rhythm-disorder", "heart-condition"}


def every_sentence():
    yield from map(in_english, GENERAL_CAUTIONS)
    yield in_english(POWER_CHAIR_CAUTION)
    yield in_english(ARMS_ONLY_CAUTION)
    for condition in CONDITIONS.values():
        yield from map(in_english, condition.cautions)
        if condition.reason:
            yield in_english(condition.reason)


@pytest.mark.parametrize("name", sorted(CONDITIONS))
def test_no_maximum_is_predicted_where_age_does_not_tell_it(name):
    assert CONDITIONS[name].blocks_prediction is (name in NO_PREDICTION)


@pytest.mark.parametrize("name", sorted(CONDITIONS))
def test_a_measured_maximum_does_not_help_where_the_rate_does_not_follow_effort(name):
    assert CONDITIONS[name].blocks_reserve is (name in NO_RESERVE)


@pytest.mark.parametrize("name", sorted(CONDITIONS))
def test_only_a_pacemaker_sets_the_rate_and_only_spina_bifida_blocks_in_arm_work_alone(name):
    # Bloemen 2015: 165 /min in wheelchair propulsion and 150 in arm cranking, where age would say about 198.
    assert CONDITIONS[name].sets_rate is (name == "pacemaker")
    assert CONDITIONS[name].blocks_in_arms is (name == "spina-bifida")


def test_what_blocks_the_reserve_blocks_the_prediction_and_whatever_blocks_says_why():
    for condition in CONDITIONS.values():
        assert condition.blocks_prediction or not condition.blocks_reserve
        assert condition.reason or not (condition.blocks_prediction or condition.blocks_in_arms)
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


# Every level there is, written out: the cord has 8 cervical, 12 thoracic, 5 lumbar and 5 sacral segments (anatomy).
HIGH = "c1 c2 c3 c4 c5 c6 c7 c8 t1 t2 t3 t4 t5 t6".split()
LOW = "t7 t8 t9 t10 t11 t12 l1 l2 l3 l4 l5 s1 s2 s3 s4 s5".split()
NONE = "c0 c9 c10 t0 t13 t14 l0 l6 s0 s6".split()


@pytest.mark.parametrize(
    ("levels", "name"), [(HIGH, "spinal-injury-t6-or-above"), (LOW, "spinal-injury-below-t6")], ids=["high", "low"]
)
def test_each_spinal_level_finds_its_condition_and_t6_and_t7_lie_on_both_sides(levels, name):
    # Response close to usual with injury at T7 or below: reference section 2.
    for level in levels:
        for word in (level, level.upper(), f"sci-{level}", f"SCI {level.upper()}"):
            assert find_condition(word).name == name, word


@pytest.mark.parametrize("level", NONE)
def test_a_spinal_level_that_does_not_exist_is_not_taken_for_one_that_does(level):
    for word in (level, f"sci-{level}"):
        with pytest.raises(BasisError, match="is not known"):
            find_condition(word)


# Every other word, written out, so that one that leads elsewhere is noticed.
OTHER_WORDS = {
    "sci": "spinal-injury-level-unknown",
    "spinal-cord-injury": "spinal-injury-level-unknown",
    "spinal-injury": "spinal-injury-level-unknown",
    "beta-blocker": "rate-limiting-medicine",
    "beta-blockers": "rate-limiting-medicine",
    "rate-limiting-medication": "rate-limiting-medicine",
    "rate-raising-medication": "rate-raising-medicine",
    "stimulant": "rate-raising-medicine",
    "stimulants": "rate-raising-medicine",
    "transplant": "heart-transplant",
    "arrhythmia": "heart-rhythm-disorder",
    "heart-disease": "heart-condition",
    "dysautonomia": "autonomic-disorder",
    "cp": "cerebral-palsy",
    "ds": "down-syndrome",
    "id": "intellectual-disability",
    "seizures": "epilepsy",
    "atlantoaxial-instability": "neck-instability",
    "osteogenesis-imperfecta": "brittle-bones",
    "latex": "latex-allergy",
    "ventilator": "breathing-support",
    "tracheostomy": "breathing-support",
}


def test_every_alias_is_one_of_these_words_or_a_spinal_level():
    levels = {word: find_condition(word).name for level in (*HIGH, *LOW) for word in (level, f"sci-{level}")}
    assert dict(ALIASES) == OTHER_WORDS | levels


def test_a_spinal_injury_of_unknown_level_is_treated_like_one_at_t6():
    unknown, high = find_condition("sci"), find_condition("t6")
    assert unknown.blocks_prediction
    assert unknown.cautions == high.cautions


def test_the_titles_of_the_conditions():
    assert {name: each.title for name, each in CONDITIONS.items() if each.title != name.replace("-", " ")} == {
        "spinal-injury-t6-or-above": "spinal cord injury at T6 or above",
        "spinal-injury-level-unknown": "spinal cord injury, level unknown",
        "rate-limiting-medicine": "beta-blocker or another medicine that limits heart rate",
        "rate-raising-medicine": "stimulant or another medicine that raises heart rate",
        "heart-condition": "heart disease",
        "spinal-injury-below-t6": "spinal cord injury below T6",
        "down-syndrome": "Down syndrome",
        "heat-sensitive": "sensitive to heat",
        "breathing-support": "breathing support: ventilator, tube in the windpipe or oxygen",
    }


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


@pytest.mark.parametrize(
    ("word", "hint"),
    [
        ("spinal", "Did you mean spinal-injury-level-unknown or spina-bifida? "),
        ("pacemakr", "Did you mean pacemaker? "),
        ("heart", "Did you mean heart-condition? "),  # by two of its words; heart-transplant is too far
        ("lat", "Did you mean latex-allergy or rate-raising-medicine? "),  # stimulant: just near enough
        ("heart-disorder", "Did you mean heart-rhythm-disorder or heart-condition or autonomic-disorder? "),
    ],
)
def test_the_three_nearest_words_are_offered_under_their_own_names(word, hint):
    with pytest.raises(BasisError) as caught:
        find_condition(word)
    assert caught.value.mend.startswith(hint)


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
    said = in_english(find_condition("t6").cautions).lower()
    for part in ("headache", "flushing", "sweating", "slow pulse", "emergency", "sit", "bladder", "bowel", "skin"):
        assert part in said
    assert "cannot rule it out" in said
    assert not any("dysreflexia" in in_english(caution) for caution in find_condition("t7").cautions)


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("rate-limiting-medicine", "same medicine, dose and time"),  # tables 3B
        ("rate-raising-medicine", "same medicine, dose and time"),
        ("rate-raising-medicine", "8 to 13 beats"),  # Mahon 2008
        ("muscular-dystrophy", "heart can be affected"),
        ("muscular-dystrophy", "lowering"),
        ("muscular-dystrophy", "Dark urine"),
        ("breathing-support", "trained for this student's equipment"),  # common practice
        ("breathing-support", "alarm"),
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
    assert any(part in in_english(caution) for caution in CONDITIONS[name].cautions)


def test_the_general_cautions_say_who_decides_and_when_to_stop():
    # Reference section 9.
    assert "not a medical device" in in_english(GENERAL_CAUTIONS[0])
    assert "cannot say that exercise is safe" in in_english(GENERAL_CAUTIONS[0])
    said = in_english(GENERAL_CAUTIONS)
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
    assert "unknown amount" in in_english(ARMS_ONLY_CAUTION)
    assert "read too low" in in_english(ARMS_ONLY_CAUTION)
    assert not re.search(r"\d", in_english(ARMS_ONLY_CAUTION))


def test_a_power_chair_carries_its_own_caution():
    # Reference section 9.
    for part in ("battery", "speed setting", "course clear", "spotter"):
        assert part in in_english(POWER_CHAIR_CAUTION)
