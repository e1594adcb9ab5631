"""Times as people write them, at the edges of the half day and of the recording."""

from datetime import datetime

import pytest
from ownmark.errors import UsageError
from ownmark.ingest.clock_times import parse_moment, parse_span, resolve_span
from ownmark.ingest.recording import Recording


@pytest.mark.parametrize(
    ("written", "seconds"),
    [
        ("12:00 AM", 0),
        ("12:59 am", 3540),
        ("1:00 a.m.", 3600),
        ("11:59 AM", 43140),
        ("12:00 PM", 43200),
        ("1:15:30 PM", 47730),
        ("@9:05 AM", 32700),
        ("11:59 p.m.", 86340),
    ],
)
def test_a_time_with_its_half_of_the_day_is_a_clock_time(written, seconds):
    found = parse_moment(written)
    assert (found.seconds, found.clock) == (seconds, True)
    assert parse_moment(found.text) == found


@pytest.mark.parametrize("written", ["13:00 PM", "0:30 AM", "9:60 AM", "9:05:60 AM"])
def test_a_half_of_the_day_that_cannot_be_is_refused(written):
    with pytest.raises(UsageError, match="not a time of day"):
        parse_moment(written)


@pytest.mark.parametrize(
    ("written", "begin", "end"),
    [
        ("9:05-9:13 AM", 32700, 33180),
        ("1:05 - 1:13 PM", 47100, 47580),
        ("11:55-12:05 PM", 42900, 43500),
        ("9:05 AM-1:13 PM", 32700, 47580),
    ],
)
def test_the_half_of_the_day_may_be_written_once(written, begin, end):
    assert [each.seconds for each in parse_span(written)] == [begin, end]


@pytest.mark.parametrize(
    ("start", "written", "span"),
    [
        ("09:07", "@09:05-@09:13", (-120, 360)),
        ("09:00", "@09:05-@09:13", (300, 780)),
        ("09:00", "@09:59-@10:30", (3540, 5400)),
        ("23:50", "@23:55-@00:05", (300, 900)),
    ],
)
def test_a_clock_time_before_the_recording_is_before_it_and_not_a_day_later(start, written, span):
    found = Recording(streams=(), start=datetime.fromisoformat(f"2026-05-12T{start}"), whole_s=(0.0, 1200.0))
    assert resolve_span(written, found, None) == span


@pytest.mark.parametrize(
    ("start", "written", "span"),
    [
        ("09:07:00", "00:05:00-00:13:00", (300, 780)),  # by the clock hours before the recording
        ("09:07:00", "09:05:00-09:13:00", (-120, 360)),  # from the start hours behind it
        ("01:13:01", "00:05:00-00:13:00", (300, 780)),
        ("23:00:00", "00:05:00-00:13:00", (300, 780)),
    ],
)
def test_hours_are_read_from_the_start_where_no_device_could_be_that_late_for_the_clock(start, written, span):
    found = Recording(streams=(), start=datetime.fromisoformat(f"2026-05-12T{start}"), whole_s=(0.0, 1200.0))
    assert resolve_span(written, found, None) == span


@pytest.mark.parametrize("start", ["00:00:00", "00:04:00", "01:05:00"])
def test_hours_that_can_be_either_are_refused(start):
    found = Recording(streams=(), start=datetime.fromisoformat(f"2026-05-12T{start}"), whole_s=(0.0, 1200.0))
    with pytest.raises(UsageError, match="a time from the start or a clock time"):
        resolve_span("00:05:00-00:13:00", found, None)
