"""What straps and watches write that a plain reader trips over, each with the answer worked out by hand."""

import pickle
import struct
from datetime import datetime, timedelta, timezone

import numpy as np
import pytest
from ownmark.errors import NothingMeasured
from ownmark.ingest.fit import reader as fit
from ownmark.ingest.fit.columns import unrolled
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import HEART_RATE, RR_INTERVAL, Hints, Source

from tests.makers import fit_files as make
from tests.makers.fit_files import NINE_OCLOCK, FitWriter, pulse, records
from tests.makers.sheets import texts

RECORD_FIELDS = [(make.STAMP, make.UINT32), (3, make.UINT8)]


def read(data, **hints):
    return fit.read(data, Source("strap.fit", hints=Hints(**hints)))


def with_rr(seconds, rr_s, *, skip=(), clock=True):
    """1 Hz records, each followed by the intervals that end in its second; ``skip`` is a hole in both."""
    writer = FitWriter().define(0, make.RECORD, RECORD_FIELDS).define(1, make.HRV, [(0, make.UINT16, 6)])
    beat = 0
    for second in range(seconds):
        ends = 0
        while (beat + 1) * rr_s < second + 1:
            beat, ends = beat + 1, ends + 1
        if second in skip:
            continue
        writer.data(0, NINE_OCLOCK + second if clock else 0xFFFFFFFF, 75)
        writer.data(1, tuple(([round(rr_s * 1000)] * ends + [65535] * 3)[:3]))
    return writer.whole()


def test_chained_files_stand_on_one_time_line():
    data = records([80] * 10).whole() + records([90] * 10, start=NINE_OCLOCK + 30).whole()
    recording = read(data)
    assert recording[HEART_RATE].time.tolist() == [*range(10), *range(30, 40)]
    assert recording[HEART_RATE].values.tolist() == [80] * 10 + [90] * 10
    assert texts(recording.notes) == ()


def test_laps_of_chained_files_are_numbered_through():
    lap = [(make.STAMP, make.UINT32), (2, make.UINT32), (7, make.UINT32)]
    chain = b""
    for begin in (NINE_OCLOCK, NINE_OCLOCK + 30):
        chain += records([80] * 10, start=begin).define(1, make.LAP, lap).data(1, begin + 9, begin, 9500).whole()
    assert [(mark.label, mark.time_s, mark.until_s) for mark in read(chain).marks] == [
        ("lap 1", 0, 9.5),
        ("lap 2", 30, 39.5),
    ]


def test_a_lap_that_states_no_length_lasts_until_its_message_was_written():
    lap = [(make.STAMP, make.UINT32), (2, make.UINT32)]
    data = records([80] * 20).define(1, make.LAP, lap).data(1, NINE_OCLOCK + 14, NINE_OCLOCK + 3).whole()
    assert [(mark.time_s, mark.until_s) for mark in read(data).marks] == [(3, 14)]


def test_a_press_of_the_lap_button_is_a_press_of_the_button_and_gear_changes_are_nothing():
    writer = records([80] * 20).define(1, make.EVENT, [(make.STAMP, make.UINT32), (0, make.ENUM), (1, make.ENUM)])
    for second, (event, kind) in enumerate([(9, 1), (32, 3), (42, 3), (0, 0), (0, 9), (0, 3), (255, 0), (0, 255)]):
        writer.data(1, NINE_OCLOCK + second, event, kind)
    told = [(mark.time_s, mark.kind) for mark in read(writer.whole()).marks]
    assert told == [(0, "button"), (1, "button"), (3, "start"), (4, "stop")]


def test_start_is_the_wall_clock_in_the_zone_of_the_device():
    # 2025-10-25 09:00 UTC; the device says 11:00, or 14:45 in a zone of 5 h 45 min.
    assert read(make.strap_session(20)).start == datetime(2025, 10, 25, 11, tzinfo=timezone(timedelta(hours=2)))
    assert read(make.strap_session(20, offset_h=5.75)).start.isoformat() == "2025-10-25T14:45:00+05:45"
    assert read(records([80] * 5).whole()).start.isoformat() == "2025-10-25T09:00:00+00:00"


def test_stamps_of_an_unset_clock_give_times_but_no_date():
    # Below 0x10000000 a stamp counts seconds since the device was switched on.
    recording = read(records([80] * 5, start=0x10000000 - 5).whole())
    assert recording.start is None
    assert recording[HEART_RATE].time.tolist() == [0, 1, 2, 3, 4]
    assert "clock was not set" in texts(recording.notes)[0]
    assert read(records([80] * 5, start=0x10000000).whole()).start is not None


def test_a_header_without_a_length_is_read_to_the_end_and_to_the_next_header():
    open_end = records([80] * 10).whole(data_size=0)
    assert read(open_end)[HEART_RATE].values.tolist() == [80] * 10
    chain = read(open_end + records([90] * 4, start=NINE_OCLOCK + 30).whole())
    assert chain[HEART_RATE].values.tolist() == [80] * 10 + [90] * 4
    assert [note for note in texts(chain.notes) if "gives no length" in note] == list(texts(chain.notes))


def test_a_header_that_states_too_little_loses_nothing():
    recording = read(records([80] * 10).whole(data_size=40))
    assert len(recording[HEART_RATE]) == 10
    assert texts(recording.notes) == (
        "The file is longer than its header says, and all of it can be read. Check the values.",
    )


@pytest.mark.parametrize("size", [0, 1, 11])
def test_a_header_that_states_an_impossible_size_is_taken_as_the_smallest(size):
    data = records([80] * 10).whole(header_size=12)
    recording = read(bytes([size]) + data[1:])
    assert len(recording[HEART_RATE]) == 10
    assert "checksum is wrong" in texts(recording.notes)[0]


def test_a_header_may_grow():
    # The protocol lets later versions lengthen the header.
    assert len(read(records([80] * 10).whole(header_size=20))[HEART_RATE]) == 10


def test_a_value_of_255_is_no_heart_rate():
    recording = read(records([80, 255, 82]).whole())
    np.testing.assert_array_equal(recording[HEART_RATE].values, [80, np.nan, 82])


def test_equal_and_backward_stamps_are_flagged_and_put_in_order():
    writer = FitWriter().define(0, make.RECORD, RECORD_FIELDS)
    for second, rate in ((0, 80), (2, 82), (1, 81), (2, 0), (3, 83)):
        writer.data(0, NINE_OCLOCK + second, rate)
    pulse_stream = read(writer.whole())[HEART_RATE]
    assert pulse_stream.time.tolist() == [0, 1, 2, 2, 3]
    assert pulse_stream.flag_counts() == {"unchecked": 5, "duplicate_stamp": 1, "backward_stamp": 1}
    assert pulse_stream.values[pulse_stream.flags & Flag.DUPLICATE_STAMP != 0].tolist() == [0]


def test_a_broken_stamp_is_left_out_and_counted():
    writer = records([80] * 20)
    writer.data(0, NINE_OCLOCK + 8 * 86_400, 99).data(0, 17, 98)
    recording = read(writer.whole())
    assert recording[HEART_RATE].values.tolist() == [80] * 20
    assert texts(recording.notes) == (
        "Left out: 2 samples whose time stamps are more than a week from the middle one.",
    )


def test_a_compressed_stamp_counts_on_from_the_last_and_turns_every_32_seconds():
    writer = FitWriter().define(0, make.RECORD, RECORD_FIELDS).define(1, make.RECORD, [(3, make.UINT8)])
    writer.data(0, 1_000_000_020, 80)  # 20 s past a multiple of 32
    for second in (21, 31, 33, 60, 95):
        writer.data(1, 81, compressed=(1_000_000_000 + second) % 32)
    assert (1_000_000_020 % 32, 1_000_000_033 % 32) == (20, 1)
    # 95 is 35 s behind 60: more than a turn, so the five bits can only say 3 s behind it.
    assert read(writer.whole())[HEART_RATE].time.tolist() == [0, 1, 11, 13, 40, 43]


def test_unrolling_counts_on_and_never_runs_backward():
    counter = np.array([5, 40, 8, 31, 0, 100, 3, 4])
    short = np.array([True, False, True, True, True, False, True, True])
    assert unrolled(counter, short, 32).tolist() == [5, 40, 40, 63, 64, 100, 131, 132]
    assert unrolled(np.array([30, 1, 2]), np.array([True] * 3), 32).tolist() == [30, 33, 34]


def test_intervals_follow_each_other_and_stand_for_themselves():
    rr = read(with_rr(60, 0.8))[RR_INTERVAL]
    assert len(rr) == 74  # 59.2 s of 0.8 s
    np.testing.assert_allclose(rr.time, np.arange(74) * 0.8, atol=1e-6)
    np.testing.assert_array_equal(rr.cover_s, rr.values)
    np.testing.assert_array_equal(rr.values, 0.8)


def test_intervals_of_two_layouts_keep_the_order_of_the_file():
    writer = records([80] * 3).define(1, make.HRV, [(0, make.UINT16, 4)]).define(2, make.HRV, [(0, make.UINT16)])
    writer.data(2, 500).data(1, (600, 700)).data(2, 800).data(1, (900, 65535)).data(2, 1000)
    rr = read(writer.whole())[RR_INTERVAL]
    assert rr.values.tolist() == [0.5, 0.6, 0.7, 0.8, 0.9, 1.0]
    np.testing.assert_allclose(np.diff(rr.time), rr.values[:-1], atol=2e-6)


def test_filling_of_65535_is_no_beat():
    # 65.535 s between beats: what one public encoder's own decoder returns.
    assert read(with_rr(60, 0.8))[RR_INTERVAL].values.max() == 0.8


def test_intervals_move_on_where_twenty_seconds_of_beats_are_lost():
    recording = read(with_rr(80, 0.8, skip=range(30, 50)))
    rr = recording[RR_INTERVAL]
    behind = rr.time[rr.time > 31]
    assert rr.time[rr.time < 31].max() == pytest.approx(28.8, abs=0.9)
    assert abs(behind[0] - 50) < 3
    np.testing.assert_allclose(np.diff(behind), 0.8, atol=1e-6)
    assert abs(rr.time[-1] + 0.8 - 80) < 3


def test_two_lost_beats_move_nothing():
    rr = read(with_rr(80, 0.8, skip=(30, 31)))[RR_INTERVAL]
    np.testing.assert_allclose(np.diff(rr.time), 0.8, atol=1e-6)


def test_intervals_without_any_stamp_count_from_the_first_beat():
    writer = FitWriter().define(1, make.HRV, [(0, make.UINT16)])
    for _ in range(50):
        writer.data(1, 750)
    recording = read(writer.whole())
    assert recording.start is None
    assert texts(recording.notes) == ("The file gives no times: intervals were placed one after the other from 0.",)
    np.testing.assert_allclose(recording[RR_INTERVAL].time, np.arange(50) * 0.75, atol=1e-6)


def test_records_without_a_heart_rate_do_not_hide_the_intervals():
    writer = records([255] * 30).define(1, make.HRV, [(0, make.UINT16)])
    for _ in range(30):
        writer.data(1, 800)
    recording = read(writer.whole())
    assert recording.names == (RR_INTERVAL,)
    assert texts(recording.notes) == ("Left out: 30 records without a heart rate, next to the strap's own data.",)


def test_a_strap_that_lost_contact_throughout_is_a_stream_without_values():
    recording = read(records([255] * 30).whole())
    assert len(recording[HEART_RATE]) == 30
    assert np.isnan(recording[HEART_RATE].values).all()


def test_lost_contact_stays_visible_beside_movement():
    # As a stream without values it says that a strap was worn and gave nothing.
    axes = [(number, make.FLOAT32, 8) for number in (5, 6, 7)]
    writer = records([255] * 30).define(1, 165, [(make.STAMP, make.UINT32), (1, make.UINT16, 4), *axes])
    for second in range(30):
        writer.data(1, NINE_OCLOCK + second, (0, 500), (0.0, 0.1), (0.0, 0.1), (1.0, 0.9))
    assert HEART_RATE in read(writer.whole())


def swim_ticks(beats, start=500):
    return [start + 700 * beat for beat in range(beats)]


def test_events_of_a_strap_stand_at_their_own_counter():
    recording = read(make.swim_events(list(range(60, 77)), swim_ticks(17)).whole())
    np.testing.assert_allclose(recording[HEART_RATE].time, np.arange(17) * 700 / 1024, atol=1e-6)
    assert recording[HEART_RATE].values.tolist() == list(range(60, 77))
    assert recording.start == fit.EPOCH + timedelta(seconds=NINE_OCLOCK + 0.5)  # 16384 / 32768 s


def test_bytes_of_255_are_no_events():
    writer = make.swim_events(list(range(60, 69)), swim_ticks(9))
    writer.data(1, (255,) * 8, (255,) * 12)
    writer.data(1, tuple(range(69, 77)), make.packed_ticks(swim_ticks(17)[9:]))
    time = read(writer.whole())[HEART_RATE].time
    np.testing.assert_allclose(time, np.arange(17) * 700 / 1024, atol=1e-6)


def test_a_counter_that_starts_anew_is_tied_to_the_clock_again():
    first = make.swim_events([100] * 9, swim_ticks(9, start=5_000_000))
    first.define(0, make.HR, [(make.STAMP, make.UINT32), (9, make.UINT32), (6, make.UINT8)])
    first.data(0, NINE_OCLOCK + 60, 200, 111)
    first.data(1, (111,) * 8, make.packed_ticks(swim_ticks(9, start=200)[1:]))
    stream = read(first.whole())[HEART_RATE]
    assert stream.time[9] == pytest.approx(59.5)
    assert stream.time[-1] == pytest.approx(59.5 + 8 * 700 / 1024, abs=1e-6)


def test_ties_that_differ_by_rounded_seconds_move_nothing():
    writer = make.swim_events([100] * 9, swim_ticks(9))
    writer.define(0, make.HR, [(make.STAMP, make.UINT32), (9, make.UINT32), (6, make.UINT8)])
    writer.data(0, NINE_OCLOCK + 7, 500 + 9 * 700, 100)  # 6.15 s later by the counter
    time = read(writer.whole())[HEART_RATE].time
    np.testing.assert_allclose(np.diff(time), 700 / 1024, atol=1e-5)


def test_events_that_nothing_ties_to_the_clock_are_refused_with_their_number():
    writer = FitWriter().define(1, make.HR, [(6, make.UINT8, 2), (10, make.BYTE, 3)])
    writer.data(1, (100, 101), make.packed_ticks([1000, 1700]))
    with pytest.raises(NothingMeasured, match="2 heart rates without a time stamp"):
        read(writer.whole())


def unstamped():
    writer = FitWriter().define(0, make.RECORD, [(3, make.UINT8)])
    for rate in (140, 143, 144):
        writer.data(0, rate)
    return writer.whole()


def test_heart_rates_without_any_stamp_are_placed_by_a_given_rate_only():
    with pytest.raises(NothingMeasured, match="--rate"):
        read(unstamped())
    recording = read(unstamped(), rate_hz=0.5)
    assert recording[HEART_RATE].time.tolist() == [0, 2, 4]
    assert recording.start is None
    assert texts(recording.notes) == ("The file gives no times: heart rates were placed at 0.5 a second, as given.",)


def test_a_given_rate_moves_nothing_that_carries_a_stamp():
    writer = records([80] * 5).define(1, make.RECORD, [(3, make.UINT8)]).data(1, 99)
    recording = read(writer.whole(), rate_hz=1.0)
    assert recording[HEART_RATE].values.tolist() == [80] * 5
    assert texts(recording.notes) == ("Not placed in time: 1 heart rate without a time stamp.",)


def test_a_heart_rate_of_a_size_that_its_type_cannot_have_is_counted():
    writer = records([80] * 5).define(1, make.RECORD, [(make.STAMP, make.UINT32), (3, make.UINT16, 3)])
    writer.data(1, NINE_OCLOCK + 9, b"abc")
    assert "Not read: the heart rate in 1 record" in texts(read(writer.whole()).notes)[0]


def test_a_file_of_another_purpose_says_that_it_holds_no_heart_rate():
    writer = FitWriter().define(0, make.FILE_ID, [(0, make.ENUM)]).data(0, 5)
    with pytest.raises(NothingMeasured, match="no heart rate in this file"):
        read(writer.whole())


def test_nothing_of_the_person_survives():
    serial, lat, long = 0x7A3B91C5, 623_451_789, -71_234_567
    writer = FitWriter().define(1, 3, [(0, make.STRING, 12)]).data(1, b"Mia Muster\0\0")  # user_profile
    writer.define(2, make.DEVICE_INFO, [(make.STAMP, make.UINT32), (3, make.UINT32Z)]).data(2, NINE_OCLOCK, serial)
    writer.define(0, make.RECORD, [*RECORD_FIELDS, (0, make.SINT32), (1, make.SINT32)])
    for second, rate in enumerate(pulse(30)):
        writer.data(0, NINE_OCLOCK + second, rate, lat, long)
    kept = pickle.dumps(read(writer.whole()))
    assert struct.pack("<d", pulse(30)[29]) in kept  # a heart rate is found by the same search
    for number in (serial, lat, long):
        whole = [order + size for order in "<>" for size in ("qd" + ("I" if number >= 0 else "i"))]
        assert not [code for code in whole if struct.pack(code, number) in kept]
        assert struct.pack("<d", number * 180 / 2**31) not in kept  # degrees
        assert str(number).encode() not in kept
    assert b"Muster" not in kept
