"""Heart-rate figures at the edges of their rules, worked out by hand."""

import numpy as np
import pytest
from ownmark.ingest.recording import Stream
from ownmark.metrics import Asked, Band, Phases, choose_basis, effort
from ownmark.words.vocabulary import FIGURES, MOTION_FIGURES, ZONE_FIGURES

from tests.makers.recordings import every_second, pulse, recording
from tests.makers.sheets import texts

BASIS = choose_basis(rest_bpm=70, measured_max_bpm=170, sex="male")
WORK = Phases(work=(0.0, 100.0))


def lost(seconds, *, level=120.0, total=100, single=False):
    """100 s at a level, of which so many are missing in one stretch, or one by one."""
    keep = np.ones(total, bool)
    keep[slice(40, 40 + seconds) if not single else slice(10, 10 + 2 * seconds, 2)] = False
    return recording(pulse(np.flatnonzero(keep).astype(float), np.full(int(keep.sum()), level)))


def figures(made, basis=BASIS, phases=WORK, **asked):
    return effort(made, basis, phases, Asked(**asked)).figures


@pytest.mark.parametrize(("seconds", "given", "warned"), [(10, True, 0), (11, True, 1), (20, True, 1), (21, False, 0)])
def test_sums_need_four_fifths_and_are_warned_of_under_nine_tenths(seconds, given, warned):
    sheet = effort(lost(seconds), BASIS, WORK, Asked(distance_m=200))
    for name in ("heart_rate_mean", "beats_total", "time_moderate", "training_impulse", "reserve_mean", "cost_index"):
        assert (sheet.figures[name].value is not None) == given
    assert sum("read the figures with their bounds" in each for each in texts(sheet.cautions)) == warned
    if not given:
        assert sheet.figures["heart_rate_mean"].note == (
            "Not given: heart rate was measured for only 79 % of the work phase; 80 % are needed."
        )
        assert "heart_rate_mean" in sheet.provenance.refused


def test_coverage_says_how_much_is_sure():
    # Ten single seconds lost: a value that may stand for 3 s fills them, and vouches for its own second only.
    held = figures(lost(10, single=True), hold_s=3)["coverage_heart_rate"]
    assert (held.value, held.low, held.high) == (100, 90, 100)
    own = figures(lost(10, single=True))["coverage_heart_rate"]
    assert (own.value, own.low, own.high) == (90, 90, 90)


def test_figures_of_a_phase_that_was_not_measured_whole_are_as_tight_as_what_is_known():
    # 90 s at 120, 10 s unknown; rest 70, maximum 170: 120 is half of the reserve.
    found = figures(lost(10), distance_m=200)
    for name, value, low, high in (
        ("heart_rate_mean", 120, (10800 + 300) / 100, (10800 + 2300) / 100),
        ("heart_rate_rise", 50, 111 - 70, 131 - 70),
        ("reserve_mean", 50, 41, 61),
        ("beats_total", 200, 180 + 10 * 30 / 60, 180 + 10 * 230 / 60),
        ("beats_above_rest", 75, 75, 75 + 10 * 160 / 60),
        ("beats_per_metre", 1.0, 185 / 200, 0.9 + 10 * 230 / 60 / 200),
        ("cost_index", 50 / 120, 41 / 120, 61 / 120),  # 200 m in 100 s are 120 m/min
        ("share_above_125_rest", 100, 90, 100),
        ("share_above_150_rest", 100, 90, 100),
        ("time_moderate", 90, 90, 100),
        ("time_vigorous", 0, 0, 10),
        ("heart_rate_peak", 120, 120, (5 * 120 + 10 * 230) / 15),
        ("reserve_peak", 50, 50, (5 * 120 + 10 * 230) / 15 - 70),
    ):
        figure = found[name]
        assert (figure.value, figure.low, figure.high) == pytest.approx((value, low, high)), name
    assert found["beats_total"].note == "at the mean of the measured time, for the whole of the work"
    assert found["beats_per_metre"].note == "over 200 m; at the mean of the measured time, for the whole of the work"
    assert found["heart_rate_peak"].note == "highest 15 s mean that was measured"
    assert found["training_impulse"].note.endswith("; of the measured time")
    # Banister, men: 0.64 · e^(1.92 x) at x = 0.5 for 1.5 min; at most x = 1.6 for the 10 s more.
    weight = 0.5 * 0.64 * np.exp(0.96) * 1.5
    assert found["training_impulse"].value == pytest.approx(weight)
    assert found["training_impulse"].high == pytest.approx(weight + 1.6 * 0.64 * np.exp(1.92 * 1.6) / 6)


@pytest.mark.parametrize("seconds", [0, 10, 20])
def test_beats_and_beats_for_each_metre_agree_with_the_mean(seconds):
    # 100 s and 200 m: each end of the beats is that of the mean times the length, and of the index half a hundredth.
    found = figures(lost(seconds), distance_m=200)
    mean = found["heart_rate_mean"]
    for end in ("value", "low", "high"):
        beats = getattr(mean, end) * 100 / 60
        assert getattr(found["beats_total"], end) == pytest.approx(beats)
        assert getattr(found["beats_per_metre"], end) == pytest.approx(beats / 200)
    if seconds:
        for name in ("beats_total", "beats_per_metre"):
            assert found[name].low < found[name].value < found[name].high


def test_a_phase_that_was_measured_whole_says_so():
    found = figures(lost(0), distance_m=200)
    assert found["beats_total"].note is None
    assert found["heart_rate_peak"].note == "highest 15 s mean"
    assert found["training_impulse"].note == "minutes weighted by effort, with constants from trained adults"
    assert found["beats_per_metre"].note == "over 200 m"
    assert found["cost_index"].note == "over 200 m in 1.67 min"


@pytest.mark.parametrize(("seconds", "told"), [(14, 0), (15, 1)])
def test_a_quarter_of_a_minute_above_the_maximum_doubts_it(seconds, told):
    bpm = np.full(100, 120.0)
    bpm[50 : 50 + seconds] = 171.0
    sheet = effort(every_second(bpm), BASIS, WORK)
    assert sum("above the given maximum for 15 s" in each for each in texts(sheet.cautions)) == told


def test_the_ends_of_a_target_band_belong_to_it():
    bpm = np.repeat([109.0, 110.0, 130.0, 131.0], 25)
    assert figures(every_second(bpm), target=Band(110, 130, "/min"))["time_on_target"].value == 50
    by_reserve = figures(every_second(bpm), target=Band(40, 60, "%"))
    assert by_reserve["time_on_target"].value == 50
    assert by_reserve["time_on_target"].note == "40 to 60 % of reserve (110 to 130 /min)"
    assert figures(every_second(bpm), basis=None, target=Band(40, 60, "%"))["time_on_target"].value is None


# --- recovery ---


def fall(keep=None, **more):
    """60 s of work that end at 150, and a fall of 1 in 2 s behind it."""
    bpm = np.append(np.full(60, 150.0), 150.0 - np.arange(70) / 2)
    keep = np.ones(130, bool) if keep is None else keep
    made = recording(pulse(np.flatnonzero(keep).astype(float), bpm[keep]))
    return effort(made, None, Phases(work=(0.0, 60.0), **more), Asked(hold_s=None if keep.all() else 5.0))


def without(*seconds):
    keep = np.ones(130, bool)
    keep[list(seconds)] = False
    return keep


def test_recovery_is_the_value_at_the_end_less_the_value_a_minute_later():
    found = fall().figures["recovery_60s"]
    assert (found.value, found.low, found.high) == (30, 30, 30)
    assert found.note == "from 150 to 120 /min; compare only trials that end at a similar rate"


@pytest.mark.parametrize(
    ("second", "bounds"), [(60, (150 - 120, 30 - 120, 230 - 120)), (120, (150 - 120.5, 150 - 230, 150 - 30))]
)
def test_a_value_that_is_held_over_the_moment_proves_nothing_of_it(second, bounds):
    found = fall(without(second)).figures["recovery_60s"]
    assert (found.value, found.low, found.high) == bounds


@pytest.mark.parametrize(
    ("seconds", "when"), [(range(56, 66), "the end of work"), (range(116, 126), "60 s after work")]
)
@pytest.mark.parametrize("asked", [True, False])
def test_a_recovery_that_was_not_measured_is_refused_where_it_was_asked_for(seconds, when, asked):
    sheet = fall(without(*seconds), **({"recovery": (60.0, 130.0)} if asked else {}))
    assert sheet.figures["recovery_60s"].note == f"Not given: heart rate was not measured at {when}."
    assert ("recovery_60s" in sheet.provenance.refused) == asked


@pytest.mark.parametrize(("until_s", "given"), [(120.0, True), (119.9, False)])
def test_a_recovery_phase_of_under_a_minute_has_no_recovery(until_s, given):
    sheet = fall(recovery=(60.0, until_s))
    assert (sheet.figures["recovery_60s"].value is not None) == given
    assert ("recovery_60s" in sheet.provenance.refused) != given


@pytest.mark.parametrize(("lost_s", "given"), [(2.0, True), (2.5, False)])
def test_beats_are_averaged_over_ten_seconds_of_which_eight_must_be_there(lost_s, given):
    # Beats of 0.5 s at 120 and from 60 s on of 1 s at 60: 90 on the mean of 55 to 65 s, 60 of 115 to 125 s.
    time = np.append(np.arange(0, 60, 0.5), np.arange(60.0, 130))
    cover = np.append(np.full(120, 0.5), np.ones(70))
    keep = (time < 55) | (time >= 55 + lost_s)
    made = recording(pulse(time[keep], 60 / cover[keep], cover_s=cover[keep]))
    found = effort(made, None, Phases(work=(0.0, 60.0))).figures["recovery_60s"]
    assert (found.value is not None) == given
    if given:
        assert found.value == pytest.approx((3 * 120 + 5 * 60) / 8 - 60)
        assert found.low == pytest.approx((3 * 120 + 5 * 60 + 2 * 30) / 10 - 60)
        assert found.high == pytest.approx((3 * 120 + 5 * 60 + 2 * 230) / 10 - 60)
        assert "means of 10 s" in found.note


# --- why a figure is not given ---

MEANS = ("heart_rate_mean", "beats_total")
OF_REST = ("heart_rate_rise", "share_above_125_rest", "share_above_150_rest", "beats_above_rest")
OF_DISTANCE = ("beats_per_metre", "cost_index")
OF_TARGET = ("time_on_target", "longest_on_target")
OF_CEILING = ("time_above_ceiling", "longest_above_ceiling", "first_above_ceiling", "possible_above_ceiling")
OF_RESERVE = ("reserve_mean", *ZONE_FIGURES, "training_impulse")
NO_REST = "Not given: no resting rate is known. Enter it (--rest) or name a rest phase (--rest-phase)."


def reasons(sheet, names):
    return {sheet.figures[name].note for name in names}


def test_without_a_heart_rate_no_figure_of_it_is_given():
    movement = Stream.from_samples("rr_interval", [0.0, 1.0], [1.0, 1.0], flags=[0, 0])
    sheet = effort(recording(movement), BASIS, Phases(work=(0.0, 1.0)))
    pulse_figures = [name for name in FIGURES if name not in MOTION_FIGURES]
    assert reasons(sheet, pulse_figures) == {"Not given: there is no heart rate in the recording."}
    assert set(sheet.provenance.refused) >= set(pulse_figures)


def test_too_little_measured_still_says_what_nobody_asked_for():
    sheet = effort(lost(30), None, WORK)
    assert reasons(sheet, MEANS) == {
        "Not given: heart rate was measured for only 70 % of the work phase; 80 % are needed."
    }
    assert reasons(sheet, OF_REST) == {NO_REST}
    assert reasons(sheet, OF_DISTANCE) == {"Not given: no distance is known (--distance)."}
    assert reasons(sheet, OF_TARGET) == {"Not given: no target band is set (--target)."}
    assert reasons(sheet, OF_CEILING[:3]) == {"Not given: no ceiling is set (--ceiling)."}
    assert reasons(sheet, OF_RESERVE) == {
        "Not given: no maximum is known. Enter a measured one (--max) or the month of birth (--born)."
    }
    known = effort(lost(30), choose_basis(rest_bpm=70, measured_max_bpm=170), WORK, Asked(distance_m=100))
    assert reasons(known, ("training_impulse",)) == {
        "Not given: it is worked out with the student's sex (--sex), which is not entered."
    }
    assert reasons(known, (*MEANS, *OF_REST, *OF_DISTANCE, "reserve_mean", *ZONE_FIGURES)) == reasons(sheet, MEANS)


def test_what_was_asked_for_and_is_missing_is_refused():
    sheet = effort(lost(0), choose_basis(measured_max_bpm=170), WORK, Asked(distance_m=100, target=Band(40, 60, "%")))
    assert reasons(sheet, (*OF_REST, "cost_index", *OF_RESERVE)) == {NO_REST}
    assert set(sheet.provenance.refused) == {*OF_RESERVE, *OF_TARGET, "reserve_peak"}
    assert reasons(sheet, OF_TARGET) == {f"{NO_REST} A band in beats per minute needs neither."}
    chair = effort(lost(0), choose_basis(rest_bpm=70, power_chair=True), WORK, Asked(distance_m=100))
    assert reasons(chair, OF_DISTANCE) == {"Not given: in a power chair the motor sets the speed."}
    assert set(chair.provenance.refused) == set(OF_DISTANCE)
    plain = effort(lost(0), None, WORK)
    assert plain.provenance.refused == ()


def test_a_peak_needs_fifteen_seconds_without_a_break():
    keep = np.ones(100, bool)
    keep[14::15] = False
    made = recording(pulse(np.flatnonzero(keep).astype(float), np.full(int(keep.sum()), 120.0)))
    sheet = effort(made, BASIS, WORK)
    assert reasons(sheet, ("heart_rate_peak", "reserve_peak")) == {
        "Not given: no 15 s of work were measured without a break."
    }
    assert "heart_rate_peak" in sheet.provenance.refused
    assert sheet.figures["heart_rate_mean"].value == pytest.approx(120)


def test_zones_by_maximum_say_so_and_need_no_rest():
    made = every_second(np.full(100, 120.0))
    sheet = effort(made, choose_basis(measured_max_bpm=160), WORK, Asked(zones_by="maximum"))
    notes = [sheet.figures[name].note for name in ZONE_FIGURES]
    assert notes[0] == "zones by % of maximum; below 91.2 /min"  # 57 % of 160
    assert notes[2] == "zones by % of maximum; 102.4 to below 123.2 /min"  # 64 to below 77 %
    assert notes[4] == "zones by % of maximum; 153.6 /min and above"  # 96 %
    both = effort(made, BASIS, WORK, Asked(zones_by="maximum"))
    assert both.figures["time_moderate"].note == "zones by % of maximum; 108.8 to below 130.9 /min"
    by_reserve = effort(made, BASIS, WORK)
    assert by_reserve.figures["time_moderate"].note == "110.0 to below 130.0 /min"  # 40 to 60 % of 100 above 70


def test_a_narrow_reserve_is_said_to_be_one():
    sheet = effort(every_second(np.full(100, 90.0)), choose_basis(rest_bpm=80, measured_max_bpm=110), WORK)
    assert any("The reserve is only 30 /min wide" in each for each in texts(sheet.cautions))
