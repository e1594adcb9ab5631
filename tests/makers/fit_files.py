"""FIT files for tests: realistic ones through fit-tool, and every peculiarity through an own small writer.

The own writer shares nothing with the reader under test: its checksum, type table and packing are its own.
"""

import struct
from collections.abc import Iterable, Sequence

EPOCH_UNIX_S = 631_065_600  # the format counts from 1989-12-31 00:00 UTC
NINE_OCLOCK = 1_130_317_200  # 2025-10-25 09:00 UTC, in seconds of the format
FILE_ID, LAP, RECORD, EVENT, DEVICE_INFO, ACTIVITY, HRV, HR = 0, 19, 20, 21, 23, 34, 78, 132
FIELD_DESCRIPTION, DEVELOPER_DATA_ID = 206, 207
STAMP = 253
ENUM, SINT8, UINT8, SINT16, UINT16, SINT32, UINT32 = 0x00, 0x01, 0x02, 0x83, 0x84, 0x85, 0x86
STRING, FLOAT32, FLOAT64, UINT8Z, UINT16Z, UINT32Z, BYTE = 0x07, 0x88, 0x89, 0x0A, 0x8B, 0x8C, 0x0D
SINT64, UINT64, UINT64Z = 0x8E, 0x8F, 0x90
CODES = {
    ENUM: "B",
    SINT8: "b",
    UINT8: "B",
    SINT16: "h",
    UINT16: "H",
    SINT32: "i",
    UINT32: "I",
    STRING: "s",
    FLOAT32: "f",
    FLOAT64: "d",
    UINT8Z: "B",
    UINT16Z: "H",
    UINT32Z: "I",
    BYTE: "B",
    SINT64: "q",
    UINT64: "Q",
    UINT64Z: "Q",
}

FieldOf = tuple[int, int] | tuple[int, int, int]


def checksum(data: bytes) -> int:
    """CRC-16/ARC bit by bit, from its definition (polynomial 0x8005 reflected, start 0)."""
    crc = 0
    for octet in data:
        crc ^= octet
        for _ in range(8):
            crc = crc >> 1 ^ 0xA001 if crc & 1 else crc >> 1
    return crc


class FitWriter:
    """Collects messages; ``whole`` puts header and checksum around them."""

    def __init__(self) -> None:
        self.body = bytearray()
        self.ends: list[int] = []  # where in the body each data message ends
        self._codes: dict[int, tuple[str, list[str]]] = {}

    def define(
        self,
        local: int,
        message: int,
        fields: Sequence[FieldOf],
        *,
        developer: Sequence[tuple[int, int, int]] = (),
        big_endian: bool = False,
    ) -> "FitWriter":
        """Write a definition. A field is (number, base type[, size]); a developer field (number, size, index)."""
        order = ">" if big_endian else "<"
        self.body += bytes([0x40 | (0x20 if developer else 0) | local, 0, big_endian])
        self.body += struct.pack(f"{order}HB", message, len(fields))
        codes = []
        for number, base, *given in fields:
            single = struct.calcsize("<" + CODES.get(base, "B"))
            size = given[0] if given else single
            self.body += bytes([number, size, base])
            text = base == STRING or size % single
            codes.append(f"{size}s" if text else f"{size // single}{CODES.get(base, 'B')}")
        if developer:
            self.body += bytes([len(developer), *(octet for entry in developer for octet in entry)])
            codes += [f"{size}s" for _, size, _ in developer]
        self._codes[local] = order, codes
        return self

    def data(self, local: int, *values: object, compressed: int | None = None) -> "FitWriter":
        """Write a data message, one value (or tuple, or bytes) a field; ``compressed`` is a five-bit offset."""
        order, codes = self._codes[local]
        self.body.append(local if compressed is None else 0x80 | local << 5 | compressed)
        for code, value in zip(codes, values, strict=True):
            self.body += struct.pack(order + code, *(value if isinstance(value, tuple) else (value,)))
        self.ends.append(len(self.body))
        return self

    def whole(
        self,
        *,
        header_size: int = 14,
        header_crc: bool = True,
        data_size: int | None = None,
        crc: int | None = None,
    ) -> bytes:
        """The file's bytes; a header of 14 bytes carries its own checksum, or 0."""
        size = len(self.body) if data_size is None else data_size
        head = struct.pack("<BBHI4s", header_size, 0x20, 2132, size, b".FIT")
        if header_size >= 14:
            head += struct.pack("<H", checksum(head) if header_crc else 0) + bytes(header_size - 14)
        data = head + self.body
        return data + struct.pack("<H", checksum(data) if crc is None else crc)


def pulse(seconds: int) -> list[int]:
    """A plausible heart rate, one a second: a rise from rest to work and slow waves on it."""
    return [round(80 + 60 * (1 - 2.718281828 ** (-second / 90))) + second % 13 // 4 for second in range(seconds)]


def beats_of(bpm: Sequence[int]) -> list[list[float]]:
    """The RR intervals [s] that end within each second, filled up with "no value" to five, as devices write them."""
    found: list[list[float]] = []
    last = 0.0
    for second, rate in enumerate(bpm):
        interval = round(60 / rate, 3)
        count = max(0, int((second + 1 - last) / interval))
        last += count * interval
        found.append(([interval] * count + [65.535] * 5)[:5])
    return found


def records(bpm: Iterable[int], *, start: int = NINE_OCLOCK, big_endian: bool = False) -> FitWriter:
    """1 Hz records of stamp and heart rate."""
    writer = FitWriter().define(0, RECORD, [(STAMP, UINT32), (3, UINT8)], big_endian=big_endian)
    for second, value in enumerate(bpm):
        writer.data(0, start + second, value)
    return writer


def packed_ticks(ticks: Sequence[int]) -> tuple[int, ...]:
    """Event counters of 12 bits, two in three bytes, low bits first (the profile's event_timestamp_12)."""
    number = 0
    for place, tick in enumerate(ticks):
        number |= (tick & 0xFFF) << 12 * place
    return tuple(number.to_bytes(len(ticks) * 12 // 8, "little"))


def swim_events(
    bpm: Sequence[int], ticks: Sequence[int], *, start: int = NINE_OCLOCK, big_endian: bool = False
) -> FitWriter:
    """``hr`` messages: the first ties the counter to the clock, the others pack eight events each.

    ``ticks`` are in 1/1024 s; 1 + 8 n values.
    """
    writer = FitWriter()
    writer.define(0, HR, [(STAMP, UINT32), (0, UINT16), (9, UINT32), (6, UINT8)], big_endian=big_endian)
    writer.data(0, start, 16384, ticks[0], bpm[0])
    writer.define(1, HR, [(6, UINT8, 8), (10, BYTE, 12)], big_endian=big_endian)
    for first in range(1, len(ticks), 8):
        writer.data(1, tuple(bpm[first : first + 8]), packed_ticks(ticks[first : first + 8]))
    return writer


def strap_session(
    seconds: int,
    *,
    fields: bool = True,
    rr: bool = False,
    one_local: bool = False,
    developer: bool = False,
    acceleration: bool = False,
    offset_h: float = 2.0,
) -> bytes:
    """A lesson as a strap and watch write it, encoded by fit-tool 0.9.16 (a library of its own).

    A button press at one third and two laps; with ``one_local`` every kind of message redefines local type 0.
    """
    from fit_tool.fit_file_builder import FitFileBuilder
    from fit_tool.profile.messages.activity_message import ActivityMessage
    from fit_tool.profile.messages.event_message import EventMessage
    from fit_tool.profile.messages.file_id_message import FileIdMessage
    from fit_tool.profile.messages.hrv_message import HrvMessage
    from fit_tool.profile.messages.lap_message import LapMessage
    from fit_tool.profile.messages.record_message import RecordMessage
    from fit_tool.profile.profile_type import Event, EventType, FileType

    builder = FitFileBuilder(auto_define=True)
    begin_ms = (NINE_OCLOCK + EPOCH_UNIX_S) * 1000

    def add(kind, local, **values):
        message = kind(local_id=0 if one_local else local)
        for name, value in values.items():
            setattr(message, name, value)
        builder.add(message)

    add(FileIdMessage, 0, type=FileType.ACTIVITY, manufacturer=1, product=7, time_created=begin_ms, serial_number=8151)
    if developer:
        _developer_messages(builder)
    add(EventMessage, 1, timestamp=begin_ms, event=Event.TIMER, event_type=EventType.START)
    beats = beats_of(pulse(seconds))
    for second, bpm in enumerate(pulse(seconds)):
        stamp = begin_ms + second * 1000
        own = [_developer_field(second % 100)] if developer else None
        message = RecordMessage(local_id=0 if one_local else 2, developer_fields=own)
        message.timestamp = stamp
        message.heart_rate = bpm
        if fields:
            message.cadence = 60 + second % 7
            message.temperature = 19 + second // 600
        builder.add(message)
        if rr:
            add(HrvMessage, 3, time=beats[second])
        if acceleration and second % 5 == 0:
            _acceleration(builder, stamp)
        if second == seconds // 3:
            add(EventMessage, 1, timestamp=stamp, event=Event.USER_MARKER, event_type=EventType.MARKER)
    end_ms = begin_ms + (seconds - 1) * 1000
    half = seconds // 2
    add(LapMessage, 5, timestamp=begin_ms + half * 1000, start_time=begin_ms, total_elapsed_time=float(half))
    rest = float(seconds - 1 - half)
    add(LapMessage, 5, timestamp=end_ms, start_time=begin_ms + half * 1000, total_elapsed_time=rest)
    add(EventMessage, 1, timestamp=end_ms, event=Event.TIMER, event_type=EventType.STOP_ALL)
    local_stamp = NINE_OCLOCK + seconds - 1 + round(offset_h * 3600)
    add(ActivityMessage, 6, timestamp=end_ms, total_timer_time=float(seconds), local_timestamp=local_stamp)
    return builder.build_bytes()


def _developer_messages(builder) -> None:
    from fit_tool.base_type import BaseType
    from fit_tool.profile.messages.developer_data_id_message import DeveloperDataIdMessage
    from fit_tool.profile.messages.field_description_message import FieldDescriptionMessage

    owner = DeveloperDataIdMessage(local_id=7)
    owner.developer_data_index = 0
    owner.application_id = bytes(range(16))
    builder.add(owner)
    field = FieldDescriptionMessage(local_id=8)
    field.developer_data_index, field.field_definition_number = 0, 0
    field.fit_base_type_id, field.field_name, field.units = BaseType.UINT8.value, "balance", "%"
    builder.add(field)


def _developer_field(value: int):
    from fit_tool.base_type import BaseType
    from fit_tool.developer_field import DeveloperField

    field = DeveloperField(developer_data_index=0, field_id=0, name="balance", base_type=BaseType.UINT8, size=1)
    field.set_value(0, value)
    return field


def _acceleration(builder, stamp_ms: int) -> None:
    from fit_tool.profile.messages.accelerometer_data_message import AccelerometerDataMessage

    message = AccelerometerDataMessage(local_id=9)
    message.timestamp, message.timestamp_ms = stamp_ms, 0
    message.sample_time_offset = [0, 10, 20, 30]
    message.accel_x, message.accel_y, message.accel_z = [1, 2, 3, 4], [5, 6, 7, 8], [9, 10, 11, 12]
    builder.add(message)
