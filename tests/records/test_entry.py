"""A trial as people write it down."""

from datetime import date

import pytest
from ownmark.errors import NotATrial
from ownmark.records.catalogue import catalogue
from ownmark.records.entry import NOT_TYPED, SHORT, TYPED, edited, results_of, trial_of
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


def test_a_column_that_is_nothing_names_the_hand_measures_or_says_that_there_are_none():
    with pytest.raises(
        NotATrial, match=r"“Pupil” is neither .* arm-crank-steady\. That protocol has no hand measures\."
    ):
        made(catalogue()["arm-crank-steady"], Pupil="x")
    with pytest.raises(NotATrial) as asked:
        made(SIDED, Pupil="x")
    assert all(measure.name in str(asked.value) for measure in SIDED.hand_measures)


def test_who_gives_a_result_twice_is_told_how_attempts_are_numbered():
    twice = {"code": "TH-11", "repetitions left": "12", "Repetitions left": "13"}
    with pytest.raises(NotATrial, match="given twice for the same side and attempt") as told:
        trial_of(twice, SIDED, today=TODAY)
    assert told.value.mend == "Write them with ; between them, or number them: “forward_reach left 2”."


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
    assert [each.attempt for each in results_of(f"{spoken} left 3=7", SIDED)] == [3]
    with pytest.raises(NotATrial, match="not a result"):
        results_of("12", SIDED)


ARM = catalogue()["arm-raise-to-front"]
ENDS_LIKE_A_SIDE = ARM.model_copy(
    update={"hand_measures": (ARM.hand_measures[0].model_copy(update={"name": "reach_left", "sides": False}),)}
)


def results(text, protocol=ARM):
    return [(each.name, each.side, each.attempt, each.value) for each in results_of(text, protocol)]


@pytest.mark.parametrize(
    "header",
    [
        "arm_height left 2",
        "arm_height_left_2",
        "arm height, left 2",
        "Arm-height left, attempt 2",
        "arm_height left attempt 2",
    ],
)
def test_a_side_and_an_attempt_may_be_parted_in_any_way(header):
    assert results(f"{header}=61") == [("arm_height", "left", 2, 61)]


def test_several_attempts_stand_in_one_with_semicolons_and_one_left_out_keeps_its_place():
    left = [("arm_height", "left", number, value) for number, value in ((1, 60), (2, 62.5), (3, 61))]
    assert results("arm_height left=60; 62,5;61") == left
    assert results("arm_height left=60;;61;") == [left[0], left[2]]
    assert results("arm_height left 2=62.5; 61") == left[1:]
    trial = made(ARM, **{"arm_height_left": "60; 62.5; 61", "arm_height right": "50"})
    assert [(each.side, each.attempt) for each in trial.hand_results] == [
        ("left", 1),
        ("left", 2),
        ("left", 3),
        ("right", 1),
    ]
    with pytest.raises(NotATrial, match="holds no result for arm height"):
        results("arm_height left=;")
    with pytest.raises(NotATrial, match="not a number"):
        results("arm_height left=60 62 61")


def test_a_kept_trial_takes_several_attempts_in_one_and_lets_go_of_one():
    trial = made(ARM, **{"arm_height left": "60; 62", "arm_height right": "50"})
    found = edited(trial, ARM, {}, ["arm_height left=61; 63; 64"], today=TODAY)
    kept = {(each.side, each.attempt): each.value for each in found.hand_results}
    assert kept == {("left", 1): 61, ("left", 2): 63, ("left", 3): 64, ("right", 1): 50}
    less = edited(trial, ARM, {}, ["arm_height left 2=none"], today=TODAY)
    assert [(each.side, each.attempt) for each in less.hand_results] == [("left", 1), ("right", 1)]


def test_a_measure_whose_own_name_ends_like_a_side_is_that_measure():
    assert results("reach_left=7", ENDS_LIKE_A_SIDE) == [("reach_left", None, 1, 7)]
    assert results("reach left 2=7", ENDS_LIKE_A_SIDE) == [("reach_left", None, 2, 7)]


def test_what_there_is_to_measure_is_told_with_its_sides_and_twice_the_same_says_what_to_write():
    with pytest.raises(NotATrial, match="neither") as refusal:
        results("arm_hight left=60")
    assert "arm_height left, arm_height right" in str(refusal.value.mend)
    with pytest.raises(NotATrial, match="twice") as refusal:
        made(ARM, **{"arm_height left": "60", "arm_height left 1": "61"})
    assert "with ; between them" in str(refusal.value.mend)


def test_the_protocols_own_scale_of_exertion_is_taken_where_none_is_written():
    protocol = SLALOM.model_copy(update={"exertion_scale": "0-10"})
    assert made(protocol, exertion="4").exertion_scale == "0-10"
    with pytest.raises(NotATrial, match="needs its scale"):
        made(SLALOM.model_copy(update={"exertion_scale": None}), exertion="4")
