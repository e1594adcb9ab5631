"""The same minutes, however they are written: a table in clock times says nothing else than one from the start."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from ownmark.ingest.recording import Recording
from ownmark.records.same_times import same_times

from tests.makers.class_days import table
from tests.records.store import made
from tests.records.test_row_correction import given
from tests.records.test_row_correction import school as two_students
from tests.records.test_shared_files import FIRST

school = two_students
STARTS = datetime(2026, 10, 6, 10, 1, 0)  # noqa: DTZ001 a strap states no zone
WHOLE = Recording(streams=(), start=STARTS, whole_s=(0.0, 900.0))


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("00:06:00-00:14:00", "@10:07-@10:15", True),
        ("06:00-14:00", "10:07:00-10:15:00", True),
        ("06:00-14:00", "@10:07:01-@10:15", False),
        ("06:00-14:00", "@10:07-@10:14:59", False),
        ("06:00-14:00", "06:00-14:01", False),
        ("06:00-14:00", "06:00.5-14:00", False),
        ("6:00-14:00", "06:00-14:00", True),
        ("@10:07-@10:15", "10:07 AM-10:15 AM", True),
        ("@10:07-@10:15", "@10:07-@10:15:01", False),
        ("06:00-14:00", "@10:15-@10:07", False),
    ],
)
def test_times_are_compared_where_they_lie(one, other, same):
    assert same_times(one, other, WHOLE, None) is same
    assert same_times(other, one, WHOLE, None) is same


def test_a_recording_that_begins_within_a_second():
    late = replace(WHOLE, start=STARTS.replace(microsecond=400_000))
    assert same_times("06:00-14:00", "@10:07-@10:15", late, None)
    assert not same_times("06:00-14:00", "@10:07:02-@10:15", late, None)
    assert not same_times("06:00-14:00", "06:00-14:00.4", late, None)


def test_the_clock_is_the_schools():
    utc = replace(WHOLE, start=datetime(2026, 10, 6, 16, 1, 0, tzinfo=UTC))
    assert same_times("06:00-14:00", "@10:07-@10:15", utc, "America/Denver")
    assert not same_times("06:00-14:00", "@10:07-@10:15", utc, "America/Chicago")
    assert not same_times("06:00-14:00", "@10:07-@10:15", replace(WHOLE, start=None), None)


def test_a_row_in_clock_times_says_nothing_else_than_the_trial_from_the_start(school, tmp_path):
    (tmp_path / "strap.csv").write_bytes(table(np.asarray(FIRST, dtype=float), STARTS))
    row = "TH-11,slalom-gym,strap.csv,{work},{rest},{notes}"
    assert given(school, tmp_path, row.format(work="05:00-12:00", rest="00:30-05:00", notes=""))[0][0] == "added"
    clock = {"work": "@10:06-@10:13", "rest": "@10:01:30-@10:06"}
    ((state, told),) = given(school, tmp_path, row.format(**clock, notes=""))
    assert (state, "otherwise" in told) == ("there already", False)
    ((state, told),) = given(school, tmp_path, row.format(**clock, notes="windy"), correct=True)
    assert (state, told) == ("corrected", "trial 1: notes windy (kept: nothing)")
    assert (school.trial(1).work, school.trial(1).rest_phase) == ("05:00-12:00", "00:30-05:00")
    ((state, told),) = given(school, tmp_path, row.format(**{**clock, "work": "@10:06-@10:12:59"}, notes=""))
    assert (state, "work @10:06-@10:12:59 (kept: 05:00-12:00)" in told) == ("there already", True)
    assert "rest" not in told


def test_a_trial_without_files_has_its_texts_compared(school):
    from ownmark.records.same_times import same_phases

    before = made.trial(work="06:00-14:00")
    assert same_phases(school, before, before.model_copy(update={"work": "@10:07-@10:15"})) == frozenset()
