"""Movement in FIT files, against fitparse 1.2.0, fit-tool 0.9.16 (both independent) and values worked out by hand."""

import time

import fitparse
import numpy as np
import pytest
from fitparse.processors import FitFileDataProcessor
from ownmark.errors import NothingMeasured
from ownmark.ingest.fit import reader as fit
from ownmark.ingest.recording import ACCELERATION, ANGULAR_RATE, HEART_RATE, Source

from tests.makers import fit_files as make
from tests.makers.fit_files import NINE_OCLOCK, FitWriter, pulse, records
from tests.makers.sheets import texts

GYRO, ACCEL, CALIBRATION = 164, 165, 167
ONE = 65_535  # the whole of an orientation matrix
STAY = (ONE, 0, 0, 0, ONE, 0, 0, 0, ONE)


def read(data):
    return fit.read(data, Source("chest.fit"))


class Plain(FitFileDataProcessor):
    """Leave stamps as numbers."""

    def process_type_date_time(self, field_data):
        """Seconds since the format's epoch."""


def by_fitparse(data, message, fields, over=1.0):
    """Times [s] and values of every sample, one message after the other, without numpy's help."""
    times, values = [], []
    for found in fitparse.FitFile(data, data_processor=Plain()).get_messages(message):
        known = found.get_values()
        base = known["timestamp"] + known["timestamp_ms"] / 1000
        for place, offset in enumerate(known["sample_time_offset"]):
            times.append(base + offset / 1000)
            values.append([known[field][place] / over for field in fields])
    return np.array(times), np.array(values)


def by_fit_tool(*, compressed=False, gyro=False, seconds=6, rate=25):
    """One message a second, as fit-tool writes it."""
    from fit_tool.fit_file_builder import FitFileBuilder
    from fit_tool.profile.messages.accelerometer_data_message import AccelerometerDataMessage
    from fit_tool.profile.messages.file_id_message import FileIdMessage
    from fit_tool.profile.messages.gyroscope_data_message import GyroscopeDataMessage

    builder = FitFileBuilder(auto_define=True)
    builder.add(FileIdMessage())
    for second in range(seconds):
        message = GyroscopeDataMessage() if gyro else AccelerometerDataMessage()
        message.timestamp = (NINE_OCLOCK + make.EPOCH_UNIX_S + second) * 1000
        message.timestamp_ms = 7 * second
        message.sample_time_offset = [place * 1000 // rate for place in range(rate)]
        waves = [np.sin(np.arange(rate) / 4 + second + axis) for axis in range(3)]
        for axis, wave in zip("xyz", waves, strict=True):
            if compressed:
                setattr(
                    message, f"compressed_calibrated_accel_{axis}", [round(1000 * value) for value in wave.tolist()]
                )
            elif gyro:
                setattr(message, f"calibrated_gyro_{axis}", (200 * wave).tolist())
            else:
                setattr(message, f"calibrated_accel_{axis}", wave.tolist())
        builder.add(message)
    return builder.build_bytes()


@pytest.mark.parametrize(
    ("made", "message", "fields", "over", "name"),
    [
        ({}, "accelerometer_data", "calibrated_accel_", 1.0, ACCELERATION),
        ({"compressed": True}, "accelerometer_data", "compressed_calibrated_accel_", 1000.0, ACCELERATION),
        ({"gyro": True}, "gyroscope_data", "calibrated_gyro_", 1.0, ANGULAR_RATE),
    ],
    ids=["g", "thousandths of g", "deg per s"],
)
def test_calibrated_movement_is_what_fitparse_reads(made, message, fields, over, name):
    data = by_fit_tool(**made)
    recording = read(data)
    times, values = by_fitparse(data, message, [fields + axis for axis in "xyz"], over)
    stream = recording[name]
    assert recording.names == (name,)
    assert len(stream) == 150
    np.testing.assert_allclose(stream.time, times - times[0], atol=1e-6)
    np.testing.assert_array_equal(stream.values, values)
    assert recording.start.isoformat() == "2025-10-25T09:00:00+00:00"
    assert texts(recording.notes) == ()


def accelerations(*, form="calibrated", samples=4, big_endian=False):
    """A writer with a definition of accelerometer messages: stamp, ms, offsets, three axes."""
    first, base = {"calibrated": (5, make.FLOAT32), "compressed": (8, make.SINT16), "raw": (2, make.UINT16)}[form]
    size = samples * (4 if base == make.FLOAT32 else 2)
    fields = [(make.STAMP, make.UINT32), (0, make.UINT16), (1, make.UINT16, 2 * samples)]
    fields += [(first + axis, base, size) for axis in range(3)]
    return FitWriter().define(0, ACCEL, fields, big_endian=big_endian)


def calibrated_by(writer, factor, divisor, shift, offset, orientation, *, local=1, sensor=0):
    """A calibration message."""
    fields = [(0, make.ENUM), (1, make.UINT32), (2, make.UINT32), (3, make.UINT32)]
    fields += [(4, make.SINT32, 12), (5, make.SINT32, 36)]
    return writer.define(local, CALIBRATION, fields).data(local, sensor, factor, divisor, shift, offset, orientation)


OFFSETS = (0, 10, 20, 30)


@pytest.mark.parametrize("big_endian", [False, True])
def test_a_file_that_holds_only_acceleration_is_read(big_endian):
    writer = accelerations(big_endian=big_endian)
    writer.data(0, NINE_OCLOCK, 500, OFFSETS, (0.0, 0.25, 0.5, 0.75), (0.0,) * 4, (1.0, 1.0, 1.0, -1.5))
    stream = read(writer.whole())[ACCELERATION]
    assert stream.time.tolist() == [0, 0.01, 0.02, 0.03]
    assert stream.values.tolist() == [[0, 0, 1], [0.25, 0, 1], [0.5, 0, 1], [0.75, 0, -1.5]]


def test_raw_counts_become_g_by_the_calibration_before_them():
    # orientation · (raw - level shift - offset) · factor / divisor; x and y change places, z is turned round.
    turn = (0, ONE, 0, ONE, 0, 0, 0, 0, -ONE)
    writer = calibrated_by(accelerations(form="raw"), 2, 4096, 32768, (10, -20, 30), turn)
    counts = (32768 + 10 + 2048,) * 4, (32768 - 20 + 1024,) * 4, (32768 + 30 + 512, 32768 + 30, 65534, 32768 + 30)
    writer.data(0, NINE_OCLOCK, 0, OFFSETS, *counts)
    calibrated_by(writer, 1, 1024, 32768, (0, 0, 0), STAY)
    writer.data(0, NINE_OCLOCK + 1, 0, OFFSETS, (33792,) * 4, (32768,) * 4, (31744,) * 4)
    recording = read(writer.whole())
    third = (65534 - 32768 - 30) * 2 / 4096
    expected = [[0.5, 1, -0.25], [0.5, 1, 0], [0.5, 1, -third], [0.5, 1, 0]] + [[1, 0, -1]] * 4
    np.testing.assert_allclose(recording[ACCELERATION].values, expected, rtol=1e-12)
    assert texts(recording.notes) == ()


def test_the_calibration_of_another_sensor_does_not_count():
    writer = calibrated_by(accelerations(form="raw"), 2, 4096, 32768, (0, 0, 0), STAY, sensor=1)
    writer.data(0, NINE_OCLOCK, 0, OFFSETS, (33000,) * 4, (33000,) * 4, (33000,) * 4)
    with pytest.raises(NothingMeasured, match="without a calibration"):
        read(writer.whole())


def test_raw_counts_without_a_calibration_are_left_out_and_counted():
    writer = records(pulse(30))
    fields = [(make.STAMP, make.UINT32), (0, make.UINT16), (1, make.UINT16, 8)]
    writer.define(1, ACCEL, [*fields, *((axis, make.UINT16, 8) for axis in (2, 3, 4))])
    for second in range(3):
        writer.data(1, NINE_OCLOCK + second, 0, OFFSETS, (9,) * 4, (9,) * 4, (9,) * 4)
    recording = read(writer.whole())
    assert recording.names == (HEART_RATE,)
    assert texts(recording.notes) == (
        "Left out: the acceleration in 3 messages, because it is raw counts without a calibration and not in g.",
    )


def test_a_calibration_without_a_divisor_or_a_level_shift_is_none():
    for divisor, shift in ((0, 32768), (0xFFFFFFFF, 32768), (4096, 0xFFFFFFFF)):
        writer = calibrated_by(accelerations(form="raw"), 2, divisor, shift, (0, 0, 0), STAY)
        writer.data(0, NINE_OCLOCK, 0, OFFSETS, (33000,) * 4, (33000,) * 4, (33000,) * 4)
        with pytest.raises(NothingMeasured, match="not in g"):
            read(writer.whole())


def test_a_message_that_is_not_full_adds_no_samples():
    # The last message of a recording fills its arrays up with "no value".
    nothing = float("nan")
    writer = accelerations()
    writer.data(0, NINE_OCLOCK, 0, OFFSETS, (0.1,) * 4, (0.2,) * 4, (0.3,) * 4)
    writer.data(0, NINE_OCLOCK, 40, (0, 10, 65535, 65535), *((value, value, nothing, nothing) for value in (1, 2, 3)))
    stream = read(writer.whole())[ACCELERATION]
    assert stream.time.tolist() == [0, 0.01, 0.02, 0.03, 0.04, 0.05]
    assert not np.isnan(stream.values).any()


def test_a_sample_without_a_value_keeps_its_place():
    writer = accelerations(form="compressed")
    writer.data(0, NINE_OCLOCK, 0, OFFSETS, (1000, 0x7FFF, 0, 0), (0,) * 4, (-1000,) * 4)
    stream = read(writer.whole())[ACCELERATION]
    assert stream.time.tolist() == [0, 0.01, 0.02, 0.03]
    np.testing.assert_array_equal(stream.values[:2], [[1, 0, -1], [np.nan, 0, -1]])


def test_samples_without_offsets_are_spread_over_the_second_and_a_note_says_so():
    fields = [(make.STAMP, make.UINT32), *((axis, make.FLOAT32, 40) for axis in (5, 6, 7))]
    writer = FitWriter().define(0, ACCEL, fields)
    for second in range(20):
        wave = tuple(np.sin(np.arange(10) + second).tolist())
        writer.data(0, NINE_OCLOCK + second, wave, (0.0,) * 10, (1.0,) * 10)
    recording = read(writer.whole())
    np.testing.assert_allclose(recording[ACCELERATION].time, np.arange(200) / 10, atol=1e-6)
    assert "spread evenly" in texts(recording.notes)[0]
    assert "duplicate_stamp" not in recording[ACCELERATION].flag_counts()


def test_several_messages_a_second_without_milliseconds_follow_each_other():
    fields = [(make.STAMP, make.UINT32), (1, make.UINT16, 8), *((axis, make.FLOAT32, 16) for axis in (5, 6, 7))]
    writer = FitWriter().define(0, ACCEL, fields)
    for message in range(80):
        wave = tuple(np.sin(np.arange(4) + message).tolist())
        writer.data(0, NINE_OCLOCK + message // 4, (0, 62, 125, 187), wave, (0.0,) * 4, (1.0,) * 4)
    recording = read(writer.whole())
    np.testing.assert_allclose(np.diff(recording[ACCELERATION].time), 0.0625, atol=1e-3)
    assert "backward_stamp" not in recording[ACCELERATION].flag_counts()


def test_heart_rate_and_movement_of_one_file_share_their_clock():
    writer = records(pulse(20), start=NINE_OCLOCK + 5)
    fields = [(make.STAMP, make.UINT32), (0, make.UINT16), (1, make.UINT16, 2)]
    writer.define(1, ACCEL, [*fields, *((axis, make.FLOAT32) for axis in (5, 6, 7))])
    writer.define(2, GYRO, [*fields, *((axis, make.FLOAT32) for axis in (5, 6, 7))])
    writer.data(1, NINE_OCLOCK + 2, 250, 0, 0.0, 0.0, 1.0).data(2, NINE_OCLOCK + 30, 0, 0, 90.0, 0.0, 0.0)
    recording = read(writer.whole())
    assert recording.names == (HEART_RATE, ACCELERATION, ANGULAR_RATE)
    assert recording.start.isoformat() == "2025-10-25T09:00:02.250000+00:00"
    assert recording[ACCELERATION].time.tolist() == [0]
    assert recording[HEART_RATE].time[0] == 2.75
    assert recording[ANGULAR_RATE].time.tolist() == [27.75]


def test_a_file_cut_off_inside_a_message_keeps_the_samples_before_it():
    data = by_fit_tool()
    assert len(read(data[: len(data) - 150])[ACCELERATION]) == 125


def test_messages_of_several_layouts_keep_the_order_of_the_file():
    writer = accelerations()
    narrow = [(make.STAMP, make.UINT32), (0, make.UINT16), (1, make.UINT16)]
    writer.define(3, ACCEL, [*narrow, *((axis, make.FLOAT32) for axis in (5, 6, 7))])
    for second in range(4):
        writer.data(0, NINE_OCLOCK + second, 0, OFFSETS, (float(second),) * 4, (0.0,) * 4, (1.0,) * 4)
        writer.data(3, NINE_OCLOCK + second, 40, 0, float(second), 0.0, 1.0)
    stream = read(writer.whole())[ACCELERATION]
    assert stream.values[:, 0].tolist() == np.repeat([0.0, 1.0, 2.0, 3.0], 5).tolist()
    assert "backward_stamp" not in stream.flag_counts()


def test_twenty_minutes_of_100_samples_a_second_take_no_time_that_a_person_notices():
    writer = accelerations(samples=25)
    wave = tuple(np.sin(np.arange(25)).tolist())
    offsets = tuple(range(0, 250, 10))
    for message in range(4800):
        writer.data(0, NINE_OCLOCK + message // 4, 250 * (message % 4), offsets, wave, wave, wave)
    data = writer.whole(crc=0)
    begin = time.process_time()
    assert len(read(data)[ACCELERATION]) == 120_000
    assert time.process_time() - begin < 0.5
