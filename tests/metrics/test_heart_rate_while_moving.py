"""Heart rate and movement on one sheet: what is flagged, given, withheld and said, from stretches by hand."""

from dataclasses import replace

import numpy as np
import pytest
from ownmark.ingest.flags import Flag
from ownmark.metrics.basis import Basis
from ownmark.metrics.bounds import Bounded
from ownmark.metrics.heart_rate_while_moving import (
    add_heart_with_movement,
    add_rises,
    movement_used,
    unlocked,
    withhold_for_clocks,
)
from ownmark.metrics.messages.movement import FOUND_LOCK_UNSEEN, FOUND_SAY_CHEST
from ownmark.metrics.motion.moving import NOISE_HIDES, Motion
from ownmark.metrics.motion.rhythm import Rhythm
from ownmark.metrics.motion.turns import Turn
from ownmark.metrics.motion_figures import Movement
from ownmark.metrics.settings import Asked
from ownmark.metrics.sheet_builder import Drafts
from ownmark.metrics.timeline import hold

from tests.makers.recordings import pulse

RISE = "heart_rate_moving_rise"
AT = np.arange(0.0, 301.0, 2.0)
PACE = 55 + 8 * np.sin(AT / 15)  # a rhythm that changes, so that what follows it shows


def beat(per_minute=PACE, halves=0.8):
    even = Bounded(55.0, 55.0, 55.0)
    return Rhythm(AT, per_minute, np.full(len(AT), 0.9), even, 2.0, even, 300.0, halves, "")


def movement(motion=None, *, counted="cycle", rhythm=None, turns=()):
    motion = motion or Motion(0.0, 300.0, ((100.0, 200.0),))
    return Movement("wrist.csv", 50.0, motion, motion, rhythm or beat(), tuple(turns), (), counted)


def following(multiple, lasting=(60, 240)):
    """A heart rate that follows the rhythm in a stretch, and is 20 /min above it elsewhere."""
    at = np.arange(300.0)
    rate = multiple * np.interp(at, AT, PACE)
    return pulse(at, np.where((at >= lasting[0]) & (at < lasting[1]), rate, rate + 20))


# ---- a rate that counts movements


@pytest.mark.parametrize("multiple", [1, 2])
def test_a_locked_stretch_is_flagged_and_nothing_else(multiple):
    notes = []
    made = following(multiple)
    found = unlocked(made, movement(), Asked(placement="wrist"), notes)
    locked = (found.flags & Flag.CADENCE_LOCK) > 0
    assert 0 < locked.sum() < 300
    edges = made.time[locked][[0, -1]]
    assert edges == pytest.approx([60, 239], abs=8)
    assert np.count_nonzero(np.diff(locked.astype(int))) == 2
    assert found.values.tolist() == made.values.tolist()
    assert len(notes) == 2
    assert notes[1] == FOUND_SAY_CHEST


def test_flags_that_were_there_stay():
    made = following(2)
    flags = made.flags.copy()
    flags[100] = Flag.TOO_FAST
    found = unlocked(replace(made, flags=flags), movement(), Asked(), [])
    assert found.flags[100] & Flag.TOO_FAST
    assert found.flags[110] == Flag.CADENCE_LOCK


def test_a_chest_electrode_no_heart_and_no_rhythm_are_left_alone():
    made, notes = following(2), []
    assert unlocked(made, movement(), Asked(pulse_sensor="chest"), notes) is made
    assert unlocked(made, movement(counted=None), Asked(), notes) is made
    assert unlocked(None, movement(), Asked(), notes) is None
    empty = pulse([], [])
    assert unlocked(empty, movement(), Asked(), notes) is empty
    assert notes == []


def test_an_optical_sensor_is_not_told_to_say_that_it_is_a_chest_electrode():
    notes = []
    unlocked(following(2), movement(), Asked(pulse_sensor="optical"), notes)
    assert len(notes) == 1


def test_a_heart_of_its_own_is_left_as_it_is():
    made, notes = pulse(np.arange(300.0), np.full(300, 170.0)), []
    assert unlocked(made, movement(), Asked(), notes) is made
    assert notes == []


@pytest.mark.parametrize(
    ("counted", "placement", "seen"),
    [("pair", "trunk", True), ("pair", "wrist", False), ("cycle or half", "trunk", False)],
)
def test_twice_the_steps_are_looked_for_where_strides_are_sure(counted, placement, seen):
    slow = beat(PACE / 2)
    found = unlocked(following(2), movement(counted=counted, rhythm=slow), Asked(placement=placement), [])
    assert bool((found.flags & Flag.CADENCE_LOCK).any()) is seen


# ---- the rise while moving


def rise(motion, bpm=None):
    made = Drafts(Basis(), None, None)
    bpm = np.where((np.arange(300) >= 100) & (np.arange(300) < 200), 130.0, 90.0) if bpm is None else bpm
    add_heart_with_movement(made, hold(pulse(np.arange(300.0), bpm), 0.0, 300.0), movement(motion))
    assert made.refused == []
    return made.figures()[RISE]


def test_the_rise_is_given_with_both_means():
    found = rise(Motion(0.0, 300.0, ((100.0, 200.0),)))
    assert found.value == pytest.approx(40.0)
    assert found.note.startswith("130 while moving, 90 while still. ")


def test_unmeasured_and_assisted_time_enter_neither_mean():
    bpm = np.where((np.arange(300) >= 100) & (np.arange(300) < 200), 130.0, 90.0)
    bpm[240:270] = 60.0
    for name in ("unmeasured", "left_out"):
        motion = replace(Motion(0.0, 300.0, ((100.0, 200.0),)), **{name: ((240.0, 270.0),)})
        assert rise(motion, bpm).value == pytest.approx(40.0), name
    both = Motion(0.0, 300.0, ((100.0, 200.0),), unmeasured=((255.0, 270.0),), left_out=((240.0, 255.0),))
    assert rise(both, bpm).value == pytest.approx(40.0)


def test_without_a_heart_rate_or_enough_of_both_there_is_none():
    made = Drafts(Basis(), None, None)
    add_heart_with_movement(made, None, movement())
    assert made.figures()[RISE].note == "Not given: there is no heart rate in the recording."
    assert rise(Motion(0.0, 300.0, ())).value is None


@pytest.mark.parametrize(("until", "given"), [(60.0, True), (60.1, False)])
def test_four_fifths_have_to_be_told_apart(until, given):
    motion = Motion(0.0, 300.0, ((100.0, 200.0),), (), 31.0, 24.0, NOISE_HIDES, doubtful=((0.0, until),))
    found = rise(motion)
    assert (found.value is not None) is given
    assert given or "can be told from stillness in only 79.97 % of the work phase; 80 % are needed" in found.note


def test_without_doubt_what_was_not_measured_is_no_reason():
    assert rise(Motion(0.0, 300.0, ((100.0, 200.0),), ((230.0, 300.0),))).value == pytest.approx(40.0)


def test_two_clocks_withhold_it_and_say_how_to_mend_it():
    made = Drafts(Basis(), None, None)
    said = withhold_for_clocks(made)
    assert "--offset" in made.figures()[RISE].note
    assert said == FOUND_LOCK_UNSEEN


# ---- a rise without movement


def rises(motion, *, rest=70.0, bpm=None):
    notes, made = [], Drafts(Basis(), rest, "stated")
    bpm = np.where((np.arange(300) >= 150) & (np.arange(300) < 250), 130.0, 75.0) if bpm is None else bpm
    add_rises(made, pulse(np.arange(300.0), bpm), movement(motion), Asked(), notes)
    return notes


def test_a_rise_in_stillness_is_asked_about():
    (said,) = rises(Motion(0.0, 300.0, ((10.0, 20.0),)))
    assert (said["count"], said["rise"]) == (1, 60)


def test_where_nobody_saw_the_student_still_nothing_is_said():
    assert rises(Motion(0.0, 300.0, ((140.0, 260.0),))) == []
    assert rises(Motion(0.0, 300.0, (), ((140.0, 260.0),))) == []
    assert rises(Motion(0.0, 300.0, (), left_out=((140.0, 260.0),))) == []
    assert rises(Motion(0.0, 140.0, ())) == []
    assert rises(Motion(260.0, 300.0, ())) == []


def test_without_a_rest_or_a_heart_nothing_is_said():
    still = Motion(0.0, 300.0, ())
    assert len(rises(still)) == 1
    assert rises(still, rest=None) == []
    notes = []
    add_rises(Drafts(Basis(), 70.0, "stated"), None, movement(still), Asked(), notes)
    add_rises(Drafts(Basis(), 70.0, "stated"), pulse([], []), movement(still), Asked(), notes)
    assert notes == []


# ---- provenance


def test_what_the_figures_were_made_from_is_kept():
    motion = Motion(0.0, 300.0, ((1.0, 2.0),), ((3.0, 4.0),), 12.0, 4.0, None, ((5.0, 6.0),), ((7.0, 8.0),))
    some = beat(np.where(AT < 4, 50.0, np.nan))
    used = movement_used(
        movement(motion, rhythm=some, turns=[Turn(9.0, 10.0, -90.0, "right")]), Asked(placement="wrist")
    )
    assert (used.file, used.placement, used.rate_hz, used.counted) == ("wrist.csv", "wrist", 50.0, "cycle")
    assert (used.threshold_mg, used.floor_mg) == (12.0, 4.0)
    assert (used.moving, used.unmeasured) == (((1.0, 2.0),), ((3.0, 4.0),))
    assert (used.assisted, used.doubtful) == (((5.0, 6.0),), ((7.0, 8.0),))
    assert used.cadence == ((0.0, 50.0, 0.9), (2.0, 50.0, 0.9))
    assert used.turns == ((9.0, -90.0),)
    assert movement_used(movement(motion, rhythm=some, counted=None), Asked(placement="wrist")).cadence == ()
