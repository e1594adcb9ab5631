"""Times as people write them, at the edges of the half day and of the recording."""

from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from ownmark.errors import UsageError
from ownmark.ingest.clock_times import moment_told, parse_moment, parse_span, resolve_span, span_told
from ownmark.ingest.recording import Recording, Stream


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


@pytest.mark.parametrize(
    ("start", "written", "span"),
    [
        ("09:01:00", "10:07:01-10:12:58", (3961, 4318)),  # an hour behind it, and not ten hours from its start
        ("09:01:00", "02:00:00-02:06:00", (-25260, -24900)),  # before it by the clock
        ("23:59:00", "01:30:00-01:36:00", (5400, 5760)),  # from its start 1:30 h, by the clock 1:31 h
        ("00:00:00", "01:30:00-01:36:00", (5400, 5760)),
    ],
)
def test_hours_that_lie_outside_by_both_readings_are_told_by_the_nearer(start, written, span):
    found = Recording(streams=(), start=datetime.fromisoformat(f"2026-05-12T{start}"), whole_s=(0.0, 900.0))
    assert resolve_span(written, found, None) == span


@pytest.mark.parametrize("start", ["00:00:00", "00:04:00", "01:05:00"])
def test_hours_that_can_be_either_are_refused(start):
    found = Recording(streams=(), start=datetime.fromisoformat(f"2026-05-12T{start}"), whole_s=(0.0, 1200.0))
    with pytest.raises(UsageError, match="a time from the start or a clock time"):
        resolve_span("00:05:00-00:13:00", found, None)


DENVER = ZoneInfo("America/Denver")
"""8 March 2026: 2:00 becomes 3:00. 1 November 2026: 2:00 becomes 1:00."""


def utc_recording(start, seconds):
    """A recording that states UTC, of one value a minute."""
    stream = Stream.from_samples("heart_rate", np.arange(0.0, seconds + 1, 60), np.full(seconds // 60 + 1, 90.0))
    return Recording(streams=(stream,), start=datetime.fromisoformat(start))


NIGHTS = [
    ("2026-03-08T07:00:00+00:00", "@9:00-@9:08", (8 * 3600.0, 8 * 3600.0 + 480)),  # from 0:00 on, 8 h later it is 9:00
    ("2026-11-01T06:00:00+00:00", "@9:00-@9:08", (10 * 3600.0, 10 * 3600.0 + 480)),  # from 0:00 on, 10 h later
    ("2026-03-07T07:00:00+00:00", "@9:00-@9:08", (9 * 3600.0, 9 * 3600.0 + 480)),
    ("2026-03-08T07:00:00+00:00", "@1:59:59-@3:00", (7199.0, 7200.0)),  # a second by the clock
    ("2026-11-01T06:00:00+00:00", "@0:59:59-@2:00", (3599.0, 10800.0)),  # two hours and a second
    ("2026-03-08T10:00:00+00:00", "@1:30-@3:30", (-5400.0, -1800.0)),  # put on at 4:00, late
    ("2026-10-31T15:00:00+00:00", "@9:05-@9:13", (300.0, 780.0)),
]


@pytest.mark.parametrize(("start", "written", "span"), NIGHTS)
def test_on_the_days_on_which_clocks_change_a_clock_time_is_where_it_truly_was(start, written, span):
    assert resolve_span(written, utc_recording(start, 12 * 3600), DENVER) == span


def test_a_time_over_which_clocks_were_set_forward_is_refused():
    night = utc_recording("2026-03-08T07:00:00+00:00", 12 * 3600)
    for written in ("@2:00-@3:08", "@2:59:59-@3:08", "@1:50-@2:30"):
        with pytest.raises(UsageError, match=r"there was no “@2:.*” on 2026-03-08.*America/Denver"):
            resolve_span(written, night, DENVER)
    other = utc_recording("2026-03-09T06:00:00+00:00", 12 * 3600)  # the night after: 0:00 to 12:00
    assert resolve_span("@2:00-@2:08", other, DENVER) == (7200.0, 7680.0)
    evening = utc_recording("2026-03-08T03:00:00+00:00", 3600)  # 20:00 to 21:00 of the day before
    assert resolve_span("@20:05-@20:13", evening, DENVER) == (300.0, 780.0)


def test_a_time_over_which_clocks_were_set_back_is_the_one_that_was_recorded_or_refused():
    both = utc_recording("2026-11-01T06:00:00+00:00", 4 * 3600)
    with pytest.raises(UsageError, match=r"“@1:30” was twice on 2026-11-01.*America/Denver"):
        resolve_span("@1:30-@2:30", both, DENVER)
    first = utc_recording("2026-11-01T07:00:00+00:00", 3540)  # from 1:00 to 1:59, before clocks were set back
    assert resolve_span("@1:30-@1:40", first, DENVER) == (1800.0, 2400.0)
    second = utc_recording("2026-11-01T08:00:00+00:00", 3540)  # from 1:00 to 1:59 once more
    assert resolve_span("@1:30-@1:40", second, DENVER) == (1800.0, 2400.0)
    neither = utc_recording("2026-11-01T15:00:00+00:00", 3600)
    with pytest.raises(UsageError, match="was twice"):
        resolve_span("@1:30-@9:00", neither, DENVER)


def test_a_table_that_states_the_wall_clock_in_a_zone_is_placed_likewise():
    start = datetime(2026, 3, 8, 8, 0, tzinfo=DENVER)
    stream = Stream.from_samples("heart_rate", np.arange(0.0, 3601), np.full(3601, 90.0))
    assert resolve_span("@8:05-@8:13", Recording(streams=(stream,), start=start), DENVER) == (300.0, 780.0)


def test_a_stretch_is_told_by_the_wall_clock_and_in_seconds():
    at = datetime.fromisoformat("2026-10-06T09:00:00")
    assert span_told((300.0, 780.4), at) == "09:05:00 to 09:13:00 (300 s to 780 s from its start)"
    assert span_told((-30.0, 60.0), None) == "-30 s to 60 s"
    assert moment_told(120.0, at) == "09:02:00 (120 s)"
    assert moment_told(120.0, None) == "120 s"
    assert moment_told(7200.0, datetime(2026, 3, 8, 1, 0, tzinfo=DENVER)) == "04:00:00 (7200 s)"


def test_a_stretch_that_ends_before_it_begins_is_told_by_the_wall_clock_and_in_seconds():
    utc = utc_recording("2026-10-06T15:00:00+00:00", 3600)
    with pytest.raises(UsageError) as zoned:
        resolve_span("@9:13-@9:05", utc, DENVER)
    assert zoned.value.what == (
        "“@9:13-@9:05” ends before it begins: it ends at 09:05:00 (300 s) and begins at 09:13:00 (780 s)."
    )
    with pytest.raises(UsageError, match=r"it ends at 15:05:00 \(300 s\) and begins at 15:13:00 \(780 s\)\."):
        resolve_span("13:00-05:00", utc, None)
    stream = Stream.from_samples("heart_rate", np.arange(0.0, 3601), np.full(3601, 90.0))
    with pytest.raises(UsageError, match=r"it ends at 5 s and begins at 5 s"):
        resolve_span("00:05-00:05", Recording(streams=(stream,)), DENVER)
    with pytest.raises(UsageError, match=r"ends at 23:55:00 \(300 s\) and begins at 00:05:00 \(900 s\)"):
        resolve_span("15:00-05:00", Recording(streams=(stream,), clock_s=23 * 3600.0 + 50 * 60.0), None)


def test_a_time_that_may_be_meant_from_the_start_is_not_refused_for_the_clock():
    night = utc_recording("2026-03-08T07:00:00+00:00", 12 * 3600)
    assert resolve_span("02:30:00-02:38:00", night, DENVER) == (9000.0, 9480.0)
