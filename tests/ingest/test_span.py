"""The whole recording is what the file spans, in every format, however little of it was measured."""

from dataclasses import replace

import numpy as np
import pytest
from ownmark.ingest.combine import combine
from ownmark.ingest.files import finished
from ownmark.ingest.formats import parse
from ownmark.ingest.recording import HEART_RATE, RR_INTERVAL, Provenance, Recording, Source, Stream
from ownmark.ingest.span import extent, span_of, union, with_spans
from ownmark.metrics import Asked, Phases, effort
from ownmark.metrics.timeline import own_span, whole_span

from tests.makers import fit_files as make
from tests.makers.edf_files import Channel, beats, edf_bytes
from tests.makers.recordings import pulse

FROM, UNTIL, LENGTH = 240, 540, 600  # heart rate from 4:00 to 9:00 of ten minutes
RATE = [100 + second % 5 for second in range(LENGTH)]


def measured(second):
    return FROM <= second < UNTIL


def stamp(second):
    return f"2026-05-12T08:{second // 60:02d}:{second % 60:02d}Z"


def tcx(points=range(LENGTH), laps=()):
    body = "".join(
        f"<Trackpoint><Time>{stamp(n)}</Time>"
        + (f"<HeartRateBpm><Value>{RATE[n]}</Value></HeartRateBpm>" if measured(n) else "")
        + "</Trackpoint>"
        for n in points
    )
    begin = stamp(laps[0] if laps else 0)
    length = laps[1] - laps[0] if laps else 0
    return (
        f"<TrainingCenterDatabase><Activities><Activity><Lap StartTime='{begin}'><TotalTimeSeconds>{length}"
        f"</TotalTimeSeconds><Track>{body}</Track></Lap></Activity></Activities></TrainingCenterDatabase>"
    ).encode()


def gpx():
    body = "".join(
        f"<trkpt lat='1' lon='2'><time>{stamp(n)}</time>"
        + (f"<extensions><hr>{RATE[n]}</hr></extensions>" if measured(n) else "")
        + "</trkpt>"
        for n in range(LENGTH)
    )
    return f"<gpx><trk><trkseg>{body}</trkseg></trk></gpx>".encode()


def table(columns="Time (s),HR (bpm)", more=""):
    rows = [f"{n},{RATE[n] if measured(n) else ''}{more}" for n in range(LENGTH)]
    return "\n".join([columns, *rows]).encode()


def fit(layouts):
    """Records of 1 Hz: with no heart rate ("no value"), or in a layout without the field."""
    writer = make.FitWriter()
    writer.define(0, make.RECORD, [(make.STAMP, make.UINT32), (3, make.UINT8)])
    writer.define(1, make.RECORD, [(make.STAMP, make.UINT32), (4, make.UINT8)])
    for n in range(LENGTH):
        if measured(n):
            writer.data(0, make.NINE_OCLOCK + n, RATE[n])
        elif layouts == "one":
            writer.data(0, make.NINE_OCLOCK + n, 255)
        elif layouts == "two":
            writer.data(1, make.NINE_OCLOCK + n, 60)
    if layouts in ("lap", "session"):
        number = {"lap": make.LAP, "session": 18}[layouts]
        writer.define(2, number, [(make.STAMP, make.UINT32), (2, make.UINT32), (7, make.UINT32)])
        writer.data(2, make.NINE_OCLOCK + LENGTH, make.NINE_OCLOCK, LENGTH * 1000)
    if layouts == "timer":
        writer.define(2, make.EVENT, [(make.STAMP, make.UINT32), (0, make.ENUM), (1, make.ENUM)])
        writer.data(2, make.NINE_OCLOCK, 0, 0).data(2, make.NINE_OCLOCK + LENGTH, 0, 4)
    return writer.whole()


def packets(behind):
    """Packets without a pulse (0), and behind the heart rate others."""
    payloads = ["0000" if n < FROM else f"00{RATE[n]:02X}" if n < UNTIL else behind for n in range(LENGTH)]
    rows = [f"{n}.0,{payload}" for n, payload in enumerate(payloads)]
    return "\n".join(["time (s),packet", *rows]).encode()


def edf():
    rates = [float(RATE[n]) if measured(n) else 0.0 for n in range(LENGTH)]
    return edf_bytes([Channel("HR", "bpm", 1, rates, (0.0, 250.0))])


def slow_beside(quantity):
    """Heart rate in a row of its own now and then, in the table of a sensor that ran on."""
    rows = [f"{n / 4},{RATE[n // 4] if n % 4 == 0 and measured(n // 4) else ''},0.1,0.2,1.0" for n in range(4 * LENGTH)]
    return "\n".join(["Time (s),HR (bpm),acc x (g),acc y (g),acc z (g)", *rows]).encode()


FILES = {
    "TCX, points": tcx(),
    "TCX, a lap": tcx(range(FROM, UNTIL), (0, LENGTH)),
    "GPX": gpx(),
    "FIT, no value": fit("one"),
    "FIT, records of another layout": fit("two"),
    "FIT, a lap": fit("lap"),
    "FIT, a session": fit("session"),
    "FIT, starts and stops": fit("timer"),
    "EDF": edf(),
    "packets of 0": packets("0000"),
    "packets cut short": packets("00"),
    "table": table(),
    "table of two sensors": slow_beside("acceleration"),
}


@pytest.fixture(params=FILES)
def read(request):
    return parse(FILES[request.param], Source(request.param, "a" * 64))


def test_ten_minutes_with_five_of_heart_rate_are_measured_to_the_half(read):
    sheet = effort(finished([read]), asked=Asked(ceiling_bpm=150))
    work, covered = sheet.provenance.phases.work, sheet.figures["coverage_heart_rate"]
    assert work[1] - work[0] == pytest.approx(LENGTH, abs=1e-6)
    assert covered.value == pytest.approx(50.0, abs=1e-6)
    assert sheet.figures["heart_rate_mean"].value is None  # 80 % are needed
    above = sheet.figures["time_above_ceiling"]
    assert (above.value, above.low, above.high) == (0, 0, pytest.approx(LENGTH - UNTIL + FROM, abs=1e-6))


def test_a_list_of_intervals_spans_their_sum():
    rr_ms = [600, 620, 610, 590] * 100
    sheet = effort(finished([parse("\n".join(map(str, rr_ms)).encode(), Source("rr", "a"))]))
    assert sheet.provenance.phases.work == pytest.approx((0.0, 242.0))
    assert sheet.figures["coverage_heart_rate"].value == pytest.approx(100.0)


def half_a_wave():
    """A wave of a minute with beats in its second half."""
    rate = 100
    wave = np.concatenate((np.zeros(30 * rate), beats(30, 96, rate)))
    wave[: 30 * rate] = 0.3 * np.random.default_rng(1).normal(size=30 * rate)
    return wave, rate


def test_a_wave_spans_its_samples_and_not_its_beats():
    wave, rate = half_a_wave()
    files = {
        "EDF": edf_bytes([Channel("ECG", "mV", rate, wave)]),
        "table": "\n".join(["Time (s),ECG (mV)", *(f"{n / rate},{v:.4f}" for n, v in enumerate(wave))]).encode(),
    }
    for name, data in files.items():
        sheet = effort(finished([parse(data, Source(name, "a"))]))
        assert sheet.provenance.phases.work == pytest.approx((0.0, 60.0), abs=1.0), name
        assert sheet.figures["coverage_heart_rate"].value == pytest.approx(50, abs=8), name
        assert sheet.figures["heart_rate_mean"].value is None


def test_a_clean_wave_loses_nothing_before_its_first_beat():
    data = edf_bytes([Channel("ECG", "mV", 100, beats(40, 96, 100))])
    sheet = effort(finished([parse(data, Source("wave", "a"))]))
    assert sheet.figures["coverage_heart_rate"].value == pytest.approx(100.0)


def test_a_work_phase_without_heart_rate_is_of_the_recording_and_nothing_is_measured(read):
    begin = read.ran_s[0]
    sheet = effort(finished([read]), phases=Phases(work=(begin, begin + 120)))
    assert sheet.figures["coverage_heart_rate"].value == 0


def test_on_the_trials_clock_the_span_moves_with_its_file():
    first = parse(FILES["TCX, points"], Source("a.tcx", "a"))
    other = parse(table(), Source("b.csv", "b"))
    joined = combine([first, other], {"b.csv": 1000.0})
    assert [stream.ran_s for stream in joined.all(HEART_RATE)] == [(0.0, 600.0), (1000.0, 1600.0)]
    assert joined.ran_s == (0.0, 1600.0)


def test_two_parts_of_one_recording_span_both():
    def part(name, begin, ran_s):
        stream = Stream.from_samples(HEART_RATE, begin + np.arange(60.0), np.full(60, 90.0), ran_s=ran_s, source=name)
        return Recording(streams=(stream,), sources=(Provenance(name, name, "table", "test"),), ran_s=ran_s)

    (joined,) = combine([part("a", 10.0, (0.0, 75.0)), part("b", 80.0, (75.0, 200.0))]).streams
    assert joined.ran_s == (0.0, 200.0)


# By hand.


def test_entries_span_from_the_first_to_the_end_of_the_lasts_step():
    assert span_of([]) is None
    assert span_of([np.nan]) is None
    assert span_of([5.0]) == (5.0, 5.0)
    assert span_of([3.0, 1.0, np.nan, 2.0]) == (1.0, 4.0)
    assert span_of([0.0, 0.0, 30.0]) == (0.0, 40.0)  # nothing stands for more than 10 s
    assert span_of([0.0, 2.0, 3.0, 6.0]) == (0.0, 7.0)  # of few steps the shortest
    assert span_of([*np.arange(100.0), 99.5]) == (0.0, 100.5)  # two of 100 are shorter than the usual one


def test_the_step_is_that_which_one_in_twenty_is_shorter_than():
    # Of 201 steps the eleventh shortest, of 200 the tenth (0.05 times 199 is 9.95).
    for count, short, step_s in ((201, 10, 1.0), (201, 11, 0.5), (200, 9, 1.0), (200, 10, 0.5)):
        entries = np.append(0.0, np.cumsum([0.5] * short + [1.0] * (count - short)))
        assert span_of(entries) == (0.0, entries[-1] + step_s)
        assert span_of(entries[::-1]) == (0.0, entries[-1] + step_s)
        assert span_of(np.repeat(entries, 2)) == (0.0, entries[-1] + step_s)  # equal stamps are no step


def test_a_stream_extends_to_the_end_of_its_last_step_or_interval():
    time = [3.0, 4.0, 5.0]
    assert extent(Stream.from_samples(HEART_RATE, time, [90, 91, 92])) == (3.0, 6.0)
    assert extent(Stream.from_samples(HEART_RATE, time, [90, 91, 92], cover_s=[0.5, np.nan, 0.25])) == (3.5, 5.25)
    assert extent(Stream.from_samples(RR_INTERVAL, time, [1, 1, 1])) == (3.0, 5.0)
    assert extent(Stream.from_samples(RR_INTERVAL, time, [1, 1, 1], cover_s=[1, 1, 1])) == (4.0, 6.0)
    assert extent(Stream.from_samples(HEART_RATE, [], [])) is None


def test_moments_widen_a_span_by_a_day_at_the_most():
    assert span_of([0.0, 1.0], [-5.0, None, float("nan"), 9.0]) == (-5.0, 9.0)
    assert span_of([0.0, 1.0], [0.5]) == (0.0, 2.0)
    assert span_of([0.0, 1.0], [-86_400.0, 86_402.0]) == (-86_400.0, 86_402.0)
    assert span_of([0.0, 1.0], [-86_401.0, 86_403.0]) == (0.0, 2.0)


def test_the_union_of_no_spans_is_none():
    assert union([None]) is None
    assert union([None, (1.0, 2.0), (0.5, 1.5)]) == (0.5, 2.0)


def held(ran_s, first=10.0, count=50, step=1.0):
    return replace(pulse(first + step * np.arange(count), np.full(count, 90.0)), ran_s=ran_s)


@pytest.mark.parametrize(
    ("ran_s", "whole"),
    [
        (None, (10.0, 60.0)),
        ((8.5, 60.5), (10.0, 60.0)),  # a first value may come a step and a half late, a last one stand so long
        ((8.4, 60.6), (8.4, 60.6)),
        ((0.0, 20.0), (0.0, 60.0)),
        ((20.0, 90.0), (10.0, 90.0)),
    ],
)
def test_within_a_step_nothing_is_missing_at_the_ends(ran_s, whole):
    assert whole_span(held(ran_s)) == whole
    assert own_span(held(ran_s)) == (10.0, 60.0)


def test_an_interval_may_pass_before_the_first_beat_and_behind_the_last():
    rr_s = np.full(50, 1.0)
    stream = pulse(10.0 + np.arange(50.0), 60 / rr_s, cover_s=rr_s)
    assert whole_span(replace(stream, ran_s=(8.5, 61.5))) == (10.0, 60.0)
    assert whole_span(replace(stream, ran_s=(8.4, 61.6))) == (8.4, 61.6)


def test_no_sample_vouches_for_more_than_10_s_at_the_ends_either():
    assert whole_span(held((-5.0, 665.0), first=10.0, count=11, step=60.0)) == (10.0, 665.0)
    assert own_span(held(None, first=10.0, count=11, step=60.0)) == (10.0, 620.0)


def test_intervals_that_began_before_the_first_stamp_do_not_widen_a_recording():
    # A packet's first interval had begun before the packet came: its file began with the packet.
    data = "\n".join(
        ["time (s),packet", *(f"{n}.0,105A{1024 * 2 // 3 % 256:02X}{1024 * 2 // 3 // 256:02X}" for n in range(60))]
    )
    recording = parse(data.encode(), Source("packets", "a"))
    assert recording["rr_interval"].time[0] < 0
    assert recording.ran_s[0] == pytest.approx(0.0, abs=1e-9)


def test_a_recording_without_a_sample_has_no_span():
    assert with_spans(Recording(streams=())).ran_s is None


@pytest.mark.parametrize("kind", ["whole", "seldom", "twice a second", "out of order", "with intervals"])
def test_a_table_spans_all_rows_that_have_a_time(kind):
    time = np.arange(100.0)
    if kind == "twice a second":
        time = np.floor(np.arange(200) / 2.0)
    if kind == "out of order":
        time = time[::-1]
    rows = [f"{second:g},0.1,{row % 7},1.0" for row, second in enumerate(time)]
    header = "time_s,x_g,y_g,z_g"
    if kind == "seldom":
        rows = [f"{second:g},{60 + row if row % 10 == 5 else ''},4" for row, second in enumerate(time)]
        header = "time_s,heart_rate,battery"
    if kind == "with intervals":
        rows = [f"{second:g},{900 + row}" for row, second in enumerate(time)]
        header = "time_s,rr_ms"
    recording = parse("\n".join([header, *rows]).encode(), Source("t.csv", "a"))
    assert recording.ran_s == span_of(time)
    assert all(stream.ran_s == recording.ran_s for stream in recording.streams)
