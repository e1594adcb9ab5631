"""A pulse wave that steady movement makes as well: what it may prove, and what vouches for it.

Real movement: the length of the acceleration at a waist (gaitpy 1.6.1) and the turning of a shank (scikit-kinematics
0.10.4), both walking, taken for pulse waves. No look at the wave itself tells them from one.
"""

import gzip
from types import SimpleNamespace

import numpy as np
import pytest
from ownmark.ingest.cleaning.judge import clean, with_heart_rate
from ownmark.ingest.flags import REJECTING, Flag
from ownmark.ingest.recording import ACCELERATION, ECG, HEART_RATE, PULSE, WAVEFORM, Recording, Stream
from ownmark.ingest.span import with_spans
from ownmark.metrics import Asked, choose_basis, effort
from ownmark.metrics.timeline import hold
from ownmark.metrics.unproven import unproven_caution, vouched

from tests.makers.edf_files import beats
from tests.makers.recordings import pulse
from tests.makers.sheets import in_english, texts

UNPROVEN = np.uint16(Flag.UNPROVEN)


def sheet_of(values, rate_hz, kind, *others, **asked):
    wave = Stream.from_samples(WAVEFORM, np.arange(len(values)) / rate_hz, values, kind=kind, source="made.csv")
    recording = with_spans(clean(Recording(streams=(wave, *others))))
    basis = choose_basis(rest_bpm=60, measured_max_bpm=200, sex="male")
    return effort(with_heart_rate(recording), basis, asked=Asked(ceiling_bpm=90, **asked))


def walking(real_dir):
    """The turning of a shank [deg/s], 120 Hz, and the length of the acceleration at a waist [g], 50 Hz."""
    lines = gzip.decompress((real_dir / "shank_120hz.txt.gz").read_bytes()).decode().replace(",", " ").split("\n")
    rows = [line.split() for line in lines if line[:1].isdigit() and len(line.split()) > 3]
    yield np.array([float(row[5]) for row in rows]), 120.0
    lines = gzip.decompress((real_dir / "waist_walks_50hz.csv.gz").read_bytes()).decode().split("\n")[100:]
    rows = [line.split(",") for line in lines if line[:1].isdigit()]
    yield np.linalg.norm([[float(cell) for cell in row[1:4]] for row in rows], axis=1), 50.0


def test_walking_that_is_taken_for_a_pulse_proves_nothing(real_dir):
    for values, rate_hz in walking(real_dir):
        sheet = sheet_of(values, rate_hz, PULSE)
        figures = sheet.figures
        assert figures["coverage_heart_rate"].low == 0
        assert figures["coverage_heart_rate"].value > 20  # it is taken for one
        assert figures["time_above_ceiling"].low == 0
        assert figures["heart_rate_peak"].low in (None, pytest.approx(30.0))
        for name in ("heart_rate_mean", "heart_rate_peak"):
            if figures[name].value is not None:
                assert (figures[name].low, figures[name].high) == pytest.approx((30.0, 230.0))
        assert any("nothing confirms 100 %" in caution for caution in texts(sheet.cautions))


@pytest.mark.parametrize(("kind", "rate_hz", "proven"), [(ECG, 250.0, True), (PULSE, 50.0, False)])
def test_an_ecg_proves_what_a_pulse_wave_does_not(kind, rate_hz, proven):
    # The same beats: 96 /min. Muscles and movement do not make the sharp spikes of an ECG in a rhythm.
    values = beats(60, 96, int(rate_hz))
    if kind == PULSE:
        values = np.convolve(values, np.hanning(15), "same")
    sheet = sheet_of(values, rate_hz, kind)
    mean = sheet.figures["heart_rate_mean"]
    assert mean.value == pytest.approx(96, abs=1)
    assert (mean.high - mean.low < 15) is proven
    assert (sheet.flags["heart_rate"].get("unproven", 0) > 50) is not proven
    assert any("nothing confirms" in caution for caution in texts(sheet.cautions)) is not proven


def test_beside_a_still_sensor_a_pulse_wave_is_proven():
    still = np.tile([0.0, 0.0, 1.0], (3000, 1)) + 0.002 * np.random.default_rng(1).normal(size=(3000, 3))
    sensor = Stream.from_samples(ACCELERATION, np.arange(3000) / 50, still, source="made.csv")
    values = np.convolve(beats(60, 96, 50), np.hanning(15), "same")
    sheet = sheet_of(values, 50.0, PULSE, sensor, placement="wrist")
    mean = sheet.figures["heart_rate_mean"]
    assert mean.high - mean.low < 15
    assert not any("nothing confirms" in caution for caution in texts(sheet.cautions))


# By hand.


def doubtful(bpm=100.0, count=60):
    rr_s = np.full(count, 1.0)
    return pulse(np.arange(float(count)), np.full(count, bpm), cover_s=rr_s, flags=np.full(count, UNPROVEN))


def moved(moving=(), unmeasured=(), left_out=(), rhythm=(), from_s=0.0, until_s=60.0):
    time, cadence = zip(*rhythm, strict=True) if rhythm else ((), ())
    return SimpleNamespace(
        whole=SimpleNamespace(moving=moving, unmeasured=unmeasured, left_out=left_out, from_s=from_s, until_s=until_s),
        rhythm=SimpleNamespace(time_s=np.array(time, float), per_minute=np.array(cadence, float)),
    )


def proven(stream):
    return np.flatnonzero((stream.flags & UNPROVEN) == 0).tolist()


def test_stillness_vouches_for_the_beats_that_lie_in_it_whole():
    assert proven(vouched(doubtful(), moved())) == list(range(60))
    assert proven(vouched(doubtful(), moved(moving=[(10.5, 20.0)]))) == [*range(10), *range(20, 60)]
    assert proven(vouched(doubtful(), moved(moving=[(11.0, 20.5)]))) == [*range(11), *range(21, 60)]


def test_what_the_sensor_did_not_see_it_does_not_vouch_for():
    assert proven(vouched(doubtful(), moved(unmeasured=[(30.0, 59.0)]))) == [*range(30), 59]
    assert proven(vouched(doubtful(), moved(left_out=[(0.0, 58.5)]))) == [59]
    assert proven(vouched(doubtful(), moved(from_s=4.5, until_s=9.5))) == [5, 6, 7, 8]
    assert proven(vouched(doubtful(), moved(from_s=5.0, until_s=9.0))) == [5, 6, 7, 8]


@pytest.mark.parametrize("multiple", [0.5, 1, 2, 3, 4])
@pytest.mark.parametrize(("share", "kept"), [(1.0, False), (0.91, False), (1.09, False), (0.89, True), (1.11, True)])
def test_another_rhythm_vouches_and_the_movements_own_does_not(multiple, share, kept):
    # 27 /min: of its multiples 13.5, 27, 54, 81, 108 no two lie within a tenth of each other.
    stream = doubtful(27.0 * multiple * share)
    found = proven(vouched(stream, moved(moving=[(0.0, 60.0)], rhythm=[(t, 27.0) for t in range(0, 61, 2)])))
    assert found == (list(range(60)) if kept else [])


def test_a_rhythm_stands_for_four_seconds():
    moving = [(0.0, 60.0)]
    assert proven(vouched(doubtful(), moved(moving=moving, rhythm=[(30.0, 40.0)]))) == list(range(26, 35))
    assert proven(vouched(doubtful(), moved(moving=moving))) == []
    assert proven(vouched(doubtful(), moved(moving=moving, rhythm=[(30.0, np.nan)]))) == []
    # The nearer of two: up to 20.5 s the first, whose rhythm is the pulse's.
    two = moved(moving=moving, rhythm=[(18.0, 100.0), (23.0, 40.0)])
    assert proven(vouched(doubtful(), two)) == list(range(21, 28))


def test_the_nearest_rhythm_counts_and_of_two_as_near_the_earlier():
    moving = [(0.0, 60.0)]
    own, other = 100.0, 40.0
    assert proven(vouched(doubtful(), moved(moving=moving, rhythm=[(30.3, other)]))) == list(range(27, 35))
    for rhythm, kept in (
        ([(10.0, own), (20.0, other), (30.0, own)], list(range(16, 25))),
        ([(18.0, own), (22.0, other)], list(range(21, 27))),
        ([(18.0, other), (22.0, own)], list(range(14, 21))),
        ([(4.0, own), (8.0, own), (50.0, other)], list(range(46, 55))),
    ):
        assert proven(vouched(doubtful(), moved(moving=moving, rhythm=rhythm))) == kept


def test_values_without_a_length_and_those_that_were_proven_already():
    flags = np.where(np.arange(60) < 30, UNPROVEN, np.uint16(0))
    stream = pulse(np.arange(60.0), np.full(60, 100.0), flags=flags)
    assert stream.cover_s is None
    assert proven(vouched(stream, moved(moving=[(10.0, 20.0)]))) == [*range(11), *range(20, 60)]


def test_other_streams_are_left_as_they_are():
    stream = pulse(np.arange(60.0), np.full(60, 90.0))
    assert vouched(stream, moved()) is stream
    assert unproven_caution(stream, hold(stream, 0, 60)) is None


def test_the_caution_says_how_much_and_nothing_of_less_than_one_percent():
    stream = doubtful(count=200)
    held = hold(stream, 0, 200)
    assert "nothing confirms 100 % of it" in in_english(unproven_caution(stream, held))
    for doubted, told in ((2, True), (1, False)):
        flags = np.where(np.arange(200) < doubted, UNPROVEN, np.uint16(0))
        stream = pulse(np.arange(200.0), np.full(200, 90.0), cover_s=np.ones(200), flags=flags)
        assert bool(unproven_caution(stream, hold(stream, 0, 200))) is told
    assert unproven_caution(stream, hold(stream, 300, 400)) is None
    assert unproven_caution(doubtful(), hold(doubtful(), 0, 1)) != ""  # a second is enough
    for count, told in ((200, True), (201, False)):
        flags = np.where(np.arange(count) < 2, UNPROVEN, np.uint16(0))
        stream = pulse(np.arange(float(count)), np.full(count, 90.0), cover_s=np.ones(count), flags=flags)
        assert bool(unproven_caution(stream, hold(stream, 0, count))) is told
    # What a person lets stand longer is no pulse wave.
    stream = pulse(np.delete(np.arange(60.0), np.arange(10, 13)), np.full(57, 90.0))
    assert unproven_caution(stream, hold(stream, 0, 60, hold_s=9.0)) is None


def test_an_unproven_beat_is_used_and_certain_for_no_time():
    stream = doubtful()
    assert stream.usable.all()
    assert not UNPROVEN & np.uint16(REJECTING)
    held = hold(stream, 0, 60)
    assert held.measured_s == 60
    assert held.unknown_s == 60
    assert HEART_RATE in Recording(streams=(stream,))
