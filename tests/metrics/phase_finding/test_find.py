"""Phases out of a whole recording: who is believed before whom, what is contradicted, and what is refused."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from ownmark.errors import BasisError
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import Mark
from ownmark.metrics.messages import phase_finding as say
from ownmark.metrics.phase_finding import (
    BUTTON,
    HEART_RATE,
    LAP,
    MOVEMENT,
    STATED,
    Expected,
    FoundPhases,
    NotFound,
    Side,
    find,
    find_phases,
)
from ownmark.metrics.phase_finding.edges import Edge, Edges
from ownmark.metrics.phase_finding.from_heart_rate import Effort, Limits, usable_heart_rate
from ownmark.words.render import english

from tests.makers.class_recordings import CASES, held, idle, lapped, moved, pressed, sitting, written
from tests.makers.motion import Bout, Sensor, motion
from tests.makers.recordings import pulse

SECONDS = np.arange(900.0)


def heart(work=(240.0, 600.0), rest=80.0, rise=50.0, rise_s=30.0, fall_s=40.0):
    """The plain answer: still at rest, an exponential rise, an exponential fall."""
    begin, end = work
    up = rest + rise * (1 - np.exp(-np.maximum(SECONDS - begin, 0) / rise_s))
    top = rest + rise * (1 - np.exp(-(end - begin) / rise_s))
    return np.where(end > SECONDS, up, rest + (top - rest) * np.exp(-(SECONDS - end) / fall_s))


def made(*marks, bpm=None, lost=()):
    wander = np.random.default_rng(5).standard_normal(900)
    return held(written(np.rint((heart() if bpm is None else bpm) + wander), lost), marks=marks)


def press(*moments):
    return tuple(Mark(each, "button") for each in moments)


def laps(*edges):
    return tuple(Mark(a, "lap", "", b) for a, b in pairwise(edges))


def found(recording, expected=None, **how) -> FoundPhases:
    result = find_phases(recording, expected, **how)
    assert isinstance(result, FoundPhases), english(result.reason)
    return result


def codes(result):
    return [note.code for note in result.notes]


# ---- heart rate alone


def test_the_plain_answer_is_found_to_a_few_seconds_and_is_a_proposal():
    phases = found(made())
    assert phases.work == pytest.approx((240.0, 600.0), abs=4.0)
    assert phases.how == HEART_RATE
    assert 11 <= phases.within_s <= 15
    assert phases.confidence > 0.95
    assert phases.notes == (say.proposal_rests_on(HEART_RATE, phases.within_s),)


def test_rest_ends_ahead_of_the_work_so_that_no_work_is_in_it():
    phases = found(made())
    assert phases.rest == (0.0, phases.work[0] - phases.within_s)
    assert phases.recovery == (phases.work[1], 900.0)


def test_lengths_of_the_protocol_set_rest_and_recovery():
    phases = found(made(), Expected(rest_s=120.0, recovery_s=60.0))
    assert phases.rest == (phases.work[0] - 120.0, phases.work[0] - phases.within_s)
    assert phases.recovery == (phases.work[1], phases.work[1] + 60.0)


def test_nothing_is_told_where_the_heart_stays_down():
    assert find_phases(made(bpm=np.full(900, 80.0))) == NotFound(say.PROPOSAL_NO_ONSET)
    assert find_phases(held()) == NotFound(say.PROPOSAL_NOTHING_MEASURED)
    lost = made(lost=[(100.0, 900.0)])
    assert find_phases(lost) == NotFound(say.PROPOSAL_NOTHING_MEASURED)


def test_a_heart_that_was_up_before_the_recording_began_has_no_start():
    result = find_phases(made(bpm=heart((-200.0, 400.0))))
    assert isinstance(result, NotFound)
    assert result.reason.code == "proposal.begun_before"
    assert result.reason["until"] == pytest.approx(400.0, abs=6.0)


def test_a_recording_that_ends_in_the_work_has_no_end():
    result = find_phases(made(bpm=heart((400.0, 2000.0))))
    assert isinstance(result, NotFound)
    assert result.reason.code == "proposal.end_not_seen"
    assert result.reason["start"] == pytest.approx(400.0, abs=6.0)


TWICE = heart((120.0, 300.0)) + heart((540.0, 720.0)) - 80.0


def test_two_efforts_alike_are_asked_about_and_a_start_decides():
    result = find_phases(made(bpm=TWICE))
    assert isinstance(result, NotFound)
    assert result.reason.code == "proposal.second"
    assert sorted((result.reason["first"], result.reason["second"])) == pytest.approx([120.0, 540.0], abs=15.0)
    phases = found(made(bpm=TWICE), Expected(start_s=560.0))
    assert phases.work == pytest.approx((540.0, 720.0), abs=6.0)
    assert "proposal.other_start" not in codes(phases)


# ---- what the protocol and the time table say


@pytest.mark.parametrize(("work_s", "told"), [(300.0, False), (440.0, False), (270.0, True), (500.0, True)])
def test_another_length_than_the_protocols_is_told_beyond_a_fifth_and_half_a_minute(work_s, told):
    phases = found(made(), Expected(work_s=work_s))  # the work lasts 360 s: 300 + 60, 440 − 80
    assert phases.work == pytest.approx((240.0, 600.0), abs=4.0)
    assert ("proposal.other_length" in codes(phases)) is told
    assert (phases.confidence < 0.51) is told


@pytest.mark.parametrize(("start_s", "told"), [(160.0, False), (320.0, False), (140.0, True), (340.0, True)])
def test_another_start_than_the_time_tables_is_told_beyond_a_minute_and_a_half(start_s, told):
    phases = found(made(), Expected(start_s=start_s))
    assert ("proposal.other_start" in codes(phases)) is told
    if told:
        note = next(note for note in phases.notes if note.code == "proposal.other_start")
        assert (note["found"], note["expected"]) == (pytest.approx(240.0, abs=4.0), start_s)


def test_a_start_and_a_length_stand_for_themselves_where_nothing_shows_them():
    phases = found(made(bpm=np.full(900, 80.0)), Expected(start_s=300.0, work_s=240.0, rest_s=120.0))
    assert (phases.work, phases.how, phases.within_s, phases.confidence) == (
        (300.0, 540.0),
        STATED,
        90.0,
        pytest.approx(0.3, abs=0.3),
    )
    assert codes(phases) == ["proposal.only_stated"]
    for expected in (Expected(start_s=300.0), Expected(work_s=240.0)):
        assert find_phases(made(bpm=np.full(900, 80.0)), expected) == NotFound(say.PROPOSAL_NO_ONSET)


def test_a_late_strap_is_clipped_to_what_it_saw_and_told():
    late = made(bpm=heart((-100.0, 260.0)), lost=[(0.0, 60.0)])
    phases = found(late, Expected(start_s=-100.0, work_s=360.0))
    assert phases.work == (60.0, 260.0)
    assert say.proposal_late_strap(-100.0, 60.0) in phases.notes
    assert phases.rest is None
    assert say.PROPOSAL_NO_REST in phases.notes


def test_a_recording_that_was_cut_is_clipped_and_told():
    phases = found(made(bpm=heart((700.0, 2000.0))), Expected(start_s=700.0, work_s=480.0))
    assert phases.work == (700.0, 900.0)
    assert say.proposal_cut(1180.0, 900.0) in phases.notes
    assert phases.recovery is None


# ---- presses and laps


def test_two_presses_are_the_work():
    phases = found(made(*press(238.0, 602.0)))
    assert (phases.work, phases.how, phases.within_s) == ((238.0, 602.0), BUTTON, 5.0)
    assert phases.rest == (0.0, 238.0)
    assert phases.confidence > 0.99


def test_a_press_that_begins_the_work_leaves_its_end_to_the_heart():
    phases = found(made(*press(243.0)))
    assert phases.work[0] == 243.0
    assert phases.work[1] == pytest.approx(600.0, abs=4.0)
    assert phases.how == BUTTON
    assert phases.within_s > 5.0
    assert (phases.start, phases.end) == (Side(BUTTON, 5.0), Side(HEART_RATE, phases.within_s))
    assert phases.sure
    assert phases.notes == (
        say.proposal_start_rests_on(BUTTON, 5.0),
        say.proposal_end_rests_on(HEART_RATE, phases.within_s),
    )


def test_two_presses_near_the_start_leave_it_unsure_and_rest_ends_ahead_of_both():
    phases = found(made(*press(240.0, 250.0, 600.0)))
    assert (phases.work, phases.how) == ((240.0, 600.0), BUTTON)
    assert (phases.start, phases.end) == (Side(BUTTON, 10.0), Side(BUTTON, 5.0))
    assert phases.rest == (0.0, 230.0)
    assert not phases.sure
    assert phases.notes == (say.proposal_rests_on(BUTTON, 10.0), say.proposal_start_unsure(10.0))


@pytest.mark.parametrize(
    ("how", "within_s", "sure"),
    [
        *((how, 6.0, True) for how in (BUTTON, LAP, MOVEMENT)),
        *((how, 7.0, False) for how in (BUTTON, LAP, MOVEMENT)),
        (HEART_RATE, 22.0, True),
        (HEART_RATE, 23.0, False),
        (STATED, 1.0, False),
    ],
)
def test_an_end_is_sure_by_its_witness_and_what_is_stated_alone_never(how, within_s, sure):
    assert Side(how, within_s).sure is sure
    both = FoundPhases(None, (0.0, 60.0), None, how, within_s, 0.9, Side(how, within_s), Side(HEART_RATE, 9.0))
    other = replace(both, start=both.end, end=both.start)
    assert both.sure is other.sure is sure


def test_a_small_rise_leaves_its_start_unsure_and_the_protocols_length_helps():
    small = made(bpm=heart(rise=12.0))
    alone = found(small)
    assert alone.start.within_s > 22.0 >= alone.end.within_s
    assert alone.start.within_s == alone.within_s
    assert say.proposal_start_unsure(alone.within_s) in alone.notes
    assert "proposal.end_unsure" not in codes(alone)
    helped = found(small, Expected(work_s=alone.work[1] - alone.work[0] - 24.0))
    assert alone.work[0] + 8.0 <= helped.work[0] <= alone.work[0] + 16.0  # its share of 24 s
    assert helped.start.within_s < alone.start.within_s
    note = next(each for each in helped.notes if each.code == "proposal.by_length")
    assert note["moved"] == pytest.approx(helped.work[0] - alone.work[0], abs=1.0)
    assert note["expected"] == alone.work[1] - alone.work[0] - 24.0
    as_long = found(small, Expected(work_s=alone.work[1] - alone.work[0]))
    assert "proposal.by_length" not in codes(as_long)
    assert as_long.work == pytest.approx(alone.work, abs=1.0)


@pytest.mark.parametrize(("work_s", "told"), [(346.0, ()), (344.0, (5.0,)), (374.0, ()), (376.0, (5.0,))])
def test_what_the_length_moved_by_five_seconds_is_told(work_s, told):
    # the start takes 200 of 600 of the variance: of 14 s 4.7, of 16 s 5.3
    edges = Edges(Edge(240.0, math.sqrt(200.0), HEART_RATE), Edge(600.0, 0.0, HEART_RATE))
    moved = find._by_length(edges, Expected(work_s=work_s))
    assert tuple(note["moved"] for note in moved.notes) == told
    assert find._by_length(edges, Expected()) == edges


def test_four_presses_are_rest_work_and_recovery():
    phases = found(made(*press(60.0, 241.0, 599.0, 720.0)))
    assert (phases.rest, phases.work, phases.recovery) == ((60.0, 241.0), (241.0, 599.0), (599.0, 720.0))


def test_a_press_far_from_the_work_is_told_and_not_used():
    phases = found(made(*press(420.0)))
    assert phases.how == HEART_RATE
    assert say.proposal_marks_elsewhere(420.0, 420.0) in phases.notes


def test_presses_that_the_heart_does_not_show_are_taken_with_a_doubt():
    level = made(*press(240.0, 600.0), bpm=np.full(900, 80.0))
    phases = found(level)
    assert (phases.work, phases.how) == ((240.0, 600.0), BUTTON)
    assert phases.confidence == pytest.approx(0.6, abs=0.001)
    assert say.PROPOSAL_MARKS_UNCONFIRMED in phases.notes
    three = made(*press(100.0, 240.0, 600.0), bpm=np.full(900, 80.0))
    assert find_phases(three) == NotFound(say.PROPOSAL_MARKS_UNCLEAR)
    assert found(three, Expected(work_s=370.0)).work == (240.0, 600.0)


def test_laps_are_the_phases_with_and_without_names():
    marks = laps(0.0, 241.0, 601.0, 900.0)
    phases = found(made(*marks))
    assert (phases.work, phases.how) == ((241.0, 601.0), LAP)
    named = found(made(*marks), lap_names=("rest", "work", "recovery"))
    assert (named.rest, named.work, named.recovery) == ((0.0, 241.0), (241.0, 601.0), (601.0, 900.0))
    assert (named.how, named.within_s) == (LAP, 5.0)
    assert named.confidence > 0.99
    assert (named.start, named.end) == (Side(LAP, 5.0), Side(LAP, 5.0))
    with pytest.raises(BasisError):
        found(made(*marks), lap_names=("rest", "work", "recovery", "work"))


def test_laps_of_which_none_is_called_work_leave_it_to_be_found():
    phases = found(made(*laps(0.0, 241.0, 900.0)), lap_names=("rest", "-"))
    assert phases.work[0] == 241.0


# ---- movement


def moving(*bouts, seconds=900.0, seed=1):
    """What a wrist sensor sees of some bouts."""
    return motion(
        seconds, [Bout(*each, cadence=50.0) for each in bouts], sensor=Sensor(rate_hz=25.0), seed=seed
    ).acceleration


def test_movement_near_the_hearts_answer_sets_both_ends():
    recording = made()
    phases = found(replace(recording, streams=(*recording.streams, moving((238.0, 611.0)))))
    assert phases.work == pytest.approx((238.0, 611.0), abs=1.0)
    assert (phases.how, phases.within_s) == (MOVEMENT, 6.0)
    assert phases.rest == (0.0, phases.work[0] - 6.0)


def test_movement_that_is_not_the_hearts_work_is_told_and_not_used():
    recording = made()
    phases = found(replace(recording, streams=(*recording.streams, moving((30.0, 120.0)))))
    assert (phases.how, phases.work) == (HEART_RATE, found(recording).work)
    note = next(each for each in phases.notes if each.code == "proposal.movement_elsewhere")
    assert (note["start"], note["until"]) == pytest.approx((30.0, 120.0), abs=1.0)


def test_movement_at_one_end_leaves_the_other_to_the_heart():
    recording = made()
    phases = found(replace(recording, streams=(*recording.streams, moving((241.0, 350.0)))))
    assert phases.work[0] == pytest.approx(241.0, abs=1.0)
    assert phases.work[1] == found(recording).work[1]
    assert phases.how == MOVEMENT
    assert (phases.start, phases.end.how) == (Side(MOVEMENT, 6.0), HEART_RATE)
    assert 6.0 < phases.within_s <= found(recording).within_s


def test_movement_whose_one_end_is_far_from_an_unsure_heart_is_the_work_if_most_is_shared():
    recording = made()
    phases = found(replace(recording, streams=(*recording.streams, moving((280.0, 598.0)))))
    assert phases.work == pytest.approx((280.0, 598.0), abs=1.0)


def test_movement_alone_is_one_work_or_not_clear():
    level = made(bpm=np.full(900, 80.0))

    def seen(*bouts):
        return replace(level, streams=(*level.streams, moving(*bouts)))

    phases = found(seen((240.0, 400.0), (440.0, 600.0)))
    assert phases.work == pytest.approx((240.0, 600.0), abs=1.0)
    assert phases.how == MOVEMENT
    assert phases.confidence == pytest.approx(0.6, abs=0.001)
    assert say.PROPOSAL_MARKS_UNCONFIRMED in phases.notes
    twice = seen((100.0, 300.0), (500.0, 800.0))
    assert find_phases(twice) == NotFound(say.PROPOSAL_SEVERAL_MOVEMENTS)
    assert found(twice, Expected(work_s=290.0)).work == pytest.approx((500.0, 800.0), abs=1.0)


def test_a_press_is_believed_before_movement():
    recording = made(*press(236.0, 604.0))
    phases = found(replace(recording, streams=(*recording.streams, moving((240.0, 600.0)))))
    assert (phases.work, phases.how) == ((236.0, 604.0), BUTTON)


# ---- the phases around the work, in whole seconds


def test_rest_and_recovery_are_five_minutes_at_most_and_half_a_minute_at_least():
    long = held(written(np.rint(np.concatenate((np.full(200, 80.0), heart(), np.full(200, 80.0))))))
    phases = found(long)
    assert phases.rest == (phases.work[0] - 300.0, phases.work[0] - phases.within_s)
    assert phases.recovery == (phases.work[1], phases.work[1] + 300.0)
    for first, rest in ((211.0, None), (210.0, (210.0, 240.0))):
        assert found(made(*press(240.0, 600.0), lost=[(0.0, first)])).rest == rest
    for last, recovery in ((629.0, None), (630.0, (600.0, 630.0))):
        assert found(made(*press(240.0, 600.0), lost=[(last, 900.0)])).recovery == recovery


def test_a_press_within_three_quarters_of_a_minute_is_no_begin_of_rest_nor_end_of_recovery():
    assert found(made(*press(195.0, 240.0, 600.0, 645.0))).rest == (195.0, 240.0)
    phases = found(made(*press(196.0, 240.0, 600.0, 644.0)))
    assert (phases.rest, phases.recovery) == ((0.0, 240.0), (600.0, 900.0))


def test_times_are_whole_seconds_inside_the_recording():
    late = held(written(np.rint(heart())[3:]))
    moved_by = replace(late, streams=tuple(replace(each, time=each.time + 3.4) for each in late.streams))
    phases = found(moved_by)
    assert phases.rest is not None
    assert phases.recovery is not None
    assert phases.rest[0] == 4.0
    assert phases.recovery[1] == 900.0
    assert all(each == int(each) for each in (*phases.rest, *phases.work, *phases.recovery))


def test_a_whole_school_day_needs_a_start_or_a_press():
    day = np.tile(np.concatenate((np.full(900, 80.0), heart())), 5) + np.random.default_rng(2).standard_normal(9000)
    long = held(written(np.rint(day)))
    assert find_phases(long) == NotFound(say.proposal_too_long(60.0))
    expected = Expected(start_s=900.0 + 1800.0 + 240.0, work_s=360.0)
    assert found(long, expected).work == pytest.approx((2940.0, 3300.0), abs=4.0)
    pressed_once = replace(long, marks=press(2941.0, 3299.0))
    assert found(pressed_once).work == (2941.0, 3299.0)


def test_what_cannot_be_told_to_three_quarters_of_a_minute_is_no_proposal(monkeypatch):
    monkeypatch.setattr(find, "MOST_WITHIN_S", 6.0)
    assert find_phases(made()) == NotFound(say.proposal_too_vague(found_within(), 6.0))


def found_within():
    edges = find._effort(usable_heart_rate(made()), (0.0, 900.0), Expected())
    return math.ceil(edges.within_s)


# ---- what of a recording is looked at


def test_a_recording_runs_from_the_first_to_the_last_of_its_usable_streams():
    early, late = pulse([10.0, 11.0, 12.0], [80.0, 81.0, 82.0]), pulse([40.0, 41.0, 42.0], [80.0, 81.0, 82.0])
    partly = pulse([5.0, 6.0, 7.0], [80.0, 81.0, 82.0], flags=np.array([0, Flag.DROPOUT, 0], np.uint16))
    gone = pulse([1.0, 2.0], [80.0, 81.0], flags=np.full(2, Flag.NO_CONTACT, np.uint16))
    assert find._span(held(early, late)) == (10.0, 43.0)
    assert find._span(held(late, early, gone)) == (10.0, 43.0)
    assert find._span(held(partly, pulse([], []))) == (5.0, 8.0)
    assert find._span(held(gone)) is None


LONG = (0.0, 9000.0)


@pytest.mark.parametrize(
    ("span", "set_s", "expected", "window"),
    [
        (LONG, (), Expected(), LONG),
        (LONG, (), Expected(work_s=300.0), LONG),
        ((1000.0, 4600.0), (), Expected(start_s=1500.0), (1000.0, 4600.0)),
        ((1000.0, 4601.0), (), Expected(start_s=3000.0), (2310.0, 4290.0)),  # 600 + 90 before, 90 + 600 + 600 behind
        (LONG, (), Expected(start_s=3000.0, work_s=300.0), (2310.0, 3990.0)),
        (LONG, (4000.0, 4300.0), Expected(), (3400.0, 5500.0)),
        (LONG, (4000.0, 4300.0), Expected(start_s=3000.0, work_s=300.0), (2310.0, 3990.0)),
        (LONG, (100.0,), Expected(), (0.0, 1300.0)),
        (LONG, (8900.0,), Expected(), (8300.0, 9000.0)),
    ],
)
def test_ten_minutes_around_what_is_expected_or_pressed_are_looked_at(span, set_s, expected, window):
    assert find._window(span, set_s, expected) == window


def test_the_start_may_lie_so_far_off_and_the_length_differ_by_a_fifth_or_half_a_minute():
    assert find._limits(Expected(start_s=500.0, work_s=300.0)) == Limits(410.0, 590.0, 240.0, 360.0)
    assert find._limits(Expected(work_s=100.0)) == Limits(shortest_s=70.0, longest_s=130.0)
    assert find._limits(Expected(start_s=500.0, start_within_s=30.0)) == Limits(470.0, 530.0)


@pytest.mark.parametrize(("strength", "start"), [(20.0, 300.0), (19.9, 700.0)])
def test_an_effort_where_it_was_expected_is_taken_if_it_is_half_as_strong_as_another(monkeypatch, strength, start):
    free = Effort(700.0, 1000.0, 3.0, 3.0, 80.0, 50.0, 40.0)
    near = Effort(300.0, 600.0, 3.0, 3.0, 80.0, 50.0, strength)
    monkeypatch.setattr(find, "find_effort", lambda *words: near if len(words) == 4 else free)
    edges = find._effort(pulse([0.0], [80.0]), (0.0, 1200.0), Expected(start_s=300.0))
    assert edges.start.time_s == start
    assert edges.trust == (1.0 if start == 300.0 else 0.5)
    assert bool(edges.notes) is (start == 700.0)


@pytest.mark.parametrize(("begin", "there"), [(870.0, True), (871.0, False)])
def test_half_a_minute_of_what_was_stated_has_to_be_in_the_recording(begin, there):
    level = find_phases(made(bpm=np.full(900, 80.0)), Expected(start_s=begin, work_s=300.0))
    assert isinstance(level, FoundPhases) is there
    early = find_phases(made(bpm=np.full(900, 80.0)), Expected(start_s=begin - 1140.0, work_s=300.0))
    assert isinstance(early, FoundPhases) is (begin - 1140.0 + 300.0 >= 30.0)


def test_what_is_only_stated_is_trusted_little():
    edges = find._stated(Expected(start_s=300.0, work_s=240.0), (0.0, 900.0))
    assert (edges.trust, edges.within_s) == (0.3, pytest.approx(90.0))


def test_movement_without_a_heart_rate_is_one_work():
    phases = found(held(moving((240.0, 600.0))))
    assert phases.work == pytest.approx((240.0, 600.0), abs=1.0)
    assert phases.how == MOVEMENT


def test_several_movements_elsewhere_are_told_from_the_first_to_the_last():
    recording = made()
    phases = found(replace(recording, streams=(*recording.streams, moving((20.0, 60.0), (120.0, 160.0)))))
    note = next(each for each in phases.notes if each.code == "proposal.movement_elsewhere")
    assert (note["start"], note["until"]) == pytest.approx((20.0, 160.0), abs=1.0)


def test_two_presses_are_the_work_though_one_is_far_from_an_unsure_heart():
    phases = found(made(*press(285.0, 602.0)))  # 45 s behind the heart's answer, and most is shared
    assert (phases.work, phases.within_s) == ((285.0, 602.0), 5.0)
    three = found(made(*press(285.0, 420.0, 602.0)))
    assert three.work[1] == 602.0
    assert three.work[0] == pytest.approx(240.0, abs=4.0)


# ---- made classes; tests.bench.phase_accuracy has the table


@pytest.mark.parametrize("case", list(CASES))
def test_made_classes_lie_within_what_is_stated(case):
    within = []
    for seed in range(12):
        sample = sitting(case, 700 + seed)
        phases = find_phases(sample.recording)
        if isinstance(phases, FoundPhases):
            error = max(abs(a - b) for a, b in zip(phases.work, sample.day.work, strict=True))
            within.append(error <= phases.within_s)
    assert len(within) >= 7
    assert sum(within) >= 0.9 * len(within) - 1


def test_a_student_who_only_sat_has_no_work():
    for seed in range(15):
        assert find_phases(idle(700 + seed, warm=bool(seed % 2)).recording) == NotFound(say.PROPOSAL_NO_ONSET)


def test_presses_laps_and_movement_are_within_five_seconds():
    for seed in range(4):
        plain = sitting("anticipation and a pause", 700 + seed)
        for sample, how in (
            (pressed(plain, seed, "all"), BUTTON),
            (lapped(plain, seed), LAP),
            (moved(plain, seed), MOVEMENT),
        ):
            phases = found(sample.recording)
            assert phases.how == how
            assert phases.work == pytest.approx(plain.day.work, abs=5.0)
