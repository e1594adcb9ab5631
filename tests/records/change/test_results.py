"""The results that a comparison rests on: one value a day, the step it is read in, and how students vary."""

import math

import pytest
from ownmark.records.catalogue import copy
from ownmark.records.change import messages as say
from ownmark.records.change.borrowed import Spread
from ownmark.records.change.results import RESOLUTION, bounded, by_day, resolution, result, sided, spreads, unit
from ownmark.records.change.yardstick import Bounded
from ownmark.records.trial import HandResult
from ownmark.words.message import Message
from ownmark.words.vocabulary import FIGURES

from tests.records.makers import REACH, by_hand, figure_of, reached, sentence, sentences, trial

RISE = "heart_rate_rise"


@pytest.mark.parametrize(
    ("figure", "expected"),
    [
        (figure_of(None, 1.0, 2.0), None),
        (figure_of(5.0), Bounded(5, 5, 5)),
        (figure_of(5.0, 4.0, 7.0), Bounded(5, 4, 7)),
        (figure_of(5.0, 4.0), Bounded(5, 4, math.inf)),
        (figure_of(5.0, None, 7.0), Bounded(5, -math.inf, 7)),
        (figure_of(5.0, 6.0, 4.0), Bounded(5, 5, 5)),
    ],
)
def test_a_figure_is_taken_with_its_bounds_and_open_where_one_is_missing(figure, expected):
    assert bounded(figure) == expected


def test_why_there_is_no_value_is_told():
    assert result(trial(0), RISE) == say.REMARK_NOT_ON_SHEET
    figures = {RISE: figure_of(None, reason=Message.english("Not given: rest is unknown."))}
    assert result(trial(0, figures=figures), RISE) == figures[RISE].reason
    assert result(trial(0, figures={RISE: figure_of(None)}), RISE) == say.REMARK_NOT_ON_SHEET
    assert sentence(result(reached(0, 20), REACH.primary_figure, "right")) == "forward reach (right) was not entered."
    assert sentence(result(trial(0, protocol=by_hand("time")), "result")) == "result was not entered."


def test_attempts_are_averaged_and_the_trials_own_distance_stands_for_the_measure_of_that_name():
    assert result(reached(0, (20, 23)), REACH.primary_figure, "left") == Bounded(21.5, 21.5, 21.5)
    # On paper 13.9 / 2 = 6.95, which is shown as 7.0; a sum of binary fractions falls just short of it.
    assert result(reached(0, (7.3, 6.6)), REACH.primary_figure, "left") == Bounded(6.95, 6.95, 6.95)
    chair = copy("manual-chair-distance", "chair")
    assert result(trial(0, protocol=chair, distance_m=400), "distance_covered") == Bounded(400, 400, 400)
    entered = (HandResult(name="distance_covered", value=390),)
    both = trial(0, protocol=chair, distance_m=400, hand_results=entered)
    assert result(both, "distance_covered") == Bounded(390, 390, 390)
    # Another measure, or a side, is not the distance.
    other = by_hand("distance")
    assert isinstance(result(trial(0, protocol=other, distance_m=400), "result"), Message)
    assert isinstance(result(trial(0, protocol=chair, distance_m=400), "distance_covered", "left"), Message)


def test_days_stand_in_order_and_trials_of_one_day_are_averaged_with_their_bounds():
    values, notes = by_day([trial(7, 50), trial(0, 40, 38, 44), trial(0, 42, 41, 42, id=9)], RISE)
    assert values == [Bounded(41, 39.5, 43), Bounded(50, 50, 50)]
    assert sentences(notes) == ["The 2 trials on September 1, 2025 count as one, by their mean."]
    values, notes = by_day([trial(0, 40), trial(7)], RISE)
    assert values == [Bounded(40, 40, 40)]
    assert sentences(notes) == ["The trial on September 8, 2025 is left out: the sheet does not give it."]
    assert by_day([trial(0, 40)], RISE) == ([Bounded(40, 40, 40)], [])


def test_sensors_write_whole_beats_seconds_per_cent_and_thousandths():
    assert dict(RESOLUTION) == {"/min": 1.0, "s": 1.0, "%": 1.0, "1": 1.0, "mg": 1.0, "/m": 0.01}
    assert {each.unit for each in FIGURES.values()} <= set(RESOLUTION)
    for name, step in RESOLUTION.items():
        assert resolution([trial(0, figures={RISE: figure_of(4.0, unit=name)})], RISE) == step
    assert resolution([trial(0, figures={RISE: figure_of(4.0, unit="furlong")})], RISE) == 0
    assert resolution([trial(0)], RISE) == 0
    # The first trial that has the figure decides.
    two = [trial(0), trial(7, figures={RISE: figure_of(4.0, unit="/m")}), trial(8, 4.0)]
    assert resolution(two, RISE) == 0.01


def test_a_hand_measure_is_read_to_its_step_to_one_or_to_the_last_written_place():
    assert resolution([reached(0, 20.25)], REACH.primary_figure) == 0.5
    assert resolution([trial(0, protocol=by_hand("count"))], "result") == 1
    for values, step in (((12, 14), 1), ((12, 12.5), 0.1), ((0.25, 3), 0.01), ((100, 20), 1), ((), 1)):
        results = tuple(HandResult(name="result", value=each, attempt=place) for place, each in enumerate(values, 1))
        made = [trial(0, protocol=by_hand("time"), hand_results=results)]
        assert resolution(made, "result") == pytest.approx(step)


def test_units_and_sides_are_those_of_the_baselines_protocol():
    assert unit([trial(0, 40)], RISE) == "/min"
    assert unit([trial(0), trial(7, 40)], RISE) == "/min"
    assert unit([trial(0, figures={RISE: figure_of(4.0, unit="1")})], RISE) == ""
    assert unit([trial(0)], RISE) == ""
    assert unit([reached(0, 20)], REACH.primary_figure) == "cm"
    assert sided([reached(0, 20), trial(7, 40)], REACH.primary_figure)
    assert not sided([trial(0, 40), reached(7, 20)], REACH.primary_figure)
    assert not sided([trial(0, protocol=by_hand("time"))], "result")


def test_a_spread_is_no_less_than_reading_makes_it():
    still = {code: [reached(0, 20), reached(7, 20), reached(9, 20)] for code in "ABC"}
    found = spreads(still, REACH.primary_figure)
    assert found is not None
    # Two degrees of a step of 0.5: 2 · 0.25 / 12.
    assert found.by_code["A"] == Spread(pytest.approx(1 / 24), 2)
    lively = {code: [trial(0, 40), trial(7, 44)] for code in "ABC"}
    found = spreads(lively, RISE)
    assert found is not None
    assert found.by_code["C"] == Spread(8, 1)
    assert spreads({**still, "B": [], "C": [reached(0, 20)]}, REACH.primary_figure) is None
