"""Hours of damage in minutes: changed, cut and swollen FIT files against the reader and against fitparse.

The reader must answer every one with a recording or a refusal, and must read at least what fitparse reads before
fitparse gives up. This is why there is no second reader to fall back on: it would add nothing.
"""

import math
import random
import time
from struct import error as struct_error

import fitparse
import pytest
from fitparse.processors import FitFileDataProcessor
from ownmark.errors import IngestError
from ownmark.ingest.fit import reader as fit
from ownmark.ingest.fit.chain import parts
from ownmark.ingest.fit.columns import Clock
from ownmark.ingest.fit.heart_rate import record_heart_rate
from ownmark.ingest.recording import Recording, Source

from tests.makers import fit_files as make
from tests.makers.fit_files import NINE_OCLOCK, FitWriter, pulse, records

pytestmark = pytest.mark.soak
SECONDS = 40.0
SOURCE = Source("strap.fit")


class Plain(FitFileDataProcessor):
    """Leave stamps as numbers."""

    def process_type_date_time(self, field_data):
        """Seconds since the format's epoch."""

    process_type_local_date_time = process_type_localtime_into_day = process_type_date_time


def compressed():
    writer = FitWriter().define(0, make.RECORD, [(make.STAMP, make.UINT32), (3, make.UINT8)])
    writer.define(1, make.RECORD, [(3, make.UINT8), (4, make.UINT8)]).data(0, NINE_OCLOCK, 100)
    for turn in range(40):
        writer.data(1, 100 + turn, 60, compressed=(NINE_OCLOCK + 3 * turn) % 32)
    return writer.whole()


def swim():
    ticks = [700 * beat for beat in range(33)]
    return make.swim_events([80 + beat for beat in range(33)], ticks).whole()


WHOLE = [
    make.strap_session(12),
    make.strap_session(9, rr=True),
    make.strap_session(8, one_local=True, rr=True),
    make.strap_session(8, developer=True),
    make.strap_session(11, acceleration=True),
    records(pulse(12), big_endian=True).whole(header_size=12),
    records(pulse(9)).whole() + records(pulse(7), start=NINE_OCLOCK + 100).whole(),
    compressed(),
    swim(),
]


def damaged(chance):
    """One of the files with one to eight changes; often with its checksums mended, so that decoders go on."""
    data = bytearray(chance.choice(WHOLE))
    for _ in range(chance.choice((1, 1, 1, 2, 3, 8))):
        place, kind = chance.randrange(len(data)), chance.random()
        if kind < 0.5:
            data[place] ^= 1 << chance.randrange(8)
        elif kind < 0.8:
            data[place] = chance.choice((0, 1, 2, 12, 14, 0x40, 0x80, 253, 255, chance.randrange(256)))
        elif kind < 0.9:
            del data[place : place + chance.randrange(1, 9)]
            data += b"" if data else b"\0"
        else:
            data[place:place] = chance.randbytes(chance.randrange(1, 5))
    if len(data) > 20 and chance.random() < 0.6:
        if data[0] == 14:
            data[12:14] = make.checksum(bytes(data[:12])).to_bytes(2, "little")
        data[-2:] = make.checksum(bytes(data[:-2])).to_bytes(2, "little")
    return bytes(data)


def answer(data):
    """The recording or the refusal; any other exception fails the test."""
    try:
        return fit.read(data, SOURCE)
    except IngestError as refusal:
        return refusal


def number(value):
    """A plain number out of what either decoder says; None for none."""
    value = value[0] if isinstance(value, tuple) else value
    return None if value is None or math.isnan(value) else float(value)


def by_fitparse(data):
    """Heart rates of records up to the first error, without a message that runs over the stated end of its file.

    Stamps are not compared: fitparse counts compressed ones from 1989 where no full one came before.
    """
    found = []
    try:
        with fitparse.FitFile(data, data_processor=Plain()) as file:
            for message in file.get_messages("record"):
                rate = message.get("heart_rate")
                if file._bytes_left < 0:
                    break
                if rate is not None:
                    found.append(number(rate.raw_value))
    except (fitparse.FitParseError, TypeError, KeyError, ValueError, struct_error, AttributeError, IndexError):
        pass
    return found


def by_ours(data):
    found = []
    for part in parts(data, []):
        (_, bpm), _ = record_heart_rate(data, part, Clock(data, part))
        found += [number(value) for value in bpm.tolist()]
    return found


@pytest.mark.parametrize("seed", range(4))
def test_damaged_files_give_a_recording_or_a_refusal_and_at_least_what_fitparse_reads(seed):
    chance = random.Random(seed)
    until, files, beyond = time.monotonic() + SECONDS / 4, 0, 0
    while time.monotonic() < until:
        data = damaged(chance)
        assert isinstance(answer(data), Recording | IngestError)
        if data.count(b".FIT") > 1:
            continue  # where a chained file is cut, fitparse reads on into the next one's header
        theirs, ours = by_fitparse(data), by_ours(data)
        assert ours[: len(theirs)] == theirs, data.hex()
        files, beyond = files + 1, beyond + (len(ours) > len(theirs))
    assert files > 300
    assert beyond > files // 100


@pytest.mark.parametrize("seed", range(4))
def test_bytes_of_chance_behind_a_header_never_break_the_reader(seed):
    chance = random.Random(seed)
    until = time.monotonic() + SECONDS / 8
    while time.monotonic() < until:
        alphabet = bytes(chance.choices(range(256), k=chance.choice((2, 3, 6, 256))))
        body = bytes(chance.choices(alphabet, k=chance.randrange(400)))
        writer = records(pulse(2)) if chance.random() < 0.5 else FitWriter()
        writer.body += body
        assert isinstance(answer(writer.whole()), Recording | IngestError)


def test_five_megabytes_of_messages_in_no_order_take_seconds():
    body = bytes(random.Random(1).choices((0, 1), k=5_000_000))
    data = b"\x0c\x20\x54\x08" + bytes(4) + b".FIT" + b"\x40\0\0\x14\0\0\x41\0\0\x15\0\0" + body
    begin = time.process_time()
    assert isinstance(answer(data), IngestError)
    assert time.process_time() - begin < 30
