"""An excerpt comes back as it was cut: every stream, stamp, flag and mark, and nothing from outside the span."""

import gzip
import json
import random
import textwrap
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.errors import DamagedFile, IngestError
from ownmark.ingest.combine import combine
from ownmark.ingest.excerpt.cut import cut, outside_s
from ownmark.ingest.excerpt.form import MAGIC, excerpt
from ownmark.ingest.files import finished
from ownmark.ingest.formats import parse
from ownmark.ingest.recording import GIVEN, Hints, Mark, Placing, Provenance, Recording, Source, Stream
from ownmark.ingest.span import with_spans
from ownmark.sample_streams import FOLDER
from ownmark.words.message import Message, Quoted

from tests.ingest.test_reader_contract import SAMPLES
from tests.makers.edf_files import Channel, beats, edf_bytes

FILES = {
    **{name: data for name, data in SAMPLES.items() if name != "excerpt"},
    "movement": gzip.decompress((FOLDER / "TH-11-chair-frame.csv.gz").read_bytes()),
    "ECG": edf_bytes(
        [Channel("ECG", "mV", 250, beats(40, 96, 250))], marks=[(5.0, None, "start"), (9.0, 4.0, "pause")]
    ),
}


def equal(one, other):
    """Whether two values are the same, arrays to the last bit."""
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return one.dtype == other.dtype and one.shape == other.shape and one.tobytes() == other.tobytes()
    if isinstance(one, (Recording, Stream)):
        return type(one) is type(other) and all(
            equal(getattr(one, each.name), getattr(other, each.name)) for each in fields(one)
        )
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(equal, one, other))
    return bool(one == other)


def read_back(recording, name):
    return parse(excerpt(recording), Source(name))


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("seed", range(4))
def test_an_excerpt_reads_back_as_the_recording_cut_to_the_span(name, seed):
    chance = random.Random(f"{name}{seed}")
    whole = parse(FILES[name], Source(name))
    first, last = whole.first_s, whole.last_s
    span = tuple(sorted(chance.uniform(first - 5, last + 5) for _ in range(2))) if seed else (first - 9, last + 9)
    part = cut(whole, span)
    again = read_back(part, name)
    assert equal(again, part)
    assert equal(finished([again]), finished([part]))  # judged alike too: heart rate from RR, beats from a wave
    for stream in again.streams:
        assert span[0] <= stream.time[0] <= stream.time[-1] < span[1]
        assert not stream.time.flags.writeable
    if not seed:
        assert sum(map(len, again.streams)) == sum(map(len, whole.streams))


def test_the_real_recordings_come_back_too(real_dir):
    count = 0
    for path in sorted(real_dir.rglob("*")):
        if not path.is_file():
            continue
        data = gzip.decompress(path.read_bytes()) if path.suffix == ".gz" else path.read_bytes()
        try:
            whole = parse(data, Source(path.name))
        except IngestError:
            continue
        middle = (whole.first_s + whole.last_s) / 2
        part = cut(whole, (middle - 120, middle + 120))
        assert equal(read_back(part, path.name), part), path.name
        count += 1
    assert count >= 5


def made(*streams, **more):
    return Recording(streams=streams, sources=(Provenance("made", "0" * 64, "table", "test"),), **more)


numbers = st.lists(
    st.one_of(
        st.floats(allow_nan=True, allow_infinity=True),
        st.floats(width=32),
        st.integers(-40000, 40000).map(float),
        st.sampled_from([-0.0, 0.0, 255.0, 256.0, 2.0**31, float("nan")]),
    ),
    min_size=1,
    max_size=30,
)


@settings(max_examples=200, deadline=None)
@given(numbers, st.integers(0, 65535), st.sampled_from([0.5, 1.0, 1 / 3, 0.01, 1 / 128]), st.floats(-1e5, 1e9))
def test_every_number_comes_back_to_the_last_bit(values, flag, step, begin):
    count = len(values)
    for time in (begin + np.arange(count) * step, np.sort(np.clip(np.nan_to_num(np.array(values)), -1e12, 1e12))):
        stream = Stream(
            name="heart_rate",
            unit="/min",
            time=time,
            values=np.array(values),
            flags=np.full(count, flag, np.uint16),
            cover_s=np.array(values[::-1]),
        )
        recording = made(stream)
        again = read_back(recording, "made")["heart_rate"]
        for part in ("time", "values", "flags", "cover_s"):
            assert getattr(again, part).tobytes() == getattr(stream, part).tobytes()


def test_marks_notes_and_placing_come_back():
    stream = Stream.from_samples("heart_rate", [0.0, 1.0, 2.0], [90.0, 91.0, 92.0], source="made")
    note = Message.of("read.of_file", file=Quoted("a “file”\n"), note=Message.of("x.y", on=3, rows=(1, 2.5)))
    recording = made(
        stream,
        marks=(Mark(0.5, "button"), Mark(0.0, "lap", "1", 1.5)),
        notes=(note,),
        clock_s=32_400.5,
        placings=(Placing("made", -3.25, GIVEN, 0.5, 0.9, 12.0, 4.0, (note,)),),
    )
    assert equal(read_back(with_spans(recording), "made"), with_spans(recording))


def test_a_lap_ends_at_the_edge_and_a_press_outside_is_gone():
    stream = Stream.from_samples("heart_rate", np.arange(100.0), np.full(100, 90.0))
    marks = (Mark(9.0, "button"), Mark(10.0, "button"), Mark(0.0, "lap", "1", 30.0), Mark(60.0, "lap", "2", 90.0))
    part = cut(made(stream, marks=marks, ran_s=(0.0, 100.0)), (10.0, 50.0))
    assert part.marks == (Mark(10.0, "button"), Mark(10.0, "lap", "1", 30.0))
    assert (part["heart_rate"].time[0], part["heart_rate"].time[-1], part.ran_s) == (10.0, 49.0, (10.0, 50.0))
    assert (part.whole_s, part.first_s, part.last_s) == ((0.0, 100.0), 0.0, 100.0)
    assert part.sources[0].part_s == (10.0, 50.0)


def test_two_spans_that_meet_share_no_sample_and_no_mark():
    stream = Stream.from_samples("heart_rate", np.arange(100.0), np.full(100, 90.0))
    marks = (Mark(50.0, "button"), Mark(10.0, "lap", "1", 50.0), Mark(50.0, "lap", "2", 60.0))
    whole = made(stream, marks=marks, ran_s=(0.0, 100.0))
    one, two = cut(whole, (0.0, 50.0)), cut(whole, (50.0, 101.0))
    assert [*one["heart_rate"].time, *two["heart_rate"].time] == list(range(100))
    assert (one.marks, two.marks) == (marks[1:2], (marks[0], marks[2]))


def test_a_cut_holds_its_own_samples_and_one_that_cuts_nothing_away_those_of_the_whole():
    values = np.arange(300.0).reshape(3, 100).T  # each axis in one piece of memory, as tables are read
    for name, stream in (
        ("acceleration", Stream.from_samples("acceleration", np.arange(100.0), values)),
        ("rr_interval", Stream.from_samples("rr_interval", np.arange(100.0), np.ones(100), cover_s=np.ones(100))),
    ):
        whole = made(stream)
        all_of_it = cut(whole, (0.0, 100.0))[name]
        assert (all_of_it.time is stream.time, all_of_it.values is stream.values) == (True, True)
        part = cut(whole, (10.0, 13.0))[name]
        assert (part.time.tolist(), part.values.tolist()) == ([10, 11, 12], stream.values[10:13].tolist())
        for array in (part.time, part.values, part.flags):
            assert (array.base, array.flags.c_contiguous) == (None, True)  # a view would keep the whole file
        shorter = [cut(whole, span).all(name) for span in ((0.5, 100.0), (0.0, 99.0))]
        assert [len(each) for (each,) in shorter] == [99, 99]


def test_several_samples_of_one_moment_stay_together_at_an_edge():
    times = np.array([0.0, 1.0, 1.0, 1.0, 2.0, 2.0, 3.0])
    stream = Stream.from_samples("acceleration", times, np.ones((7, 3)))
    assert cut(made(stream), (1.0, 2.0))["acceleration"].time.tolist() == [1.0, 1.0, 1.0]
    assert "acceleration" not in cut(made(stream), (1.5, 2.0))


def test_an_interval_that_ends_outside_is_outside():
    beats_s = np.array([0.0, 0.8, 1.6, 2.4])
    stream = Stream.from_samples("rr_interval", beats_s, np.full(4, 0.8), cover_s=np.full(4, 0.8))
    assert cut(made(stream), (0.8, 2.5))["rr_interval"].time.tolist() == [0.8, 1.6]


def test_a_cut_of_a_cut_is_a_cut():
    whole = parse(FILES["FIT"], Source("FIT"))
    span = (whole.first_s + 100, whole.first_s + 300)
    wide = cut(whole, (span[0] - 50, span[1] + 50))
    assert equal(cut(wide, span), cut(whole, span))
    assert equal(cut(read_back(wide, "FIT"), span), cut(whole, span))


def test_nothing_from_outside_is_in_the_bytes():
    # Values that occur outside alone are looked for in every type that could hold them.
    rates = np.where(np.arange(400) < 200, 91.0, 173.0)
    data = excerpt(cut(made(Stream.from_samples("heart_rate", np.arange(400.0), rates)), (0.0, 150.0)))
    for kind in ("<u1", "<i2", "<i4", "<f4", "<f8"):
        assert np.full(2, 173).astype(kind).tobytes() not in data
    assert (
        read_back(cut(made(Stream.from_samples("heart_rate", np.arange(400.0), rates)), (0.0, 150.0)), "x")[
            "heart_rate"
        ].values.tolist()
        == [91.0] * 150
    )


def test_an_offset_counts_from_the_whole_files_first_sample():
    # A file whose first sample is at 7 s, laid 20 s into the trial: the same place, whole or cut.
    early = Stream.from_samples("heart_rate", np.arange(100.0), np.full(100, 90.0), source="a")
    late = Stream.from_samples("acceleration", np.arange(7.0, 90.0), np.ones((83, 3)), source="b")
    one = Recording(streams=(early,), sources=(Provenance("a", "1", "table", "t"),))
    two = Recording(streams=(late,), sources=(Provenance("b", "2", "table", "t"),))
    whole = combine([one, two], {"b": 20.0})["acceleration"].time
    part = combine([one, cut(two, (40.0, 60.0))], {"b": 20.0})["acceleration"].time
    assert whole[0] == 20.0
    assert part.tolist() == [time for time in whole if 53.0 <= time < 73.0]


@pytest.mark.parametrize(
    ("span", "expected"), [((10, 60), 50.0), ((-5, 200), 0.0), ((0, 70), 30.0), ((150, 160), 100.0), ((-9, -1), 100.0)]
)
def test_how_long_a_file_ran_outside(span, expected):
    assert outside_s(made(ran_s=(0.0, 100.0)), span) == expected


def test_what_is_damaged_is_refused_whatever_byte_it_is():
    data = excerpt(parse(FILES["FIT"], Source("FIT")))
    chance = random.Random(5)
    refused = 0
    for _ in range(300):
        broken = bytearray(data)
        broken[chance.randrange(data.index(b"\n", len(MAGIC)) + 1, len(data))] ^= 1 << chance.randrange(8)
        with pytest.raises(DamagedFile):
            parse(bytes(broken), Source("x"))
        refused += 1
    assert refused == 300
    for length in (len(MAGIC), 40, len(data) // 2, len(data) - 1):
        with pytest.raises(DamagedFile):
            parse(data[:length], Source("x"))
    with pytest.raises(DamagedFile):
        parse(data + b"x", Source("x"))


@pytest.mark.parametrize(
    "change",
    [
        {"streams": 3},
        {"marks": [{}]},
        {"of": None},
        {"start": "yesterday"},
        {"ran_s": [1]},
        {"clock_s": float("nan")},
        {"notes": ["text"]},
        {"whole_s": [True, 2]},
    ],
)
def test_a_head_that_says_something_else_is_refused(change):
    data = excerpt(made(Stream.from_samples("heart_rate", [0.0, 1.0], [90.0, 91.0])))
    end = data.index(b"\n", len(MAGIC))
    head = {**json.loads(data[len(MAGIC) : end]), **change}
    with pytest.raises(DamagedFile):
        parse(MAGIC + json.dumps(head).encode() + data[end:], Source("x"))


def test_columns_named_for_the_original_do_not_matter_to_its_excerpt():
    part = cut(parse(FILES["table"], Source("table")), (0.0, 60.0))
    again = parse(excerpt(part), Source("table", hints=Hints({"heart_rate": "Puls"}, 1.0)))
    assert equal(again, part)


def test_an_excerpt_is_of_one_file():
    with pytest.raises(ValueError, match="one file"):
        excerpt(Recording(streams=()))
    with pytest.raises(ValueError, match="begins"):
        cut(Recording(streams=()), (2.0, 1.0))


@pytest.mark.parametrize("name", FILES)
def test_the_program_of_the_documentation_reads_it(name):
    page = (Path(__file__).resolve().parents[3] / "docs" / "excerpt.md").read_text()
    code = textwrap.dedent(page[page.index("    import json, math") :])
    found: dict = {}
    exec(code, found)  # the page's own lines
    recording = parse(FILES[name], Source(name))
    for stream, (quantity, parts) in zip(recording.streams, found["arrays"](excerpt(recording)), strict=True):
        assert stream.name == quantity
        for part, values in parts.items():
            assert values.astype(getattr(stream, part).dtype).tobytes() == getattr(stream, part).tobytes()
