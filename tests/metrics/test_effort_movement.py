"""One trial, several devices, by the command line: clocks laid together, movement with heart rate, bad sensors told.

Truth is that of the generator in ``tests.makers``; limits are those that the project states for itself.
"""

import json

import numpy as np
import pytest
from ownmark.cli.main import main
from ownmark.ingest.recording import RR_INTERVAL, Stream
from ownmark.metrics import Asked, effort

from tests.makers import two_clocks
from tests.makers.motion import Bout, Sensor, motion
from tests.makers.pulse import Heart, heart, shown
from tests.makers.recordings import pulse, recording
from tests.makers.walks import knocked

AXES = "Accelerometer X (g),Accelerometer Y (g),Accelerometer Z (g)"


@pytest.fixture
def run(capsys):
    def call(*words):
        code = main(list(words))
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return call


@pytest.fixture
def sheet(run):
    def call(*words):
        return json.loads(run("effort", *words, "--json")[1])

    return call


def notes_of(page):
    """The sheet's notes on the recording, in English."""
    return [each["text"] for each in page["provenance"]["notes"]]


def csv(path, time_s, values, header=AXES):
    """A table of seconds and columns; the path as text."""
    rows = np.column_stack((time_s, values))
    np.savetxt(path, rows, delimiter=",", fmt="%.4f", header=f"Seconds,{header}", comments="")
    return str(path)


def moved(path, stream):
    return csv(path, stream.time - stream.time[0], stream.values)


@pytest.fixture(scope="module")
def lesson():
    """Ten minutes of work and pauses, two sensors of it and the heart, on true time."""
    rng = np.random.default_rng(5)
    bouts = [Bout(40 + 90 * n, 95 + 90 * n - 7 * (n % 3), cadence=50 + 6 * n, size_g=0.4) for n in range(6)]
    wrist = two_clocks.acceleration(bouts, 600, "wrist", 50.0, 1)
    frame = two_clocks.acceleration(bouts, 600, "trunk", 25.0, 2)
    bpm = shown(heart(Heart(), [(b.from_s, b.until_s) for b in bouts], 600, rng), rng)
    return bouts, wrist, frame, bpm, rng


def strap_csv(path, bpm, date=True):
    """Heart rate by the second, with a date or counted from nought."""
    lines = [f"2026-05-12 09:{s // 60:02d}:{s % 60:02d},{b:.0f}" if date else f"{s},{b:.0f}" for s, b in enumerate(bpm)]
    path.write_text(("Time" if date else "Seconds") + ",Heart Rate (bpm)\n" + "\n".join(lines) + "\n")
    return str(path)


def test_two_sensors_without_a_clock_are_laid_together_by_three_taps(sheet, tmp_path, lesson):
    _, wrist, trunk, _, _ = lesson
    rng = np.random.default_rng(9)
    taps = (12.0, 12.8, 13.7)
    first = moved(tmp_path / "wrist.csv", two_clocks.tapped(wrist, taps, 50.0, rng))
    cut = trunk.time >= 5.5
    late = two_clocks.tapped(trunk, taps, 25.0, rng)
    second = csv(tmp_path / "trunk.csv", late.time[cut] - 5.5, late.values[cut])
    clocks = sheet(first, second, "--placement", "wrist")["provenance"]["clocks"]
    assert [each["how"] for each in clocks] == ["first file", "taps"]
    assert clocks[1]["offset_s"] == pytest.approx(5.5, abs=0.1)
    assert clocks[1]["confidence"] >= 0.9
    assert "by taps, to within" in clocks[1]["note"]


def test_two_sensors_without_taps_are_laid_together_by_their_movement(sheet, tmp_path, lesson):
    rng = np.random.default_rng(4)
    bouts = two_clocks.lesson(15, rng)
    seen = [two_clocks.acceleration(bouts, 900, place, rate, 4) for place, rate in (("wrist", 50.0), ("trunk", 25.0))]
    first = moved(tmp_path / "wrist.csv", seen[0])
    cut = seen[1].time >= 20.0
    second = csv(tmp_path / "trunk.csv", seen[1].time[cut] - 20.0, seen[1].values[cut])
    clock = sheet(first, second, "--placement", "wrist")["provenance"]["clocks"][1]
    assert clock["how"] == "movement"
    assert clock["offset_s"] == pytest.approx(20.0, abs=0.5)


def test_movement_that_repeats_itself_places_nothing_and_says_so(sheet, tmp_path, lesson):
    # Work and pause of one length over and over fit at every such step.
    _, wrist, trunk, _, _ = lesson
    first = moved(tmp_path / "wrist.csv", wrist)
    cut = trunk.time >= 20.0
    second = csv(tmp_path / "trunk.csv", trunk.time[cut] - 20.0, trunk.values[cut])
    clock = sheet(first, second, "--placement", "wrist")["provenance"]["clocks"][1]
    assert clock["how"] == "assumed"
    assert "Three taps on both sensors at the start would settle it." in clock["note"]


def test_heart_rate_on_a_clock_of_its_own_is_laid_only_roughly_and_no_rise_is_given(sheet, tmp_path, lesson):
    _, wrist, _, bpm, _ = lesson
    strap = strap_csv(tmp_path / "strap.csv", bpm)
    cut = wrist.time >= 30.0
    late = csv(tmp_path / "wrist.csv", wrist.time[cut] - 30.0, wrist.values[cut])
    page = sheet(strap, late, "--placement", "wrist")
    clock = page["provenance"]["clocks"][1]
    assert clock["how"] == "heart rate"
    assert clock["offset_s"] == pytest.approx(30.0, abs=clock["within_s"])
    assert page["figures"]["heart_rate_moving_rise"]["value"] is None
    assert "on one clock" in page["figures"]["heart_rate_moving_rise"]["note"]


def test_a_file_that_nothing_places_is_laid_at_the_start_and_says_why(sheet, tmp_path, lesson):
    _, wrist, _, _, _ = lesson
    strap = strap_csv(tmp_path / "strap.csv", 92.0 + np.arange(600) % 3)
    page = sheet(strap, moved(tmp_path / "wrist.csv", wrist), "--placement", "wrist")
    note = page["provenance"]["clocks"][1]["note"]
    assert page["provenance"]["clocks"][1]["how"] == "assumed"
    assert "it does not show when work began" in note
    assert f"--offset {tmp_path / 'wrist.csv'}=SECONDS" in note
    assert page["figures"]["moving_time"]["value"] > 200
    assert page["figures"]["heart_rate_moving_rise"]["value"] is None


def test_an_offset_by_hand_goes_before_everything_and_gives_the_rise(sheet, tmp_path, lesson):
    bouts, wrist, _, bpm, _ = lesson
    strap = strap_csv(tmp_path / "strap.csv", bpm)
    cut = wrist.time >= 30.0
    late = csv(tmp_path / "wrist.csv", wrist.time[cut] - 30.0, wrist.values[cut])
    page = sheet(strap, late, "--placement", "wrist", "--offset", f"{late}=30", "--pulse-sensor", "chest")
    assert page["provenance"]["clocks"][1]["how"] == "given"
    busy, calm = np.zeros(600, bool), np.zeros(600, bool)
    for bout, after in zip(bouts, [*bouts[1:], Bout(600, 601)], strict=True):
        busy[int(bout.from_s) + 30 : int(bout.until_s)] = True  # the heart settles for 30 s after a change
        calm[int(bout.until_s) + 30 : int(after.from_s)] = True
    calm[30:40] = True  # the phase's own start is no change
    rise = page["figures"]["heart_rate_moving_rise"]
    assert rise["value"] == pytest.approx(bpm[busy].mean() - bpm[calm].mean(), abs=2)
    assert rise["low"] <= rise["value"] <= rise["high"]
    assert "first 30 s after every change are left out" in rise["note"]


def test_clocks_that_three_taps_contradict_are_told_of(sheet, tmp_path, lesson):
    _, wrist, trunk, _, _ = lesson
    rng = np.random.default_rng(9)
    taps = (12.0, 12.8, 13.7)
    paths = []
    for name, stream, rate, start_ms in (("wrist", wrist, 50.0, 0), ("trunk", trunk, 25.0, 40_000)):
        made = two_clocks.tapped(stream, taps, rate, rng)
        stamps = np.round(1_778_594_700_000 + start_ms + (made.time - made.time[0]) * 1000)
        path = tmp_path / f"{name}.csv"
        rows = np.column_stack((stamps, made.values))
        fmt = ["%d"] + ["%.4f"] * 3
        np.savetxt(path, rows, delimiter=",", fmt=fmt, header=f"Unix time (ms),{AXES}", comments="")
        paths.append(str(path))
    page = sheet(*paths, "--placement", "wrist")
    clock = page["provenance"]["clocks"][1]
    assert (clock["how"], clock["offset_s"]) == ("clock", 40.0)
    assert "differ by −40.0 s" in clock["note"]
    assert clock["note"] in notes_of(page)


def test_a_heart_rate_that_rises_without_movement_brings_a_question_to_the_student(sheet, tmp_path):
    made = motion(900, [Bout(60, 120, cadence=60)], sensor=Sensor(rate_hz=25))
    bpm = np.full(900, 80.0)
    bpm[500:700] = 125
    strap = strap_csv(tmp_path / "strap.csv", bpm, date=False)
    wrist = moved(tmp_path / "wrist.csv", made.acceleration)
    words = [strap, wrist, "--placement", "wrist", "--offset", f"{wrist}=0", "--rest", "80"]
    notes = " ".join(notes_of(sheet(*words)))
    assert "from 500 s to 700 s, 45 /min over rest" in notes
    for reason in ("Excitement", "spasm", "heat", "pain", "being pushed", "Ask the student"):
        assert reason in notes
    bpm[500:700] = 95
    strap_csv(tmp_path / "strap.csv", bpm, date=False)
    assert "Ask the student" not in " ".join(notes_of(sheet(*words)))


def test_a_frame_sensor_is_worded_as_the_chair_and_its_parked_hum_is_no_movement(sheet, tmp_path):
    # 60 s parked with power on, then 5 min of driving with two stops of 20 s
    bouts = [Bout(90, 180, None, shake_g=0.05, shove_g=0.1), Bout(200, 290, None, shake_g=0.05, shove_g=0.1)]
    made = motion(360, bouts, placement="frame", sensor=Sensor(rate_hz=50, hum_g=0.02))
    path = moved(tmp_path / "frame.csv", made.acceleration)
    alone = moved(
        tmp_path / "parked.csv", motion(60, [], placement="frame", sensor=Sensor(50, hum_g=0.02)).acceleration
    )
    for floor in ("00:05-01:05", alone):
        page = sheet(path, "--placement", "frame", "--floor", floor, "--power-chair")
        assert page["figures"]["moving_time"]["value"] == pytest.approx(180, abs=180 * 0.02 + 2)
        assert page["figures"]["stop_count"]["value"] == 1
        assert "the chair moving" in page["figures"]["moving_time"]["note"]
        assert "not the student's effort" in page["figures"]["moving_time"]["note"]
        assert page["figures"]["cadence_mean"]["value"] is None
        assert page["provenance"]["movement"]["floor_mg"] > 5


def rolled(rev_per_minute=35.0, seconds=120.0, rate_hz=50.0):
    """A sensor on a wheel: gravity goes round in it, and a little pull outwards."""
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    speed = 2 * np.pi * rev_per_minute / 60 * ((time > 10) & (time < seconds - 10)) * (1 + 0.1 * np.sin(time))
    turn = np.cumsum(speed) / rate_hz
    values = np.stack((np.sin(turn), np.cos(turn) + 0.01 * speed**2, 0 * turn), axis=1)
    return time, values + 0.01 * np.random.default_rng(1).standard_normal(values.shape)


def test_a_sensor_on_a_wheel_tells_how_long_the_chair_moved_and_no_rhythm(sheet, run, tmp_path):
    time, values = rolled()
    path = csv(tmp_path / "wheel.csv", time, values)
    page = sheet(path, "--placement", "wheel")
    assert page["figures"]["moving_time"]["value"] == pytest.approx(100, abs=2)
    assert "the chair moving" in page["figures"]["moving_time"]["note"]
    for name in ("cadence_mean", "cadence_variation", "cycle_count"):
        assert page["figures"][name]["value"] is None
        assert "rhythm is the wheel's" in page["figures"][name]["note"]
    assert page["provenance"]["movement"]["counted"] is None
    assert page["provenance"]["movement"]["cadence"] == []
    assert "The chair moving" in run("effort", path, "--placement", "wheel")[1]
    strap = strap_csv(tmp_path / "strap.csv", np.full(120, 70.0) + np.arange(120) % 2, date=False)
    both = sheet(strap, path, "--placement", "wheel", "--offset", f"{path}=0")
    assert both["figures"]["coverage_heart_rate"]["value"] == 100  # twice 35: a wheel locks no heart rate


def test_turns_are_not_told_from_a_gyroscope_on_a_wheel(sheet, tmp_path):
    time, values = rolled()
    rate = np.column_stack((0 * time, 0 * time, np.full(len(time), 210.0)))
    header = AXES + ",Gyroscope X (deg/s),Gyroscope Y (deg/s),Gyroscope Z (deg/s)"
    path = csv(tmp_path / "wheel.csv", time, np.hstack((values, rate)), header)
    for side in ("left", "right"):
        figure = sheet(path, "--placement", "wheel")["figures"][f"turns_{side}"]
        assert figure["value"] is None
        assert "turns of the chair cannot be told" in figure["note"]


def test_knocks_that_fill_a_chairs_movement_leave_no_rhythm(sheet, tmp_path):
    made = motion(120, [Bout(10, 110, cadence=47, size_g=0.15, shake_g=0.06)], placement="frame")
    felt = knocked(made.acceleration, np.arange(10.5, 110, 1.5).tolist(), 4.0, "both axles", 1)
    page = sheet(moved(tmp_path / "cobbles.csv", felt), "--placement", "frame")
    assert page["figures"]["cadence_mean"]["value"] is None
    assert "knocks, as from the joints of a floor, make up" in page["figures"]["cadence_mean"]["note"]
    few = knocked(made.acceleration, np.arange(10.5, 110, 4.0).tolist(), 4.0, "both axles", 1)
    page = sheet(moved(tmp_path / "slabs.csv", few), "--placement", "frame")
    assert page["figures"]["cadence_mean"]["value"] == pytest.approx(47, rel=0.02)


def test_stretches_with_physical_assistance_are_left_out_and_counted(sheet, tmp_path):
    made = motion(300, [Bout(30, 270, cadence=50)], sensor=Sensor(rate_hz=50))
    path = moved(tmp_path / "wrist.csv", made.acceleration)
    whole = sheet(path, "--placement", "wrist")["figures"]
    page = sheet(path, "--placement", "wrist", "--assisted", "01:00-02:00")
    helped = page["figures"]
    assert whole["moving_time"]["value"] - helped["moving_time"]["value"] == pytest.approx(60, abs=1)
    assert "60 s with physical assistance left out" in helped["moving_time"]["note"]
    assert helped["cycle_count"]["value"] == pytest.approx(made.truth.cycle_count - 50, abs=5)
    assert page["provenance"]["movement"]["assisted"] == [[60.0, 120.0]]


def arm(**sensor):
    """Four minutes of arm circles with stillness around."""
    return motion(240, [Bout(20, 200, cadence=60, size_g=0.4)], sensor=Sensor(**({"rate_hz": 50.0} | sensor)))


@pytest.mark.parametrize(
    ("factor", "header", "words"),
    [
        (9.80665, AXES, "are in m/s² and were read as g"),
        (1000.0, AXES, "are in mg and were read as g"),
        (1.0, AXES.replace("(g)", "(mg)"), "are in g and were read as mg"),
        (1.0, AXES.replace("(g)", "(m/s2)"), "are in g and were read as m/s²"),
    ],
)
def test_a_wrong_unit_is_found_by_gravity_said_and_set_right(sheet, tmp_path, factor, header, words):
    made = arm()
    right = sheet(moved(tmp_path / "right.csv", made.acceleration), "--placement", "wrist")["figures"]
    path = csv(tmp_path / "wrong.csv", made.acceleration.time, made.acceleration.values * factor, header)
    page = sheet(path, "--placement", "wrist")
    assert words in " ".join(notes_of(page))
    for name in ("moving_time", "cadence_mean", "motion_level"):
        assert page["figures"][name]["value"] == pytest.approx(right[name]["value"], rel=0.02)


def test_a_constant_axis_is_told_and_the_other_figures_are_given(sheet, tmp_path):
    made = arm(mounted_at_random=False)
    values = made.acceleration.values.copy()
    values[:, 1] = 0.25
    page = sheet(csv(tmp_path / "dead.csv", made.acceleration.time, values), "--placement", "wrist")
    assert "The y axis reads 0.250 g all the time" in " ".join(notes_of(page))
    assert page["figures"]["moving_time"]["value"] == pytest.approx(made.truth.moving_s, rel=0.02, abs=2)


def test_a_saturated_sensor_is_flagged_told_and_still_used(sheet, run, tmp_path):
    made = motion(240, [Bout(20, 200, cadence=60, size_g=3.5)], sensor=Sensor(rate_hz=100))
    path = csv(tmp_path / "clipped.csv", made.acceleration.time, np.clip(made.acceleration.values, -2, 2))
    page = sheet(path, "--placement", "wrist")
    assert page["flags"]["acceleration"]["saturated"] > 100
    assert "limit" in " ".join(notes_of(page))
    assert page["figures"]["cadence_mean"]["value"] == pytest.approx(60, rel=0.02)
    assert "saturated" in run("look", path)[1]


def test_a_missing_axis_is_a_sentence_and_the_strap_still_gives_its_figures(run, tmp_path):
    made = arm()
    header = "Accelerometer X (g),Accelerometer Y (g)"
    path = csv(tmp_path / "two.csv", made.acceleration.time, made.acceleration.values[:, :2], header)
    strap = strap_csv(tmp_path / "strap.csv", np.full(240, 120.0), date=False)
    code, out, err = run("effort", strap, path, "--placement", "wrist")
    assert code == 1
    assert "two.csv" in err
    assert "z" in err.lower()
    assert "120 /min" in out


def test_a_rhythm_too_quick_for_the_sensor_is_refused_and_the_rest_given(sheet, tmp_path):
    made = motion(240, [Bout(20, 200, cadence=112, size_g=0.4)], sensor=Sensor(rate_hz=12.0))
    page = sheet(moved(tmp_path / "slow.csv", made.acceleration), "--placement", "wrist")
    assert page["figures"]["moving_time"]["value"] == pytest.approx(made.truth.moving_s, rel=0.02, abs=2)
    assert page["figures"]["cadence_mean"]["value"] is None
    assert "the most that 12 samples a second can show" in page["figures"]["cadence_mean"]["note"]


def test_swapped_axes_change_no_figure(sheet, tmp_path):
    made = arm()
    first = sheet(moved(tmp_path / "a.csv", made.acceleration), "--placement", "wrist")["figures"]
    swapped = csv(tmp_path / "b.csv", made.acceleration.time, made.acceleration.values[:, [2, 0, 1]])
    second = sheet(swapped, "--placement", "wrist")["figures"]
    for name in ("moving_time", "longest_moving", "stop_count", "cycle_count", "cadence_mean", "motion_level"):
        assert second[name]["value"] == pytest.approx(first[name]["value"], rel=1e-3, abs=1e-6), name


def test_no_rhythm_is_an_answer(sheet, tmp_path):
    made = motion(240, [Bout(20, 200, cadence=None, shake_g=0.2)], sensor=Sensor(rate_hz=50))
    figure = sheet(moved(tmp_path / "restless.csv", made.acceleration), "--placement", "wrist")["figures"][
        "cadence_mean"
    ]
    assert figure["value"] is None
    assert "rhythm" in figure["note"]


def test_lost_samples_widen_the_bounds_and_the_truth_lies_within(sheet, tmp_path):
    made = motion(300, [Bout(30, 130, cadence=50), Bout(150, 270, cadence=50)], sensor=Sensor(gaps=((110, 160),)))
    page = sheet(moved(tmp_path / "gap.csv", made.acceleration), "--placement", "wrist")
    figures = page["figures"]
    assert figures["moving_time"]["low"] <= made.truth.moving_s <= figures["moving_time"]["high"]
    assert figures["longest_moving"]["low"] <= made.truth.longest_s <= figures["longest_moving"]["high"]
    assert figures["stop_count"]["low"] <= 1 <= figures["stop_count"]["high"]
    assert figures["coverage_motion"]["value"] == pytest.approx(100 * 250 / 300, abs=1)
    assert figures["motion_level"]["coverage"] == pytest.approx(100 * 250 / 300, abs=1)
    assert figures["motion_level"]["low"] < figures["motion_level"]["value"] < figures["motion_level"]["high"]


def test_under_80_percent_of_the_work_times_counts_and_the_level_are_not_given(sheet, tmp_path):
    made = motion(300, [Bout(30, 130, cadence=50), Bout(150, 270, cadence=50)], sensor=Sensor(gaps=((100, 170),)))
    page = sheet(moved(tmp_path / "gap.csv", made.acceleration), "--placement", "wrist")
    for name in ("moving_time", "longest_moving", "stop_count", "motion_level"):
        assert page["figures"][name]["value"] is None
        assert "movement was measured for only 77 % of the work phase; 80 % are needed" in page["figures"][name]["note"]
        assert name in page["provenance"]["refused"]
    assert page["figures"]["coverage_motion"]["value"] == pytest.approx(100 * 230 / 300, abs=1)


def test_a_frame_sensor_of_400_hertz_with_late_samples_keeps_its_level_and_its_coverage(sheet, tmp_path):
    # Five seconds still, then rolling; a step of 17 ms twice in each later epoch of 5 s.
    made = motion(120, [Bout(5, 118, None, shake_g=0.05)], placement="frame", sensor=Sensor(400, noise_g=0.001))
    keep = np.ones(len(made.acceleration.time), bool)
    for late in np.arange(2400, len(keep) - 10, 1000):
        keep[late : late + 6] = False
    late = csv(tmp_path / "late.csv", made.acceleration.time[keep], made.acceleration.values[keep])
    whole = csv(tmp_path / "whole.csv", made.acceleration.time, made.acceleration.values)
    there, here = (sheet(path, "--placement", "frame")["figures"] for path in (whole, late))
    assert here["coverage_motion"]["value"] == pytest.approx(100, abs=0.01)
    assert here["motion_level"]["coverage"] == 100
    assert here["motion_level"]["value"] == pytest.approx(there["motion_level"]["value"], rel=0.01)
    assert here["motion_level"]["low"] == here["motion_level"]["high"]


def test_a_noisy_slow_frame_sensor_gives_bounds_that_hold_or_no_figure_and_the_reason(sheet, tmp_path):
    # 20 Hz and 15 mg of noise on each axis: rolling of 20 mg is hardly louder than the noise.
    for seed in range(4):
        bouts = [Bout(8, 60, None, shake_g=0.02), Bout(75, 120, None, shake_g=0.02)]
        sensor = Sensor(20, noise_g=0.015, drift_deg=0.5)
        made = motion(135, bouts, placement="frame", sensor=sensor, seed=seed)
        page = sheet(moved(tmp_path / "noisy.csv", made.acceleration), "--placement", "frame")
        for name in ("moving_time", "longest_moving", "stop_count"):
            figure = page["figures"][name]
            assert figure["value"] is None
            assert "movement can be told from stillness in only" in figure["note"]
            assert "own noise" in figure["note"]
            assert name in page["provenance"]["refused"]
        assert sum(b - a for a, b in page["provenance"]["movement"]["doubtful"]) > 27
        assert page["figures"]["heart_rate_moving_rise"]["value"] is None


def test_doubtful_time_is_told_beside_the_figures_and_listed(sheet, tmp_path):
    # Weak movement between stillness and the movement that is sure: it may be either.
    bouts = [Bout(20, 120, size_g=0.4), Bout(130, 145, size_g=0.03, swing_deg=1), Bout(160, 230, size_g=0.4)]
    made = motion(250, bouts, sensor=Sensor(50, noise_g=0.002))
    page = sheet(moved(tmp_path / "weak.csv", made.acceleration), "--placement", "wrist")
    time = page["figures"]["moving_time"]
    assert time["low"] <= 185 <= time["high"]
    assert time["high"] - time["low"] == pytest.approx(15 + 6 * 0.3, abs=3)
    doubtful = page["provenance"]["movement"]["doubtful"]
    assert any(a <= 133 and b >= 142 for a, b in doubtful)
    assert f"{sum(b - a for a, b in doubtful):.0f} s could be moving or still" in time["note"]


def test_a_spasm_of_over_a_second_splits_no_stop_and_the_bounds_allow_for_both(sheet, tmp_path):
    for length in (1.3, 1.8):
        bouts = [Bout(10, 60, cadence=50), Bout(80, 130, cadence=50)]
        made = motion(140, bouts, sensor=Sensor(50, spasms=((68, 68 + length, 0.2),)))
        figures = sheet(moved(tmp_path / "spasm.csv", made.acceleration), "--placement", "wrist")["figures"]
        assert figures["moving_time"]["value"] == pytest.approx(100, abs=1)
        assert figures["moving_time"]["high"] >= 100 + length - 0.3
        assert [figures["stop_count"][key] for key in ("value", "low", "high")] == [1, 1, 2]


def test_no_advice_is_printed_where_the_recording_has_its_own_stillness(sheet, tmp_path):
    page = sheet(moved(tmp_path / "wrist.csv", arm().acceleration), "--placement", "wrist")
    assert "rest" not in " ".join(notes_of(page))


def test_a_recording_without_stillness_asks_for_a_rest_and_with_it_gives_the_figures(sheet, tmp_path):
    # A chair that never stops, on a loud floor: without a floor nothing tells a motor's hum from rolling.
    rolling = motion(120, [Bout(-5, 130, None, shake_g=0.03)], placement="frame", sensor=Sensor(50, hum_g=0.004))
    parked = motion(60, [], placement="frame", sensor=Sensor(50, hum_g=0.004), seed=1)
    path = moved(tmp_path / "rolling.csv", rolling.acceleration)
    alone = sheet(path, "--placement", "frame")
    assert alone["figures"]["moving_time"]["value"] is None
    assert "60 s of rest before the trial would help" in alone["figures"]["moving_time"]["note"]
    assert any("with the chair's power on" in note for note in notes_of(alone))
    floor = moved(tmp_path / "parked.csv", parked.acceleration)
    helped = sheet(path, "--placement", "frame", "--floor", floor)["figures"]["moving_time"]
    assert helped["value"] == pytest.approx(120, abs=1)
    assert helped["low"] > 110


def test_a_locked_optical_rate_is_flagged_and_left_out(sheet, tmp_path):
    made = motion(600, [Bout(30, 570, cadence=55, size_g=0.4)], sensor=Sensor(rate_hz=25))
    rng = np.random.default_rng(2)
    bpm = 118 + rng.normal(0, 1.5, 600) + 5 * np.sin(np.arange(600) / 40)
    bpm[200:400] = np.round(110 + rng.normal(0, 0.5, 200))  # twice the cadence
    strap = strap_csv(tmp_path / "strap.csv", bpm, date=False)
    wrist = moved(tmp_path / "wrist.csv", made.acceleration)
    words = [strap, wrist, "--placement", "wrist", "--offset", f"{wrist}=0"]
    locked = sheet(*words)
    assert locked["provenance"]["notes"]
    assert any("rhythm" in note for note in notes_of(locked))
    coverage = locked["figures"]["coverage_heart_rate"]["value"]
    assert coverage < 80
    flagged = locked["flags"]["heart_rate"]["cadence_lock"]
    assert flagged == pytest.approx(200, abs=20)
    assert coverage == pytest.approx(100 * (600 - flagged) / 600, abs=1)
    chest = sheet(*words, "--pulse-sensor", "chest")
    assert chest["figures"]["coverage_heart_rate"]["value"] == 100
    assert "cadence_lock" not in chest["flags"]["heart_rate"]


def test_locked_beats_are_counted_by_the_stream_that_they_came_from():
    # RR intervals beside a device's own rate, which is not used and locks nowhere.
    made = motion(600, [Bout(30, 570, cadence=55, size_g=0.4)], sensor=Sensor(rate_hz=25))
    rate = np.where((np.arange(700) > 220) & (np.arange(700) < 440), 110.0, 130 + 3 * np.sin(np.arange(700) / 12))
    at = np.cumsum(60 / rate)
    beats = Stream.from_samples(RR_INTERVAL, at, 60 / rate, flags=np.zeros(700, np.uint16))
    own = pulse(np.arange(600.0), np.full(600, 90.0) + np.arange(600) % 3)
    asked = Asked(placement="wrist", pulse_from=RR_INTERVAL)
    flags = effort(recording(own, beats, made.acceleration), asked=asked).flags
    assert flags["rr_interval"]["cadence_lock"] == pytest.approx(219, abs=25)
    assert "cadence_lock" not in flags["heart_rate"]


def test_a_heart_that_equals_a_steady_double_is_used_and_told_of(sheet, tmp_path):
    made = motion(400, [Bout(30, 370, cadence=60, size_g=0.4, uneven=0.0)], sensor=Sensor(rate_hz=25))
    strap = strap_csv(tmp_path / "strap.csv", 120.0 + (np.arange(400) // 7) % 2, date=False)
    wrist = moved(tmp_path / "wrist.csv", made.acceleration)
    page = sheet(strap, wrist, "--placement", "wrist", "--offset", f"{wrist}=0")
    assert page["figures"]["coverage_heart_rate"]["value"] == 100
    notes = " ".join(notes_of(page))
    assert "neither changes enough to show" in notes
    assert "--pulse-sensor chest" in notes


def test_look_shows_movement_streams(run, tmp_path):
    path = moved(tmp_path / "wrist.csv", arm().acceleration)
    code, out, _ = run("look", path)
    assert code == 0
    assert "acceleration: 12000 samples over 4:00" in out.replace("04:00", "4:00")
    page = json.loads(run("look", path, "--json")[1])["files"][0]["streams"]["acceleration"]
    assert page["samples"] == 12000
    assert page["rate_hz"] == pytest.approx(50, rel=0.01)


@pytest.mark.parametrize("samples", [1, 2, 3, 5, 12, 30, 31, 64, 90, 101, 150])
def test_a_recording_of_a_moment_gives_a_sheet_without_movement_figures(sheet, tmp_path, samples):
    rows = np.tile([0.0, 0.0, 1.0], (samples, 1)) + np.arange(samples)[:, None] * 1e-3
    path = csv(tmp_path / "moment.csv", np.arange(samples) / 50, rows)
    strap = strap_csv(tmp_path / "strap.csv", 100.0 + np.arange(60) % 3, date=False)
    figures = sheet(strap, path, "--placement", "wrist")["figures"]
    assert figures["cadence_mean"]["value"] is None
    assert figures["heart_rate_mean"]["value"] == pytest.approx(101, abs=0.5)
