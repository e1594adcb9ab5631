"""Times of a recording are told by the clock on the wall; the values stay seconds of the recording."""

import re

import pytest
from ownmark.metrics.messages.phase_finding import hand_over_gap, proposal_only_stated, proposal_too_vague
from ownmark.records.plan.by_clock import TIMED, by_clock
from ownmark.words.message import CLOCK_AT_ZERO
from ownmark.words.render import Words, english, texts

NINE_THIRTY = 9 * 3600.0 + 1770


def test_what_lies_before_the_recording_is_told_by_the_clock():
    (told,) = by_clock([proposal_only_stated(-90.0)], NINE_THIRTY)
    assert english(told).startswith("Nothing in the recording confirms that the work began at 09:28:00;")
    assert (told["start"], told[CLOCK_AT_ZERO]) == (-90.0, NINE_THIRTY)
    assert "09:28:00" in Words("es").message(told)


def test_a_length_stays_a_length():
    (told,) = by_clock([hand_over_gap(1080.0, 240.0)], NINE_THIRTY)
    assert "at 09:47:30: no heart rate for 4:00 min (240 s)" in english(told)


@pytest.mark.parametrize(("at_zero", "shown"), [(86_399.4, "00:00:29"), (86_369.5, "00:00:00"), (-31.0, "23:59:59")])
def test_the_clock_goes_round_at_midnight(at_zero, shown):
    (told,) = by_clock([proposal_only_stated(30.0)], at_zero)
    assert f"began at {shown};" in english(told)


def test_without_a_clock_and_without_times_messages_stay_as_they_are():
    assert by_clock([proposal_only_stated(-90.0)], None) == (proposal_only_stated(-90.0),)
    assert "began at −1:30;" in english(proposal_only_stated(-90.0))
    assert by_clock([proposal_too_vague(40.0, 20.0)], 0.0) == (proposal_too_vague(40.0, 20.0),)


def test_every_message_of_a_plan_with_a_time_of_the_recording_is_known():
    sections = ("proposal.", "hand_over.", "day_plan.")
    timed = {code for code, text in texts("en").items() if code.startswith(sections) and re.search(":clock}", text)}
    assert timed == TIMED
