"""The movement figures of a sheet: which are given, at which share of the phase, and in which words."""

from dataclasses import replace

import numpy as np
import pytest
from ownmark.ingest.recording import ACCELERATION, ANGULAR_RATE
from ownmark.metrics.basis import Basis
from ownmark.metrics.messages.movement import NOTE_CHAIR, RHYTHM_NONE, WHY_NO_MOVEMENT_SENSOR
from ownmark.metrics.motion.grid import Grid
from ownmark.metrics.motion.moving import NOISE_HIDES, RESTLESS, Motion
from ownmark.metrics.motion.rhythm import Rhythm
from ownmark.metrics.motion.turns import Turn
from ownmark.metrics.motion_figures import (
    LEAST_TOLD,
    Movement,
    _add_level,
    _add_moving,
    _add_turns,
    add_motion_figures,
    level_of,
    moved_as,
    prepared,
)
from ownmark.metrics.settings import Asked
from ownmark.metrics.sheet_builder import Drafts
from ownmark.words.vocabulary import MOTION_FIGURES

from tests.makers.motion import Bout, Sensor, motion, stream
from tests.makers.recordings import recording

NONE = np.empty(0)
NO_BEAT = Rhythm(NONE, NONE, NONE, None, None, None, 0.0, None, (RHYTHM_NONE,))
TIMES = ("moving_time", "longest_moving", "stop_count")
CUT = Motion(0.0, 100.0, ((10.0, 40.0), (45.0, 80.0)), threshold_mg=12.4, floor_mg=4.0)


def drafts(**basis):
    return Drafts(Basis(**basis), None, None)


def movement(cut, turned=()):
    return Movement("made.csv", 50.0, cut, cut, NO_BEAT, tuple(turned), (), None)


def given(cut, **asked):
    """Figures of a work phase by hand, and which were refused."""
    made = drafts()
    _add_moving(made, movement(cut), Asked(**({"placement": "wrist"} | asked)))
    return made.figures(), made.refused


# ---- moving time, the longest stay, stops


def test_times_and_stops_of_a_phase_by_hand():
    found, refused = given(CUT)
    assert [found[name].value for name in TIMES] == [65.0, 35.0, 1.0]
    assert [(found[name].low, found[name].high) for name in TIMES] == [(65.0, 65.0), (35.0, 35.0), (1.0, 1.0)]
    assert found["coverage_motion"].value == 100.0
    assert {each.coverage for each in found.values()} == {100.0}
    assert [found[name].note for name in TIMES] == [
        "movement clearly above stillness (over 12 milli-g)",
        "pauses of up to 1 s do not break it",
        "still for at least 3 s between two movements",
    ]
    assert refused == []


def test_pause_and_stop_are_what_was_asked_for():
    found, _ = given(CUT, pause_s=5.0, stop_s=6.0)
    assert [found[name].value for name in TIMES] == [65.0, 70.0, 0.0]
    assert found["longest_moving"].note == "pauses of up to 5 s do not break it"
    assert found["stop_count"].note == "still for at least 6 s between two movements"


@pytest.mark.parametrize(("placement", "chair"), [("frame", True), ("wheel", True), ("wrist", False), ("trunk", False)])
def test_on_a_chair_it_is_the_chair_that_moves(placement, chair):
    found, _ = given(CUT, placement=placement)
    assert all((NOTE_CHAIR in found[name].notes) is chair for name in TIMES)


def test_assistance_that_was_left_out_is_said():
    found, _ = given(replace(CUT, left_out=((80.0, 92.0),)))
    assert all("12 s with physical assistance left out" in found[name].note for name in TIMES)


@pytest.mark.parametrize(("until", "told"), [(84.9, False), (85.0, True)])
def test_doubt_is_told_from_a_twentieth_of_the_phase_on(until, told):
    found, _ = given(replace(CUT, doubtful=((80.0, until),)))
    assert all(("5 s could be moving or still" in found[name].note) is told for name in TIMES)
    assert found["moving_time"].high == pytest.approx(65 + until - 80)


@pytest.mark.parametrize(("until", "share"), [(20.0, None), (20.1, "79.9")])
def test_four_fifths_have_to_be_measured(until, share):
    found, refused = given(Motion(0.0, 100.0, ((30.0, 80.0),), ((0.0, until),), threshold_mg=12.4, floor_mg=4.0))
    assert (found["moving_time"].value is None) == (share is not None)
    assert found["coverage_motion"].value == pytest.approx(100 - until)
    assert refused == (list(TIMES) if share else [])
    if share:
        assert all("measured for only 79.9 % of the work phase; 80 % are needed" in found[name].note for name in TIMES)


@pytest.mark.parametrize(("doubt_until", "refused"), [(20.0, False), (20.1, True)])
def test_four_fifths_have_to_be_told_apart(doubt_until, refused):
    cut = Motion(0.0, 100.0, ((30.0, 80.0),), (), 12.4, 4.0, doubtful=((0.0, doubt_until),))
    found, which = given(cut)
    assert which == (list(TIMES) if refused else [])
    if refused:
        assert (
            "can be told from stillness in only 79.9 % of the work phase; 80 % are needed" in found["moving_time"].note
        )


@pytest.mark.parametrize(
    ("why", "words"),
    [(NOISE_HIDES, "The sensor's own noise is 24 milli-g"), (RESTLESS, "60 s of rest"), (None, "told from")],
)
def test_why_it_cannot_be_told_is_said(why, words):
    cut = Motion(0.0, 100.0, ((30.0, 80.0),), (), 31.6, 24.3, why, doubtful=((0.0, 30.0),))
    found, _ = given(cut)
    assert all(words in found[name].note for name in TIMES)


def test_nothing_measured_is_refused():
    found, refused = given(Motion(0.0, 100.0, (), ((0.0, 100.0),)))
    assert refused == list(TIMES)
    assert found["moving_time"].note == "Not given: no movement was measured at work."
    found, refused = given(replace(CUT, threshold_mg=None))
    assert refused == list(TIMES)
    found, refused = given(Motion(0.0, 100.0, (), left_out=((0.0, 100.0),), threshold_mg=5.0))
    assert refused == list(TIMES)


# ---- turns


def turned(turns, placement="frame", *, gyroscope=True, work=(10.0, 20.0)):
    made = drafts()
    names = [ANGULAR_RATE] if gyroscope else []
    whole = recording(*(stream(name, np.arange(3.0), np.zeros((3, 3))) for name in [ACCELERATION, *names]))
    _add_turns(made, movement(CUT, turns), whole, work, placement)
    assert made.refused == []
    return made.figures()


LEFT, RIGHT = Turn(12.0, 13.0, 90.0, "left"), Turn(14.0, 15.0, -90.0, "right")


def test_turns_are_counted_by_side_where_they_begin_in_the_phase():
    early, first, late = replace(LEFT, from_s=9.9), replace(LEFT, from_s=10.0), replace(LEFT, from_s=20.0)
    found = turned([early, first, LEFT, RIGHT, late])
    assert (found["turns_left"].value, found["turns_right"].value) == (2.0, 1.0)
    assert (found["turns_left"].low, found["turns_left"].high) == (2.0, 2.0)
    assert found["turns_right"].note == "of at least 45 degrees"
    assert turned([])["turns_left"].value == 0.0


def test_turns_need_a_gyroscope_a_side_and_another_place_than_a_wheel():
    assert "no gyroscope" in turned([LEFT], gyroscope=False)["turns_left"].note
    assert "on a wheel" in turned([LEFT], "wheel")["turns_right"].note
    unsided = replace(LEFT, side=None)
    assert "which way is up" in turned([RIGHT, unsided])["turns_left"].note
    assert turned([RIGHT, replace(unsided, from_s=30.0)])["turns_right"].value == 1.0
    assert turned([LEFT], "wheel")["turns_left"].value is None


# ---- level


def level(gap_s):
    values = np.zeros((5000, 3))
    values[:, 2] = 1 + 0.05 * np.where(np.arange(5000) % 2, 1, -1)
    values[: round(gap_s * 50)] = np.nan
    made = drafts()
    _add_level(made, Grid(0.0, 50.0, values), (0.0, 100.0))
    return made.figures()["motion_level"], made.refused


def test_the_level_is_given_from_four_fifths_measured_on():
    found, refused = level(0.0)
    assert (found.value, found.coverage, refused) == (pytest.approx(50.0), 100.0, [])
    assert found.note == "not comparable with levels of walking adults"
    found, refused = level(20.0)
    assert (found.value, found.coverage, refused) == (pytest.approx(50.0), pytest.approx(80.0), [])
    found, refused = level(25.0)
    assert (found.value, refused) == (None, ["motion_level"])
    assert "measured for only 75 %" in found.note
    found, refused = level(97.0)
    assert refused == ["motion_level"]
    assert "no 5 s of work" in found.note


# ---- all of them


def test_without_a_sensor_or_a_place_nothing_is_given():
    made = drafts()
    assert add_motion_figures(made, recording(), Asked(placement="wrist"), (0.0, 10.0)) is None
    assert {each.reason for each in made.figures().values()} == {WHY_NO_MOVEMENT_SENSOR}
    assert set(made.figures()) == set(MOTION_FIGURES)
    assert made.refused == []
    made = drafts()
    short = recording(stream(ACCELERATION, np.arange(2.0), np.zeros((2, 3))))
    assert add_motion_figures(made, short, Asked(placement="wrist"), (0.0, 10.0)) is None
    made, still = drafts(), motion(20, [], sensor=Sensor(25)).acceleration
    assert add_motion_figures(made, recording(still), Asked(), (0.0, 10.0)) is None
    assert made.refused == list(made.figures())
    assert all("--placement" in each.note for each in made.figures().values())


TRIAL = motion(60, [Bout(10, 30, size_g=0.3), Bout(40, 50, size_g=0.3)], sensor=Sensor(25, noise_g=0.002), seed=1)


def found_in(made, **asked):
    return add_motion_figures(made, recording(TRIAL.acceleration), Asked(**asked), (5.0, 45.0))


def test_the_phase_is_cut_from_the_whole_recording():
    made = drafts()
    found = found_in(made, placement="wrist", assisted=((20.0, 25.0),))
    assert (found.motion.from_s, found.motion.until_s) == (5.0, 45.0)
    assert (found.whole.from_s, found.whole.until_s) == (pytest.approx(0.0, abs=0.05), pytest.approx(60.0, abs=0.05))
    assert found.motion.left_out == ((20.0, 25.0),)
    assert made.figures()["moving_time"].value == pytest.approx(20.0, abs=0.6)
    assert found.rate_hz == pytest.approx(25.0)
    assert found.source == TRIAL.acceleration.source
    assert found.turns == ()


def test_every_movement_figure_is_given_or_withheld_with_a_reason():
    made = drafts()
    found_in(made, placement="wrist")
    figures = made.figures()
    assert set(figures) | {"heart_rate_moving_rise"} == set(MOTION_FIGURES) | {"heart_rate_moving_rise"}
    assert figures["cadence_mean"].value == pytest.approx(60.0, abs=1)
    assert figures["cadence_mean"].coverage == pytest.approx(100.0, abs=0.5)
    assert figures["motion_level"].value > 20
    assert "no gyroscope" in figures["turns_left"].note


def test_turns_are_looked_for_where_there_is_a_gyroscope_and_not_on_a_wheel():
    at = np.arange(1500) / 25
    rate = np.zeros((1500, 3))
    rate[(at > 20) & (at < 22), 2] = 45.0  # 90 degrees to the left
    level = np.zeros((1500, 3))
    level[:, 2] = 1.0
    both = recording(stream(ACCELERATION, at, level), stream(ANGULAR_RATE, at, rate))
    made = drafts()
    found = add_motion_figures(made, both, Asked(placement="frame"), (5.0, 45.0))
    assert (made.figures()["turns_left"].value, made.figures()["turns_right"].value) == (1.0, 0.0)
    assert [each.side for each in found.turns] == ["left"]
    assert add_motion_figures(drafts(), both, Asked(placement="wheel"), (5.0, 45.0)).turns == ()


def test_what_was_found_of_the_recording_is_told_and_nothing_empty():
    assert found_in(drafts(), placement="wrist").findings == ()
    noisy = motion(60, [Bout(10, 30, shake_g=0.2)], placement="frame", sensor=Sensor(50, noise_g=0.012), seed=1)
    found = add_motion_figures(drafts(), recording(noisy.acceleration), Asked(placement="frame"), (0.0, 60.0))
    assert len(found.findings) == 1
    assert found.findings[0].code == "found.noise_hides"


def test_a_floor_that_was_given_or_parked_is_used():
    assert found_in(drafts(), placement="frame", floor_mg=7.0).motion.floor_mg == 7.0
    parked = found_in(drafts(), placement="wrist", floor_span=(0.0, 8.0)).motion.floor_mg
    assert parked == pytest.approx(level_of(recording(TRIAL.acceleration), "wrist"), rel=2)
    assert parked < 5
    both = found_in(drafts(), placement="wrist", floor_mg=7.0, floor_span=(12.0, 28.0)).motion.floor_mg
    assert both == 7.0
    assert found_in(drafts(), placement="wrist", floor_span=(12.0, 28.0)).motion.floor_mg > 50


def test_a_wheel_is_seen_as_a_crank():
    assert [moved_as(place) for place in ("wheel", "crank", "frame", "wrist")] == ["crank", "crank", "frame", "wrist"]


def test_the_level_of_a_parked_recording():
    parked = motion(20, [], sensor=Sensor(50, noise_g=0.01), placement="frame").acceleration
    # Noise of 10 mg on each axis under means of 0.04 s, two samples each: 10 · √3 / √2 = 12.2, less its mean.
    assert level_of(recording(parked), "frame") == pytest.approx(12.2 * np.sqrt(12 / 13), rel=0.05)
    assert level_of(recording(), "frame") is None
    assert level_of(recording(stream(ACCELERATION, NONE, np.empty((0, 3)))), "frame") is None
    assert level_of(recording(stream(ACCELERATION, np.arange(2.0), np.zeros((2, 3)))), "frame") is None
    assert LEAST_TOLD == 80.0


def test_a_unit_that_gravity_shows_to_be_wrong_is_set_right_and_said():
    wrong = TRIAL.acceleration
    grid, told = prepared(replace(wrong, values=wrong.values * 9.80665))
    assert [each["factor"] for each in told if each.code == "sensor.divided"] == [9.80665]
    assert grid.values == pytest.approx(prepared(wrong)[0].values, abs=0.02)
    assert prepared(stream(ACCELERATION, np.arange(2.0), np.zeros((2, 3)))) == (None, ())


@pytest.mark.parametrize("order", ["C", "F"])
def test_each_axis_of_a_prepared_movement_lies_in_one_piece_of_memory(order):
    made = motion(60.0, [Bout(10, 50, cadence=50, size_g=0.3)], sensor=Sensor(rate_hz=50.0, noise_g=0.003)).acceleration
    for scale in (1.0, 1.08):  # as it is, and set right
        sensor = replace(made, values=np.array(scale * made.values, order=order))
        grid, _ = prepared(sensor)
        assert grid.values.flags.f_contiguous
    assert grid.values == pytest.approx(prepared(made)[0].values, abs=0.01)
