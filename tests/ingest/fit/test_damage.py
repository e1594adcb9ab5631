"""A FIT file cut anywhere, changed anywhere, or made to overwhelm a reader: kept as far as it goes, and said."""

import struct
import tracemalloc
from functools import cache

import numpy as np
import pytest
from ownmark.errors import DamagedFile, IngestError, NothingMeasured
from ownmark.ingest.fit import reader as fit
from ownmark.ingest.recording import HEART_RATE, RR_INTERVAL, Recording, Source

from tests.each import for_each
from tests.makers import fit_files as make
from tests.makers.fit_files import NINE_OCLOCK, FitWriter, pulse, records
from tests.makers.sheets import texts

RECORD_FIELDS = [(make.STAMP, make.UINT32), (3, make.UINT8)]
FIRST_MESSAGE = 14


def read(data):
    return fit.read(data, Source("strap.fit"))


@cache
def lesson():
    """About 600 bytes of every kind that is read, and how many records and intervals stand before each byte."""
    writer = FitWriter().define(0, make.FILE_ID, [(0, make.ENUM), (3, make.UINT32Z)]).data(0, 4, 8151)
    writer.define(1, make.RECORD, [*RECORD_FIELDS, (4, make.UINT8)])
    writer.define(2, make.HRV, [(0, make.UINT16, 6)])
    writer.define(3, make.EVENT, [(make.STAMP, make.UINT32), (0, make.ENUM), (1, make.ENUM)])
    writer.define(4, make.LAP, [(make.STAMP, make.UINT32), (2, make.UINT32), (7, make.UINT32)])
    writer.data(3, NINE_OCLOCK, 0, 0)
    kept = []  # (place behind the message, records so far, intervals so far)
    for second, rate in enumerate(pulse(26)):
        writer.data(1, NINE_OCLOCK + second, rate, 60)
        kept.append((writer.ends[-1], second + 1, second))
        writer.data(2, (60_000 // rate, 65535, 65535))
        kept.append((writer.ends[-1], second + 1, second + 1))
        if second == 12:
            writer.data(4, NINE_OCLOCK + 12, NINE_OCLOCK, 12_000)
    writer.data(3, NINE_OCLOCK + 26, 0, 4)
    return writer.whole(), kept


CUTS = range(len(lesson()[0]))


@for_each(CUTS)
def test_a_file_cut_at_any_byte_keeps_every_whole_message_before_the_cut(cut):
    data, kept = lesson()
    beats = [(many, intervals) for end, many, intervals in kept if FIRST_MESSAGE + end <= cut]
    if not beats:
        with pytest.raises((DamagedFile, NothingMeasured)):
            read(data[:cut])
        return
    recording = read(data[:cut])
    assert recording[HEART_RATE].values.tolist() == pulse(26)[: beats[-1][0]]
    intervals = recording[RR_INTERVAL] if beats[-1][1] else ()
    assert len(intervals) == beats[-1][1]
    missing = len(data) - cut
    said = f"The file is cut off {missing} byte{'s' * (missing > 1)} before its end. What came before is kept."
    assert texts(recording.notes) == (said,)


def test_the_whole_file_carries_no_note():
    recording = read(lesson()[0])
    assert texts(recording.notes) == ()
    assert (len(recording[HEART_RATE]), len(recording[RR_INTERVAL]), len(recording.marks)) == (26, 26, 3)


@pytest.mark.parametrize("bit", range(8))
def test_no_changed_bit_passes_unnoticed_or_breaks_the_reader(bit):
    # A checksum of 16 bits finds every single changed bit.
    data = bytearray(lesson()[0])
    for place in range(len(data)):
        data[place] ^= 1 << bit
        try:
            recording = read(bytes(data))
        except IngestError:
            continue
        finally:
            data[place] ^= 1 << bit
        assert texts(recording.notes), place


def test_a_wrong_checksum_keeps_all_and_says_so():
    data = lesson()[0]
    recording = read(data[:-2] + b"\x12\x34")
    assert len(recording[HEART_RATE]) == 26
    assert texts(recording.notes) == (
        "The checksum is wrong: some bytes are not what the device wrote. Check the values.",
    )


@pytest.mark.parametrize("tail", [b"\0", b"\0" * 512, b".FIT", b"not a file of this kind, and long enough"])
def test_bytes_behind_the_end_are_left_and_counted(tail):
    recording = read(lesson()[0] + tail)
    assert len(recording[HEART_RATE]) == 26
    count = f"{len(tail)} byte{'s' * (len(tail) > 1)}"
    assert texts(recording.notes) == (f"Not read: {count} after the end of the recording.",)


def test_what_stands_behind_nonsense_is_counted():
    writer = records([80] * 10)
    nonsense = len(writer.body)
    writer.body += b"\x0f" + bytes(30)  # a data message of a type that was never defined
    recording = read(writer.whole())
    assert len(recording[HEART_RATE]) == 10
    assert texts(recording.notes) == (
        f"Not read: 31 bytes from byte {FIRST_MESSAGE + nonsense} on, where the bytes make no sense. "
        "What came before is kept.",
    )


def test_damage_in_one_chained_file_leaves_the_next_whole():
    first = records([80] * 10)
    first.body += b"\x0f" + bytes(30)
    recording = read(first.whole() + records([90] * 10, start=NINE_OCLOCK + 60).whole())
    assert recording[HEART_RATE].values.tolist() == [80] * 10 + [90] * 10
    assert len(texts(recording.notes)) == 1


def test_a_file_cut_short_before_it_was_chained_leaves_the_next_whole():
    cut = records([80] * 10).whole()[:-5]
    recording = read(cut + records([90] * 10, start=NINE_OCLOCK + 60).whole())
    assert recording[HEART_RATE].values.tolist() == [80] * 9 + [90] * 10


@pytest.mark.parametrize("data", [b"", b"\x0e", b".FIT", bytes(12), bytes(8) + b".FIT", bytes(40)])
def test_a_file_with_nothing_in_it_is_damaged(data):
    with pytest.raises(DamagedFile, match="no message in it"):
        read(data)


def headed(body):
    """A body in a header without a length and without a checksum, as the largest trouble for a reader."""
    return b"\x0c\x20\x54\x08" + bytes(4) + b".FIT" + bytes(body)


def only_definitions(size):
    return headed(b"".join(b"\x40\0\0" + struct.pack("<HB", number & 0xFFFF, 0) for number in range(size // 6)))


def a_layout_for_every_message(size):
    one = b"".join(b"\x40\0\0" + struct.pack("<HB", number & 0xFFFF, 0) + b"\0" for number in range(size // 7))
    return headed(one)


def redefined_between_two_layouts(size):
    two = b"\x40\0\0\x14\0\0\0" + b"\x40\0\0\x15\0\0\0"
    return headed(two * (size // len(two)))


def header_bytes_alone(size):
    return headed(b"\x40\0\0\x14\0\0" + bytes(size))


def two_header_bytes_in_turn(size):
    return headed(b"\x40\0\0\x14\0\0\x41\0\0\x15\0\0" + b"\0\1" * (size // 2))


def header_bytes_in_no_order(size):
    places = np.random.default_rng(7).integers(0, 2, size, np.uint8)
    return headed(b"\x40\0\0\x14\0\0\x41\0\0\x15\0\0" + places.tobytes())


def runs_just_long_enough(size):
    return headed(b"\x40\0\0\x14\0\0\x41\0\0\x15\0\0" + (b"\0" * 17 + b"\1" * 17) * (size // 34))


def heart_rates_without_stamps(size):
    return headed(b"\x40\0\0\x14\0\1\3\1\2" + b"\0\x50" * (size // 2))


def intervals_of_one_beat(size):
    return headed(b"\x40\0\0\x4e\0\1\0\2\x84" + b"\0\x20\3" * (size // 3))


def events_of_one_beat(size):
    layout = b"\x40\0\0\x84\0\2\6\1\2\x0a\3\x0d"
    return headed(layout + b"\0\x50\1\2\3" * (size // 5))


def lost_beats_in_every_message(size):
    layout = b"\x40\0\0\x14\0\1\xfd\4\x86" + b"\x41\0\0\x4e\0\1\0\2\x84"
    stamps = (struct.pack("<BI", 0, NINE_OCLOCK + 10 * turn) + b"\1\x20\3" for turn in range(size // 8))
    return headed(layout + b"".join(stamps))


def presses_of_the_button(size):
    layout = b"\x40\0\0\x15\0\2\xfd\4\x86\0\1\0"
    return headed(layout + struct.pack("<BIB", 0, NINE_OCLOCK, 32) * (size // 6))


HOSTILE = [
    only_definitions,
    a_layout_for_every_message,
    redefined_between_two_layouts,
    header_bytes_alone,
    two_header_bytes_in_turn,
    header_bytes_in_no_order,
    runs_just_long_enough,
    heart_rates_without_stamps,
    intervals_of_one_beat,
    events_of_one_beat,
    lost_beats_in_every_message,
    presses_of_the_button,
]


def attempt(data):
    try:
        return read(data)
    except IngestError as refusal:
        return refusal


@pytest.mark.parametrize("hostile", HOSTILE)
def test_a_file_made_to_overwhelm_the_reader_costs_memory_in_proportion(hostile):
    large = hostile(160_000)
    assert isinstance(attempt(large), Recording | IngestError)
    tracemalloc.start()
    attempt(large)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 150 * len(large)


def test_a_definition_of_255_fields_of_255_bytes_is_one_layout():
    layout = b"\x40\0\0\x14\0\xff" + bytes(octet for number in range(255) for octet in (number, 255, 2))
    message = b"\0" + bytes([80]) * (255 * 255)
    refusal = attempt(headed(layout + message * 3 + message[:-1]))
    assert isinstance(refusal, NothingMeasured | Recording)
    with pytest.raises(DamagedFile):
        read(headed(layout + message[:-1]))


def test_more_messages_than_a_day_can_fill_are_read_up_to_there():
    # Ten million: a day of 100 samples a second, and some.
    data = headed(b"\x41\0\0\x03\0\0" + records([80] * 3).body + b"\1" * 10_000_100)
    recording = read(data)
    assert recording[HEART_RATE].values.tolist() == [80] * 3
    assert "more messages than a day" in texts(recording.notes)[-1]


def test_layouts_without_end_are_refused_before_they_fill_the_memory():
    layouts = b"".join(b"\x41\0\0" + struct.pack("<HB", 1000 + number, 0) + b"\1" for number in range(5000))
    recording = read(headed(records([80] * 3).body + layouts))
    assert recording[HEART_RATE].values.tolist() == [80] * 3
    assert "more message layouts than any device writes" in texts(recording.notes)[-1]
    assert read(headed(records([80] * 3).body + layouts[: 7 * 4000])).notes == recording.notes[:1]
