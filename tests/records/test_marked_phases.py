"""Phases out of laps and presses of a button, by their numbers."""

from dataclasses import replace
from datetime import date

import pytest
from ownmark.errors import NotATrial
from ownmark.ingest.recording import Mark, Provenance, Recording
from ownmark.records.marked_phases import span_of_marks, with_times
from ownmark.records.opened import Opened

from tests.makers.recordings import every_second
from tests.records.store.made import trial

MARKS = (
    Mark(0.0, "lap"),
    Mark(12.0, "button"),
    Mark(300.25, "lap"),
    Mark(3900.0, "button"),
    Mark(4000.0, "lap", until_s=4100.5),
)


def files(*marks):
    source = Provenance(path="a.fit", sha256="0" * 64, format="fit", reader="fit")
    made = replace(every_second([100.0] * 60), marks=marks, sources=(source,))
    return Opened((made,), (), {}, {}, {})


def times(marks=MARKS, **written):
    found = with_times(trial(on=date(2026, 11, 2), **written), files(*marks))
    return found.rest_phase, found.work, found.recovery


def test_a_lap_ends_where_the_next_begins_and_the_last_where_it_says():
    assert times(rest_phase="lap 1", work="Lap 2", recovery="lap 3") == (
        "00:00-05:00.250",
        "05:00.250-66:40",
        "66:40-68:20.500",
    )


def test_presses_are_counted_from_one_and_other_marks_do_not_count():
    assert times(work="button 1-button 2") == (None, "00:12-65:00", None)
    assert times(work="06:00-14:00") == (None, "06:00-14:00", None)


@pytest.mark.parametrize("written", ["lap 0", "lap 4", "button 1-button 3", "button 0-button 1"])
def test_a_mark_that_is_not_there_is_a_sentence(written):
    with pytest.raises(NotATrial, match="the recording has no"):
        times(work=written)


def test_a_lap_without_an_end_is_a_sentence():
    with pytest.raises(NotATrial, match="lap 1 does not say when it ended"):
        times((Mark(5.0, "lap"),), work="lap 1")


def test_times_are_no_marks():
    with pytest.raises(NotATrial, match="neither a lap nor two presses"):
        span_of_marks("9:10-9:18", Recording(streams=()))
