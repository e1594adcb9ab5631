"""Files without a common clock: which lie together, and how events, matches and answers are weighed, by hand."""

from dataclasses import replace

import numpy as np
import pytest
from ownmark.ingest.recording import ASSUMED, CLOCK, EVENTS, HEART_ONSET, TAPS, Placing
from ownmark.metrics.clock_alignment import on_one_clock
from ownmark.metrics.motion.alignment import Refusal, activity, by_events, choose, judged
from ownmark.metrics.motion.cross_correlation import Match
from ownmark.metrics.motion.grid import Grid

from tests.makers.recordings import recording

# ---- which streams lie on one clock


def laid(**how):
    return replace(recording(), placings=tuple(Placing(path, 0.0, way) for path, way in how.items()))


@pytest.mark.parametrize(("how", "good"), [(CLOCK, True), (TAPS, True), (ASSUMED, False), (HEART_ONSET, False)])
def test_a_file_that_was_assumed_or_laid_by_a_heart_is_too_rough(how, good):
    made = laid(strap=CLOCK, wrist=how)
    assert on_one_clock(made, "strap", "wrist") is good
    assert on_one_clock(made, "strap + wrist", "strap") is good
    assert on_one_clock(made, "strap") is True


def test_streams_of_one_file_are_on_one_clock_however_it_was_laid():
    made = laid(strap=CLOCK, wrist=ASSUMED)
    assert on_one_clock(made, "wrist", "wrist")
    assert on_one_clock(made, "strap", "strap")


# ---- presses of a button


def test_equal_presses_give_the_offset_and_more_of_them_more_trust():
    found = by_events([10.0, 70.0], [3.0, 63.0])
    assert (found.offset_s, found.how, found.within_s, found.confidence) == (7.0, EVENTS, 1.0, 0.97)
    assert (found.drift_ppm, found.note, found.anchor_s) == (None, "", 3.0)
    one = by_events([10.0], [3.0])
    assert (one.offset_s, one.confidence) == (7.0, 0.6)
    assert "single press" in one.note


@pytest.mark.parametrize(("second", "same"), [(65.03, True), (65.04, False), (60.972, True), (60.968, False)])
def test_presses_may_be_off_by_a_second_each_and_clocks_by_500_millionths(second, same):
    # Apart by 62 to 58 s on the other clock: two seconds, and 0.0005 of the 62 or 58 s.
    found = by_events([10.0, 70.0], [3.0, second])
    assert isinstance(found, Placing) is same


def test_presses_that_are_missing_or_more_on_one_side_place_nothing():
    for first, second in (([], [1.0]), ([1.0], []), ([1.0, 2.0], [1.0])):
        assert isinstance(by_events(first, second), Refusal)


def test_from_ten_minutes_apart_the_drift_of_the_clocks_is_told():
    found = by_events([0.0, 600.0 * 1.0002], [0.0, 600.0])
    assert found.drift_ppm == pytest.approx(200.0)
    assert "drift by 200 millionths against each other, give or take 3333" in found.note
    assert by_events([0.0, 599.9], [0.0, 599.9]).drift_ppm is None


# ---- how sure a match is


def matched(*strength, step_s=2.0):
    """A match of these strengths: 103 pairs, whose standard error is a tenth."""
    r = np.tanh(np.array(strength) / 10)
    return Match(step_s * np.arange(len(r)), r, np.full(len(r), 103.0), 1.0)


def verdict(*strength, apart_s=3.0):
    return judged(matched(*strength), apart_s, "movement", 0.5, "They")


def test_a_match_is_strong_and_leads_any_other_by_half():
    assert isinstance(verdict(0.0, 4.99, 0.0), Refusal)
    found = verdict(0.0, 5.01, 0.0)
    assert (found.how, found.within_s, found.confidence) == ("movement", 0.5, 1.0)
    assert found.offset_s == pytest.approx(2.0)
    assert verdict(9.01, 0.0, 0.0, 6.0).confidence == pytest.approx(1 - 6 / 9.01)
    assert isinstance(verdict(8.99, 0.0, 0.0, 6.0), Refusal)
    assert isinstance(verdict(8.99, 6.0, 0.0, 0.0), Placing)  # its own peak


def test_where_nothing_overlaps_nothing_is_placed():
    nothing = Match(np.zeros(1), np.array([-1.0]), np.ones(1), 1.0)
    assert "never overlap" in judged(nothing, 3.0, "movement", 0.5, "They").reason
    empty = Match(np.empty(0), np.empty(0), np.empty(0), 1.0)
    assert "never overlap" in judged(empty, 3.0, "movement", 0.5, "They").reason


# ---- which answer is taken


def answer(offset_s, within_s, confidence=0.9, how=TAPS, note=""):
    return Placing("", offset_s, how, within_s, confidence, note=note)


def test_the_answer_with_the_smallest_error_is_taken_and_then_the_surest():
    assert choose([answer(1.0, 0.5), answer(1.2, 0.1)]).offset_s == 1.2
    assert choose([answer(1.0, 0.5, 0.8), answer(1.2, 0.5, 0.9)]).offset_s == 1.2
    assert choose([answer(1.0, None), answer(1.2, 60.0)]).offset_s == 1.2
    assert choose([answer(1.0, 0.5, None), answer(1.2, 0.5, 0.1)]).offset_s == 1.2
    assert choose([Refusal("no"), answer(1.0, 0.5)]).offset_s == 1.0


def test_another_answer_further_away_than_both_errors_is_told():
    assert choose([answer(1.0, 0.1), answer(1.59, 0.5, how=EVENTS)]).note == ""
    note = choose([answer(1.0, 0.1, note="Own."), answer(1.61, 0.5, how=EVENTS)]).note
    assert note == f"Own. By {EVENTS} the offset would be +0.6 s different; {TAPS} are used."
    assert choose([answer(1.0, 0.1), answer(2.05, None, how=EVENTS)]).note == ""  # a second, where it is not known
    assert choose([answer(1.0, 0.1), answer(2.15, None, how=EVENTS)]).note != ""


def test_without_an_answer_the_reasons_are_told_once_each():
    assert choose([Refusal("a."), Refusal("b."), Refusal("a.")]) == Refusal("a. b.")
    with pytest.raises(ValueError, match="nothing"):
        choose([])


# ---- movement as it is compared


def test_activity_is_the_logarithm_of_the_spread_every_fifth_of_a_second():
    at = np.arange(400) / 20
    values = np.column_stack((0.1 * np.where(np.arange(400) % 2, 1, -1), np.zeros(400), np.ones(400)))
    values[300:] = (0.0, 0.0, 1.0)
    begin, level = activity(Grid(5.0, 20.0, values))
    assert begin == pytest.approx(5.0 + at[0])
    assert len(level) == 100
    assert level[20] == pytest.approx(np.log(100), abs=0.001)
    assert level[-5] == pytest.approx(np.log(5.0))  # less than 5 mg is all one


def test_activity_is_unknown_beside_what_was_not_measured():
    values = np.random.default_rng(0).normal(size=(400, 3))
    values[100:160] = np.nan
    _, level = activity(Grid(0.0, 20.0, values))
    assert np.flatnonzero(np.isnan(level)).tolist() == list(range(25, 40))
    begin, level = activity(Grid(3.0, 20.0, values[:1]))
    assert (begin, len(level)) == (3.0, 0)
