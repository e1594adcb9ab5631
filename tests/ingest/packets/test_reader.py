"""Heart-rate packets against the Bluetooth SIG layout.

Outside checks: the ``bluetooth-sig`` library (an independent decoder of the same standard) on generated packets,
and worked examples of characteristic 0x2A37.
"""

import logging
from datetime import UTC, datetime

import numpy as np
import pytest
from bluetooth_sig import BluetoothSIGTranslator
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.errors import DamagedFile, IngestError
from ownmark.ingest import rr_list
from ownmark.ingest.flags import Flag
from ownmark.ingest.packets import reader as packets
from ownmark.ingest.packets.beats import chain
from ownmark.ingest.packets.reader import decode_packet
from ownmark.ingest.recording import Source
from ownmark.ingest.table import reader as table

from tests.makers.sheets import texts

SIG = BluetoothSIGTranslator()
CONTACT = {0: None, 1: False, 2: True}  # the library's states: not supported, not detected, detected


@pytest.fixture(autouse=True)
def quiet():
    logging.getLogger("bluetooth_sig").setLevel(logging.CRITICAL)


def read(*lines, header=None):
    text = "\n".join(([header] if header else []) + list(lines)) + "\n"
    return packets.read(text.encode(), Source("strap.csv"))


# ---- one packet ----


@pytest.mark.parametrize(
    ("payload", "rate", "contact", "energy", "rr_ms"),
    [
        ("164D1603", 77, True, None, [771.484375]),  # the worked example beside the published layout
        ("0048", 72, None, None, []),
        ("164B3403", 75, True, None, [800.78125]),
        ("166466025C02", 100, True, None, [599.609375, 589.84375]),
        ("1E910A0000021002", 145, True, 10, [500.0, 515.625]),
        ("010401", 260, None, None, []),  # 256 hi + lo; 255 hi + lo would give 259
        ("0450", 80, False, None, []),
        ("103C0004", 60, None, None, [1000.0]),  # 1/1024 s; read as ms it would be 1024
        ("F048", 72, None, None, []),  # reserved bits are ignored
    ],
)
def test_a_worked_example_of_the_characteristic_decodes(payload, rate, contact, energy, rr_ms):
    packet = decode_packet(bytes.fromhex(payload))
    assert (packet.heart_rate, packet.contact, packet.energy_kj) == (rate, contact, energy)
    assert [interval * 1000 for interval in packet.rr_s] == rr_ms
    assert packet.complete


@pytest.mark.parametrize("payload", ["105000", "1050340300"])
def test_half_an_interval_is_not_read_and_the_heart_rate_stands(payload):
    packet = decode_packet(bytes.fromhex(payload))
    assert (packet.heart_rate, packet.complete) == (80, False)
    assert packet.rr_s == ((0.80078125,) if len(payload) > 6 else ())


@pytest.mark.parametrize("payload", ["", "00", "10", "0148", "01"])
def test_a_packet_that_ends_before_its_heart_rate_is_refused(payload):
    with pytest.raises(DamagedFile):
        decode_packet(bytes.fromhex(payload))


@settings(max_examples=300, deadline=None)
@given(st.binary(min_size=2, max_size=20))
def test_any_packet_decodes_as_the_independent_library_decodes_it(payload):
    if payload[0] & 1 and len(payload) < 3:
        with pytest.raises(DamagedFile):
            decode_packet(payload)
        return
    expected = SIG.parse_characteristic("2A37", payload)
    packet = decode_packet(payload)
    assert packet.heart_rate == expected.heart_rate
    assert packet.contact is CONTACT[int(expected.sensor_contact)]
    assert packet.energy_kj == expected.energy_expended
    assert packet.rr_s == tuple(expected.rr_intervals)


@settings(max_examples=100, deadline=None)
@given(
    st.integers(0, 65_535),
    st.booleans(),
    st.sampled_from((0, 1, 2, 3)),
    st.one_of(st.none(), st.integers(0, 65_535)),
    st.lists(st.integers(0, 65_535), max_size=7),
)
def test_what_was_put_into_a_packet_comes_out(rate, wide, contact, energy, intervals):
    wide = wide or rate > 255
    flags = wide | contact << 1 | (energy is not None) << 3 | bool(intervals) << 4
    payload = bytes([flags]) + rate.to_bytes(2 if wide else 1, "little")
    payload += b"" if energy is None else energy.to_bytes(2, "little")
    payload += b"".join(value.to_bytes(2, "little") for value in intervals)
    packet = decode_packet(payload)
    assert (packet.heart_rate, packet.energy_kj, packet.complete) == (rate, energy, True)
    assert packet.contact is (None, None, False, True)[contact]
    assert packet.rr_s == tuple(value / 1024 for value in intervals)


# ---- a log of packets ----


@pytest.mark.parametrize("between", [",", ";", "\t", " ", ", "])
@pytest.mark.parametrize(
    "written",
    ["16 4D 16 03", "164D1603", "16-4d-16-03", "0x16,0x4D,0x16,0x03", "(0x) 16-4D-16-03", "0x164D1603", "16:4D:16:03"],
)
@pytest.mark.parametrize("header", [None, "time;value", "# made by a test"])
def test_time_and_bytes_are_parted_however_they_are_written(between, written, header):
    lines = [f"{n}.5{between}{written}" for n in range(4)]
    text = "\n".join(([header] if header else []) + lines).encode()
    assert [reader.sniff(text) for reader in (table, rr_list, packets)] == [False, False, True]
    recording = packets.read(text, Source("strap.csv"))
    assert recording["heart_rate"].time.tolist() == [0.5, 1.5, 2.5, 3.5]
    assert recording["heart_rate"].values.tolist() == [77] * 4
    assert recording["rr_interval"].values.tolist() == [790 / 1024] * 4


@pytest.mark.parametrize(
    ("stamps", "start", "clock_s"),
    [
        (["2019-08-06T10:25:50Z", "2019-08-06T10:25:51Z"], datetime(2019, 8, 6, 10, 25, 50, tzinfo=UTC), None),
        (["2019-08-06 10:25:50:000", "2019-08-06 10:25:51:000"], datetime.fromisoformat("2019-08-06 10:25:50"), None),
        (["1565087150000", "1565087151000"], datetime(2019, 8, 6, 10, 25, 50, tzinfo=UTC), None),
        (["10:25:50", "10:25:51"], None, 37_550.0),
        (["0", "1000"], None, None),
        (["0,0", "1,0"], None, None),
    ],
)
@pytest.mark.parametrize("between", [";", " "])
def test_times_are_read_in_every_form(stamps, start, clock_s, between):
    recording = read(*(f"{stamp}{between}16 4D 16 03" for stamp in stamps))
    assert (recording.start, recording.clock_s) == (start, clock_s)
    assert recording["heart_rate"].time.tolist() == [0, 1]


def test_the_unit_of_the_times_is_taken_from_the_header():
    recording = read("10,16 4D 16 03", "20,16 4D 16 03", header="time (ms),bytes")
    assert recording["heart_rate"].time.tolist() == [0.01, 0.02]
    assert texts(recording.notes) == ()


def test_a_sensor_without_skin_contact_flags_its_samples():
    recording = read("0.0,06 48", "1.0,04 50", "2.0,00 49", "3.0,14 50 34 03")
    rates = recording["heart_rate"]
    flagged = (rates.flags & Flag.NO_CONTACT) != 0
    assert rates.values[flagged].tolist() == [80, 80]
    assert ((rates.flags & Flag.UNCHECKED) != 0).all()
    assert ((recording["rr_interval"].flags & Flag.NO_CONTACT) != 0).all()


def test_damaged_packets_are_counted_with_their_line():
    recording = read("0,16 4D 16 03", "1,16", "2,10 50 00", "half a line", "3,16 4D 16 03", header="time (s),bytes")
    assert recording["heart_rate"].values.tolist() == [77, 80, 77]
    notes = " ".join(texts(recording.notes))
    assert "end before their heart rate does were left out: 1, the first on line 3." in notes
    assert "heart rate was kept, the rest was not read: 1, the first on line 4." in notes
    assert "Lines that are not packets were left out: 1, the first on line 5." in notes


def test_a_log_without_any_packet_is_refused():
    with pytest.raises(DamagedFile, match="no line holds a time and a heart-rate packet"):
        read("time,HR", "0,80")


# ---- beats on one line ----


def test_intervals_of_following_packets_touch_although_packets_are_late():
    # True beats every 0.8 s; each packet is received up to 0.9 s after the last of its beats.
    ends = np.arange(1, 101) * 0.8
    received = np.arange(1, 82) + 0.03 * np.sin(np.arange(81) * 7)
    batches = [
        [0.8] * int(np.sum((ends > low) & (ends <= high))) for low, high in zip([0, *received], received, strict=False)
    ]
    beats = chain(received.tolist(), batches)
    assert beats.breaks == ()
    np.testing.assert_allclose(np.diff(beats.start_s), 0.8)  # no overlap and no gap
    np.testing.assert_allclose(beats.start_s + beats.rr_s, ends[: len(beats.rr_s)], atol=1.0)


def test_the_last_interval_of_the_first_packet_ended_when_it_was_received():
    beats = chain([10.0], [[0.7, 0.8]])
    assert (beats.start_s + beats.rr_s).tolist() == pytest.approx([9.2, 10.0])


def test_lost_beats_set_the_clock_anew():
    beats = chain([1.0, 2.0, 30.0, 31.0], [[0.9], [0.9], [0.9], [0.9]])
    assert (beats.start_s + beats.rr_s).tolist() == pytest.approx([1.0, 1.9, 30.0, 30.9])
    assert beats.breaks == (2,)
    recording = read("1,10 42 9A 03", "2,10 42 9A 03", "30,10 42 9A 03", "31,10 42 9A 03", header="time (s),bytes")
    assert "beats were lost or packets were repeated: 1, the first on line 4." in " ".join(texts(recording.notes))


def test_a_drift_of_up_to_two_seconds_is_followed_without_a_break():
    assert chain([1.0, 3.9], [[0.9], [0.9]]).breaks == ()  # the chain ends at 1.9, 2.0 s before the stamp
    assert chain([1.0, 3.95], [[0.9], [0.9]]).breaks == (1,)


# ---- what is a log, and what damage does ----


@pytest.mark.parametrize(
    "text",
    [
        "time,HR\n0,80\n1,81\n2,82\n",
        "0,16,48\n1,16,49\n2,16,50\n",
        "0 16 48\n1 16 49\n2 16 50\n",
        "1,1e05\n2,1e05\n3,2e05\n",
    ]
    + [
        "812\n790\n805\n",
        "10:25:50,1648\n10:25:51,1649\n10:25:52,1650\n",
        "Dear family,\n12 deeds a day\n",
        "<a>\n1,16 4D\n</a>",
    ],
)
def test_tables_lists_and_prose_are_no_packets(text):
    assert packets.sniff(text.encode()) is False


SAMPLE = b"time,bytes\n" + b"".join(b"%d.0,16 4D 16 03 %02X 02\n" % (n, n) for n in range(20))


@settings(max_examples=200, deadline=None)
@given(
    st.one_of(
        st.binary(max_size=200),
        st.text("0123456789abcdefxABCDEF ,;:-.\n\t()", max_size=150).map(str.encode),
        st.tuples(st.integers(0, len(SAMPLE) - 1), st.integers(0, 7)).map(
            lambda flip: SAMPLE[: flip[0]] + bytes([SAMPLE[flip[0]] ^ 1 << flip[1]]) + SAMPLE[flip[0] + 1 :]
        ),
        st.integers(0, len(SAMPLE)).map(lambda cut: SAMPLE[:cut]),
    )
)
def test_any_bytes_give_a_recording_or_a_sentence(data):
    assert packets.sniff(data) in (True, False)
    try:
        recording = packets.read(data, Source("strap.csv"))
    except IngestError as refusal:
        told = str(refusal)
    else:
        told = "strap.csv: read"
        assert len(recording["heart_rate"]) > 0
    assert told.startswith("strap.csv: ")
