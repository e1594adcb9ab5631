"""The ceiling: nothing that was recorded above it goes untold, and what is certain is kept apart from what is not."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.ingest.cleaning.judge import beat_by_beat, clean
from ownmark.ingest.flags import REJECTING, Flag
from ownmark.ingest.recording import ACCELERATION, HEART_RATE, RR_INTERVAL, Stream
from ownmark.metrics import Asked, Phases, effort
from ownmark.metrics.bounds import first_where, time_where
from ownmark.metrics.ceiling import BEYOND_RULES, Above, look_above
from ownmark.metrics.figure import PossibleCrossing
from ownmark.metrics.timeline import hold

from tests.makers.recordings import pulse, recording

CEILING = Asked(ceiling_bpm=150)
REJECTED = [flag for flag in Flag if flag & REJECTING and flag is not Flag.DROPOUT]


def wandering(seconds, around=95.0):
    return around + np.arange(seconds) % 3


def raw(bpm, time=None, source="made.csv"):
    time = np.arange(len(bpm), dtype=float) if time is None else time
    return Stream.from_samples(HEART_RATE, time, bpm, source=source)


def sheet_of(*streams, asked=CEILING):
    return effort(clean(recording(*streams)), None, None, asked)


def flagged(bpm, places, flag, time=None):
    """A judged stream of one value a second, with a flag at some places."""
    flags = np.zeros(len(bpm), np.uint16)
    flags[places] = flag
    return pulse(np.arange(len(bpm), dtype=float) if time is None else time, bpm, flags=flags)


def possible(*streams, asked=CEILING, used=0):
    return look_above(recording(*streams), streams[used], asked).possible


def figures(sheet):
    return {name: sheet.figures[f"{name}_above_ceiling"] for name in ("time", "longest", "first", "possible")}


def bounds(figure):
    return figure.value, figure.low, figure.high


# ---------------------------------------------------------------- the sheet


def test_a_minute_at_240_is_told_as_a_possible_crossing_with_its_time_and_its_rule():
    bpm = wandering(600)
    bpm[300:360] = 240
    sheet = sheet_of(raw(bpm))
    found = figures(sheet)
    assert sheet.provenance.possible_crossings == (
        PossibleCrossing(from_s=300, until_s=360, highest_bpm=240, rules=("implausible",)),
    )
    assert bounds(found["time"]) == (0, 0, 60)
    assert bounds(found["longest"]) == (0, 0, 60)
    assert bounds(found["possible"]) == (60, None, None)
    assert found["possible"].note == "in 1 stretch of readings that were set aside, at 300 s, up to 240 /min"
    assert found["first"].value is None
    assert found["first"].note == (
        "Not given: no crossing is certain, but readings above the ceiling were set aside. Heart rate was measured for"
        " 90 % of the time looked at."
    )
    assert sheet.provenance.above_ceiling == ()
    assert sheet.provenance.recording_unmeasured == ((300, 360),)
    assert sheet.provenance.refused == ()


def test_a_minute_at_225_is_a_crossing_and_nothing_is_merely_possible():
    bpm = wandering(600)
    bpm[300:360] = 225 + np.arange(60) % 2
    sheet = sheet_of(raw(bpm))
    found = figures(sheet)
    assert bounds(found["time"]) == bounds(found["longest"]) == (60, 60, 60)
    assert bounds(found["first"]) == (300, 300, 300)
    assert (found["possible"].value, found["possible"].note) == (0, None)
    assert sheet.provenance.above_ceiling == ((300, 360),)
    assert sheet.provenance.possible_crossings == ()
    assert sheet.provenance.recording_unmeasured == ()


def test_12_s_at_200_are_told_although_no_heart_goes_there_so_fast():
    bpm = wandering(600)
    bpm[300:312] = 200
    (found,) = sheet_of(raw(bpm)).provenance.possible_crossings
    assert found == PossibleCrossing(from_s=300, until_s=312, highest_bpm=200, rules=("too_fast",))


def test_a_sensor_stuck_above_the_ceiling_is_certain_for_a_second_and_then_possible():
    bpm = wandering(600)
    bpm[300:380] = 160
    sheet = sheet_of(raw(bpm))
    assert bounds(figures(sheet)["time"]) == (1, 1, 80)
    assert bounds(figures(sheet)["first"]) == (300, 300, 300)
    assert sheet.provenance.possible_crossings == (
        PossibleCrossing(from_s=301, until_s=380, highest_bpm=160, rules=("frozen",)),
    )


@pytest.mark.parametrize("nothing", [0, 255, 65535, np.nan])
def test_a_code_for_no_value_is_no_reading_and_no_possible_crossing(nothing):
    bpm = wandering(600)
    bpm[300:312] = nothing
    sheet = sheet_of(raw(bpm))
    assert sheet.provenance.possible_crossings == ()
    assert sheet.figures["first_above_ceiling"].note == (
        "No crossing of the ceiling was recorded. Heart rate was measured for 98 % of the time looked at."
    )
    assert sheet.provenance.recording_unmeasured == ((300, 312),)


def test_where_no_heart_rate_was_measured_at_all_nothing_is_said_to_be_below_the_ceiling():
    sheet = sheet_of(raw(np.zeros(60)))
    for name in ("time", "longest"):
        assert figures(sheet)[name].note == "Not given: heart rate was not measured at any moment of the recording."
        assert f"{name}_above_ceiling" in sheet.provenance.refused
    assert sheet.provenance.refused[-2:] == ("time_above_ceiling", "longest_above_ceiling")
    assert figures(sheet)["first"].note == figures(sheet)["time"].note
    assert figures(sheet)["possible"].value == 0


def test_where_every_reading_was_set_aside_a_crossing_is_still_possible():
    sheet = sheet_of(raw(np.full(60, 240.0)))
    assert figures(sheet)["time"].value is None
    assert "no crossing is certain" in figures(sheet)["first"].note
    assert figures(sheet)["possible"].value == 60


def test_without_a_ceiling_none_of_its_figures_is_given():
    sheet = sheet_of(raw(wandering(60)), asked=Asked())
    assert {each.note for each in figures(sheet).values()} == {"Not given: no ceiling is set (--ceiling)."}
    assert sheet.provenance.recording_unmeasured == ()
    assert look_above(recording(raw(wandering(60))), None, CEILING) is None


def test_a_recording_of_movement_alone_gives_the_reason_that_there_is_no_heart_rate():
    still = np.tile([0.0, 0.0, 1.0], (600, 1)) + 1e-3 * np.arange(1800).reshape(600, 3) % 7
    made = clean(recording(Stream.from_samples(ACCELERATION, np.arange(600) / 50, still, source="frame.csv")))
    found = figures(effort(made, None, None, CEILING))
    assert {each.note for each in found.values()} == {"Not given: there is no heart rate in the recording."}


def test_the_whole_recording_counts_and_not_the_work_alone():
    bpm = wandering(600)
    bpm[500:560] = 240
    sheet = effort(clean(recording(raw(bpm))), None, Phases(work=(0, 300)), CEILING)
    assert figures(sheet)["possible"].value == 60
    assert figures(sheet)["possible"].coverage == figures(sheet)["time"].coverage == 90
    assert sheet.provenance.unmeasured == ()
    assert sheet.provenance.recording_unmeasured == ((500, 560),)


@pytest.mark.parametrize(
    ("phases", "gaps", "share"),
    [
        (Phases(work=(-110, 250)), ((-110, 0),), 600 / 7.1),
        (Phases(rest=(-300, 60), work=(60, 360)), ((-300, 0),), 600 / 9),
        (Phases(work=(100, 460), recovery=(460, 640)), ((600, 640),), 600 / 6.4),
        (Phases(work=(-20, 630)), ((-20, 0), (600, 630)), 600 / 6.5),
        (Phases(work=(0, 600)), (), 100),
    ],
)
def test_what_a_late_or_short_recording_did_not_see_of_a_phase_may_have_been_above(phases, gaps, share):
    sheet = effort(clean(recording(raw(wandering(600)))), None, phases, CEILING)
    lost = sum(until - begin for begin, until in gaps)
    assert sheet.provenance.recording_unmeasured == gaps
    assert bounds(figures(sheet)["time"]) == (0, 0, lost)
    assert figures(sheet)["longest"].high == max((until - begin for begin, until in gaps), default=0)
    assert figures(sheet)["time"].coverage == pytest.approx(share)
    assert dict(figures(sheet)["first"].reason.values)["percent"] == pytest.approx(share)


def test_a_first_crossing_may_have_been_before_a_late_recording_began():
    bpm = wandering(600)
    bpm[200:230] = 160
    sheet = effort(clean(recording(raw(bpm))), None, Phases(work=(-110, 250)), CEILING)
    assert bounds(figures(sheet)["first"]) == (200, -110, 200)
    assert bounds(figures(sheet)["time"]) == (30, 30, 140)


@pytest.mark.parametrize(("lost", "share"), [(0, "100"), (1, "99.8"), (3, "99.5"), (4, "99"), (7, "99"), (10, "98")])
def test_a_share_is_told_as_100_only_where_nothing_is_missing(lost, share):
    bpm = wandering(600)
    bpm[300 : 300 + lost] = 0
    note = sheet_of(raw(bpm)).figures["first_above_ceiling"].note
    assert (
        note == f"No crossing of the ceiling was recorded. Heart rate was measured for {share} % of the time looked at."
    )
    crossed = sheet_of(raw(bpm), asked=Asked(ceiling_bpm=96.5)).figures["time_above_ceiling"].note
    assert (
        crossed
        == f"above 96.5 /min, rest and recovery too; heart rate was measured for {share} % of the time looked at"
    )


# ---------------------------------------------------------------- readings that are in no figure


@pytest.mark.parametrize("flag", REJECTED)
def test_a_reading_that_any_rule_set_aside_is_a_possible_crossing_by_that_rule(flag):
    bpm = wandering(60)
    bpm[20:26] = 160
    if flag is Flag.DUPLICATE_STAMP:  # two readings a second; the one that stands is set aside too, else it would count
        stream = flagged(bpm, slice(20, 26), Flag.NO_CONTACT, np.repeat(np.arange(30.0), 2))
    else:
        stream = flagged(bpm, slice(20, 26), flag)
    (found,) = possible(stream)
    assert str(flag.name).lower() in found.rules
    assert found.highest_bpm == 160


def test_the_ceiling_itself_is_not_above_it():
    bpm = wandering(60)
    bpm[20:25] = 150
    assert possible(flagged(bpm, slice(20, 25), Flag.NO_CONTACT)) == ()
    bpm[22] = 150.5
    (found,) = possible(flagged(bpm, slice(20, 25), Flag.NO_CONTACT))
    assert (found.from_s, found.until_s, found.highest_bpm) == (22, 23, 150.5)


def test_flags_that_leave_a_reading_in_use_make_it_certain_and_not_possible():
    bpm = wandering(60)
    bpm[20:25] = 160
    used = Flag.VARYING | Flag.SATURATED | Flag.BACKWARD_STAMP
    above = look_above(recording(flagged(bpm, slice(20, 25), used)), flagged(bpm, slice(20, 25), used), CEILING)
    assert above.possible == ()
    assert above.stretches == ((20, 25),)


def test_readings_that_follow_each_other_are_one_stretch_with_every_rule_and_a_gap_makes_two():
    bpm = wandering(60)
    bpm[20:25] = [160, 170, 165, 240, 155]
    flags = np.zeros(60, np.uint16)
    flags[20:25] = [Flag.NO_CONTACT, Flag.NO_CONTACT, Flag.TOO_FAST, Flag.IMPLAUSIBLE, Flag.NO_CONTACT]
    bpm[30], flags[30] = 180, Flag.NO_CONTACT
    found = possible(pulse(np.arange(60.0), bpm, flags=flags))
    assert found == (
        PossibleCrossing(from_s=20, until_s=25, highest_bpm=240, rules=("implausible", "too_fast", "no_contact")),
        PossibleCrossing(from_s=30, until_s=31, highest_bpm=180, rules=("no_contact",)),
    )


def test_a_usable_reading_between_two_parts_them():
    bpm = wandering(60)
    bpm[20:23] = 160
    found = possible(flagged(bpm, [20, 22], Flag.NO_CONTACT))
    assert [(each.from_s, each.until_s) for each in found] == [(20, 21), (22, 23)]


def test_a_reading_that_was_set_aside_stands_for_one_step_as_any_other():
    time = np.arange(40) * 5.0
    bpm = wandering(40)
    bpm[10] = 160
    (found,) = possible(flagged(bpm, [10], Flag.NO_CONTACT, time))
    assert (found.from_s, found.until_s) == (50, 55)
    (last,) = possible(flagged(np.append(wandering(39), 160), [39], Flag.NO_CONTACT, time))
    assert (last.from_s, last.until_s) == (195, 200)
    missing = np.delete(time, 11)  # its next one is lost: it still vouches for one step
    (found,) = possible(flagged(np.delete(bpm, 11), [10], Flag.NO_CONTACT, missing))
    assert (found.from_s, found.until_s) == (50, 55)


def test_where_a_person_lets_values_stand_for_longer_those_set_aside_do_too():
    time = np.delete(np.arange(60.0), np.arange(21, 26))
    bpm = wandering(len(time))
    bpm[20] = 160
    stream = flagged(bpm, [20], Flag.NO_CONTACT, time)
    (found,) = possible(stream, asked=Asked(ceiling_bpm=150, hold_s=8))
    assert (found.from_s, found.until_s) == (20, 26)
    assert possible(stream)[0].until_s == 21


def test_a_recorder_that_writes_on_change_is_known_as_one_by_its_values_for_those_set_aside_too():
    # Up and down by one, never twice the same, every 2 to 4 s: a value stands until the next, for 10 s at the most.
    time = np.cumsum(np.tile([2.0, 3.0, 4.0, 2.0], 30))
    bpm = 95.0 + np.arange(120) % 2
    bpm[60] = 160
    stream = flagged(bpm, [60], Flag.TOO_FAST, time)
    (found,) = possible(stream)
    usable = hold(pulse(time, bpm), 0.0, time[-1])
    assert (found.from_s, found.until_s) == (time[60], time[60] + usable.held_s[60])


def test_beats_that_were_set_aside_stand_for_themselves():
    # A beat too many in a heart of 100 /min: 0.6 s cut into 0.2 and 0.4 s, which read 300 and 150 /min.
    rr_s = np.concatenate((np.full(30, 0.6), [0.2, 0.4], np.full(30, 0.6)))
    time = np.concatenate(([0.0], np.cumsum(rr_s)[:-1]))
    judged = clean(recording(Stream.from_samples(RR_INTERVAL, time, rr_s, cover_s=rr_s, source="rr.csv")))[RR_INTERVAL]
    beats = beat_by_beat(judged)
    (found,) = possible(beats, asked=Asked(ceiling_bpm=140))
    assert (found.from_s, found.until_s) == (pytest.approx(18.0), pytest.approx(18.6))
    assert found.highest_bpm == pytest.approx(300)
    assert "extra_beat" in found.rules


def test_of_readings_under_one_stamp_the_highest_is_told_with_every_rule():
    time = np.array([0, 1, 2, 2, 2, 3, 4], float)
    bpm = np.array([95, 96, 155, 165, 240, 96, 95], float)
    flags = np.zeros(7, np.uint16)
    flags[2:4] = Flag.DUPLICATE_STAMP
    flags[4] = Flag.IMPLAUSIBLE
    (found,) = possible(pulse(time, bpm, flags=flags))
    assert found == PossibleCrossing(from_s=2, until_s=3, highest_bpm=240, rules=("implausible", "duplicate_stamp"))
    flags[4] = 0  # the highest is in use: it counts, and the others add nothing
    assert possible(pulse(time, np.where(bpm == 240, 170, bpm), flags=flags)) == ()


def test_less_than_a_second_that_was_measured_is_measured():
    stream = pulse([0.0, 0.4], [95.0, 96.0])
    found = effort(replace(recording(stream), ran_s=(0.0, 1.0)), None, None, CEILING).figures
    # Two stamps do not show the recorder's step, so the last fifth of a second is vouched for by nothing.
    assert bounds(found["time_above_ceiling"]) == pytest.approx((0, 0, 0.2))
    assert found["first_above_ceiling"].note.startswith("No crossing of the ceiling was recorded.")
    assert possible(pulse([0.0, 0.4], [95.0, 160.0])) == ()  # two readings: the last stands for a step


def test_a_single_reading_is_told_although_nobody_knows_for_how_long_it_stood():
    (found,) = possible(pulse([5.0], [180.0]))
    assert found == PossibleCrossing(from_s=5, until_s=5, highest_bpm=180, rules=("alone",))
    assert possible(pulse([5.0], [140.0])) == ()
    (aside,) = possible(pulse([5.0], [180.0], flags=np.array([Flag.NO_CONTACT], np.uint16)))
    assert aside.rules == ("no_contact",)


# ---------------------------------------------------------------- a second sensor


def test_a_second_sensor_above_the_ceiling_is_a_possible_crossing_whether_or_not_a_rule_set_it_aside():
    strap, wrist = raw(wandering(600), source="strap.csv"), wandering(600, 96.0)
    wrist[100:160] = 170 + np.arange(60) % 2
    wrist[300:330] = 240
    sheet = sheet_of(strap, raw(wrist, source="wrist.csv"))
    assert sheet.provenance.possible_crossings == (
        PossibleCrossing(from_s=100, until_s=160, highest_bpm=171, rules=("other_sensor",)),
        PossibleCrossing(from_s=300, until_s=330, highest_bpm=240, rules=("implausible", "other_sensor")),
    )
    assert bounds(figures(sheet)["time"]) == (0, 0, 0)
    assert figures(sheet)["possible"].note == (
        "in 2 stretches of readings that were set aside, the first at 100 s, up to 240 /min"
    )


def test_a_dropout_of_a_second_sensor_is_no_reading_either():
    wrist = wandering(600, 96.0)
    wrist[100:160] = 255
    assert sheet_of(raw(wandering(600), source="a.csv"), raw(wrist, source="b.csv")).provenance.possible_crossings == ()


def test_two_heart_rates_of_one_file_are_two_sensors():
    other = wandering(60)
    other[20:25] = 160
    found = possible(pulse(np.arange(60.0), wandering(60)), pulse(np.arange(60.0), other))
    assert [each.rules for each in found] == [("other_sensor",)]


def test_the_heart_rate_of_the_file_stands_beside_its_beats_as_a_second_one():
    bpm = wandering(120)
    bpm[60:70] = 160
    rr_s = np.full(200, 0.6)
    time = np.concatenate(([0.0], np.cumsum(rr_s)[:-1]))
    intervals = Stream.from_samples(
        RR_INTERVAL, time, rr_s, cover_s=rr_s, flags=np.zeros(200, np.uint16), source="made.csv"
    )
    made = recording(pulse(np.arange(120.0), bpm), intervals)
    asked = Asked(ceiling_bpm=150, pulse_from=RR_INTERVAL)
    (found,) = effort(made, None, None, asked).provenance.possible_crossings
    assert (found.from_s, found.until_s, found.rules) == (60, 70, ("other_sensor",))


def test_beats_that_the_heart_rate_was_worked_out_from_are_no_second_sensor():
    rr_s = np.full(200, 0.375)  # 160 /min
    time = np.concatenate(([0.0], np.cumsum(rr_s)[:-1]))
    flags = np.zeros(200, np.uint16)
    intervals = Stream.from_samples(RR_INTERVAL, time, rr_s, cover_s=rr_s, flags=flags, source="rr.csv")
    made = recording(beat_by_beat(intervals), intervals)
    for wanted in (HEART_RATE, RR_INTERVAL):
        sheet = effort(made, None, None, Asked(ceiling_bpm=150, pulse_from=wanted))
        assert sheet.provenance.possible_crossings == ()
        assert sheet.figures["time_above_ceiling"].value == pytest.approx(75)


def above_with(*spans):
    stream = pulse(np.arange(10.0), np.full(10, 95.0))
    made = tuple(PossibleCrossing(from_s=a, until_s=b, highest_bpm=160, rules=("frozen",)) for a, b in spans)
    return Above(150, hold(stream, 0, 10), np.zeros(10, bool), made)


@pytest.mark.parametrize(
    ("spans", "together"),
    [
        ((), 0),
        (((0, 10),), 10),
        (((0, 10), (10, 15)), 15),
        (((0, 10), (5, 15)), 15),
        (((0, 20), (5, 15)), 20),
        (((0, 20), (5, 15), (18, 25)), 25),
        (((0, 2), (5, 6)), 3),
    ],
)
def test_a_moment_that_two_sensors_tell_of_counts_once(spans, together):
    assert above_with(*spans).possible_s == together


# ---------------------------------------------------------------- nothing goes untold


@st.composite
def heart_rates(draw):
    """Readings at any moments with any flags, of one sensor or two."""
    streams = []
    for number in range(draw(st.integers(1, 2))):
        count = draw(st.integers(1, 25))
        steps = draw(st.lists(st.sampled_from([0.0, 0.4, 1.0, 1.0, 1.0, 5.0, 30.0]), min_size=count, max_size=count))
        bpm = draw(
            st.lists(st.sampled_from([np.nan, 0, 95, 96, 150, 151, 180, 240, 255]), min_size=count, max_size=count)
        )
        kinds = [0, 0, *(int(flag) for flag in Flag if flag is not Flag.DUPLICATE_STAMP)]
        flags = np.array(draw(st.lists(st.sampled_from(kinds), min_size=count, max_size=count)), np.uint16)
        value = np.array(bpm, dtype=float)
        flags[~(value > 0) | (value == 255)] |= np.uint16(Flag.DROPOUT)
        streams.append(Stream.from_samples(HEART_RATE, np.cumsum(steps), value, flags=flags, source=f"{number}.csv"))
    return streams


@settings(max_examples=400, deadline=None)
@given(heart_rates())
def test_no_crossing_is_said_only_where_no_reading_above_the_ceiling_was_recorded(streams):
    above = look_above(recording(*streams), streams[0], CEILING)
    moments = [
        (stream.time[place], stream.values[place])
        for stream in streams
        for place in np.flatnonzero((stream.values > 150) & ((stream.flags & np.uint16(Flag.DROPOUT)) == 0))
    ]
    certain, possible = above.stretches, above.possible
    for moment, value in moments:
        in_certain = any(begin - 1e-6 <= moment < end for begin, end in certain)
        in_possible = [each for each in possible if each.from_s - 1e-6 <= moment <= each.until_s]
        assert in_certain or any(each.highest_bpm >= value for each in in_possible)
    assert bool(certain or possible) == bool(moments)
    assert [each.from_s for each in possible] == sorted(each.from_s for each in possible)
    assert all(each.rules for each in possible)


@settings(max_examples=200, deadline=None)
@given(heart_rates())
def test_the_bounds_of_the_ceilings_figures_leave_room_for_every_possible_crossing(streams):
    above = look_above(recording(*streams), streams[0], CEILING)
    own = [each for each in above.possible if "other_sensor" not in each.rules]
    time = time_where(above.held, above.inside)
    assert time.low + sum(each.until_s - each.from_s for each in own) <= time.high + 1e-6
    first = first_where(above.held, above.inside)
    if first is not None and own and own[0].from_s < first.value + above.held.from_s:
        assert first.low + above.held.from_s <= own[0].from_s + 1e-6


def test_names_beside_the_rules_are_no_rules():
    assert not {str(flag.name).lower() for flag in Flag} & set(BEYOND_RULES)
