"""The sheet as a whole: which figures are given, on what basis, and which are refused with the reason."""

import pickle
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from ownmark.errors import BasisError
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import ACCELERATION, CLOCK, FIRST, RR_INTERVAL, TIME_OF_DAY, Mark, Placing, Stream
from ownmark.metrics import Asked, Band, EffortSheet, Phases, choose_basis, effort, from_laps
from ownmark.metrics.clock_alignment import ASSUMED
from ownmark.metrics.messages.heart_rate import WHY_NOT_PLACED
from ownmark.metrics.messages.trial import PHASES_LAPS
from ownmark.words.vocabulary import FIGURES, ZONE_FIGURES

from tests.makers.recordings import every_second, pulse, recording
from tests.makers.sheets import in_english, texts

NEEDS_MAXIMUM = ("reserve_mean", "reserve_peak", *ZONE_FIGURES, "training_impulse")


def steps(*pieces):
    """A heart rate that goes through (seconds, rate), never the same value for long."""
    bpm = np.concatenate([np.full(seconds, float(rate)) for seconds, rate in pieces])
    return every_second(bpm)


def value(sheet, name):
    return sheet.figures[name].value


# Tables row 2.11, computed: 5 s epochs, rest 80, maximum 194.
EPOCHS = recording(pulse(np.arange(120) * 5.0, np.repeat([100.0, 120, 130, 150, 185], [24, 36, 24, 24, 12])))


def test_the_worked_example_of_time_in_zones():
    sheet = effort(EPOCHS, choose_basis(rest_bpm=80, measured_max_bpm=194))
    assert [value(sheet, name) for name in ZONE_FIGURES] == [120, 180, 120, 120, 60]
    assert value(sheet, "reserve_mean") == pytest.approx(44.2982, abs=5e-5)
    assert value(sheet, "coverage_heart_rate") == 100


def test_the_worked_example_of_training_impulse():
    # Banister's sum, tables row 5.1 and 5.2: 30 min at 130, rest 40, maximum 200: 31.8025 for men, 37.1285 for women.
    made = recording(pulse(np.arange(1800.0), np.full(1800, 130.0)))
    for sex, impulse in (("male", 31.8025), ("female", 37.1285)):
        sheet = effort(made, choose_basis(rest_bpm=40, measured_max_bpm=200, sex=sex))
        assert value(sheet, "training_impulse") == pytest.approx(impulse, abs=5e-5)


def test_the_worked_example_of_time_above_rest():
    # PAHR, Logan 2000: rest 80; 78, 95, 101, 119, 121, 130, 100, 120 is 62.5 % and 25.0 %, strictly above.
    made = every_second(np.repeat([78.0, 95, 101, 119, 121, 130, 100, 120], 5))
    sheet = effort(made, choose_basis(rest_bpm=80))
    assert value(sheet, "share_above_125_rest") == 62.5
    assert value(sheet, "share_above_150_rest") == 25.0


def test_the_worked_examples_of_beats_per_metre_and_cost_index():
    # Hood 2002, from memory: 12 min at a mean of 120 over 900 m is 1.6 beats a metre.
    sheet = effort(steps((360, 119), (360, 121)), choose_basis(rest_bpm=80), None, Asked(distance_m=900))
    assert value(sheet, "beats_per_metre") == pytest.approx(1.6)
    # Physiological cost index, tables row 5.8: 120 at work, 80 at rest, 60 m/min is 0.6667.
    sheet = effort(steps((300, 119), (300, 121)), choose_basis(rest_bpm=80), None, Asked(distance_m=600))
    assert value(sheet, "cost_index") == pytest.approx(0.6667, abs=5e-5)


def test_the_worked_example_of_recovery():
    # Definition of Cole 1999, tables row 5.12: 168 at the end of work, 131 a minute later: 37.
    bpm = np.concatenate((np.linspace(150, 168, 301), np.linspace(167, 131, 60), np.full(30, 130.0)))
    sheet = effort(every_second(bpm), None, Phases(work=(0, 300)))
    assert value(sheet, "recovery_60s") == pytest.approx(37)


def test_recovery_is_not_given_where_the_recording_ends_with_the_work():
    sheet = effort(steps((60, 100)))
    assert value(sheet, "recovery_60s") is None
    assert "heart rate was not measured at" in sheet.figures["recovery_60s"].note


@pytest.mark.parametrize(
    "condition",
    [
        "spinal-injury-t6-or-above",
        "rate-limiting-medicine",
        "rate-raising-medicine",
        "muscular-dystrophy",
        "autonomic-disorder",
        "pacemaker",
    ],
)
def test_no_maximum_is_predicted_where_age_says_nothing_about_it(condition):
    # Trade reference section 2: then %HRR, zones and training impulse are not computed, the rest still is.
    basis = choose_basis(rest_bpm=70, age_years=14, conditions=[condition], sex="male")
    sheet = effort(steps((300, 95), (300, 110)), basis)
    for name in NEEDS_MAXIMUM:
        assert value(sheet, name) is None
        assert "Not given" in sheet.figures[name].note
        assert name in sheet.provenance.refused
    assert value(sheet, "heart_rate_rise") == 32.5
    assert value(sheet, "beats_above_rest") == pytest.approx(600 * 32.5 / 60)
    assert value(sheet, "share_above_125_rest") == 100


def test_a_measured_maximum_switches_the_reserve_on_but_not_where_rate_does_not_follow_effort():
    injury = choose_basis(rest_bpm=70, measured_max_bpm=130, conditions=["spinal-injury-t6-or-above"])
    assert value(effort(steps((60, 100)), injury), "reserve_mean") == pytest.approx(50)
    paced = choose_basis(rest_bpm=70, measured_max_bpm=130, conditions=["pacemaker"])
    assert value(effort(steps((60, 100)), paced), "reserve_mean") is None


def test_a_predicted_maximum_shows_how_zones_move_with_its_error():
    basis = choose_basis(rest_bpm=80, age_years=14, conditions=["cerebral-palsy"])
    sheet = effort(steps((300, 124), (300, 132)), basis)
    # Verschuren 2011: 194, SD 9.9. Edges of moderate: 125.6 with 194; 121.64 with 184.1; 129.56 with 203.9.
    assert value(sheet, "time_moderate") == 300
    assert sheet.provenance.zones_if_maximum_is_one_see_lower.times_s["time_moderate"] == 600
    assert sheet.provenance.zones_if_maximum_is_one_see_higher.times_s["time_moderate"] == 300
    assert "600 s if the maximum is one standard error lower" in sheet.figures["time_moderate"].note
    assert "9.9" in sheet.figures["time_moderate"].basis


def test_the_equation_fits_the_person_and_the_work():
    def chosen(**facts):
        return choose_basis(rest_bpm=70, age_years=15, **facts).maximum

    assert chosen().bpm == pytest.approx(197.5)  # Tanaka 2001, tables row 3.2
    assert chosen(conditions=["down-syndrome"]).bpm == pytest.approx(170.6)  # Fernhall 2001, row 3.9
    assert chosen(conditions=["intellectual-disability"]).bpm == pytest.approx(186.1)
    assert chosen(conditions=["cerebral-palsy"]).bpm == 194  # Verschuren 2011, walking and running
    assert chosen(conditions=["cerebral-palsy"], arms_only=True) is None  # not for arm work, and no other holds
    assert "too low" in in_english(chosen(arms_only=True).notes)


def test_a_motor_sets_the_speed_of_a_power_chair():
    # Tables rows 5.8 and 8.7: the cost of a metre means nothing there.
    sheet = effort(steps((60, 100)), choose_basis(rest_bpm=80, power_chair=True), None, Asked(distance_m=100))
    assert value(sheet, "beats_per_metre") is None
    assert "motor" in sheet.figures["cost_index"].note


def test_under_80_percent_sums_are_refused_and_what_was_seen_is_still_told():
    # Tables row 6.13, common practice: 90 % good, 80-90 % with a warning, under 80 % no times and sums.
    bpm = np.full(600, 150.0) + np.arange(600) % 2
    for lost, given, warned in ((50, True, False), (100, True, True), (130, False, False)):
        keep = np.ones(600, bool)
        keep[200 : 200 + lost] = False
        made = recording(pulse(np.flatnonzero(keep).astype(float), bpm[keep]))
        sheet = effort(made, choose_basis(rest_bpm=70, measured_max_bpm=190), None, Asked(ceiling_bpm=140))
        assert (value(sheet, "time_vigorous") is not None) is given
        assert any("read the figures with their bounds" in caution for caution in texts(sheet.cautions)) is warned
        assert value(sheet, "time_above_ceiling") == 600 - lost
        assert sheet.figures["time_above_ceiling"].high == 600


def test_a_stay_in_the_band_survives_short_dips():
    bpm = np.full(300, 120.0)
    bpm[100:105] = 90  # 5 s: tolerated
    bpm[200:206] = 90  # 6 s: not
    asked = Asked(target=Band(110, 130, "/min"))
    sheet = effort(every_second(bpm), None, None, asked)
    assert value(sheet, "time_on_target") == 289
    assert value(sheet, "longest_on_target") == 200
    assert "dips of up to 5 s" in sheet.figures["longest_on_target"].note


def test_a_band_in_percent_of_reserve_uses_the_reserve():
    # Course handout: rest 75, maximum 200: 60 % is 150, 80 % is 175.
    made = steps((60, 149), (60, 150), (60, 175), (60, 176))
    sheet = effort(made, choose_basis(rest_bpm=75, measured_max_bpm=200), None, Asked(target=Band(60, 80, "%")))
    assert value(sheet, "time_on_target") == 120
    assert "(150 to 175 /min)" in sheet.figures["time_on_target"].note


def test_a_ceiling_counts_over_the_whole_recording_and_strictly_above():
    made = steps((60, 90), (60, 150), (60, 151), (60, 100))
    sheet = effort(made, None, Phases(work=(0, 60)), Asked(ceiling_bpm=150))
    assert value(sheet, "time_above_ceiling") == 60
    assert value(sheet, "longest_above_ceiling") == 60
    assert value(sheet, "first_above_ceiling") == 120
    assert sheet.provenance.above_ceiling == ((120, 180),)
    assert sheet.provenance.ceiling_bpm == 150


def test_no_crossing_is_told_with_the_share_that_was_measured_and_never_as_safe():
    sheet = effort(steps((60, 90)), None, None, Asked(ceiling_bpm=150))
    assert sheet.figures["first_above_ceiling"].note == (
        "No crossing of the ceiling was recorded. Heart rate was measured for 100 % of the time looked at."
    )


def test_rest_is_the_last_minute_of_the_rest_phase():
    bpm = np.concatenate((np.full(120, 90.0), np.full(60, 72.0), np.full(300, 110.0)))
    sheet = effort(every_second(bpm), choose_basis(), Phases(rest=(0, 180), work=(180, 480)))
    assert sheet.provenance.basis.rest_bpm == pytest.approx(72)
    assert value(sheet, "heart_rate_rise") == pytest.approx(38)


def test_laps_can_name_the_phases():
    marks = [Mark(0, "lap", "lap 1", 60), Mark(60, "lap", "lap 2", 240), Mark(240, "lap", "lap 3", 300)]
    assert from_laps(marks, ["rest", "work", "recovery"]) == Phases((0, 60), (60, 240), (240, 300), how=PHASES_LAPS)
    assert from_laps(marks, ["-", "work"]).work == (60, 240)
    with pytest.raises(BasisError, match="laps were named 4 times, but the recording holds 3"):
        from_laps(marks, ["-", "rest", "work", "recovery"])


def test_contradictions_are_refused_with_a_sentence():
    with pytest.raises(BasisError, match="not below the maximum"):
        choose_basis(rest_bpm=190, measured_max_bpm=180)
    with pytest.raises(BasisError, match="lies outside the recording"):
        effort(steps((60, 100)), None, Phases(work=(600, 700)))
    with pytest.raises(BasisError, match="before it begins"):
        Phases(work=(10, 5))


@pytest.mark.parametrize(
    "facts",
    [
        {"rest_bpm": 1},
        {"rest_bpm": 300},
        {"measured_max_bpm": 1000},
        {"measured_max_bpm": float("nan")},
        {"rest_bpm": 0},
    ],
)
def test_a_rate_that_no_student_shows_is_refused(facts):
    with pytest.raises(BasisError, match="is not a heart rate"):
        choose_basis(**facts)


@pytest.mark.parametrize(
    "asked",
    [
        {"distance_m": float("inf")},
        {"dip_s": float("nan")},
        {"dip_s": -5},
        {"hold_s": float("inf")},
        {"ceiling_bpm": 500},
    ],
)
def test_a_number_that_means_nothing_is_refused(asked):
    with pytest.raises(BasisError):
        Asked(**asked)


def test_phases_do_not_overlap():
    with pytest.raises(BasisError, match="overlap"):
        Phases(rest=(600, 780), work=(240, 840))
    with pytest.raises(BasisError, match="before the work ends"):
        Phases(work=(240, 840), recovery=(120, 900))
    assert Phases(rest=(0, 240), work=(240, 840), recovery=(840, 960)).work == (240, 840)


def test_a_rate_at_an_edge_is_in_the_zone_that_begins_there_whatever_the_rounding():
    # 220 − 14 8/12 is 205.33; rest 72: 112 is 30 % to the last bit.
    basis = choose_basis(rest_bpm=72, measured_max_bpm=220 - (14 + 8 / 12))
    assert value(effort(steps((300, 112), (300, 111.99)), basis), "time_light") == 300


def test_between_rest_and_a_maximum_just_above_it_nothing_is_divided_and_the_reason_is_said():
    # Rest 90 and maximum 95: a class "light" of half a beat.
    target = Asked(target=Band(40, 60, "%"))
    sheet = effort(
        steps((300, 92), (300, 93)), choose_basis(rest_bpm=90, measured_max_bpm=95, sex="male"), None, target
    )
    for name in (*NEEDS_MAXIMUM, "time_on_target"):
        assert value(sheet, name) is None
        assert "only 5.0 /min above the rest of 90.0 /min" in sheet.figures[name].note
        assert name in sheet.provenance.refused
    assert value(sheet, "heart_rate_rise") == 2.5
    for maximum, given in ((109.9, False), (110, True)):
        for by in ("reserve", "maximum"):
            basis = choose_basis(rest_bpm=90, measured_max_bpm=maximum)
            sheet = effort(steps((300, 92), (300, 93)), basis, None, Asked(zones_by=by))
            assert all((value(sheet, name) is not None) is given for name in ("reserve_mean", "time_light"))


def test_a_predicted_maximum_is_not_moved_to_where_the_reserve_is_too_small_to_divide():
    # Verschuren 2011: 194, one standard deviation lower 184.1; rest 164.1 leaves 20, rest 164.2 leaves 19.9.
    for rest, shown in ((164.1, True), (164.2, False)):
        sheet = effort(steps((300, 180)), choose_basis(rest_bpm=rest, age_years=14, conditions=["cerebral-palsy"]))
        assert (sheet.provenance.zones_if_maximum_is_one_see_lower is not None) is shown
        assert ("one standard error lower" in sheet.figures["time_vigorous"].note) is shown


def test_a_rate_above_the_maximum_given_is_said():
    sheet = effort(steps((60, 150), (20, 195)), choose_basis(rest_bpm=70, measured_max_bpm=190))
    assert any("above the given maximum for 20 s" in caution for caution in texts(sheet.cautions))


def test_every_sheet_carries_every_figure_and_the_cautions():
    sheet = effort(steps((60, 100)))
    assert list(sheet.figures) == list(FIGURES)
    assert any("not a medical device" in caution for caution in texts(sheet.cautions))
    for figure in sheet.figures.values():
        assert figure.value is not None or figure.note


def test_sheets_follow_their_published_schema_and_come_back_equal():
    schema = EffortSheet.model_json_schema(mode="serialization", by_alias=True)
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    for basis in (choose_basis(), choose_basis(rest_bpm=70, age_years=14, sex="male")):
        sheet = effort(EPOCHS, basis, None, Asked(ceiling_bpm=150, distance_m=100, target=Band(40, 60, "%")))
        text = sheet.to_json()
        import json

        validator.validate(json.loads(text))
        assert set(json.loads(text)) == {"figures", "cautions", "flags", "provenance", "schema"}
        assert EffortSheet.from_json(text) == sheet
    broken = json.loads(text)
    del broken["figures"]["heart_rate_mean"]["unit"]
    assert list(validator.iter_errors(broken))


def test_everything_that_goes_into_and_out_of_effort_can_be_pickled():
    arguments = (EPOCHS, choose_basis(rest_bpm=70, age_years=12), Phases(work=(0, 300)), Asked(ceiling_bpm=150))
    assert effort(*pickle.loads(pickle.dumps(arguments))) == pickle.loads(pickle.dumps(effort(*arguments)))


def test_a_recording_without_heart_rate_gives_reasons_and_no_numbers():
    made = recording(pulse(np.arange(60.0), np.full(60, np.nan), flags=np.full(60, 2, np.uint16)))
    sheet = effort(made, choose_basis(rest_bpm=70, measured_max_bpm=190))
    assert value(sheet, "coverage_heart_rate") == 0
    assert value(sheet, "heart_rate_mean") is None
    assert "0 % of the work phase" in sheet.figures["heart_rate_mean"].note


def test_movement_of_less_than_a_second_is_no_trial_and_a_heart_rate_is_told():
    def movement(last_s):
        return Stream.from_samples(ACCELERATION, [0.0, 0.5, last_s], np.ones((3, 3)), flags=np.zeros(3, np.uint16))

    with pytest.raises(BasisError, match="under a second"):
        effort(recording(movement(0.99)), None)
    assert effort(recording(movement(1.0)), None).figures["motion_level"].value is None
    rates = pulse([0.0, 0.5, 0.99], [80.0, 81, 82])
    assert effort(recording(movement(0.99), rates), None).figures["heart_rate_mean"].value == pytest.approx(81, abs=1)
    assert effort(recording(pulse([0.5], [80.0])), None, Phases(work=(0.0, 1.0)))


def accelerations(seconds=120, rate=10):
    """A sensor that lies still."""
    time = np.arange(seconds * rate) / rate
    values = np.tile([0.0, 0.0, 1.0], (len(time), 1)) + np.random.default_rng(1).normal(0, 1e-3, (len(time), 3))
    return Stream.from_samples(ACCELERATION, time, values, flags=np.zeros(len(time), np.uint16), source="frame.csv")


def test_heart_rate_is_refused_where_it_was_expected_and_not_beside_a_movement_sensor_alone():
    beats = Stream.from_samples(RR_INTERVAL, np.arange(1.0, 61.0), np.full(60, 1.0), flags=np.zeros(60, np.uint16))
    assert "heart_rate_mean" in effort(recording(beats)).provenance.refused
    alone = effort(recording(accelerations()), asked=Asked(placement="wrist"))
    assert value(alone, "heart_rate_mean") is None
    assert "heart_rate_mean" not in alone.provenance.refused
    assert alone.provenance.movement is not None


def test_a_value_that_stands_longer_because_it_was_asked_for_is_noted():
    said = "As you set it, a value stands for up to 5 s where the next ones are missing."
    assert said == in_english(effort(steps((60, 100), (60, 101)), asked=Asked(hold_s=5)).provenance.notes[0])
    assert effort(steps((60, 100), (60, 101))).provenance.notes == ()


def test_possible_crossings_of_the_ceiling_are_in_the_provenance():
    flags = np.zeros(120, np.uint16)
    flags[60:70] = Flag.TOO_FAST
    bpm = np.full(120, 100.0)
    bpm[60:70] = 200.0
    made = recording(pulse(np.arange(120.0), bpm, flags=flags))
    found = effort(made, asked=Asked(ceiling_bpm=150)).provenance
    assert [(each.from_s, each.highest_bpm) for each in found.possible_crossings] == [(60, 200)]
    assert effort(made).provenance.possible_crossings == ()


def test_beats_are_used_only_where_they_are_asked_for():
    beats = Stream.from_samples(RR_INTERVAL, np.arange(1.0, 61.0), np.full(60, 1.0), flags=np.zeros(60, np.uint16))
    both = recording(pulse(np.arange(60.0), np.full(60, 100.0)), beats)
    assert effort(both).provenance.stream == "heart_rate"
    assert effort(both, asked=Asked(pulse_from="rr_interval")).provenance.stream == "rr_interval"
    alone = steps((60, 100))
    assert effort(alone, asked=Asked(pulse_from="rr_interval")).provenance.stream == "heart_rate"


def test_samples_of_one_moment_last_no_time():
    for counts in ((2,), (3, 1), (1, 2)):
        streams = [pulse(np.full(count, 5.0), np.full(count, 100.0)) for count in counts]
        with pytest.raises(BasisError, match="every sample has the same time, so nothing can be measured"):
            effort(recording(*streams))
    with pytest.raises(BasisError, match="lies outside the recording, which runs from 5 s to 5 s"):
        effort(recording(pulse([5.0], [100.0])))


def test_heart_rate_and_movement_go_together_only_on_one_clock():
    rate = pulse(np.arange(120.0), 100.0 + np.arange(120) % 3)
    asked = Asked(placement="wrist")
    one = effort(recording(rate, replace(accelerations(), source="made.csv")), asked=asked)
    assert one.figures["heart_rate_moving_rise"].note.startswith("Not given: only 0 s of heart rate while moving;")
    assert not [note for note in one.provenance.notes if "clock" in in_english(note)]
    apart = replace(recording(rate, accelerations()), placings=(Placing("frame.csv", 0.0, ASSUMED),))
    two = effort(apart, asked=asked)
    assert two.figures["heart_rate_moving_rise"].note.startswith(
        "Not given: heart rate and movement could not be put on"
    )
    assert len([note for note in two.provenance.notes if "clock" in in_english(note)]) == 1


@pytest.mark.parametrize(
    ("how", "other", "given"),
    [(CLOCK, CLOCK, True), (ASSUMED, CLOCK, False), (ASSUMED, TIME_OF_DAY, False), (ASSUMED, FIRST, True)],
)
def test_a_strap_without_a_clock_beside_a_sensor_with_one_gives_no_figure_by_phase(how, other, given):
    rate = replace(pulse(np.arange(600.0), 100.0 + np.arange(600) % 3), source="strap.csv")
    made = replace(
        recording(rate, replace(accelerations(), source="wrist.csv")),
        placings=(Placing("strap.csv", 0.0, how), Placing("wrist.csv", 0.0, other)),
    )
    asked, basis = Asked(placement="wrist", ceiling_bpm=101.0), choose_basis(measured_max_bpm=180)
    phases = Phases(rest=(0, 240), work=(240, 480), recovery=(480, 590))
    found = effort(made, basis, phases, asked)
    by_phase = ("coverage_heart_rate", "heart_rate_mean", "heart_rate_rise", "heart_rate_peak", "recovery_60s")
    assert [found.figures[name].value is not None for name in by_phase] == [given] * 5
    assert (found.provenance.basis.rest_bpm is not None) is given
    assert {found.figures[name].reason for name in by_phase} == ({None} if given else {WHY_NOT_PLACED})
    assert ("heart_rate_mean" in found.provenance.refused) is not given
    assert found.figures["time_above_ceiling"].value is not None  # what was above, was above
    whole = effort(made, basis, Phases(), asked)
    assert whole.figures["heart_rate_mean"].value is not None


def test_work_that_only_touches_the_recording_is_refused():
    made = steps((60, 100))  # from second 0 to 59
    for work in ((59.0, 70.0), (-9.0, 0.0), (60.0, 70.0)):
        with pytest.raises(BasisError, match="lies outside the recording, which runs from 0 s to 59 s"):
            effort(made, phases=Phases(work=work))
    assert effort(made, phases=Phases(work=(58.0, 70.0))).provenance.phases.work == (58.0, 70.0)


def test_a_rest_phase_lies_below_the_maximum_and_is_told_with_it():
    made, phases = steps((300, 100), (300, 130)), Phases(rest=(0, 300), work=(300, 600))
    with pytest.raises(BasisError, match=r"the rest phase has a rate of 100 /min, not below the maximum of 100\."):
        effort(made, choose_basis(measured_max_bpm=100), phases)
    used = effort(made, choose_basis(measured_max_bpm=160, conditions=["pacemaker"]), phases).provenance.basis
    assert (used.rest_bpm, used.maximum_bpm, used.maximum_how) == (100, None, None)
    used = effort(made, choose_basis(measured_max_bpm=160), phases).provenance.basis
    assert used.rest_how.startswith("mean of 240 s to 300 s of the rest phase")
    assert (used.rest_bpm, used.maximum_bpm, used.maximum_how, used.maximum_see_bpm) == (100, 160, "measured", None)
    assert used.conditions == ()


def test_a_start_is_told_with_its_zone_and_in_the_provenance():
    began = datetime(2026, 5, 12, 9, 0, 5, tzinfo=UTC)
    made = replace(steps((60, 100)), start=began)
    assert effort(made).provenance.start == "2026-05-12T09:00:05+00:00"
    for start, told in ((began, "; second 0 is 2026-05-12 09:00:05 UTC."), (began.replace(tzinfo=None), " 09:00:05.")):
        with pytest.raises(BasisError) as refusal:
            effort(replace(made, start=start), phases=Phases(work=(70, 80)))
        assert refusal.value.what.endswith(told)


def test_flags_are_counted_by_stream_and_a_lock_only_where_there_is_one():
    assert effort(steps((60, 100))).flags == {"heart_rate": {}}
