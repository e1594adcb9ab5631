"""A rate that stands level for minutes: what vouches for it in the file, and what the student's conditions say."""

import numpy as np
import pytest
from ownmark.errors import BasisError
from ownmark.ingest.cleaning.judge import clean
from ownmark.ingest.files import finished, parse_each
from ownmark.ingest.flags import CONTACT, Flag
from ownmark.ingest.level_rate import level_runs, vouched
from ownmark.ingest.recording import ACCELERATION, HEART_RATE, RR_INTERVAL, Recording, Stream
from ownmark.metrics import Asked, Phases, choose_basis, effort
from ownmark.metrics.conditions import find_condition
from ownmark.metrics.level_rate import Level, how_long, level_stretches, level_within, settled
from ownmark.metrics.messages.trial import found_level_set_aside, level_more
from ownmark.words.render import english

from tests.makers.recordings import recording
from tests.makers.sheets import texts

REST, WORK = (0, 300), (300, 900)


def wandering(seconds, around=110.0):
    """A rate that never stands: up and down by one or two."""
    return around + np.arange(seconds) % 3


def heart_rate(bpm, *, contact=False, source="strap.csv"):
    flags = np.full(len(bpm), Flag.UNCHECKED | (CONTACT if contact else 0), np.uint16)
    return Stream.from_samples(HEART_RATE, np.arange(len(bpm), dtype=float), bpm, flags=flags, source=source)


def beats(rr_s, begin_s=0.0, source="strap.csv"):
    rr_s = np.asarray(rr_s, dtype=float)
    time = begin_s + np.concatenate(([0.0], np.cumsum(rr_s)[:-1]))
    return Stream.from_samples(RR_INTERVAL, time, rr_s, cover_s=rr_s, source=source)


LEVEL = np.concatenate((np.full(300, 60.0), wandering(600)))


def frozen(*streams):
    """How many heart rates are set aside as frozen."""
    found = clean(recording(*streams))[HEART_RATE]
    assert not (found.flags & np.uint16(CONTACT)).any()
    return int(np.count_nonzero(found.flags & np.uint16(Flag.FROZEN)))


def test_a_level_rate_that_nothing_vouches_for_is_frozen():
    assert frozen(heart_rate(LEVEL)) == 299


def test_skin_contact_vouches_for_a_level_rate():
    assert frozen(heart_rate(LEVEL, contact=True)) == 0


def test_contact_vouches_only_where_every_value_had_it():
    raw = heart_rate(LEVEL, contact=True)
    flags = raw.flags.copy()
    flags[150] &= ~np.uint16(CONTACT)
    without = Stream.from_samples(HEART_RATE, raw.time, raw.values, flags=flags, source="strap.csv")
    assert frozen(without) == 299


def test_beats_at_that_rate_vouch_for_it():
    assert frozen(heart_rate(LEVEL), beats(np.tile([0.98, 1.02], 150))) == 0


@pytest.mark.parametrize(
    ("rr_s", "vouch"),
    [
        (np.tile([0.951, 0.953], 160), False),  # 63.03 /min: 3.03 above the level rate
        (np.tile([0.952, 0.954], 160), True),  # 62.96 /min
        (np.tile([1.051, 1.053], 150), True),  # 57.03 /min
        (np.tile([1.052, 1.055], 150), False),  # 56.95 /min: 3.05 below
        (np.full(300, 1.0), False),  # one interval to the last digit: as stuck as the rate
    ],
)
def test_beats_vouch_at_the_rate_itself_and_not_as_one_interval_repeated(rr_s, vouch):
    assert frozen(heart_rate(LEVEL), beats(rr_s)) == (0 if vouch else 299)


@pytest.mark.parametrize(("count", "vouch"), [(239, False), (240, True)])
def test_beats_must_fill_four_fifths_of_the_stretch(count, vouch):
    # The stretch goes from its first value at 0 s to its last at 299 s: 239.2 s of beats are needed.
    rr_s = np.where(np.arange(count) % 2, 1.001, 0.999)
    assert frozen(heart_rate(LEVEL), beats(rr_s)) == (0 if vouch else 299)


def test_beats_that_fill_four_fifths_or_lie_3_a_minute_off_to_the_digit_vouch():
    level = np.concatenate((np.full(301, 60.0), wandering(600)))  # 300 s: 240 s are four fifths
    assert frozen(heart_rate(level), beats(np.tile([0.9375, 1.0625], 120))) == 0
    assert frozen(heart_rate(level), beats(np.append(np.tile([0.9375, 1.0625], 119), [0.9375, 1.03125]))) == 300
    # 252 beats in 240 s: 63 /min.
    assert frozen(heart_rate(LEVEL), beats(np.append(np.full(192, 0.9375), np.full(60, 1.0)))) == 0


def test_a_stretch_is_filled_by_its_own_length_wherever_it_lies():
    late = np.concatenate((wandering(500), LEVEL))
    assert frozen(heart_rate(late), beats(np.tile([0.98, 1.02], 125), begin_s=510.0)) == 0


def test_a_beat_at_the_very_end_of_a_stretch_is_none_of_it():
    # The last value stands at 299 s. 238.97 s of beats before it are too few.
    rr_s = np.append(np.tile([0.9375, 1.0625], 119), [0.96875])
    time = np.append(np.cumsum(rr_s) - rr_s, 299.0)
    rr_s = np.append(rr_s, 1.0)
    assert frozen(heart_rate(LEVEL), Stream.from_samples(RR_INTERVAL, time, rr_s, source="strap.csv")) == 299


def test_the_first_value_of_a_stretch_is_not_frozen_and_needs_no_contact():
    raw = heart_rate(LEVEL, contact=True)
    flags = raw.flags.copy()
    flags[0] &= ~np.uint16(CONTACT)
    assert frozen(Stream.from_samples(HEART_RATE, raw.time, raw.values, flags=flags, source="strap.csv")) == 0


@pytest.mark.parametrize("flag", [Flag.DUPLICATE_STAMP, Flag.NO_CONTACT, Flag.DROPOUT, Flag.IMPLAUSIBLE])
def test_a_value_that_is_not_judged_does_not_end_a_stretch(flag):
    flags = np.full(9, Flag.FROZEN, np.uint16)
    flags[[0, 1, 8]], flags[4] = 0, flag
    assert level_runs(Stream.from_samples(HEART_RATE, np.arange(9.0), np.full(9, 60.0), flags=flags)) == [(1, 7)]


def test_beats_that_the_rules_set_aside_do_not_vouch():
    rr_s = np.tile([0.98, 1.02], 150)
    rr_s[::4] = 2.5  # implausible, and every later beat comes late
    assert frozen(heart_rate(LEVEL), beats(rr_s)) == 299


def test_beats_of_another_file_do_not_vouch():
    assert frozen(heart_rate(LEVEL), beats(np.tile([0.98, 1.02], 150), source="other.csv")) == 299


def test_only_beats_within_the_stretch_count():
    late = np.concatenate((np.full(300, 60.0), wandering(600)))
    assert frozen(heart_rate(late), beats(np.tile([0.98, 1.02], 150), begin_s=300.0)) == 299
    assert frozen(heart_rate(np.concatenate((wandering(100), LEVEL))), beats(np.tile([0.98, 1.02], 150))) == 299


def test_each_stretch_is_judged_for_itself():
    bpm = np.concatenate((np.full(100, 60.0), wandering(300), np.full(100, 62.0), wandering(300)))
    raw = heart_rate(bpm)
    rr_s = np.tile([0.98, 1.02], 50)
    assert frozen(raw) == 198
    assert frozen(raw, beats(rr_s)) == 99  # the second stands
    judged = clean(recording(raw, beats(rr_s)))[HEART_RATE]
    assert level_runs(judged) == [(400, 499)]


def test_two_level_stretches_one_behind_the_other_are_two():
    bpm = np.concatenate((wandering(200), np.full(80, 60.0), np.full(90, 61.0), wandering(200)))
    judged = clean(recording(heart_rate(bpm)))[HEART_RATE]
    assert level_runs(judged) == [(200, 279), (280, 369)]
    assert level_stretches(judged) == (Level(200.0, 280.0, 60.0), Level(280.0, 370.0, 61.0))


def test_values_that_are_none_lie_within_a_level_stretch_and_do_not_end_it():
    bpm = np.concatenate((wandering(200), np.full(90, 60.0), wandering(200)))
    bpm[[230, 250]] = 0, 240
    judged = clean(recording(heart_rate(bpm)))[HEART_RATE]
    assert level_runs(judged) == [(200, 289)]
    assert vouched(judged, np.ones(len(judged), bool), None).usable.sum() == len(bpm) - 2


def test_contact_vouches_for_a_heart_rate_and_not_for_movement():
    still = np.full((300, 3), 0.5)
    flags = np.full(300, Flag.UNCHECKED | CONTACT, np.uint16)
    made = Stream.from_samples(ACCELERATION, np.arange(300) / 10, still, flags=flags, source="strap.csv")
    (judged,) = clean(recording(made)).streams
    assert judged.flag_counts() == {"frozen": 299}


def test_a_recording_without_a_level_rate_has_none():
    judged = clean(recording(heart_rate(wandering(100))))[HEART_RATE]
    assert (level_runs(judged), level_stretches(judged), level_within(judged, 0, 100)) == ([], (), None)


def test_packets_whose_sensor_has_contact_keep_a_level_rate():
    # Bluetooth SIG, heart rate measurement: flags 0x06 skin contact detected, 0x00 not supported.
    for flags, aside in (("06", 0), ("00", 299)):
        lines = [f"{second},{flags} {int(bpm):02X}" for second, bpm in enumerate(LEVEL)]
        found = finished(list(parse_each([("packets.csv", "\n".join(lines).encode())])))[HEART_RATE]
        assert int(np.count_nonzero(found.flags & np.uint16(Flag.FROZEN))) == aside


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(75, "75 s"), (119.4, "119 s"), (119.6, "2 min"), (120, "2 min"), (300, "5 min"), (320.2, "5 min 20 s")],
)
def test_a_length_of_time_is_told_in_minutes_from_two_on(seconds, words):
    assert english(how_long(seconds)) == words


def test_with_a_pacemaker_a_level_rate_at_rest_is_the_rest_and_is_said():
    made = clean(recording(heart_rate(LEVEL)))
    sheet = effort(made, choose_basis(conditions=["pacemaker"]), Phases(rest=REST, work=WORK))
    assert sheet.provenance.basis.rest_bpm == 60
    assert sheet.flags[HEART_RATE] == {}
    assert texts(sheet.provenance.notes) == (
        "Heart rate stayed level at 60 /min for 5 min (0:00 to 5:00). With the condition pacemaker that is not a fault,"
        " so it was used.",
    )


def test_without_one_the_rest_says_what_was_found():
    made = clean(recording(heart_rate(LEVEL)))
    with pytest.raises(BasisError, match="level at 60 /min for 5 min at rest"):
        effort(made, choose_basis(), Phases(rest=REST, work=WORK))


def test_a_rest_that_lost_its_values_otherwise_still_says_how_little_was_measured():
    bpm = LEVEL.copy()
    bpm[:300] = 0
    bpm[400:500] = 90  # level, but not at rest
    made = clean(recording(heart_rate(bpm)))
    with pytest.raises(BasisError, match="only 0 s of heart rate were measured"):
        effort(made, choose_basis(), Phases(rest=REST, work=WORK))


def test_a_level_stretch_at_work_is_told_on_the_sheet():
    bpm = wandering(600)
    bpm[100:400] = 131
    sheet = effort(clean(recording(heart_rate(bpm))), choose_basis(rest_bpm=70))
    assert sheet.figures["heart_rate_mean"].value is None
    assert texts(sheet.provenance.notes) == (
        "Heart rate stayed level at 131 /min for 5 min (1:40 to 6:40). A heart does not do that, so every value after "
        "the first of such a stretch was set aside as that of a sensor that had stopped. If a pacemaker sets the rate, "
        "write that condition down.",
    )


@pytest.mark.parametrize(("count", "more"), [(2, None), (3, None), (4, 1), (5, 2)])
def test_many_level_stretches_are_named_three_and_the_rest_counted(count, more):
    pieces = [piece for level in range(count) for piece in (wandering(120), np.full(70, 140.0 + level))]
    (note,) = settled(clean(recording(heart_rate(np.concatenate(pieces)))), ())[1]
    named = tuple(
        Level(120.0 + 190 * place, 190.0 + 190 * place, 140.0 + place).message() for place in range(min(count, 3))
    )
    assert note == found_level_set_aside(named if more is None else (*named, level_more(more)))


def test_several_stretches_are_a_list():
    stretches = (Level(120.0, 190.0, 140.0).message(), Level(310.0, 380.0, 141.0).message(), level_more(2))
    assert english(found_level_set_aside(stretches)).startswith(
        "Heart rate stayed level at 140 /min for 70 s (2:00 to 3:10), level at 141 /min for 70 s (5:10 to 6:20) and 2"
        " more. A heart does not do that"
    )


def test_the_stretch_that_takes_up_most_of_a_time_is_told():
    bpm = np.concatenate((wandering(100), np.full(80, 60.0), wandering(50), np.full(90, 61.0), wandering(300)))
    judged = clean(recording(heart_rate(bpm)))[HEART_RATE]
    first, second = level_stretches(judged)
    assert level_within(judged, 0, 620) == second
    assert level_within(judged, 100, 235) == first
    assert level_within(judged, 0, 100) is None
    assert level_within(judged, 0, 101) == first
    assert level_within(judged, 0, 100.5) == first
    assert level_within(judged, 320, 620) is None
    assert level_within(judged, 170, 240) == first  # ten seconds of each: the earlier one


def test_a_condition_that_sets_the_rate_frees_every_heart_rate_and_nothing_else():
    other = heart_rate(LEVEL, source="wrist.csv")
    made = clean(recording(heart_rate(LEVEL), other))
    assert settled(made, [find_condition("heart-transplant")])[0] is made
    freed, _ = settled(made, [find_condition("epilepsy"), find_condition("pacemaker")])
    assert [stream.usable.all() for stream in freed.all(HEART_RATE)] == [True, True]
    assert settled(Recording(streams=()), [find_condition("pacemaker")])[1] == []


def test_movement_that_stood_still_stays_set_aside_with_a_pacemaker():
    still = Stream.from_samples(
        ACCELERATION, np.arange(3.0), np.zeros((3, 3)), flags=np.full(3, Flag.FROZEN, np.uint16), source="frame.csv"
    )
    made = recording(clean(recording(heart_rate(LEVEL)))[HEART_RATE], still)
    assert not settled(made, [find_condition("pacemaker")])[0][ACCELERATION].usable.any()


def test_other_faults_of_a_level_rate_stay_with_a_pacemaker():
    bpm = LEVEL.copy()
    bpm[20:25] = 0
    made = clean(recording(heart_rate(bpm)))
    sheet = effort(made, choose_basis(conditions=["pacemaker"]), Phases(rest=REST, work=WORK), Asked())
    assert sheet.flags[HEART_RATE] == {"dropout": 5}
