"""What every reader owes: it claims its own files and no others, survives any damage, keeps nothing of a person."""

import pickle
import random
import struct

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.errors import DamagedFile, IngestError, ReaderFault
from ownmark.ingest import formats
from ownmark.ingest.cleaning.judge import clean
from ownmark.ingest.excerpt.form import excerpt
from ownmark.ingest.flags import Flag
from ownmark.ingest.formats import FORMATS, HEAD_BYTES, detect, parse
from ownmark.ingest.recording import UNITS, Source
from ownmark.sample_streams import FOLDER

from tests.makers.edf_files import small_edf_plus
from tests.makers.refusals import said

SAMPLES = {
    "FIT": (FOLDER / "TH-11-power-chair-slalom.fit").read_bytes(),
    "TCX": (FOLDER / "TH-12-arm-crank.tcx").read_bytes(),
    "GPX": (FOLDER / "TH-14-gait-trainer.gpx").read_bytes(),
    "EDF": small_edf_plus(),
    "heart-rate packets": (FOLDER / "TH-15-arm-circles-packets.csv").read_bytes(),
    "RR list": (FOLDER / "TH-16-tethered-run-rr.txt").read_bytes(),
    "excerpt": excerpt(parse((FOLDER / "TH-11-power-chair-slalom.fit").read_bytes(), Source("strap.fit"))),
    "table": (FOLDER / "TH-13-hand-cycle.csv").read_bytes(),
}
STRANGERS = {
    "a PNG picture": b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
    "a JPEG picture": b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + bytes(100),
    "a PDF": b"%PDF-1.7\n1 0 obj\n<< /Type /Catalog >>\nendobj\n",
    "a web page": b"<!DOCTYPE html><html><head><title>Heart rate, time</title></head><body><p>1,2,3</p></body></html>",
    "prose": b"Dear family,\nyour child did well today, and the heart rate, as ever, was fine.\nYours, the school\n",
    "zeros": bytes(5000),
    "a program": b"\x7fELF\x02\x01\x01" + bytes(300),
    "a database": b"SQLite format 3\x00" + bytes(300),
}
# What a file may say of a person or a device, written where each format has room for it.
PERSONAL = ("Quillfeather", "51.4778", "SN-884213")


@pytest.fixture(params=SAMPLES)
def sample(request):
    return request.param, SAMPLES[request.param]


def test_every_format_has_a_sample():
    assert list(SAMPLES) == [entry.name for entry in FORMATS]


@pytest.mark.parametrize("entry", FORMATS, ids=lambda entry: entry.name)
def test_a_detector_claims_its_own_samples_and_no_other(entry):
    for name, data in SAMPLES.items():
        assert entry.sniff(data[:HEAD_BYTES]) is (name == entry.name), (entry.name, name)
    for name, head in STRANGERS.items():
        assert entry.sniff(head[:HEAD_BYTES]) is False, (entry.name, name)


def test_the_real_recordings_are_each_claimed_by_one_reader(real_dir):
    import gzip

    expected = {".fit": "FIT", ".tcx": "TCX", ".gpx": "GPX"}
    for path in sorted(real_dir.rglob("*")):
        kind = path.name.removesuffix(".gz")
        if kind.endswith((".fit", ".tcx", ".gpx", ".csv")):
            data = gzip.decompress(path.read_bytes()) if path.suffix == ".gz" else path.read_bytes()
            assert detect(data[:HEAD_BYTES], path.name).name == expected.get(kind[-4:], "table"), path.name


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=400))
def test_a_detector_answers_any_bytes_with_yes_or_no(head):
    for entry in FORMATS:
        assert entry.sniff(head) in (True, False)


def test_a_detector_that_fails_is_passed_over_and_told_where_no_other_claims_the_file(monkeypatch):
    def broken(_head):
        raise AttributeError("a fault of ours")

    entry = formats.Format("broken", "", broken, formats.FORMATS[0].read)
    monkeypatch.setattr(formats, "FORMATS", (entry, *formats.FORMATS))
    for name, data in SAMPLES.items():
        assert formats.detect(data[:HEAD_BYTES], "x").name == name
    with pytest.raises(ReaderFault, match=r"broken.*AttributeError"):
        formats.detect(b"neither here nor there", "x")


@pytest.mark.parametrize("mistake", [AttributeError, AssertionError, OSError, struct.error, StopIteration])
def test_whatever_a_reader_stumbles_over_is_a_refusal(monkeypatch, mistake):
    def broken(_data, _source):
        raise mistake("a fault of ours")

    entry = formats.Format("broken", "", lambda _head: True, broken)
    monkeypatch.setattr(formats, "FORMATS", (entry,))
    with pytest.raises(ReaderFault, match=mistake.__name__):
        parse(b"x", Source("x"))


def test_cells_of_a_dash_are_no_numbers_and_no_fault():
    # "-,5" is a decimal comma to the list of intervals, and "-" before it no number.
    for text in ("-,91\n-,92\n", "+,91\n+,92\n", "time,HR\n-,91\n-,92\n-,93\n", "-,\n-,\n", ",91\n,92\n"):
        for entry in FORMATS:
            assert entry.sniff(text.encode()) in (True, False)


def test_streams_agree_in_length_unit_and_order(sample):
    name, data = sample
    recording = parse(data, Source(name))
    assert recording.streams
    for stream in recording.streams:
        assert len(stream.time) == len(stream.values) == len(stream.flags) > 0
        assert stream.unit == UNITS[stream.name]
        assert (np.diff(stream.time) >= 0).all()
        assert ((stream.flags & Flag.UNCHECKED) != 0).all()  # unchecked never reads as good
        for array in (stream.time, stream.values, stream.flags):
            assert not array.flags.writeable
    for stream in clean(recording).streams:
        assert not (stream.flags & Flag.UNCHECKED).any()


def refusal_of(data, name):
    """The refusal of a file, None if it was read; any other exception is a failure."""
    try:
        clean(parse(data, Source(name)))
    except IngestError as refusal:
        return refusal
    return None


@pytest.mark.parametrize("seed", range(6))
def test_damaged_bytes_give_a_recording_or_a_sentence(sample, seed):
    name, whole = sample
    chance = random.Random(f"{name}{seed}")
    for _ in range(25):
        data = bytearray(whole)
        for _ in range(chance.choice((1, 3, 40))):
            data[chance.randrange(len(data))] = chance.randrange(256)
        if chance.random() < 0.5:
            del data[chance.randrange(len(data)) :]
        refusal = refusal_of(bytes(data), name)
        assert not isinstance(refusal, ReaderFault), refusal
        assert refusal is None or str(refusal).startswith(name)
        assert refusal is None or said(refusal.mend).endswith((".", "`")), refusal


def test_what_stands_before_a_cut_is_kept(sample):
    name, whole = sample
    if name == "excerpt":  # written by the logbook and never by a device that loses power: a cut one is refused
        with pytest.raises(DamagedFile):
            parse(whole[:-1], Source(name))
        return
    before = [len(parse(whole[: int(len(whole) * share)], Source(name)).streams[0]) for share in (0.5, 0.8, 1.0)]
    assert before[0] < before[1] < before[2]
    assert before[0] > 0.3 * before[2]


def personal_files():
    point = "<Time>2026-05-12T08:00:0{n}Z</Time><HeartRateBpm><Value>10{n}</Value></HeartRateBpm>"
    yield (
        "TCX",
        (
            "<TrainingCenterDatabase><Activities><Activity Sport='Other'><Notes>Quillfeather</Notes>"
            "<Lap StartTime='2026-05-12T08:00:00Z'><TotalTimeSeconds>3</TotalTimeSeconds><Track>"
            + "".join(
                "<Trackpoint><Position><LatitudeDegrees>51.4778</LatitudeDegrees></Position>"
                f"{point.format(n=n)}</Trackpoint>"
                for n in range(3)
            )
            + "</Track></Lap><Creator><Name>Quillfeather</Name><UnitId>SN-884213</UnitId></Creator>"
            "</Activity></Activities></TrainingCenterDatabase>"
        ).encode(),
    )
    yield (
        "GPX",
        (
            '<gpx version="1.1" creator="SN-884213"><metadata><author><name>Quillfeather</name></author></metadata>'
            "<trk><name>Quillfeather</name><trkseg>"
            + "".join(
                f'<trkpt lat="51.4778" lon="0"><time>2026-05-12T08:00:0{n}Z</time>'
                f"<extensions><hr>10{n}</hr></extensions></trkpt>"
                for n in range(3)
            )
            + "</trkseg></trk></gpx>"
        ).encode(),
    )
    yield (
        "table",
        b"Device,SN-884213\nAthlete,Quillfeather\n\nTime (s),Name,Latitude,HR (bpm)\n"
        + b"".join(b"%d,Quillfeather,51.4778,10%d\n" % (n, n) for n in range(5)),
    )


@pytest.mark.parametrize(
    ("name", "data"), list(personal_files()), ids=lambda value: value if isinstance(value, str) else ""
)
def test_nothing_of_the_person_survives(name, data):
    recording = parse(data, Source("strap"))
    assert recording.sources[0].format == name
    assert len(recording["heart_rate"]) >= 3
    kept = pickle.dumps(recording)
    for word in PERSONAL:
        assert word.encode() in data
        assert word.encode() not in kept


def test_what_a_person_typed_into_a_recording_does_not_survive():
    # Annotations of EDF+ are free text: their times are kept, their words could be a name.
    from tests.makers.edf_files import Channel, beats, edf_bytes

    wave = [Channel("ECG", "mV", 250, beats(20, 96, 250))]
    recording = parse(edf_bytes(wave, marks=[(5.0, None, "Quillfeather begins")]), Source("strap"))
    assert [(mark.time_s, mark.label) for mark in recording.marks] == [(5.0, "annotation 1")]
    assert b"Quillfeather" not in pickle.dumps(recording)
