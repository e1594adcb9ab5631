"""Several files of one trial: placed by their clocks, joined where they follow each other, never mixed."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import numpy as np
import pytest
from ownmark.errors import NotOneTrial
from ownmark.ingest.combine import combine
from ownmark.ingest.recording import Mark, Provenance

from tests.makers.recordings import every_second, pulse, recording
from tests.makers.sheets import texts

NOON = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)


def file(made, name, start=None, clock_s=None):
    source = Provenance(name, name.ljust(64, "0"), "table", "test")
    return replace(made, sources=(source,), start=start, clock_s=clock_s)


def test_files_are_placed_by_the_clock_whatever_their_zone():
    first = file(every_second([100] * 60), "a", NOON)
    zone = timezone(timedelta(hours=-6))
    second = file(every_second([120] * 60), "b", (NOON + timedelta(seconds=90)).astimezone(zone))
    both = combine([second, first])
    assert both.start == NOON
    pulse_ = both["heart_rate"]
    assert len(both.streams) == 1
    assert pulse_.time[[0, 59, 60, 119]].tolist() == [0, 59, 90, 149]


def test_two_sensors_at_once_are_never_mixed():
    both = combine([file(every_second([100] * 60), "strap", NOON), file(every_second([130] * 60), "wrist", NOON)])
    assert len(both.all("heart_rate")) == 2
    assert both["heart_rate"].source == "made.csv"
    assert set(both["heart_rate"].values) == {100}
    assert any("is not used" in note for note in texts(both.notes))


def test_two_students_behind_each_other_are_not_blended():
    # Files minutes apart may be two students'; a split recording has no such hole (common practice).
    first, second = (
        file(every_second([100] * 600), "ben", NOON),
        file(every_second([150] * 600), "cleo", NOON + timedelta(seconds=662)),
    )
    both = combine([first, second])
    assert set(both["heart_rate"].values) == {100}
    assert any("another student's" in note for note in texts(both.notes))
    close = combine([first, file(every_second([150] * 600), "cleo", NOON + timedelta(seconds=640))])
    assert len(close["heart_rate"]) == 1200
    assert any("read as its second part" in note for note in texts(close.notes))


def test_a_file_named_twice_counts_once():
    one = file(every_second([100] * 60), "strap", NOON)
    both = combine([one, one])
    assert len(both["heart_rate"]) == 60
    assert any("same file" in note for note in texts(both.notes))


def test_files_of_different_days_are_not_one_trial():
    with pytest.raises(NotOneTrial, match="24 hours"):
        combine([file(every_second([1]), "a", NOON), file(every_second([2]), "b", NOON + timedelta(days=1))])


def test_a_file_without_a_clock_is_laid_at_the_start_and_that_is_said():
    late = file(recording(pulse(np.arange(200.0, 260.0), np.full(60, 90.0))), "b")
    both = combine([file(every_second([100] * 60), "a", NOON), late])
    assert any("b does not give its start time with a time zone" in note for note in texts(both.notes))


def test_times_of_day_without_a_date_place_files_too():
    both = combine(
        [file(every_second([1] * 5), "a", clock_s=36_000.0), file(every_second([2] * 5), "b", clock_s=36_010.0)]
    )
    assert both["heart_rate"].time.tolist() == [0, 1, 2, 3, 4, 10, 11, 12, 13, 14]
    assert both.clock_s == 36_000


def test_marks_move_with_their_file():
    marked = replace(every_second([1] * 5), marks=(Mark(1.0, "lap", "lap 1", 4.0),))
    both = combine([file(every_second([1] * 5), "a", NOON), file(marked, "b", NOON + timedelta(seconds=100))])
    assert both.marks == (Mark(101.0, "lap", "lap 1", 104.0),)
