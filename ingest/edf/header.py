"""The header of an EDF file: where everything lies, and what each channel is called. No value is decoded here.

All fields are ASCII at fixed places: 256 bytes for the file, then 256 for each channel, field by field. Names of the
patient and of the recording, transducers and filters are not read at all.

Source: Kemp and others (1992); the offsets are those of the trade tables, 11.12.
"""

import re
from dataclasses import dataclass
from datetime import date, time

FIXED = 256
ANNOTATIONS = b"EDF Annotations"
VERSION = b"0       "
_START = re.compile(rb"([ \d]\d)[-.:/' ]([ \d]\d)[-.:/' ]([ \d]\d)")
_PLUS_DATE = re.compile(rb"Startdate (?:(\d\d)-([A-Z]{3})-(\d{4})|X)(?: |$)", re.IGNORECASE)
_MONTHS = "JAN FEB MAR APR MAY JUN JUL AUG SEP OCT NOV DEC".split()
_NOBODYS_DAY = date(1985, 1, 1)  # what programs write to keep a date to themselves; the format's first day
_WHOLE = re.compile(rb" *[+-]?\d{1,8} *")
_MOST_CHANNELS = 4096
_FIELDS = (16, 80, 8, 8, 8, 8, 8, 80, 8, 32)
"""Widths of a channel's fields: label, transducer, dimension, physical and digital limits, filter, samples, rest."""


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel: label, dimension (unit), samples in a record, where in it they begin [bytes].

    ``scaled`` tells that the header states how to get from whole numbers to the dimension, ``notes`` that the channel
    holds times and marks and no samples.
    """

    label: str
    dimension: str
    samples: int
    offset: int
    scaled: bool
    notes: bool = False


@dataclass(frozen=True, slots=True)
class Header:
    """Layout of a file. ``stated_records`` is -1 where the device did not live to write it."""

    channels: tuple[Channel, ...]
    size: int
    record_size: int
    stated_records: int
    record_s: float
    plus: bool
    interrupted: bool

    @property
    def annotated(self) -> tuple[Channel, ...]:
        """The channels that hold times and marks."""
        return tuple(channel for channel in self.channels if channel.notes)


def looks_like_edf(head: bytes) -> bool:
    """Tell an EDF file by its version, its start, and a header size that fits its number of channels."""
    count = _whole(head[252:256])
    return (
        len(head) >= FIXED
        and head.startswith(VERSION)
        and count is not None
        and 0 < count <= _MOST_CHANNELS
        and _whole(head[184:192]) == FIXED * (count + 1)
        and _number(head[244:252]) is not None
    )


def parse_header(data: bytes) -> Header | None:
    """The layout; None if the header is cut off or a field of it that everything hangs on cannot be read."""
    count, record_s, records = _whole(data[252:256]), _number(data[244:252]), _whole(data[236:244])
    if count is None or not 0 < count <= _MOST_CHANNELS or len(data) < FIXED * (count + 1):
        return None
    if record_s is None or not 0 <= record_s < 1e6:
        return None
    channels: list[Channel] = []
    offset = 0
    for number in range(count):
        label, _, dimension, *limits, _, samples, _ = _fields_of(data, count, number)
        held = _whole(samples)
        if held is None or held < 0:
            return None
        notes = label.rstrip() == ANNOTATIONS
        channels.append(Channel(_text(label), _text(dimension), held, offset, _scaled(limits), notes))
        offset += 2 * held
    reserved = data[192:236]
    return Header(
        channels=tuple(channels),
        size=FIXED * (count + 1),
        record_size=offset,
        stated_records=-1 if records is None else records,
        record_s=record_s,
        plus=reserved.startswith(b"EDF+"),
        interrupted=reserved.startswith(b"EDF+D"),
    )


def start_of(data: bytes) -> tuple[date | None, time | None]:
    """Day and time of day of the first record, each None where the header keeps it or it cannot be read.

    EDF+ writes the whole year into the recording's field, of which nothing else is looked at; the old field has two
    digits, of which 85 to 99 are of the last century.
    """
    clock, told = _START.fullmatch(data[176:184]), _PLUS_DATE.match(data[88:168])
    day = _day_of(data[168:176]) if told is None else _plus_day(told)
    return None if day == _NOBODYS_DAY else day, _clock(*map(int, clock.groups())) if clock else None


def _day_of(field: bytes) -> date | None:
    """The day in dd.mm.yy."""
    match = _START.fullmatch(field)
    if match is None:
        return None
    day, month, year = map(int, match.groups())
    return _day(year + (1900 if year >= 85 else 2000), month, day)


def _plus_day(told: re.Match[bytes]) -> date | None:
    """The day in dd-MMM-yyyy; None where it is X."""
    month = (told[2] or b"").decode().upper()
    return _day(int(told[3]), _MONTHS.index(month) + 1, int(told[1])) if month in _MONTHS else None


def _day(year: int, month: int, day: int) -> date | None:
    """A day, None where there is no such one."""
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _clock(hour: int, minute: int, second: int) -> time | None:
    """A time of day, None where there is no such one."""
    try:
        return time(hour, minute, second)
    except ValueError:
        return None


def _fields_of(data: bytes, count: int, number: int) -> list[bytes]:
    """A channel's fields; the header holds each field for all channels in turn."""
    place, fields = FIXED, []
    for width in _FIELDS:
        fields.append(data[place + width * number : place + width * (number + 1)])
        place += width * count
    return fields


def _scaled(limits: list[bytes]) -> bool:
    """Tell whether physical and digital limits can be read and span something."""
    low, high = _number(limits[0]), _number(limits[1])
    first, last = _whole(limits[2]), _whole(limits[3])
    return None not in (low, high, first, last) and low != high and first != last


def _text(field: bytes) -> str:
    """A label or dimension; bytes that are no ASCII are taken for Latin-1, as some devices write µ and ²."""
    return field.decode("latin-1").strip(" \0")


def _whole(field: bytes) -> int | None:
    """A whole number, None where the field holds none."""
    return int(field) if _WHOLE.fullmatch(field) else None


def _number(field: bytes) -> float | None:
    """A finite number, None where the field holds none."""
    text = field.decode("latin-1").strip(" ")
    if not re.fullmatch(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?", text, re.ASCII):
        return None
    return float(text)
