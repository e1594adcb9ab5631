"""The FIT reader against two independent decoders, message by message and value by value.

fitparse 1.2.0 and fitdecode 0.11.0 (both MIT), given numbers as they stand in the file. fitparse gets a processor
that converts nothing: its own turns stamps into dates with a call that Python deprecates.
"""

import io
import math

import fitparse
import numpy as np
import pytest
from fitdecode import CrcCheck, ErrorHandling, FitDataMessage, FitReader
from fitparse.processors import FitFileDataProcessor
from fitparse.records import BASE_TYPES
from ownmark.ingest.fit import reader as fit
from ownmark.ingest.fit.chain import parts
from ownmark.ingest.fit.columns import Rows, base_type
from ownmark.ingest.recording import HEART_RATE, RR_INTERVAL, Source

from tests.makers import fit_files as make
from tests.makers.fit_files import NINE_OCLOCK, FitWriter, pulse, records
from tests.makers.sheets import texts

SOURCE = Source("strap.fit")
RECORD_FIELDS = [(make.STAMP, make.UINT32), (3, make.UINT8)]


class Plain(FitFileDataProcessor):
    """Leave stamps as numbers."""

    def process_type_date_time(self, field_data):
        """Seconds since the format's epoch."""

    process_type_local_date_time = process_type_localtime_into_day = process_type_bool = process_type_date_time


def by_fitparse(data):
    return list(fitparse.FitFile(data, data_processor=Plain()).get_messages())


def by_fitdecode(data):
    options = {"processor": None, "check_crc": CrcCheck.RAISE, "error_handling": ErrorHandling.IGNORE}
    with FitReader(io.BytesIO(data), **options) as reader:
        return [message for message in reader if isinstance(message, FitDataMessage)]


def big_endian():
    return records(pulse(40), big_endian=True).whole()


def invalid_values():
    bpm = [255 if second % 3 == 1 else rate for second, rate in enumerate(pulse(30))]
    writer = FitWriter().define(0, make.RECORD, RECORD_FIELDS)
    for second, rate in enumerate(bpm):
        writer.data(0, 0xFFFFFFFF if second == 7 else NINE_OCLOCK + second, rate)
    return writer.whole()


def redefined_mid_file():
    writer = records(pulse(20))
    writer.define(0, make.RECORD, [(4, make.UINT8), (3, make.UINT8), (6, make.UINT16), (make.STAMP, make.UINT32)])
    for second in range(20, 45):
        writer.data(0, 60, 100 + second % 5, 65535, NINE_OCLOCK + second)
    writer.define(0, make.RECORD, RECORD_FIELDS, big_endian=True)
    for second in range(45, 60):
        writer.data(0, NINE_OCLOCK + second, 110)
    return writer.whole()


def alternating(turn):
    """Records of several local types in turn, an ``hrv`` message after every other."""
    writer = FitWriter()
    for local in range(turn):
        writer.define(local, make.RECORD, [*RECORD_FIELDS, (4 + local, make.UINT16)])
    writer.define(15, make.HRV, [(0, make.UINT16, 10)])
    for second in range(90):
        writer.data(second % turn, NINE_OCLOCK + second, 90 + second % 30, second)
        if second % 2:
            writer.data(15, (601 + second, 599, *[65535] * 3))
    return writer.whole()


def same_layout_under_two_locals():
    writer = FitWriter().define(2, make.RECORD, RECORD_FIELDS).define(7, make.RECORD, RECORD_FIELDS)
    for second, rate in enumerate(pulse(70)):
        writer.data(2 if second % 3 else 7, NINE_OCLOCK + second, rate)
    return writer.whole()


def developer_fields():
    """A developer field described in the file; the data messages carry it behind the format's own fields."""
    writer = FitWriter().define(5, make.DEVELOPER_DATA_ID, [(3, make.UINT8), (1, make.BYTE, 16)])
    writer.data(5, 0, tuple(range(16)))
    described = [(0, make.UINT8), (1, make.UINT8), (2, make.UINT8), (3, make.STRING, 8), (8, make.STRING, 4)]
    writer.define(5, make.FIELD_DESCRIPTION, described).data(5, 0, 9, make.UINT16, b"balance\0", b"%\0\0\0")
    writer.define(0, make.RECORD, RECORD_FIELDS, developer=[(9, 2, 0)])
    for second, rate in enumerate(pulse(40)):
        writer.data(0, NINE_OCLOCK + second, rate, bytes([second, 0]))
    return writer.whole()


def arrays_and_strangers():
    """Arrays, text, messages and base types that no profile knows, in between records."""
    writer = records(pulse(10))
    every = [base for base in make.CODES if base != make.STRING]
    writer.define(1, 0xFF00, [(number, base) for number, base in enumerate(every)])
    writer.define(2, 65280 + 7, [(1, make.UINT16, 6), (2, make.STRING, 5), (3, 0x4D), (4, 0x55, 3)], big_endian=True)
    for turn in range(14):
        writer.data(1, *([turn] * len(every)))
        writer.data(2, (turn, 65535, 7), b"chair", turn, (255, turn, 255))
        writer.data(0, NINE_OCLOCK + 10 + turn, 120 + turn)
    writer.data(1, 255, 127, 255, 32767, 65535, 2**31 - 1, 2**32 - 1, math.nan, math.nan, 0, 0, 0, 255, 2**63 - 1, 1, 0)
    writer.define(3, make.RECORD, [*RECORD_FIELDS, (42, make.UINT8, 4), (10, make.SINT16, 4)])
    writer.data(3, NINE_OCLOCK + 40, 99, (1, 255, 3, 4), (-5, 32767))
    return writer.whole()


def compressed_headers():
    """Stamps of five bits from a full one on, over many turns of 32 s and with a full stamp in between."""
    writer = FitWriter().define(0, make.RECORD, RECORD_FIELDS).define(1, make.RECORD, [(3, make.UINT8)])
    writer.define(3, make.EVENT, [(make.STAMP, make.UINT32), (0, make.ENUM), (1, make.ENUM)])
    second = 0
    writer.data(0, NINE_OCLOCK, 90)
    for index in range(300):
        second += (1, 1, 2, 9, 31)[index % 5]
        if index == 150:
            second += 70  # longer than a turn: only a full stamp can tell
            writer.data(3, NINE_OCLOCK + second, 32, 3)
        writer.data(1, 90 + index % 50, compressed=(NINE_OCLOCK + second) % 32)
    return writer.whole()


def steady_compressed():
    writer = FitWriter().define(0, make.RECORD, RECORD_FIELDS).define(1, make.RECORD, [(3, make.UINT8)])
    writer.data(0, NINE_OCLOCK, 90)
    for second in range(1, 200):
        writer.data(1, 90, compressed=(NINE_OCLOCK + second) % 32)
    return writer.whole()


def clock_not_set():
    return records(pulse(30), start=500).whole()


def swim(first_tick):
    ticks = [first_tick + 600 * beat + beat % 3 for beat in range(1 + 8 * 12)]
    return make.swim_events([80 + beat % 40 for beat in range(len(ticks))], ticks).whole()


CASES = {
    "strap and watch": make.strap_session(90),
    "heart rate alone": make.strap_session(60, fields=False),
    "with RR": make.strap_session(90, rr=True),
    "one local type for all": make.strap_session(40, rr=True, one_local=True),
    "developer fields, fit-tool": make.strap_session(40, developer=True),
    "acceleration between": make.strap_session(40, acceleration=True),
    "little endian": records(pulse(40)).whole(),
    "big endian": big_endian(),
    "header of 12 bytes": records(pulse(20)).whole(header_size=12),
    "header checksum 0": records(pulse(20)).whole(header_crc=False),
    "chained": records(pulse(20)).whole() + records(pulse(25), start=NINE_OCLOCK + 60, big_endian=True).whole(),
    "invalid values": invalid_values(),
    "redefined mid-file": redefined_mid_file(),
    "two in turn": alternating(2),
    "three in turn": alternating(3),
    "seven in turn": alternating(7),
    "one layout, two locals": same_layout_under_two_locals(),
    "developer fields": developer_fields(),
    "arrays and strangers": arrays_and_strangers(),
    "compressed headers": compressed_headers(),
    "compressed, one a second": steady_compressed(),
    "clock not set": clock_not_set(),
    "swim": swim(900),
    "swim, counter far on": swim(1_000_000),
    "swim, big endian": make.swim_events(
        [80 + beat for beat in range(17)], range(50, 17050, 1000), big_endian=True
    ).whole(),
}
each_case = pytest.mark.parametrize("name", CASES)
each_oracle = pytest.mark.parametrize("oracle", [by_fitparse, by_fitdecode])


def own_fields(message):
    """An oracle's fields of the format itself, as they stand; not those that it expands, nor a developer's."""
    return [entry for entry in message.fields if type(entry.field_def).__name__ == "FieldDefinition"]


def told_by_oracle(messages):
    """(message number, {field number: values}) of every message, text left out."""
    told = []
    for message in messages:
        fields = {}
        for entry in own_fields(message):
            kind, raw = entry.field_def.base_type.name, entry.raw_value
            if kind == "string":
                continue
            if kind == "byte" and raw is None:
                raw = (None,) * entry.field_def.size
            several = raw if isinstance(raw, tuple) else (raw,)
            fields[entry.field_def.def_num] = [None if value is None else float(value) for value in several]
        told.append(
            (
                message.def_mesg.mesg_num if isinstance(message, fitparse.DataMessage) else message.global_mesg_num,
                fields,
            )
        )
    return told


def told_by_ours(data):
    """The same out of our columns, put in the file's order."""
    told = []
    for part in parts(data, []):
        found = []
        for group in part.groups:
            rows = Rows(data, group)
            columns = {number: rows.table(number) for number in group.layout.fields}
            for index, position in enumerate(rows.position.tolist()):
                values = {
                    number: [None if math.isnan(value) else value for value in table[index].tolist()]
                    for number, table in columns.items()
                    if table is not None
                }
                found.append((position, (group.layout.message, values)))
        told += [message for _, message in sorted(found, key=lambda entry: entry[0])]
    return told


def values_of(messages, kind, name):
    """All values of a field in messages of a kind, scaled, None left out, in order; expanded ones too."""
    found = []
    for message in messages:
        if message.name == kind:
            for entry in message.fields:
                if entry.name == name:
                    several = entry.value if isinstance(entry.value, tuple) else (entry.value,)
                    found += [value for value in several if value is not None]
    return found


@each_case
@each_oracle
def test_every_message_and_value_is_what_independent_decoders_read(name, oracle):
    theirs = told_by_oracle(oracle(CASES[name]))
    assert len(theirs) > 2
    assert told_by_ours(CASES[name]) == theirs


@pytest.mark.parametrize("name", [name for name in CASES if not name.startswith("swim")])
@each_oracle
def test_heart_rate_stands_at_the_time_that_independent_decoders_read(name, oracle):
    stamped = []
    for message in oracle(CASES[name]):
        if message.name != "record":
            continue
        stamp = next((entry.raw_value for entry in message.fields if entry.name == "timestamp"), None)
        rate = next((entry.raw_value for entry in message.fields if entry.name == "heart_rate"), None)
        if stamp is not None:
            stamped.append((stamp, math.nan if rate is None else float(rate)))
    recording = fit.read(CASES[name], SOURCE)
    origin = min(stamp for stamp, _ in stamped)
    times, values = zip(*stamped, strict=True)
    np.testing.assert_array_equal(recording[HEART_RATE].time, np.array(times) - origin)
    np.testing.assert_array_equal(recording[HEART_RATE].values, values)


@pytest.mark.parametrize("name", ["with RR", "one local type for all", "two in turn", "three in turn", "seven in turn"])
@each_oracle
def test_rr_intervals_are_those_that_independent_decoders_read(name, oracle):
    theirs = values_of(oracle(CASES[name]), "hrv", "time")
    assert len(theirs) > 40
    np.testing.assert_array_equal(fit.read(CASES[name], SOURCE)[RR_INTERVAL].values, theirs)


@each_oracle
def test_laps_and_presses_of_the_button_are_those_that_independent_decoders_read(oracle):
    data = CASES["strap and watch"]
    messages, marks = oracle(data), fit.read(data, SOURCE).marks
    laps = list(
        zip(values_of(messages, "lap", "start_time"), values_of(messages, "lap", "total_elapsed_time"), strict=True)
    )
    assert [(mark.time_s, mark.until_s) for mark in marks if mark.kind == "lap"] == [
        (start - NINE_OCLOCK, start - NINE_OCLOCK + elapsed) for start, elapsed in laps
    ]
    words = {("timer", "start"): "start", ("user_marker", "marker"): "button", ("timer", "stop_all"): "stop"}
    told = zip(*(values_of(messages, "event", name) for name in ("timestamp", "event", "event_type")), strict=True)
    assert [(mark.time_s, mark.kind) for mark in marks if mark.kind != "lap"] == [
        (stamp - NINE_OCLOCK, words[event, kind]) for stamp, event, kind in told
    ]


@pytest.mark.parametrize("name", ["swim", "swim, big endian"])
@each_oracle
def test_packed_event_counters_unroll_as_independent_decoders_unroll_them(name, oracle):
    # fitdecode adds the stamp of the message with the full counter; fitparse gives the counter itself.
    shift = NINE_OCLOCK if oracle is by_fitdecode else 0
    theirs = np.array(values_of(oracle(CASES[name]), "hr", "event_timestamp"))
    theirs[1:] -= shift
    recording = fit.read(CASES[name], SOURCE)
    np.testing.assert_allclose(recording[HEART_RATE].time, theirs - theirs[0], atol=1e-6)
    np.testing.assert_array_equal(recording[HEART_RATE].values, values_of(oracle(CASES[name]), "hr", "filtered_bpm"))


@each_oracle
def test_a_counter_that_did_not_begin_at_zero_goes_on_from_its_full_value(oracle):
    # Both oracles unroll the packed counters from 0 and forget the full one before them: they are apart from the
    # truth by the same whole number of turns of 4 s, which cancels between any two packed counters.
    shift = NINE_OCLOCK if oracle is by_fitdecode else 0
    theirs = np.array(values_of(oracle(CASES["swim, counter far on"]), "hr", "event_timestamp"))
    theirs[1:] -= shift
    ours = fit.read(CASES["swim, counter far on"], SOURCE)[HEART_RATE].time
    np.testing.assert_allclose(np.diff(ours[1:]), np.diff(theirs[1:]), atol=2e-6)
    assert theirs[1] - theirs[0] < 0
    assert ours[1] - ours[0] == pytest.approx(601 / 1024, abs=1e-6)


@each_oracle
def test_a_compressed_stamp_before_any_full_one_is_no_time(oracle):
    # Both oracles count it from the format's epoch in 1989; the protocol has it count on from a full stamp only.
    writer = FitWriter().define(1, make.RECORD, [(3, make.UINT8)]).data(1, 95, compressed=7)
    writer.define(0, make.RECORD, RECORD_FIELDS).data(0, NINE_OCLOCK, 96).data(0, NINE_OCLOCK + 1, 97)
    data = writer.whole()
    assert values_of(oracle(data), "record", "timestamp") == [7, NINE_OCLOCK, NINE_OCLOCK + 1]
    recording = fit.read(data, SOURCE)
    assert recording[HEART_RATE].values.tolist() == [96, 97]
    assert texts(recording.notes) == ("Not placed in time: 1 heart rate without a time stamp.",)


def odd_sizes():
    """A field of seven bytes typed as 16-bit numbers, beside a heart rate."""
    writer = FitWriter().define(0, make.RECORD, [(make.STAMP, make.UINT32), (87, make.UINT16, 7), (3, make.UINT8)])
    for second, rate in enumerate(pulse(30)):
        writer.data(0, NINE_OCLOCK + second, b"1234567", rate)
    return writer.whole()


def test_a_field_whose_size_its_type_cannot_have_costs_nothing_else():
    # fitparse refuses the whole file; fitdecode reads the field as bytes. We leave the field out.
    with pytest.raises(fitparse.FitParseError, match="Invalid field size 7"):
        by_fitparse(odd_sizes())
    recording = fit.read(odd_sizes(), SOURCE)
    assert recording[HEART_RATE].values.tolist() == values_of(by_fitdecode(odd_sizes()), "record", "heart_rate")
    assert texts(recording.notes) == ()


@pytest.mark.parametrize("big", [False, True])
@pytest.mark.parametrize("number", sorted(BASE_TYPES))
def test_base_types_and_their_no_value_are_those_of_the_profile(number, big):
    theirs, ours = BASE_TYPES[number], base_type(number, big)
    if theirs.name == "string":
        assert ours is None
        return
    assert ours.kind.itemsize == theirs.size
    assert ours.kind.newbyteorder("<") == np.dtype("<" + theirs.fmt)
    assert (ours.kind.byteorder == ">") == (big and theirs.size > 1)
    parse = (lambda value: theirs.parse((value,))) if theirs.name == "byte" else theirs.parse
    if ours.invalid is None:
        assert parse(math.nan) is None
        return
    assert parse(ours.invalid) is None
    limits = np.iinfo(ours.kind)
    others = {limits.min, limits.min + 1, 1, limits.max - 1, limits.max} - {ours.invalid}
    assert all(parse(value) is not None for value in others)


def test_a_base_type_that_no_profile_knows_is_read_as_bytes():
    assert base_type(0x55, False) == base_type(make.BYTE, False)


@pytest.mark.parametrize("turn", [1, 2])
def test_messages_that_take_turns_are_stepped_over_and_not_walked(turn):
    # What makes the reader fast, at the same answer: few runs, and next to nothing left to take one by one.
    (part,) = parts(alternating(turn), [])
    assert sum(len(group) for group in part.groups) == 135
    assert sum(len(group.alone) for group in part.groups) < 40
    (part,) = parts(records(pulse(200)).define(1, make.HRV, [(0, make.UINT16)]).whole(), [])
    assert [(len(group.runs), len(group.alone)) for group in part.groups] == [(1, 0)]
    (part,) = parts(steady_compressed(), [])
    assert sum(len(group.alone) for group in part.groups) < 40
