"""A trial as people write it down."""

from datetime import date

import pytest
from ownmark.errors import NotATrial
from ownmark.records.catalogue import catalogue
from ownmark.records.entry import NOT_TYPED, SHORT, TYPED, result_of, trial_of
from ownmark.records.trial import Trial

TODAY = date(2026, 5, 20)
SIDED = next(each for each in catalogue().values() if any(measure.sides for measure in each.hand_measures))
SLALOM = catalogue()["power-chair-slalom"]


def made(protocol=SLALOM, **texts):
    return trial_of({"code": "TH-11", **texts}, protocol, today=TODAY)


def test_every_short_word_means_a_field_and_every_field_is_typed_or_not():
    assert set(SHORT.values()) <= set(TYPED)
    assert set(TYPED) | NOT_TYPED == set(Trial.model_fields)


def test_texts_become_values_with_decimal_commas_and_percent_signs():
    trial = made(date="2026-05-12", Temperature="20,5", **{"battery start": "95 %", "Distance": "812"})
    assert (trial.on, trial.temperature_c, trial.battery_start_percent, trial.distance_m) == (
        date(2026, 5, 12),
        20.5,
        95,
        812,
    )
    assert made(practice="yes").practice is True
    assert made(practice="no", notes="").notes == ""


def test_several_stops_and_assisted_stretches_stand_in_one_cell():
    trial = made(stops="09:14 cone; 10:20 water", assisted="01:00-01:30; 02:00-02:10")
    assert [(each.at, each.why) for each in trial.stops] == [("09:14", "cone"), ("10:20", "water")]
    assert trial.assisted == ("01:00-01:30", "02:00-02:10")


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        ({"date": "12.05.2026"}, "not a date"),
        ({"date": "2026-05-21"}, "lies in the future"),
        ({"exertion": "hard", "scale": "6-20"}, "not a number"),
        ({"exertion": "5", "scale": "6-20"}, "not on the scale"),
        ({"stops": "tired"}, "not a stop"),
        ({"practice": "perhaps"}, "practice trial"),
        ({"temprature": "20"}, "Did you mean temperature"),
        ({"time": "25:00"}, "not a time of day"),
        ({"code": "Maria"}, "student's code"),
        ({"tested_by": "Maria Smith"}, "must be a role"),
    ],
)
def test_what_does_not_fit_is_a_sentence(texts, words):
    with pytest.raises(Exception, match=words) as refusal:
        made(**texts)
    assert type(refusal.value).__module__ == "ownmark.errors"


def test_who_gives_a_result_twice_is_told_how_attempts_are_numbered():
    twice = {"code": "TH-11", "repetitions left": "12", "Repetitions left": "13"}
    with pytest.raises(NotATrial, match="given twice for the same side and attempt") as told:
        trial_of(twice, SIDED, today=TODAY)
    assert told.value.mend == "Number the attempts, as in “forward_reach left 2” for the second one to the left."


def test_a_column_named_like_a_hand_measure_is_a_result_with_side_and_attempt():
    measure = next(each for each in SIDED.hand_measures if each.sides)
    spoken = measure.name.replace("_", " ")
    trial = made(SIDED, **{f"{spoken} left": "12", f"{spoken.upper()} Right 2": "13,5"})
    assert [(each.side, each.attempt, each.value) for each in trial.hand_results] == [
        ("left", 1, 12),
        ("right", 2, 13.5),
    ]
    with pytest.raises(NotATrial, match="on each side"):
        made(SIDED, **{spoken: "12"})
    assert result_of(f"{spoken} left 3=7", SIDED).attempt == 3
    with pytest.raises(NotATrial, match="not a result"):
        result_of("12", SIDED)


def test_the_protocols_own_scale_of_exertion_is_taken_where_none_is_written():
    protocol = SLALOM.model_copy(update={"exertion_scale": "0-10"})
    assert made(protocol, exertion="4").exertion_scale == "0-10"
    with pytest.raises(NotATrial, match="needs its scale"):
        made(SLALOM.model_copy(update={"exertion_scale": None}), exertion="4")
