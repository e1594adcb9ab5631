"""EDF and EDF+ against pyedflib 0.1.42 (independent, compiled), edfio's writer, a real file and the format's table."""

import gzip
import pickle
import random
from datetime import datetime

import numpy as np
import pytest
from ownmark.errors import DamagedFile, IngestError, NothingMeasured
from ownmark.ingest.cleaning.judge import clean
from ownmark.ingest.edf import reader as edf
from ownmark.ingest.edf.channels import assign_channels
from ownmark.ingest.edf.header import parse_header
from ownmark.ingest.formats import FORMATS, HEAD_BYTES
from ownmark.ingest.recording import ACCELERATION, ANGULAR_RATE, ECG, HEART_RATE, PULSE, WAVEFORM, Source

from tests.makers.edf_files import Channel, edf_bytes, small_edf_plus
from tests.makers.refusals import said
from tests.makers.sheets import texts

SOURCE = Source("trunk.edf")
at = datetime.fromisoformat


def read(data):
    return edf.read(data, SOURCE)


def wave(rate, seconds=10, size=1.0):
    return size * np.sin(np.arange(rate * seconds) / rate * 2.2)


def pulse(*, rate=50, seconds=10, dimension="mV", label="ECG", **more):
    return Channel(label, dimension, rate, wave(rate, seconds), **more)


def three(label, dimension, limits, *, size=1.0, rate=32):
    return [Channel(f"{label} {axis}", dimension, rate, wave(rate, size=size), limits) for axis in "XYZ"]


@pytest.fixture
def through_pyedflib(tmp_path):
    """Reads a file's signals and annotations with pyedflib."""
    from pyedflib import EdfReader

    def reader(data):
        path = tmp_path / "other.edf"
        path.write_bytes(data)
        with EdfReader(str(path)) as found:
            signals = {label: found.readSignal(number) for number, label in enumerate(found.getSignalLabels())}
            return (
                signals,
                list(zip(*(part.tolist() for part in found.readAnnotations()), strict=True)),
                found.getStartdatetime(),
            )

    return reader


def test_values_marks_and_start_are_those_of_pyedflib(through_pyedflib):
    data = small_edf_plus()
    recording = read(data)
    signals, marks, start = through_pyedflib(data)
    np.testing.assert_allclose(recording[WAVEFORM].values, signals["ECG"], atol=5e-5)
    for axis, letter in enumerate("XYZ"):
        np.testing.assert_allclose(recording[ACCELERATION].values[:, axis], signals[f"Acc {letter}"], atol=5e-5)
    assert [(mark.time_s, mark.label) for mark in recording.marks] == [(begin, text) for begin, _, text in marks]
    assert recording.start == start == at("2026-05-12T09:14:05")
    assert recording[WAVEFORM].kind == ECG
    np.testing.assert_allclose(recording[ACCELERATION].time, np.arange(3000) / 50, atol=1e-9)


def test_what_pyedflib_writes_is_read_back(tmp_path):
    from pyedflib import FILETYPE_EDFPLUS, EdfWriter

    path = tmp_path / "made.edf"
    values = [wave(100, 12, 2.5), wave(100, 12, 0.8), wave(100, 12)]
    with EdfWriter(str(path), 3, file_type=FILETYPE_EDFPLUS) as writer:
        limits = {"physical_min": -4, "physical_max": 4, "digital_min": -32768, "digital_max": 32767}
        writer.setSignalHeaders(
            [{"label": f"Accelerometer-{axis}", "dimension": "g", "sample_frequency": 100, **limits} for axis in "xyz"]
        )
        writer.setPatientName("Quillfeather")
        writer.setStartdatetime(at("2026-05-12T14:03:09"))
        writer.writeSamples(values)
        writer.writeAnnotation(4.5, 2.0, "arms up")
    recording = read(path.read_bytes())
    np.testing.assert_allclose(recording[ACCELERATION].values, np.column_stack(values), atol=5e-5 * 4)
    assert recording.start == at("2026-05-12T14:03:09")
    assert [(mark.time_s, mark.until_s, mark.label) for mark in recording.marks] == [(4.5, 6.5, "arms up")]
    assert b"Quillfeather" not in pickle.dumps(recording)


def test_what_edfio_writes_is_read_back():
    from edfio import Edf, EdfAnnotation, EdfSignal

    values = wave(64, 8, 900.0)
    made = Edf(
        [EdfSignal(values, 64, label="Pleth", physical_dimension="NU", physical_range=(-1000, 1000))],
        annotations=[EdfAnnotation(1.25, None, "begin"), EdfAnnotation(5, 0.5, "end")],
    )
    recording = read(made.to_bytes())
    np.testing.assert_allclose(recording[WAVEFORM].values, values, atol=0.6 * 2000 / 65535)
    assert recording[WAVEFORM].kind == PULSE
    assert [(mark.time_s, mark.until_s, mark.label) for mark in recording.marks] == [
        (1.25, None, "begin"),
        (5, 5.5, "end"),
    ]


def test_the_real_ecg_is_its_raw_counts(real_dir):
    # README of the folder: the same 60 s in EDF and in raw counts of 16 bits, saturated at 65535. The sensor's own
    # rule, from memory of its data sheet: mV = (count / 2^16 - 1/2) · 3 V / 1019 · 1000. The file keeps 15 bits.
    counts = np.loadtxt(gzip.decompress((real_dir / "ecg_60s_raw.txt.gz").read_bytes()).decode().splitlines())[:, -1]
    recording = read((real_dir / "ecg_60s.edf").read_bytes())
    millivolt = (counts / 2**16 - 0.5) * 3 / 1019 * 1000
    inside = millivolt < 1.469  # the file's physical maximum is 1.47
    assert recording.names == (WAVEFORM,)
    assert len(recording[WAVEFORM]) == 60_000
    np.testing.assert_allclose(recording[WAVEFORM].values[inside], millivolt[inside], atol=1.1 * 2.94 / 32767)
    assert (recording[WAVEFORM].values[counts == 65535] > 1.469).all()
    assert recording.start == at("2020-03-16T19:15:24")


def test_the_scale_of_the_format():
    # Trade tables 11.13: -8 to 8 g over -32768 to 32767; 4096 is 1.000137 g.
    whole = (4096 + 32768) / 65535 * 16 - 8
    channels = [Channel(f"Acc {axis}", "g", 4, [whole] * 8) for axis in "XYZ"]
    assert channels[0].digital().tolist() == [4096] * 8
    np.testing.assert_allclose(read(edf_bytes(channels))[ACCELERATION].values, 1.000137, atol=5e-7)


@pytest.mark.parametrize(
    ("dimension", "limits", "size", "in_g"),
    [
        ("g", (-4, 4), 1.5, 1.5),
        ("mg", (-4000, 4000), 1500, 1.5),
        ("m/s2", (-40, 40), 9.80665, 1.0),
        ("m/s^2", (-40, 40), 9.80665, 1.0),
    ],
)
def test_acceleration_is_in_g(dimension, limits, size, in_g):
    stream = read(edf_bytes(three("Acc", dimension, limits, size=size)))[ACCELERATION]
    np.testing.assert_allclose(stream.values[:, 1], wave(32, size=in_g), atol=8 / 65535)


def test_angular_rate_is_in_degrees_a_second():
    for dimension, limits, size in (("deg/s", (-250, 250), 90.0), ("rad/s", (-4, 4), np.pi / 2)):
        stream = read(edf_bytes(three("Gyro", dimension, limits, size=size)))[ANGULAR_RATE]
        np.testing.assert_allclose(stream.values[:, 2], wave(32, size=90.0), atol=0.01)


@pytest.mark.parametrize(
    ("label", "dimension", "name", "kind"),
    [
        ("ECG", "mV", WAVEFORM, ECG),
        ("EKG II", "uV", WAVEFORM, ECG),
        ("ECG V2-V1", "mV", WAVEFORM, ECG),
        ("ECGII", "mV", WAVEFORM, ECG),
        ("PPG", "", WAVEFORM, PULSE),
        ("Pleth", "%", WAVEFORM, PULSE),
        ("Pulse", "mV", WAVEFORM, PULSE),
        ("BVP", "NU", WAVEFORM, PULSE),
        ("Pulse", "bpm", HEART_RATE, ""),
        ("Heart rate", "/min", HEART_RATE, ""),
        ("HR", "BPM", HEART_RATE, ""),
        ("PR", "bpm", HEART_RATE, ""),
        ("ECG HR", "bpm", HEART_RATE, ""),
    ],
)
def test_channels_are_told_by_label_and_dimension(label, dimension, name, kind):
    channels = [Channel(label, dimension, 20, 80 + wave(20), (0, 300))]
    stream = read(edf_bytes(channels))[name]
    assert stream.kind == kind


@pytest.mark.parametrize(
    ("label", "dimension"), [("Resp rate", "bpm"), ("SpO2", "%"), ("EEG Fpz-Cz", "uV"), ("HR", "mV"), ("EMG", "mV")]
)
def test_other_channels_are_no_stream(label, dimension):
    with pytest.raises(NothingMeasured, match="no channel"):
        read(edf_bytes([Channel(label, dimension, 20, 80 + wave(20), (0, 300))]))


def test_unused_channels_are_named_in_a_note():
    recording = read(edf_bytes([pulse(), Channel("Temp body", "degC", 1, [36.5] * 10, (0, 50))]))
    assert texts(recording.notes) == ("Channels not used: 'Temp body'.",)


def test_acceleration_without_a_unit_or_an_axis_is_left_out_with_a_note():
    recording = read(edf_bytes([pulse(), *three("Acc", "", (-4, 4))]))
    assert recording.names == (WAVEFORM,)
    assert "do not give their unit" in texts(recording.notes)[0]
    recording = read(edf_bytes([pulse(), *three("Acc", "g", (-4, 4))[:2]]))
    assert "one channel each for x, y and z" in texts(recording.notes)[0]


def test_two_sensors_in_one_file_stay_apart():
    channels = three("Acc chest", "g", (-4, 4)) + three("Acc wrist", "g", (-4, 4), size=2.0, rate=64)
    first, second = read(edf_bytes(channels)).all(ACCELERATION)
    assert len(second) == 2 * len(first)
    assert second.values.max() == pytest.approx(2, abs=0.01)


def test_a_channel_without_a_scale_is_never_taken_as_it_is():
    # The library that reads the values gives raw counts there, without a word.
    data = bytearray(edf_bytes([pulse(), *three("Acc", "g", (-4, 4))]))
    header = parse_header(bytes(data))
    assert header is not None
    place = 256 + header.size // 256 * 0 + (16 + 80 + 8) * len(header.channels) + 8  # physical minimum of the second
    assert data[place : place + 8] == b"-4      "
    data[place : place + 8] = b"-4x     "
    recording = read(bytes(data))
    assert recording.names == (WAVEFORM,)
    assert "the header does not give its scale" in " ".join(texts(recording.notes))


def test_gaps_between_records_stay_gaps():
    # EDF+D: ten records of 1 s, of which the sixth begins 7.5 s late.
    onsets = [0.25 + record + 7.5 * (record >= 5) for record in range(10)]
    recording = read(edf_bytes([pulse(rate=20)], onsets=onsets, marks=[(13.25, None, "again")]))
    time_s = recording[WAVEFORM].time
    assert time_s[0] == 0
    assert np.diff(time_s).max() == pytest.approx(7.55)
    np.testing.assert_allclose(time_s[100:], 12.5 + np.arange(100) / 20, atol=1e-9)
    assert recording.marks[0].time_s == 13
    assert recording.start == at("2026-05-12T09:14:05.250000")


def test_plain_edf_has_no_marks_and_is_read():
    recording = read(edf_bytes([pulse()], plus=False))
    assert recording.marks == ()
    assert len(recording[WAVEFORM]) == 500


@pytest.mark.parametrize(
    ("given", "start", "clock_s"),
    [
        ({"date": "01.01.85", "recording": "Startdate X X X X"}, None, 33245),
        ({"date": "01.01.85", "recording": "", "time": "00.00.00"}, None, None),
        ({"date": "31.02.26", "recording": ""}, None, 33245),
        ({"date": "03.04.97", "recording": ""}, at("1997-04-03T09:14:05"), None),
        ({"date": "03.04.11", "recording": "X Startdate 01-MAY-2020"}, at("2011-04-03T09:14:05"), None),
        ({"date": "03.04.yy", "recording": "Startdate 03-APR-2091 X X X"}, at("2091-04-03T09:14:05"), None),
        ({"time": "25.00.00"}, None, None),
    ],
)
def test_a_start_that_was_taken_out_stays_unknown(given, start, clock_s):
    recording = read(edf_bytes([pulse()], **given))
    assert (recording.start, recording.clock_s) == (start, clock_s)
    assert bool(texts(recording.notes)) == (start is None)


def test_nothing_of_the_patient_the_recording_or_the_device_survives():
    data = edf_bytes([pulse(device="Quillfeather's strap SN-884213")], marks=[(2, None, "start")])
    assert data.count(b"Quillfeather") == 3
    kept = pickle.dumps(read(data))
    for word in (b"Quillfeather", b"884213", b"51.4778", b"2012"):
        assert word in data
        assert word not in kept


@pytest.mark.parametrize("plus", [True, False])
def test_a_file_cut_off_keeps_its_whole_records(plus):
    whole = edf_bytes([pulse(seconds=40)], plus=plus)
    expected = read(whole)[WAVEFORM].values
    header = 512 + 256 * plus
    for cut in range(header, len(whole), 137):
        records = (cut - header) // ((len(whole) - header) // 40)
        if not records:
            with pytest.raises(DamagedFile, match="inside its first record"):
                read(whole[:cut])
            continue
        recording = read(whole[:cut])
        np.testing.assert_array_equal(recording[WAVEFORM].values, expected[: 50 * records])
        assert "cut off" in texts(recording.notes)[0]


def test_records_that_slipped_are_not_read_as_values():
    # Three bytes are lost in record 8 of 20: what follows is no longer where the header says.
    whole = edf_bytes([pulse(seconds=20)])
    place = 768 + 7 * (100 + 96) + 20
    recording = read(whole[:place] + whole[place + 3 :])
    assert len(recording[WAVEFORM]) <= 8 * 50
    assert "Not read: 12 records" in " ".join(texts(recording.notes)) or "Not read: 11 records" in " ".join(
        texts(recording.notes)
    )
    np.testing.assert_array_equal(recording[WAVEFORM].values[:350], read(whole)[WAVEFORM].values[:350])


def test_one_record_with_a_broken_time_costs_nothing_but_its_mark():
    whole = bytearray(edf_bytes([pulse(seconds=10)], marks=[(3.5, None, "lost"), (6.5, None, "kept")]))
    place = whole.index(b"+3\x14")
    whole[place : place + 30] = b"\xff" * 30
    recording = read(bytes(whole))
    assert len(recording[WAVEFORM]) == 500
    assert [mark.label for mark in recording.marks] == ["kept"]
    assert "The time of 1 records cannot be read" in texts(recording.notes)[0]


@pytest.mark.parametrize("broken", [0, 5, 9])
def test_a_record_of_another_year_is_laid_behind_the_one_before_it(broken):
    onsets = [float(record) for record in range(10)]
    onsets[broken] += 3e7
    recording = read(edf_bytes([pulse(seconds=10)], onsets=onsets))
    np.testing.assert_allclose(recording[WAVEFORM].time, np.arange(500) / 50, atol=1e-9)
    assert "The time of 1 records cannot be read" in texts(recording.notes)[0]
    assert recording.start == at("2026-05-12T09:14:05")


def test_records_within_a_week_stay_where_they_say():
    onsets = [*map(float, range(9)), 604_804.0]  # the middle one is the sixth, at 5 s
    assert read(edf_bytes([pulse(seconds=10)], onsets=onsets))[WAVEFORM].time[-1] > 604_000
    onsets[-1] = 604_806.0
    assert read(edf_bytes([pulse(seconds=10)], onsets=onsets))[WAVEFORM].time[-1] < 10


def test_a_device_that_died_before_it_counted_its_records_is_read():
    recording = read(edf_bytes([pulse()], stated=-1, plus=False))
    assert len(recording[WAVEFORM]) == 500
    assert texts(recording.notes) == ()


def test_bytes_behind_the_records_of_a_plain_file_are_no_values():
    recording = read(edf_bytes([pulse()], plus=False) + bytes(range(250)))
    assert len(recording[WAVEFORM]) == 500
    assert texts(recording.notes) == ("Not read: 250 bytes after the 10 records that the header announces.",)


def recording_or_refusal(data):
    try:
        return clean(read(data))
    except IngestError as refusal:
        return refusal


@pytest.mark.parametrize("seed", range(8))
def test_any_damage_gives_a_recording_or_a_sentence(seed):
    chance = random.Random(seed)
    whole = small_edf_plus(seconds=4)
    for _ in range(60):
        data = bytearray(whole)
        for _ in range(chance.choice((1, 4, 60))):
            data[chance.randrange(len(data) if chance.random() < 0.3 else 1536)] = chance.choice(
                (0, 32, 45, 48, 57, 255, 120)
            )
        if chance.random() < 0.4:
            del data[chance.randrange(len(data)) :]
        answer = recording_or_refusal(bytes(data))
        if isinstance(answer, IngestError):
            assert str(answer).startswith("trunk.edf: ")
            assert said(answer.mend).endswith(".")
        else:
            assert all(np.isfinite(stream.time).all() for stream in answer.streams)


def test_only_the_edf_reader_claims_edf_of_any_width():
    wide = edf_bytes([Channel(f"EEG {number}", "uV", 8, wave(8)) for number in range(20)])
    for data in (small_edf_plus(), edf_bytes([pulse()], plus=False), wide):
        assert [entry.name for entry in FORMATS if entry.sniff(data[:HEAD_BYTES])] == ["EDF"]
    assert not edf.sniff(small_edf_plus()[:200])
    assert not edf.sniff(b"0       " + b"time,heart rate\n0,80\n" * 40)


def test_annotations_that_are_not_printable_are_made_so():
    recording = read(edf_bytes([pulse()], marks=[(1, None, "arms\nup"), (2, None, "höher")]))
    assert [mark.label for mark in recording.marks] == ["arms up", "höher"]


def test_an_hour_of_annotations_and_waves_is_read_in_a_moment():
    import time

    data = edf_bytes([pulse(rate=100, seconds=3600)])
    begin = time.process_time()
    assert len(read(data)[WAVEFORM]) == 360_000
    assert time.process_time() - begin < 1.0


def test_the_header_of_three_channels_has_1024_bytes():
    # Trade tables 11.12: 256 · (3 + 1).
    header = parse_header(edf_bytes(three("Acc", "g", (-4, 4)), plus=False))
    assert header is not None
    assert header.size == 1024
    assert [part.name for part in assign_channels(header.channels)[0]] == [ACCELERATION]
