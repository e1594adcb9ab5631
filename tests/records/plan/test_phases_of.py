"""Phases of a row, threshold by threshold: what was written down, what the recording shows, and what it did not see."""

from datetime import datetime

import numpy as np
import pytest
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import Mark
from ownmark.metrics.messages import phase_finding as found_say
from ownmark.metrics.phase_finding import BUTTON, HEART_RATE, LAP, MOVEMENT, STATED, FoundPhases, NotFound, Side
from ownmark.records.plan import phases_of as module
from ownmark.records.plan.phases_of import phases_of

from tests.makers.recordings import pulse, recording
from tests.records.store import made

NINE = datetime(2026, 5, 12, 9, 0, 0)  # noqa: DTZ001 a strap states no zone
NINE_S = 9 * 3600.0
REST, WORK, RECOVERY = (60.0, 180.0), (180.0, 480.0), (480.0, 540.0)
SLALOM = made.protocol(rest_s=120.0, work_s=300.0, recovery_s=60.0)
STATED_AT = NINE_S + 60.0
WRITTEN = ("09:01:00-09:03:00", "09:03:00-09:08:00", "09:08:00-09:09:00")


def strap(first=0, last=600, start=NINE, marks=(), flags=None):
    """Ten minutes of a steady heart."""
    second = np.arange(first, last + 1, dtype=float)
    return recording(pulse(second, np.full(len(second), 90.0), flags=flags), marks=marks, start=start)


def finds(monkeypatch, **more):
    """Whatever the recording is, this is found in it."""
    plain = {"rest": REST, "work": WORK, "recovery": RECOVERY, "how": HEART_RATE, "within_s": 12.0, "confidence": 0.9}
    notes = (found_say.proposal_rests_on("heart_rate", 12.0),)
    ends = dict.fromkeys(("start", "end"), Side(HEART_RATE, 12.0))
    found = FoundPhases(**{**plain, **ends, "notes": notes, **more})
    asked = []

    def find(recording, expected, *, placement):
        asked.append((recording, expected, placement))
        return found

    monkeypatch.setattr(module, "find_phases", find)
    return asked


def told(phased):
    return [each.code for each in phased.checks]


def texts(phased):
    return (phased.rest, phased.work, phased.recovery)


def test_a_start_and_lengths_that_the_heart_confirms_are_sure(monkeypatch):
    asked = finds(monkeypatch)
    phased = phases_of(strap(), SLALOM, STATED_AT, None, None)
    assert (texts(phased), told(phased)) == (WRITTEN, [])
    ((_, expected, _),) = asked
    assert (expected.rest_s, expected.work_s, expected.recovery_s, expected.start_s) == (120.0, 300.0, 60.0, 180.0)


def test_a_protocol_without_rest_and_recovery_begins_with_the_work(monkeypatch):
    asked = finds(monkeypatch)
    phased = phases_of(strap(), made.protocol(work_s=300.0), NINE_S + 180, None, None)
    assert texts(phased) == ("", "09:03:00-09:08:00", "")
    assert asked[0][1].start_s == 180.0


@pytest.mark.parametrize(("begin", "asked"), [(222.0, False), (222.1, True), (138.0, False), (137.9, True)])
def test_work_elsewhere_is_asked_beyond_thirty_seconds_and_its_own_spread(monkeypatch, begin, asked):
    finds(monkeypatch, work=(begin, begin + 300.0))
    phased = phases_of(strap(), SLALOM, STATED_AT, None, None)
    assert told(phased) == (["day_plan.start_differs"] if asked else [])
    if asked:
        (check,) = phased.checks
        assert (check["found"], check["stated"], check["within"]) == (begin, 180.0, 12.0)
    assert texts(phased) == WRITTEN


def test_another_length_speaks_against_it_and_other_notes_do_not(monkeypatch):
    notes = (found_say.proposal_other_length(200.0, 300.0), found_say.proposal_rests_on("heart_rate", 12.0))
    finds(monkeypatch, notes=notes)
    assert told(phases_of(strap(), SLALOM, STATED_AT, None, None)) == ["proposal.other_length"]


def test_what_nothing_confirms_is_asked(monkeypatch):
    finds(monkeypatch, how=STATED, notes=(found_say.proposal_only_stated(180.0),))
    phased = phases_of(strap(), SLALOM, STATED_AT, None, None)
    assert (texts(phased), told(phased)) == (WRITTEN, ["proposal.only_stated"])
    monkeypatch.setattr(module, "find_phases", lambda *_, **__: NotFound(found_say.PROPOSAL_NO_ONSET))
    phased = phases_of(strap(), SLALOM, STATED_AT, None, None)
    assert (texts(phased), told(phased)) == (WRITTEN, ["proposal.no_onset"])


SHARP = {"work": (190.0, 490.0), "rest": (64.0, 184.0), "recovery": (490.0, 550.0), "notes": ()}
SHARP_TEXT = ("09:01:04-09:03:04", "09:03:10-09:08:10", "09:08:10-09:09:10")


@pytest.mark.parametrize("how", [BUTTON, LAP, MOVEMENT])
def test_presses_laps_and_movement_are_better_than_a_watch(monkeypatch, how):
    finds(monkeypatch, how=how, within_s=6.0, **SHARP)
    phased = phases_of(strap(), SLALOM, STATED_AT, None, None)
    assert (texts(phased), told(phased)) == (SHARP_TEXT, [])


def test_a_press_at_one_end_and_movement_at_the_other_are_as_good(monkeypatch):
    notes = (found_say.proposal_start_rests_on(BUTTON, 5.0), found_say.proposal_end_rests_on(MOVEMENT, 6.0))
    finds(monkeypatch, **{**SHARP, "how": BUTTON, "within_s": 6.0, "notes": notes})
    phased = phases_of(strap(), SLALOM, STATED_AT, None, None)
    assert (texts(phased), told(phased)) == (SHARP_TEXT, [])


@pytest.mark.parametrize(
    "doubt",
    [
        {"how": HEART_RATE},
        {"within_s": 7.0},
        {"work": (190.0, 520.1)},
        {"rest": None},
        {"rest": (64.0, 184.0 - 25)},
        {"recovery": None},
        {"recovery": (490.0, 530.0)},
        {"notes": (found_say.proposal_marks_elsewhere(1.0, 2.0),)},
        {"notes": (found_say.proposal_start_unsure(10.0),)},
    ],
)
def test_but_not_where_anything_speaks_against_them(monkeypatch, doubt):
    finds(monkeypatch, **{"how": BUTTON, "within_s": 6.0, **SHARP, **doubt})
    assert texts(phases_of(strap(), SLALOM, STATED_AT, None, None)) == WRITTEN


def test_what_was_pressed_is_sure_without_a_start(monkeypatch):
    notes = (found_say.proposal_rests_on("button", 5.0),)
    for how in (BUTTON, LAP):
        finds(monkeypatch, how=how, within_s=5.0, notes=notes)
        phased = phases_of(strap(), SLALOM, None, None, None)
        assert (texts(phased), told(phased)) == (WRITTEN, [])


@pytest.mark.parametrize(
    ("doubt", "asked"),
    [
        ({"how": MOVEMENT}, ["proposal.rests_on"]),
        ({"how": HEART_RATE}, ["proposal.rests_on"]),
        ({"within_s": 6.0}, ["proposal.rests_on"]),
        ({"work": (180.0, 510.1)}, ["proposal.rests_on"]),
        ({"rest": None}, ["proposal.rests_on"]),
    ],
)
def test_without_a_start_all_else_is_a_proposal(monkeypatch, doubt, asked):
    notes = (found_say.proposal_rests_on("button", 5.0),)
    finds(monkeypatch, **{"how": BUTTON, "within_s": 5.0, "notes": notes, **doubt})
    assert told(phases_of(strap(), SLALOM, None, None, None)) == asked


def test_presses_as_long_as_planned_to_the_limit(monkeypatch):
    notes = (found_say.proposal_rests_on("button", 5.0),)
    finds(monkeypatch, how=BUTTON, within_s=5.0, notes=notes, work=(180.0, 510.0))
    assert told(phases_of(strap(), SLALOM, None, None, None)) == []


def test_a_second_doubt_is_told_with_presses(monkeypatch):
    notes = (found_say.PROPOSAL_MARKS_UNCONFIRMED, found_say.proposal_rests_on("button", 5.0))
    finds(monkeypatch, how=BUTTON, within_s=5.0, notes=notes)
    asked = told(phases_of(strap(), SLALOM, None, None, None))
    assert asked == ["proposal.marks_unconfirmed", "proposal.rests_on"]


def test_a_start_needs_a_length_and_a_clock(monkeypatch):
    finds(monkeypatch)
    asked = told(phases_of(strap(), made.protocol(rest_s=120.0), STATED_AT, None, None))
    assert asked == ["day_plan.no_length", "proposal.rests_on"]
    phased = phases_of(strap(start=None), SLALOM, STATED_AT, None, None)
    assert told(phased) == ["day_plan.no_clock", "proposal.rests_on"]
    assert texts(phased) == ("00:01:00-00:03:00", "00:03:00-00:08:00", "00:08:00-00:09:00")


def test_nothing_found_and_nothing_written_leaves_it_empty(monkeypatch):
    monkeypatch.setattr(module, "find_phases", lambda *_, **__: NotFound(found_say.PROPOSAL_NO_ONSET))
    phased = phases_of(strap(), SLALOM, None, None, None)
    assert (texts(phased), told(phased)) == (("", "", ""), ["proposal.no_onset"])


@pytest.mark.parametrize(
    ("first", "asked"),
    [
        (84, []),  # 24 of 120 s of rest: a fifth
        (85, ["guard.late"]),
        (180, ["day_plan.phase_not_seen"]),
        (185, ["day_plan.phase_not_seen"]),
        (186, ["day_plan.phase_not_seen", "guard.late"]),
    ],
)
def test_a_late_strap(monkeypatch, first, asked):
    finds(monkeypatch)
    phased = phases_of(strap(first), SLALOM, STATED_AT, None, None)
    assert told(phased) == asked


@pytest.mark.parametrize(
    ("last", "asked"),
    [
        (528, []),  # 12 of 60 s of recovery: a fifth
        (527, ["guard.early_end"]),
        (480, ["day_plan.phase_not_seen"]),
        (475, ["day_plan.phase_not_seen"]),
        (474, ["guard.early_end", "day_plan.phase_not_seen"]),
    ],
)
def test_a_strap_that_was_taken_off_early(monkeypatch, last, asked):
    finds(monkeypatch)
    assert told(phases_of(strap(0, last), SLALOM, STATED_AT, None, None)) == asked


def test_how_much_was_not_seen_is_told(monkeypatch):
    finds(monkeypatch)
    (late,) = phases_of(strap(100), SLALOM, STATED_AT, None, None).checks
    assert (late["phase"], late["seconds"]) == ("rest", 40.0)
    (early,) = phases_of(strap(0, 500), SLALOM, STATED_AT, None, None).checks
    assert (early["phase"], early["seconds"]) == ("recovery", 40.0)


def test_a_strap_without_contact_has_not_seen_it(monkeypatch):
    finds(monkeypatch)
    flags = np.zeros(601, np.uint16)
    flags[:100] = Flag.NO_CONTACT
    assert told(phases_of(strap(flags=flags), SLALOM, STATED_AT, None, None)) == ["guard.late"]


def test_where_others_wore_it_only_the_own_time_is_looked_at(monkeypatch):
    asked = finds(monkeypatch)
    phases_of(strap(), SLALOM, None, (NINE_S + 100, NINE_S + 200), None)
    ((cut, _, _),) = asked
    time = cut["heart_rate"].time
    assert (time[0], time[-1]) == (100.0, 199.0)


def test_when_a_strap_was_worn_is_never_what_was_work():
    """A heart that shows nothing, and a list of straps: there is no work, whatever the list says."""
    phased = phases_of(strap(), SLALOM, None, (NINE_S + 60, NINE_S + 540), None)
    assert texts(phased) == ("", "", "")
    assert told(phased)


def test_times_that_a_reader_would_take_otherwise_stand_from_the_start(monkeypatch):
    finds(monkeypatch)
    long = strap(0, 8 * 3600)
    assert phases_of(long, SLALOM, None, None, None).work == "00:03:00-00:08:00"
    assert phases_of(strap(0, 8 * 3600 - 1), SLALOM, None, None, None).work == "09:03:00-09:08:00"
    before = {"rest": (-60.0, 60.0), "work": (60.0, 300.0)}
    finds(monkeypatch, **before)
    late = phases_of(strap(start=None), SLALOM, None, None, None)
    assert (late.rest, late.work) == ("", "00:01:00-00:05:00")


def test_the_placement_of_the_protocol_is_told(monkeypatch):
    asked = finds(monkeypatch)
    phases_of(strap(), SLALOM.model_copy(update={"placement": "frame"}), None, None, None)
    assert asked[0][2] == "frame"


def test_real_presses_are_found_and_kept_to_the_second():
    """The whole way, with a heart that answers."""
    second = np.arange(601)
    rise = np.where(second < 180, 0, 50 * (1 - np.exp(-(second - 180) / 25)))
    rise = np.where(second > 480, 50 * np.exp(-(second - 480) / 40), rise)
    wander = np.random.default_rng(3).standard_normal(601)
    marks = tuple(Mark(at, "button") for at in (60.0, 182.0, 481.0, 541.0))
    whole = recording(pulse(second.astype(float), np.rint(80 + rise + wander)), marks=marks, start=NINE)
    phased = phases_of(whole, SLALOM, None, None, None)
    assert (phased.work, told(phased)) == ("09:03:02-09:08:01", [])


@pytest.mark.parametrize(
    ("first", "rest"),
    [(60, WRITTEN[0]), (150, WRITTEN[0]), (151, ""), (200, "")],  # 30 s of the rest were recorded, 29 s, none
)
def test_a_rest_that_a_late_strap_hardly_saw_is_not_in_the_table(monkeypatch, first, rest):
    """It would stand in the way of a rest that was measured before."""
    finds(monkeypatch)
    phased = phases_of(strap(first=first), SLALOM, STATED_AT, None, None)
    assert texts(phased) == (rest, *WRITTEN[1:])
    assert bool(told(phased)) is (first > 60)


def test_a_rest_after_which_the_strap_came_off_stays_if_enough_was_seen(monkeypatch):
    finds(monkeypatch)
    assert phases_of(strap(last=90), SLALOM, STATED_AT, None, None).rest == "09:01:00-09:03:00"
    assert phases_of(strap(last=89), SLALOM, STATED_AT, None, None).rest == ""
