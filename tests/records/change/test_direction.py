"""Which way is better, and when less of a figure belongs to a different load."""

import pytest
from ownmark.records.catalogue import edited
from ownmark.records.change import messages as say
from ownmark.records.change.direction import LOAD_WITHIN, SAME_LOAD, direction, load_changed
from ownmark.words.vocabulary import FIGURES

from tests.records.makers import CRANK, by_hand, figure_of, sentence, trial

RISE = say.subject_figure("heart_rate_rise")
HEART_AT_WORK = {
    *("heart_rate_mean", "heart_rate_peak", "heart_rate_rise", "reserve_mean", "reserve_peak"),
    *("share_above_125_rest", "share_above_150_rest", "beats_total", "beats_above_rest", "training_impulse"),
}
BY_MOTOR = {
    *("moving_time", "longest_moving", "stop_count", "cycle_count", "motion_level", "turns_left", "turns_right"),
    *("beats_per_metre", "cost_index"),
}


def chair(figure, **fields):
    return edited(CRANK, {"work_mode": "power chair", "primary_figure": figure, "better": "no direction", **fields})


def stated(protocol, better="higher"):
    return protocol.model_copy(update={"better": better})


@pytest.mark.parametrize("figure", FIGURES)
def test_a_motor_takes_the_direction_from_what_it_moves_and_from_nothing_else(figure):
    better, why = direction(stated(chair(figure, placement="frame")), figure, ())
    if figure in BY_MOTOR:
        assert better == "no direction"
        assert why == say.UNDIRECTED_MOTOR
    elif figure.startswith("cadence"):
        assert better == "no direction"
        assert why == say.UNDIRECTED_RHYTHM
    else:
        assert (better, why) == ("higher", None)
    # Arms move what a motor does not.
    if not figure.startswith("cadence"):
        assert direction(stated(edited(CRANK, {"primary_figure": figure})), figure, ()) == ("higher", None)


@pytest.mark.parametrize(
    ("placement", "by_motor"), [("", True), ("frame", True), ("wheel", True), ("wrist", False), ("trunk", False)]
)
def test_a_sensor_on_the_student_shows_the_student(placement, by_motor):
    protocol = stated(chair("moving_time", placement=placement))
    assert (direction(protocol, "moving_time", ())[0] == "no direction") is by_motor
    # What is divided by the distance is the motor's wherever the sensor sat.
    assert direction(stated(chair("cost_index", placement=placement)), "cost_index", ())[0] == "no direction"


@pytest.mark.parametrize(("kind", "by_motor"), [("distance", True), ("time", True), ("count", False), ("other", False)])
def test_a_distance_or_a_time_by_hand_is_the_motors_too(kind, by_motor):
    protocol = by_hand(kind, work_mode="power chair")
    assert (direction(protocol, "result", ())[0] == "no direction") is by_motor


def test_a_protocol_without_a_direction_needs_no_reason():
    assert direction(chair("moving_time"), "moving_time", ()) == ("no direction", None)
    assert direction(CRANK, CRANK.primary_figure, ("spinal-injury-below-t6",)) == ("lower", None)
    fall = edited(CRANK, {"primary_figure": "recovery_60s", "better": "higher"})
    assert direction(fall, "recovery_60s", ("cerebral-palsy",)) == ("higher", None)
    assert direction(fall, "recovery_60s", ("shunt", "spinal-injury-below-t6"))[0] == "no direction"


def pair(before, after, *, rhythm=(None, None)):
    made = []
    for day, distance, cadence in ((0, before, rhythm[0]), (60, after, rhythm[1])):
        figures = {} if cadence is None else {"cadence_mean": figure_of(cadence, unit="/min")}
        made.append(trial(day, 40, distance_m=distance, figures=figures, counted="cycle"))
    return made[:1], made[1:]


def test_a_load_is_another_one_from_a_tenth_of_the_larger_on():
    assert LOAD_WITHIN == 0.10
    # Of 500 a tenth is 50.
    assert load_changed(*pair(500, 450), "heart_rate_rise") is None
    assert load_changed(*pair(500, 449), "heart_rate_rise") == say.not_given_other_distance(RISE, 500, 449)
    assert load_changed(*pair(450, 500), "heart_rate_rise") is None
    assert load_changed(*pair(449, 500), "heart_rate_rise") == say.not_given_other_distance(RISE, 449, 500)
    rhythm = pair(None, None, rhythm=(50, 44.9))
    changed = load_changed(*rhythm, "heart_rate_rise")
    assert changed == say.not_given_other_rhythm(RISE, 50, 44.9)
    assert sentence(changed).startswith("Not given: the rhythm changed from 50 to 45 /min, so rise of heart rate over")
    assert load_changed(*pair(None, None, rhythm=(50, 45)), "heart_rate_rise") is None
    assert load_changed(*pair(500, 500, rhythm=(50, 44)), "heart_rate_rise") == say.not_given_other_rhythm(RISE, 50, 44)
    assert load_changed(*pair(500, 400, rhythm=(50, 44)), "heart_rate_rise") == say.not_given_other_distance(
        RISE, 500, 400
    )


def test_a_load_that_is_known_once_only_cannot_have_changed():
    assert load_changed(*pair(500, None), "heart_rate_rise") is None
    assert load_changed(*pair(None, 500, rhythm=(50, None)), "heart_rate_rise") is None
    # Several trials are taken by the mean of those that are known.
    before = [trial(0, 40, distance_m=400), trial(7, 40), trial(9, 40, distance_m=600)]
    assert load_changed(before, [trial(60, 20, distance_m=460)], "heart_rate_rise") is None
    assert "from 500 to 440 m" in sentence(load_changed(before, [trial(60, 20, distance_m=440)], "heart_rate_rise"))


@pytest.mark.parametrize("figure", FIGURES)
def test_only_what_the_heart_does_at_work_hangs_on_the_load(figure):
    assert bool(load_changed(*pair(500, 300), figure)) is (figure in HEART_AT_WORK)
    assert set(SAME_LOAD) == HEART_AT_WORK
