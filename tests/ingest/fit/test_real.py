"""Real strap recordings beside what the device itself says of them (open data; see the folder's README)."""

import fitparse
import numpy as np
import pytest
from fitparse.processors import FitFileDataProcessor
from ownmark.errors import NothingMeasured
from ownmark.ingest.fit import reader as fit
from ownmark.ingest.recording import HEART_RATE, RR_INTERVAL, Hints, Source

from tests.makers.sheets import texts


class Plain(FitFileDataProcessor):
    """Leave stamps as numbers; the default turns them into dates with a call that Python deprecates."""

    def process_type_date_time(self, field_data):
        """Seconds since the format's epoch."""

    process_type_local_date_time = process_type_date_time


def read(real_dir, name, **hints):
    return fit.read((real_dir / name).read_bytes(), Source(name, hints=Hints(**hints)))


def of_session(real_dir, name, field):
    """What the device worked out itself, read by fitparse."""
    with fitparse.FitFile(str(real_dir / name), data_processor=Plain()) as file:
        return next(file.get_messages("session")).get_value(field)


def weighted_by_time(stream):
    """Each value stands until the next; the last for a second."""
    return float(np.average(stream.values, weights=np.append(np.diff(stream.time), 1.0)))


# Counts, range, longest step [s], mean of points and time-weighted mean: the folder's README.
KNOWN = [
    ("strap_rr_65s.fit", 15, 101, 121, 9, 114.0, 115.2),
    ("strap_rr_57s.fit", 21, 56, 112, 9, 85.0, 89.5),
    ("strap_61s.fit", 19, 77, 114, None, None, None),
]


@pytest.mark.parametrize(("name", "count", "low", "high", "step", "points", "weighted"), KNOWN)
def test_heart_rate_is_what_is_known_of_the_file(real_dir, name, count, low, high, step, points, weighted):
    pulse = read(real_dir, name)[HEART_RATE]
    assert len(pulse) == count
    assert (pulse.values.min(), pulse.values.max()) == (low, high)
    if step is not None:
        assert np.diff(pulse.time).max() == step
        assert pulse.values.mean() == pytest.approx(points, abs=0.05)
        assert weighted_by_time(pulse) == pytest.approx(weighted, abs=0.05)


@pytest.mark.parametrize("name", [known[0] for known in KNOWN])
def test_weighting_by_time_comes_near_the_average_that_the_device_shows(real_dir, name):
    # The device averages values that it did not all store (steps up to 9 s): 1.5 /min for what lies between.
    pulse = read(real_dir, name)[HEART_RATE]
    average = of_session(real_dir, name, "avg_heart_rate")
    assert abs(weighted_by_time(pulse) - average) < 1.5
    assert abs(weighted_by_time(pulse) - average) < abs(pulse.values.mean() - average)
    assert pulse.values.max() == of_session(real_dir, name, "max_heart_rate")


# Intervals, shortest, longest, and sum [s]: the folder's README; the sum of the second from its mean of 90.4 /min.
INTERVALS = [("strap_rr_65s.fit", 126, 0.495, 0.990, 66.3), ("strap_rr_57s.fit", 113, 0.456, 1.448, 113 * 60 / 90.4)]


@pytest.mark.parametrize(("name", "count", "shortest", "longest", "total"), INTERVALS)
def test_intervals_are_what_is_known_of_the_file(real_dir, name, count, shortest, longest, total):
    rr = read(real_dir, name)[RR_INTERVAL]
    assert len(rr) == count
    assert (rr.values.min(), rr.values.max()) == (shortest, longest)
    assert rr.values.sum() == pytest.approx(total, abs=0.05)
    np.testing.assert_array_equal(rr.cover_s, rr.values)
    np.testing.assert_allclose(np.diff(rr.time), rr.values[:-1], atol=2e-6)


def test_beats_divided_by_time_give_the_average_that_the_device_shows(real_dir):
    rr = read(real_dir, "strap_rr_57s.fit")[RR_INTERVAL]
    assert round(60 * len(rr) / rr.values.sum()) == of_session(real_dir, "strap_rr_57s.fit", "avg_heart_rate")


@pytest.mark.parametrize("name", [known[0] for known in KNOWN])
def test_the_lap_lasts_as_long_as_the_device_says_and_the_clock_is_the_wall_clock(real_dir, name):
    recording = read(real_dir, name)
    lap = next(mark for mark in recording.marks if mark.kind == "lap")
    assert lap.until_s - lap.time_s == pytest.approx(of_session(real_dir, name, "total_elapsed_time"), abs=1e-6)
    assert [mark.kind for mark in recording.marks if mark.kind != "lap"] == ["start", "stop"]
    assert recording.start.utcoffset().total_seconds() == -7 * 3600
    begin = (recording.start - fit.EPOCH).total_seconds() + lap.time_s
    assert begin == of_session(real_dir, name, "start_time")
    assert texts(recording.notes) == ()


def test_records_without_a_time_stamp_need_a_rate(real_dir):
    with pytest.raises(NothingMeasured, match=r"3 heart rates without a time stamp.*--rate"):
        read(real_dir, "developer_fields.fit")
    recording = read(real_dir, "developer_fields.fit", rate_hz=1.0)
    assert recording[HEART_RATE].time.tolist() == [0, 1, 2]
    assert recording[HEART_RATE].values.tolist() == [140, 143, 144]
    assert recording.start is None
    assert "at 1 a second, as given" in texts(recording.notes)[0]
