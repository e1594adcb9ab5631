"""Lists of RR intervals. Outside checks: the open series ``rr_short.npy`` (see its README), read by numpy."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.errors import DamagedFile, IngestError, UnclearColumns
from ownmark.ingest import rr_list
from ownmark.ingest.cleaning.judge import clean, with_heart_rate
from ownmark.ingest.flags import Flag
from ownmark.ingest.packets import reader as packets
from ownmark.ingest.recording import Hints, Source
from ownmark.ingest.rr_intervals import lasting, told_of_lost
from ownmark.ingest.span import with_spans
from ownmark.ingest.table import reader as table
from ownmark.metrics import effort

from tests.makers.sheets import texts


def read(text, columns=None, rate_hz=None):
    data = text if isinstance(text, bytes) else text.encode()
    return rr_list.read(data, Source("beats.txt", hints=Hints(columns or {}, rate_hz)))


def claims(text):
    head = (text if isinstance(text, bytes) else text.encode())[:4096]
    return [reader.sniff(head) for reader in (table, rr_list, packets)]


@pytest.mark.parametrize("unit", ["ms", "s", "s with a comma"])
def test_a_real_series_reads_back_with_its_published_variability(real_dir, unit):
    # pyhrv's 337 intervals: RMSSD 101.3006 ms, SDNN 95.6904 ms (n - 1), both stated beside the file.
    milliseconds = np.load(real_dir / "rr_short.npy").astype(float)
    texts = [f"{value:g}" if unit == "ms" else f"{value / 1000:.3f}" for value in milliseconds]
    text = "\n".join(texts).replace(".", "," if "comma" in unit else ".")
    assert claims(text) == [False, True, False]
    stream = read(text)["rr_interval"]
    np.testing.assert_allclose(stream.values, milliseconds / 1000, rtol=1e-12)
    np.testing.assert_allclose(stream.time, np.cumsum(milliseconds / 1000) - milliseconds / 1000, atol=1e-9)
    np.testing.assert_array_equal(stream.cover_s, stream.values)
    assert np.sqrt(np.mean(np.diff(stream.values * 1000) ** 2)) == pytest.approx(101.3006, abs=1e-3)
    assert np.std(stream.values * 1000, ddof=1) == pytest.approx(95.6904, abs=1e-3)


@pytest.mark.parametrize(
    "text", ["RR (ms)\r\n812\r\n\r\n790\r\n", "# recorded by a test\n812\n790\n", '"RR"\n"812"\n"790"\n']
)
def test_header_comment_and_blank_lines_are_no_intervals(text):
    assert claims(text) == [False, True, False]
    assert read(text)["rr_interval"].values.tolist() == [0.812, 0.79]


def test_a_text_line_and_a_zero_are_lost_beats_that_take_as_long_as_those_around_them():
    # By hand: the median of 812, 790, 800 and 805 ms is 802.5 ms.
    recording = read("812\n790\nlost\n800\n0\n\n805\n")
    stream = recording["rr_interval"]
    assert stream.time.tolist() == pytest.approx([0, 0.812, 1.602, 2.4045, 3.2045, 4.007])
    assert np.isnan(stream.values).tolist() == [False, False, True, False, False, False]
    assert stream.values[4] == 0
    assert stream.cover_s.tolist() == pytest.approx([0.812, 0.79, 0.8025, 0.8, 0.8025, 0.805])
    flags = clean(recording)["rr_interval"].flags
    assert flags.tolist() == [0, 0, Flag.DROPOUT, 0, Flag.DROPOUT, 0]
    assert texts(recording.notes)[:3] == (
        "Lines without a number have no value: 1, the first on line 3.",
        "Numbers that cannot be intervals (not above 0, or over an hour): 1, the first on line 5.",
        "Entries without an interval: 2. Each is assumed to have lasted as long as those around it, in all 1.6 s that "
        "were not measured. If more was lost there, later times are too early by that much.",
    )


def test_a_whole_list_has_no_such_note():
    assert texts(read("812\n790\n").notes) == ("RR intervals were read as ms, because their median shows that.",)


@pytest.mark.parametrize(
    ("number", "told"), [("0", True), ("-800", True), ("3600001", True), ("-3600001", True), ("3600000", False)]
)
def test_numbers_that_are_no_interval_are_counted_and_an_hour_is_one(number, told):
    recording = read(f"800\n{number}\n800\n")
    assert (
        any(
            note.startswith("Numbers that cannot be intervals") and "line 2." in note for note in texts(recording.notes)
        )
        is told
    )
    assert recording["rr_interval"].cover_s.tolist() == ([0.8] * 3 if told else [0.8, 3600, 0.8])


@pytest.mark.parametrize("lost", ["0", "-600", "lost"])
@pytest.mark.parametrize(("where", "percent"), [("spread", 75.0), ("first", 75.0), ("last", 75.0), ("none", 100.0)])
def test_lines_without_an_interval_lower_the_coverage(lost, where, percent):
    # 400 entries of 600 ms, 100 of which are none: a quarter of 240 s was not measured.
    rows = ["600"] * 300
    for place in {"spread": range(1, 401, 4), "first": range(1, 101), "last": range(300, 400), "none": ()}[where]:
        rows.insert(place, lost)
    beats = "\n".join(["Beat,RR (ms)", *(f"{number},{row}" for number, row in enumerate(rows, 1))])
    recordings = [read("\n".join(rows))]
    if lost != "lost":  # a table of a hundred texts above its numbers is none
        recordings.append(table.read(beats.encode(), Source("beats.csv")))
    for recording in recordings:
        sheet = effort(with_heart_rate(clean(with_spans(recording))))
        covered = sheet.figures["coverage_heart_rate"].value
        assert covered == pytest.approx(percent, abs=0.3)
        assert sheet.flags.get("heart_rate", {}).get("dropout", 0) == (0 if where == "none" else 100)
        assert any("were not measured" in note for note in texts(sheet.provenance.notes)) == (where != "none")
        assert (sheet.figures["heart_rate_mean"].value is None) == (where != "none")


def test_empty_cells_of_a_table_without_times_are_no_beats():
    data = "\n".join(["Beat,RR (ms)", "1,800", "2,", "3,800", "4,", "5,x", "6,0"])
    stream = table.read(data.encode(), Source("beats.csv"))["rr_interval"]
    assert stream.time.tolist() == pytest.approx([0, 0.8, 0.8, 1.6, 1.6, 2.4])
    assert sorted(stream.cover_s.tolist()) == pytest.approx([0, 0, 0.8, 0.8, 0.8, 0.8])


def test_entries_that_are_all_lost_take_no_time():
    assert lasting(np.array([0.0, np.nan, -1.0])).tolist() == [0, 0, 0]
    assert told_of_lost(np.zeros(3), np.array([0.0, np.nan, -1.0])) == []


def test_a_lost_beat_takes_as_long_as_the_eleven_intervals_around_it():
    rr_s = np.concatenate((np.full(20, 1.0), [0.0], np.full(20, 0.5)))
    assert lasting(rr_s)[20] == 0.5  # of the next interval: five before it, itself and five behind
    assert lasting(rr_s[::-1])[20] == 1.0
    assert lasting(rr_s, np.arange(41) != 20)[20] == 0.0


@pytest.mark.parametrize("values", ["5\n6\n7\n", "0.05\n0.06\n0.05\n", "65000\n65001\n65000\n"])
def test_numbers_that_are_no_intervals_are_refused(values):
    with pytest.raises(DamagedFile, match=r"neither 0\.2 to 3"):
        read(values)


def test_the_median_decides_and_not_one_interval():
    assert read("812\n3500\n150\n790\n805\n")["rr_interval"].values.tolist() == [0.812, 3.5, 0.15, 0.79, 0.805]


def test_times_of_beats_are_not_taken_for_intervals():
    with pytest.raises(DamagedFile, match="only rise"):
        read(
            "\n".join(str(round(800 * n + 300)) for n in range(1, 4))
            + "\n"
            + "\n".join(str(2800 + n) for n in range(9))
        )


def test_a_header_that_contradicts_the_numbers_is_refused():
    with pytest.raises(DamagedFile, match="header says ms"):
        read("RR (ms)\n0.812\n0.79\n")


@pytest.mark.parametrize(
    ("text", "who"),
    [
        ("rr,hr\n812,74\n790,76\n805,75\n", "table"),
        ("812,74\n790,76\n805,75\n", "table"),
        ("0,72\n1,73\n2,75\n", "table"),
        ("812,5\n790,1\n805,9\n", "list"),
        ("0,812\n0,79\n1,02\n", "list"),
        ("HR\n72\n73\n74\n", "table"),
        ("ECG (mV)\n0.1\n0.2\n0.3\n", "table"),
        ("A list of things\nthat somebody wrote\n812\n", "nobody"),
        ("one\ntwo\n812\n790\n", "nobody"),
        ("42", "nobody"),
    ],
)
def test_two_columns_and_other_quantities_are_no_list(text, who):
    assert claims(text) == [who == "table", who == "list", False]


def test_a_column_that_a_hint_calls_a_waveform_is_one():
    stream = read("512\n530\n541\n", {"waveform": "1"}, 250)["waveform"]
    assert (stream.time.tolist(), stream.values.tolist()) == ([0, 0.004, 0.008], [512, 530, 541])
    with pytest.raises(UnclearColumns, match="--rate 250"):
        read("512\n530\n541\n", {"waveform": "1"})


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.integers(300, 2000), min_size=3, max_size=40),
    st.sampled_from(("", "RR (ms)", "RR-Intervall [ms]", "Intervalo RR", "IBI")),
    st.sampled_from(("\n", "\r\n", "\r")),
    st.sampled_from(("utf-8", "utf-8-sig", "utf-16")),
)
def test_intervals_follow_each_other_without_gap(intervals, header, end, encoding):
    data = end.join([header, *map(str, intervals)]).encode(encoding)
    stream = read(data)["rr_interval"]
    starts = [float(Fraction(sum(intervals[:n]), 1000)) for n in range(len(intervals))]  # exact, by Python
    np.testing.assert_allclose(stream.time, starts, atol=1e-9)
    np.testing.assert_allclose(stream.values, np.array(intervals) / 1000, rtol=1e-15)
    assert rr_list.sniff(data)


@settings(max_examples=200, deadline=None)
@given(st.one_of(st.binary(max_size=200), st.text("0123456789.,-+eE#x\n\r \"'", max_size=120).map(str.encode)))
def test_any_bytes_give_a_recording_or_a_sentence(data):
    assert rr_list.sniff(data) in (True, False)
    try:
        stream = read(data)["rr_interval"]
    except IngestError as refusal:
        told = str(refusal)
    else:
        told = "beats.txt: read"
        assert (stream.cover_s >= 0).all()
        assert ((stream.flags & Flag.UNCHECKED) != 0).all()
    assert told.startswith("beats.txt: ")
