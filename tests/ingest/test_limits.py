"""What holds more than a day of a recording is refused, in little time and memory; what holds a day is read."""

import gzip
import os
import struct
import subprocess
import sys
import time
import tracemalloc
import zipfile

import numpy as np
import pytest
from ownmark.errors import DamagedFile, TooLarge
from ownmark.ingest import limits, rr_list
from ownmark.ingest.containers import MIB, Member, members
from ownmark.ingest.files import Refused, read_each
from ownmark.ingest.formats import parse
from ownmark.ingest.gzip_pieces import MAX_PACKINGS
from ownmark.ingest.packets import reader as packets
from ownmark.ingest.recording import Hints, Source, Stream
from ownmark.ingest.table import reader as table

from tests.makers import fit_files as make
from tests.makers.edf_files import Channel, edf_bytes
from tests.makers.refusals import said

SOURCE = Source("day")
LONGEST_S = 2.0
MOST_TIMES, MOST_MIB = 10, 400


def fit(body):
    return struct.pack("<BBHI4s", 12, 0x20, 2132, len(body), b".FIT") + body + b"\0\0"


def many_fit(message, fields, row, count):
    return fit(bytes(make.FitWriter().define(0, message, fields).body) + row * count)


def track(points):
    point = b"<Trackpoint><Time>2026-05-12T08:00:00Z</Time><HeartRateBpm><Value>99</Value></HeartRateBpm></Trackpoint>"
    return b"<TrainingCenterDatabase><Lap><Track>" + point * points + b"</Track></Lap></TrainingCenterDatabase>"


def wave(samples):
    whole = edf_bytes([Channel("ECG", "mV", 1000, np.sin(np.arange(1000) / 7))], plus=False)
    records = samples // 1000
    return whole[:236] + str(records).encode().ljust(8) + whole[244:512] + whole[512:] * records


RECORD = struct.pack("<BIB", 0, make.NINE_OCLOCK, 90)
STAMP_AND_RATE = [(make.STAMP, make.UINT32), (3, make.UINT8)]
HOSTILE = {
    # Each of these took up to a minute and 3 GB before there were limits.
    "eight million intervals in 31 kB": lambda: gzip.compress(b"8e2\n" * 8_000_000),
    "three million intervals in 12 kB": lambda: gzip.compress(b".8\n" * 3_000_000),
    "a list of 20 MB": lambda: b"800\n810\n790\n" * 1_666_667,
    "a list without line feeds": lambda: b"800\r" * 5_000_000,
    "200,000 empty packings": lambda: gzip.compress(b"", mtime=0) * 200_000,
    "200,000 empty packings before a list": lambda: gzip.compress(b"") * 200_000 + gzip.compress(b"800\n" * 900),
    "a million packets": lambda: b"".join(b"%d.0,16 4D 16 03\n" % n for n in range(1_000_000)),
    "three million rows of heart rate": lambda: b"Time (s),HR (bpm)\n" + b"1,80\n" * 3_000_000,
    "a table in 40 kB": lambda: gzip.compress(b"Time (s),HR (bpm)\n" + b"1,80\n" * 6_000_000),
    "600,000 track points": lambda: track(600_000),
    "track points in 200 kB": lambda: gzip.compress(track(600_000)),
    "three million elements": lambda: b"<gpx>" + b"<a/>" * 3_000_000 + b"</gpx>",
    "two million empty points": lambda: b"<gpx><trk><trkseg>" + b"<trkpt/>" * 1_700_000 + b"</trkseg></trk></gpx>",
    "two million attributes": lambda: b"<gpx " + b"".join(b"a%d='' " % n for n in range(2_000_000)) + b"/>",
    "attributes in one element": lambda: b"<gpx " + b"".join(b"a%d='' " % n for n in range(100_000)) + b"/>",
    "five million records": lambda: many_fit(make.RECORD, STAMP_AND_RATE, RECORD, 5_000_000),
    "a million laps": lambda: many_fit(make.LAP, [(make.STAMP, make.UINT32)], RECORD[:5], 1_000_000),
    "a million interval messages": lambda: many_fit(make.HRV, [(0, make.UINT16)], b"\0\x20\3", 1_000_000),
    "18 million samples": lambda: wave(18_000_000),
    "a wide table": lambda: gzip.compress(b"Time (s),HR (bpm)\n1,80" + b"," * 20_000_000),
    "one line": lambda: b"8" * 20_000_000,
    "one element": lambda: gzip.compress(b"<gpx><trk><trkseg><trkpt><time>" + b"1" * 60_000_000),
}


LITTLE = (
    b"800\n810\n790\n" * 40,
    b"".join(b"%d.0,16 4D 16 03\n" % n for n in range(60)),
    b"Time (s),HR (bpm)\n" + b"1,80\n" * 60,
    track(60),
    b"<gpx><trk><trkseg>" + b"<trkpt/>" * 60 + b"</trkseg></trk></gpx>",
    many_fit(make.RECORD, STAMP_AND_RATE, RECORD, 60),
    wave(10_000),
)
"""A little of every kind."""


@pytest.fixture(scope="module")
def loaded(tmp_path_factory):
    """The libraries of every kind are loaded, so that no time and no memory is theirs."""
    folder = tmp_path_factory.mktemp("little")
    for number, data in enumerate(LITTLE):
        for path, content in ((folder / str(number), data), (folder / f"{number}.gz", gzip.compress(data))):
            path.write_bytes(content)
            list(read_each([path]))


@pytest.mark.parametrize("name", HOSTILE)
def test_a_small_file_never_eats_a_school_computer(tmp_path, loaded, name):
    data = HOSTILE[name]()
    path = tmp_path / "file"
    path.write_bytes(data)
    # The standard library takes a minute for the 200,000, too.
    packed = data[:2] == b"\x1f\x8b" and "200,000" not in name
    unpacked = len(gzip.decompress(data)) if packed else len(data)
    del data
    began = time.process_time()
    (answer,) = read_each([path])
    took_s = time.process_time() - began
    tracemalloc.start()
    list(read_each([path]))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert isinstance(answer, Refused), name
    assert took_s < LONGEST_S
    assert peak < max(MOST_TIMES * unpacked, 20 * MIB)
    assert peak < MOST_MIB * MIB


def test_a_bag_of_files_that_pack_too_well_together_is_not_read_on(tmp_path):
    path = tmp_path / "bag.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(9):
            archive.writestr(f"{number}.txt", bytes(15 * MIB))
    found = list(members(path))
    assert [type(each) for each in found] == [Member, Member, TooLarge]


def test_files_of_an_archive_that_lie_on_top_of_each_other_are_refused(tmp_path):
    # Many entries of its list may name the same packed bytes: a file of 40 kB can then unpack to gigabytes.
    path = tmp_path / "bag.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as archive:
        archive.writestr("0.txt", b"800\n" * 2000)
    data = path.read_bytes()
    begin = data.index(b"PK\x01\x02")
    entry, end = data[begin : data.index(b"PK\x05\x06")], data[data.index(b"PK\x05\x06") :]
    many = entry * 3
    tail = end[:8] + struct.pack("<HHLL", 3, 3, len(many), begin) + end[20:]
    path.write_bytes(data[:begin] + many + tail)
    (refusal,) = members(path)
    assert isinstance(refusal, DamagedFile)
    assert "larger than the archive" in said(refusal.what)


def test_as_many_packings_as_a_large_file_has_are_read(tmp_path):
    path = tmp_path / "blocks.gz"
    for count, kind in ((MAX_PACKINGS, Member), (MAX_PACKINGS + 1, TooLarge)):
        path.write_bytes(gzip.compress(b"") * (count - 1) + gzip.compress(b"800\n"))
        (found,) = members(path)
        assert isinstance(found, kind), (count, found)


# At the limits.


def test_a_day_is_what_it_says():
    assert limits.MOST_BEATS == 331_200  # 24 h at 230 /min
    assert limits.MOST_RATES == 864_000
    assert limits.MOST_POINTS == 172_800
    assert limits.MOST_SAMPLES == 17_280_000


def refused(function, *arguments):
    try:
        function(*arguments, "hearts", "x")
    except TooLarge as refusal:
        return refusal.where == "x"
    return False


@pytest.mark.parametrize("end", [b"\n", b"\r", b"\r\n"])
def test_a_text_has_two_lines_a_value_and_a_thousand_others(end):
    for most in (0, 1, 50):
        allowed = 2 * most + 1000
        assert not refused(limits.refuse_many_lines, end * allowed, most)
        assert refused(limits.refuse_many_lines, end * (allowed + 1), most)
    assert not refused(limits.refuse_many_lines, b"8" * 5000, 50)
    assert not refused(limits.refuse_many_lines, b"\n" * 1000 + b"\r" * 1000, 50)  # each counts alone


def test_as_many_values_as_the_most_are_not_too_many():
    assert not refused(limits.refuse_many, 7, 7)
    assert not refused(limits.refuse_many, 0, 0)
    assert refused(limits.refuse_many, 8, 7)


def test_a_day_of_beats_is_read_and_one_more_is_refused():
    assert len(rr_list.read(b"260\n" * 331_200, SOURCE)["rr_interval"]) == 331_200
    with pytest.raises(TooLarge, match="331,200"):
        rr_list.read(b"260\n" * 331_201, SOURCE)


def test_blank_lines_are_no_intervals_and_lines_without_end_are_refused():
    blank = 2 * 331_200 + 1000
    assert len(rr_list.read(b"260\n" * 9 + b"\n" * (blank - 9), SOURCE)["rr_interval"]) == 9
    with pytest.raises(TooLarge):
        rr_list.read(b"260\n" * 9 + b"\n" * (blank - 8), SOURCE)
    with pytest.raises(TooLarge):
        rr_list.read(b"260\r" * 9 + b"\r" * (blank - 8), SOURCE)


def test_a_list_that_is_called_a_waveform_may_have_more():
    hints = Hints({"waveform": "1"}, 200.0)
    assert len(rr_list.read(b"260\n" * 331_201, Source("wave", hints=hints))["waveform"]) == 331_201


def test_a_day_of_packets_is_read_and_one_more_is_refused():
    head, row = b"time (s),packet\n", b"1.0,16 4D 16 03\n"
    assert len(packets.read(head + row * 331_200, SOURCE)["heart_rate"]) == 331_200
    with pytest.raises(TooLarge, match="331,200"):
        packets.read(head + row * 331_201, SOURCE)


def test_rows_of_heart_rate_are_bounded_and_those_of_movement_may_be_more():
    heads = {"HR (bpm)": True, "RR (ms)": True, "ECG (mV)": False}
    for head, refused in heads.items():
        value = "800" if "RR" in head else "80"
        data = f"Time (s),{head}\n".encode() + f"1,{value}\n".encode() * 864_001
        if refused:
            with pytest.raises(TooLarge, match="864,000"):
                table.read(data, SOURCE)
        assert len(table.read(data[: -len(f"1,{value}\n")] if refused else data, SOURCE).streams) == 1


def test_a_day_of_track_points_is_read_and_one_more_is_refused():
    assert len(parse(track(172_800), SOURCE)["heart_rate"]) == 172_800
    with pytest.raises(TooLarge, match="172,800"):
        parse(track(172_801), SOURCE)


@pytest.mark.parametrize(
    ("inside", "refused"),
    [
        (b"<a></a>" * (10 * 172_800 - 1), False),  # with begin and end of gpx: 20 edges a point
        (b"<a></a>" * (10 * 172_800), True),
        (b"<a/>" * (10 * 172_800 - 1), False),
        (b"<a/>" * (10 * 172_800), True),
        (b"<b c=''/>" * (6 * 172_800), False),
        (b"<b c=''/>" * (6 * 172_800 + 1), True),
        (b"<a" + b" " * 9_997 + b"/>", False),
        (b"<a" + b" " * 9_998 + b"/>", True),
    ],
)
def test_elements_of_xml_are_bounded_before_they_are_read(inside, refused):
    data = b"<gpx>" + inside + b"</gpx>"
    if refused:
        with pytest.raises(TooLarge):
            limits.refuse_endless_xml(data, "x")
    else:
        limits.refuse_endless_xml(data, "x")


def test_messages_of_fit_are_bounded_by_their_kind():
    for message, fields, row, most in (
        (make.RECORD, STAMP_AND_RATE, RECORD, 864_000),
        (make.LAP, [(make.STAMP, make.UINT32)], RECORD[:5], 86_400),
        (18, [(make.STAMP, make.UINT32)], RECORD[:5], 86_400),
        (make.EVENT, [(make.STAMP, make.UINT32)], RECORD[:5], 86_400),
        (make.HRV, [(0, make.UINT16)], b"\0\x20\3", 331_200),
        (make.HR, [(make.STAMP, make.UINT32)], RECORD[:5], 864_000),
    ):
        with pytest.raises(TooLarge):
            parse(many_fit(message, fields, row, most + 1), SOURCE)
    assert len(parse(many_fit(make.RECORD, STAMP_AND_RATE, RECORD, 864_000), SOURCE)["heart_rate"]) == 864_000


def test_samples_of_a_channel_are_bounded_before_they_are_unpacked():
    with pytest.raises(TooLarge, match="17,280,000"):
        parse(wave(17_281_000), SOURCE)


def test_a_number_of_track_points_that_never_ends_is_none():
    from ownmark.ingest.xml.points import as_number

    assert as_number("9" * 100) == pytest.approx(1e100)
    assert np.isnan(as_number("9" * 101))


def test_the_limit_of_a_stream_is_no_limit_of_a_recording():
    assert isinstance(parse(b"800\n810\n" * 30, SOURCE).streams[0], Stream)


@pytest.mark.parametrize("digits", [100, 4000, 5000])
@pytest.mark.parametrize("row", [b"%d,%s\n", b"%d,80,%s\n"])
def test_numbers_of_thousands_of_digits_are_read_as_none_in_no_time(digits, row):
    head = b"Time (s),HR (bpm),Power\n" if row.count(b",") == 2 else b"Time (s),HR (bpm)\n"
    good = b"".join(b"%d,80,1\n" % n if b"Power" in head else b"%d,80\n" % n for n in range(400))
    data = head + good + b"".join(row % (n, b"1" * digits) for n in range(400, 3000))
    began = time.process_time()
    stream = parse(data, SOURCE)["heart_rate"]
    assert time.process_time() - began < LONGEST_S
    assert np.count_nonzero(stream.values == 80) == (3000 if b"Power" in head else 400)
    assert np.isnan(stream.values[stream.values != 80]).all()


def test_numbers_of_99_digits_stay_as_they_are():
    data = b"Time (s),HR (bpm)\n" + b"".join(b"%d,80\n" % n for n in range(400)) + b"400," + b"0" * 97 + b"90\n"
    assert parse(data, SOURCE)["heart_rate"].values[-1] == 90


def test_a_table_that_is_nothing_but_endless_numbers_is_refused_in_no_time():
    data = b"Time (s),HR (bpm)\n" + b"".join(b"%d,%s\n" % (n, b"1" * 4000) for n in range(3000))
    began = time.process_time()
    with pytest.raises(DamagedFile):
        parse(data, SOURCE)
    assert time.process_time() - began < LONGEST_S


READING = """
import resource, sys
import pandas
from ownmark.ingest.formats import parse
from ownmark.ingest.recording import Source
used = lambda: resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
row = "%.2f,0.1234,-0.2345,0.9876" + chr(10)
data = ("Time (s),Acc X (g),Acc Y (g),Acc Z (g)" + chr(10) + "".join(row % (n / 100) for n in range(800_000))).encode()
before = used()
parse(data, Source("walk"))
print((used() - before) / len(data))
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="memory is told by the resource module")
def test_reading_a_table_of_movement_takes_less_than_four_times_its_bytes():
    # 4.9 times before the parser took it in pieces: 765 MB for 72 MB of six columns.
    told = subprocess.run([sys.executable, "-c", READING], capture_output=True, text=True, check=True)
    assert float(told.stdout) < 4
