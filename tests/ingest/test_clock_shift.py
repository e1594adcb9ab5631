"""A clock that was off, as it is written and as it is put right, on the days on which clocks change too."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from ownmark.errors import NotOneTrial, UsageError
from ownmark.ingest.clock_shift import (
    parse_shift,
    shift_of,
    shifted,
    shifts_by_name,
    unshifted,
    written_shift,
)
from ownmark.ingest.combine import combine
from ownmark.ingest.excerpt.form import excerpt
from ownmark.ingest.formats import parse
from ownmark.ingest.messages import table_either_day
from ownmark.ingest.recording import Provenance, Recording, Source, Stream

DENVER = ZoneInfo("America/Denver")


def recording(start=None, clock_s=None, path="strap.csv"):
    stream = Stream.from_samples("heart_rate", np.arange(10.0), np.full(10, 90.0), source=path)
    source = Provenance(path, path.encode().hex().ljust(64, "0"), "table", "made")
    return Recording(streams=(stream,), start=start, clock_s=clock_s, sources=(source,))


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("+1:00:00", 3600.0),
        ("-1:00:00", -3600.0),
        ("−0:01:30.5", -90.5),
        ("–37", -37.0),
        ("-37", -37.0),
        (" +90s ", 90.0),
        ("+ 90 s", 90.0),
        ("+0:00:59", 59.0),
        ("+0:59:00", 3540.0),
        ("+100000:00:00", 360_000_000.0),
        ("-0.25", -0.25),
    ],
)
def test_a_shift_is_read_as_it_is_written(text, seconds):
    assert parse_shift(text) == seconds


@pytest.mark.parametrize("text", ["90", "1:00:00", "+1:00", "+0:60:00", "+0:00:60", "+", "", "+1h", "nan", "+1:0:00"])
def test_without_its_sign_or_with_a_colon_that_could_be_either_it_is_refused(text):
    with pytest.raises(UsageError, match="does not say how far a clock was off"):
        parse_shift(text)


@pytest.mark.parametrize("seconds", [3600.0, -37.0, 0.5, -0.125, 90_061.0, 86_400.0 * 400])
def test_what_is_written_is_read_again(seconds):
    assert parse_shift(written_shift(seconds)) == seconds


def test_written_with_hours_minutes_and_seconds():
    assert [written_shift(each) for each in (3600.0, -37.0, 90_061.0, -0.5)] == [
        "+1:00:00",
        "-0:00:37",
        "+25:01:01",
        "-0:00:00.5",
    ]


def test_one_of_two_files_must_be_named_and_one_alone_need_not():
    assert shifts_by_name(["-37"], ["a/strap.csv"]) == {"a/strap.csv": -37.0}
    both = ["a/strap.csv", "b/frame.csv"]
    assert shifts_by_name(["strap.csv=-37", "b/frame.csv=+1:00:00"], both) == {
        "a/strap.csv": -37.0,
        "b/frame.csv": 3600.0,
    }
    assert shifts_by_name(["strap.csv = none"], both) == {"a/strap.csv": None}
    for text in ("-37", "other.csv=-37", "none"):
        with pytest.raises(UsageError, match=r"which file's clock was off.*the files are strap\.csv, frame\.csv"):
            shifts_by_name([text], both)
    with pytest.raises(UsageError, match="There is no file"):
        shifts_by_name(["-37"], [])
    with pytest.raises(UsageError, match="how far"):
        shifts_by_name(["strap.csv=37"], both)


def test_only_the_clock_moves_and_what_the_file_states_is_kept():
    found = recording(datetime(2026, 10, 6, 8, 0, tzinfo=UTC))
    right = shifted(found, 3600.0)
    assert right.start == datetime(2026, 10, 6, 9, 0, tzinfo=UTC)
    assert right.streams == found.streams
    assert (right.shift_s, right.stated) == (3600.0, (found.start, None))
    back = unshifted(right)
    assert (back.start, back.clock_s, back.shift_s, back.stated) == (found.start, None, 0.0, None)
    assert shifted(found, 0.0) is found
    assert unshifted(found) is found


def test_a_time_of_day_stays_within_its_day():
    assert shifted(recording(clock_s=100.0), -37.0).clock_s == 63.0
    assert shifted(recording(clock_s=30.0), -37.0).clock_s == 86_393.0
    assert shifted(recording(clock_s=86_390.0), 10.0).clock_s == 0.0
    odd = 0.1 + 0.2
    assert unshifted(shifted(recording(clock_s=odd), 12345.678)).clock_s == odd


@pytest.mark.parametrize(
    ("seconds", "day"), [(3600.0, 8), (50_400.0, 9), (50_399.0, 8), (-36_000.0, 8), (-36_001.0, 7), (0.0, 8)]
)
def test_an_open_date_moves_with_a_clock_that_is_put_right_over_midnight(seconds, day):
    found = recording(clock_s=36_000.0).with_notes([table_either_day((date(2026, 9, 8),))])
    assert shifted(found, seconds).possible_days == (date(2026, 9, day),)


def test_what_states_no_time_or_would_lie_in_no_year_is_refused():
    with pytest.raises(NotOneTrial, match="states no time of day"):
        shifted(recording(), 1.0)
    with pytest.raises(NotOneTrial, match="no year"):
        shifted(recording(datetime(2026, 10, 6, tzinfo=UTC)), 3600.0 * 999_999 * 100)


def test_an_hour_is_an_hour_on_the_days_on_which_clocks_change():
    # America/Denver: 8 March 2026, 2:00 becomes 3:00; 1 November 2026, 2:00 becomes 1:00.
    spring = shifted(recording(datetime(2026, 3, 8, 1, 30, tzinfo=DENVER)), 3600.0).start
    assert (spring.hour, spring.minute, spring.utcoffset()) == (3, 30, timedelta(hours=-6))
    autumn = shifted(recording(datetime(2026, 11, 1, 1, 30, tzinfo=DENVER)), 3600.0).start
    assert (autumn.hour, autumn.minute, autumn.utcoffset()) == (1, 30, timedelta(hours=-7))


def test_an_excerpt_holds_the_clock_that_the_file_states():
    found = recording(datetime(2026, 10, 6, 8, 0, tzinfo=UTC))
    assert excerpt(shifted(found, 3600.0)) == excerpt(found)
    assert parse(excerpt(shifted(found, 3600.0)), Source("x")).start == found.start


def test_a_shift_is_told_once_and_moves_one_file_beside_another():
    late, other = (
        recording(datetime.fromisoformat("2026-10-06T09:00"), path="a.csv"),
        recording(datetime.fromisoformat("2026-10-06T08:00")),
    )
    whole = combine([late, shifted(other, 3600.0 + 5.0)])
    assert [each.offset_s for each in whole.placings] == [0.0, 5.0]
    (note,) = [each for each in whole.notes if each.code == "placed.shifted"]
    assert (note["path"].text, note["shift"].text) == ("strap.csv", "+1:00:05")
    (alone,) = combine([shifted(other, -5.0)]).notes
    assert alone.code == "placed.shifted"
    assert combine([other]).notes == ()


def test_an_archive_s_shift_holds_for_the_files_in_it():
    assert shift_of("bag.zip/strap.fit", {"bag.zip": 5.0}) == 5.0
    assert shift_of("bag.zip", {"bag.zip": 5.0}) == 5.0
    assert shift_of("bag.zipped", {"bag.zip": 5.0}) == 0.0
