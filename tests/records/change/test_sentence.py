"""The verdict as a sentence: numbers as a teacher writes them, and each part of it."""

import math

import pytest
from ownmark.records.change import messages
from ownmark.records.change.differences import Difference
from ownmark.records.change.quantities import amount_with_unit, subject_of
from ownmark.records.change.sentence import Told, ask, for_the_better, repeats, say, sentences
from ownmark.records.change.verdict import CANNOT_BE_TOLD, DECREASE, INCREASE, WITHIN, Judged
from ownmark.words.message import Message, Quoted
from ownmark.words.render import Words, english


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (9.994, "9.99"),
        (9.5, "9.5"),
        (9.0, "9"),
        (10.0, "10"),
        (10.04, "10"),
        (10.06, "10.1"),
        (120.0, "120"),
        (100.25, "100.3"),
        (0.0, "0"),
        (-0.001, "0"),
        (-2.5, "−2.5"),
        (-12.34, "−12.3"),
        (0.05, "0.05"),
        (math.inf, "any number"),
        (-math.inf, "any number"),
    ],
)
def test_a_number_has_two_decimals_below_ten_and_one_above_without_zeros_at_the_end(value, text):
    assert say(value) == text
    amount = english(amount_with_unit(value, "/min", "heart_rate_mean"))
    assert amount == (text if math.isinf(value) else f"{text} /min")


@pytest.mark.parametrize(
    ("unit", "figure", "text", "family"),
    [
        ("/min", "heart_rate_rise", "2 /min", "2 latidos por minuto"),
        ("/min", "cadence_mean", "2 /min", "2 veces por minuto"),
        ("/min", "squeezes", "2 /min", "2 veces por minuto"),  # what a person counts by hand is no heart
        ("", "training_impulse", "2", "2"),
        ("1", "beats_total", "2", "2"),
        ("s", "moving_time", "2 s", "2 s"),
        ("%", "reserve_mean", "2 %", "2 %"),
        ("/m", "cost_index", "2 /m", "2 por cada metro"),
        ("mg", "motion_level", "2 milli-g", "2 mili-g"),
        ("leans", "leans", "2 leans", "2 inclinaciones"),
        ("hoops", "hoops", "2 hoops", "2 «hoops»"),
    ],
)
def test_a_number_has_the_unit_of_its_figure_for_whom_it_is(unit, figure, text, family):
    found = amount_with_unit(2.0, unit, figure)
    assert english(found) == text
    assert Words("es", family=True).message(found) == family


def test_a_figure_is_named_english_subject():
    assert english_subject("heart_rate_rise") == "rise of heart rate over rest"
    assert english_subject("time_moderate") == "time at moderate effort"
    assert english_subject("laps_done") == "laps done"


def english_subject(name):
    return english(subject_of(name))


def judged(verdict=INCREASE, change=9.0, **fields):
    usual = {"low": change, "high": change, "error": 2.0, "df": 3.0, "detectable": 7.0}
    return Judged(verdict, change, **{**usual, **fields})


def told(found, better="higher", why=None):
    subject = subject_of("laps_done")
    after = 10.0 + found.change
    made = Told(subject, "laps_done", "laps", 10.0, after, found, repeats(found, 1), better, why)
    return " ".join(map(english, sentences(made)))


def test_each_verdict_has_its_sentence():
    beyond = "That is more than day-to-day variation, which explains up to 7 laps (95 %, own baselines)"
    assert told(judged()) == (
        f"Laps done rose by 9 laps, from 10 laps to 19 laps. {beyond}. By the protocol higher is"
        " better, so this is a change for the better."
    )
    fell = told(judged(DECREASE, -9.0, low=-10.0, high=-8.0))
    assert fell == (
        f"Laps done fell by 9 laps, from 10 laps to 1 lap. {beyond}, whatever happened in the unmeasured stretches."
        " By the protocol higher is better, so this change goes the other way."
    )
    assert told(judged(WITHIN, 0.0)) == (
        "Laps done was 10 laps both times. Day-to-day variation alone explains up to 7 laps (95 %, own baselines), so"
        " no change is shown."
    )
    assert told(judged(CANNOT_BE_TOLD, 5.0, low=-1.0, high=math.inf, percent=98.0)) == (
        "Laps done went from 10 laps to 15 laps as measured, but because of what was not measured nobody can tell"
        " whether it changed, or which way. Day-to-day variation explains up to 7 laps (98 %, own"
        " baselines). Allowing for what was not measured, the change lies between −1 laps and any number, so it may or"
        " may not be more than that."
    )


@pytest.mark.parametrize(
    ("low", "high", "open_"), [(0.0, 6.0, True), (0.1, 6.0, False), (-1.0, 6.0, True), (5.0, 5.0, False)]
)
@pytest.mark.parametrize("way", [1, -1])
def test_nothing_rose_or_fell_where_what_was_not_measured_allows_no_change(low, high, open_, way):
    ends = sorted((way * low, way * high))
    text = told(judged(CANNOT_BE_TOLD, way * 5.0, low=ends[0], high=ends[1]))
    assert ("nobody can tell whether it changed" in text) == open_
    assert (" rose by " in text or " fell by " in text) != open_


def test_a_small_fall_is_a_fall():
    assert told(judged(WITHIN, -0.5)).startswith("Laps done fell by 0.5 laps, from 10 laps to 9.5 laps.")
    assert told(judged(WITHIN, 0.5)).startswith("Laps done rose by 0.5 laps, from 10 laps to 10.5 laps.")


def test_one_baseline_tells_what_would_help_and_between_what_the_change_lies():
    alone = judged(CANNOT_BE_TOLD, 5.0, error=None, detectable=None)
    help_ = (
        "A single baseline cannot tell a change from day-to-day variation. Two or more baselines on different days"
        " can, and so can the trials of other students on the same protocol."
    )
    assert told(alone) == f"Laps done rose by 5 laps, from 10 laps to 15 laps. {help_}"
    open_ = judged(CANNOT_BE_TOLD, 5.0, error=None, detectable=None, low=2.0, high=8.0)
    between = "Allowing for what was not measured, the change lies between 2 laps and 8 laps."
    assert told(open_) == f"Laps done rose by 5 laps, from 10 laps to 15 laps. {between} {help_}"


def test_baselines_that_drift_slowly_or_down_are_said_to():
    for drift, way in ((0.5, "already rising, by about 0.5 laps"), (-0.5, "already falling, by about 0.5 laps")):
        found = judged(CANNOT_BE_TOLD, 9.0, drift=drift, rising=True)
        assert f"The baselines were {way} from one to the next, so this may be nothing more" in told(found)
        assert "(95 %" not in told(found)
    assert "already" not in told(judged(drift=0.5))


def test_without_a_direction_the_reason_stands_only_beside_a_change():
    assert told(judged(), "no direction", Message.english("Because.")).endswith(" Because.")
    assert not told(judged(WITHIN, 1.0), "no direction", Message.english("Because.")).endswith("Because.")
    assert told(judged(), "no direction").endswith("(95 %, own baselines).")


def test_the_better_way_is_the_protocols():
    assert for_the_better(judged(), "higher") is True
    assert for_the_better(judged(), "lower") is False
    assert for_the_better(judged(DECREASE, -9.0), "lower") is True
    assert for_the_better(judged(DECREASE, -9.0), "higher") is False
    assert for_the_better(judged(), "no direction") is None
    assert for_the_better(judged(WITHIN), "higher") is for_the_better(judged(CANNOT_BE_TOLD), "higher") is None


def whose(found, retests):
    return english(repeats(found, retests))


def test_whose_repeats_the_error_comes_from():
    assert whose(judged(), 1) == "own baselines"
    assert whose(judged(), 2) == "own baselines and re-tests"
    assert repeats(judged(error=None), 1) is None
    assert whose(judged(others=4), 2) == "borrowed from 4 other students on the same protocol"
    assert whose(judged(others=4, with_own=True), 1) == (
        "borrowed from 4 other students on the same protocol, with the student's own repeats"
    )


def difference(label, *, asked):
    return Difference(
        field=label,
        word=label,
        before=messages.fact_text(Quoted("a")),
        after=messages.fact_text(Quoted("b")),
        rule="must match",
        forbids=False,
        asked=asked,
        half=False,
    )


def test_only_what_is_asked_is_asked():
    assert ask([]) == ask([difference("straps", asked=False)]) == ()
    (found,) = ask(
        [difference("straps", asked=True), difference("seating", asked=False), difference("load_kg", asked=True)]
    )
    assert english(found) == (
        "First ask whether this was the same both times: straps (a; b), load (a; b). If it was not, the two cannot"
        " be compared."
    )
