"""The rhythm figures of a sheet: what is counted, what is told of steps, and what is no rhythm of the student's."""

from dataclasses import replace

import numpy as np
import pytest
from ownmark.metrics.basis import Basis
from ownmark.metrics.bounds import Bounded
from ownmark.metrics.messages.movement import RHYTHM_CYCLES, RHYTHM_NONE
from ownmark.metrics.motion.rhythm import Rhythm
from ownmark.metrics.rhythm_figures import NAMES, add_rhythm, what_is_counted
from ownmark.metrics.sheet_builder import Drafts

NONE = np.empty(0)
BEAT = Rhythm(
    NONE, NONE, NONE, Bounded(48.0, 47.0, 49.0), 2.5, Bounded(80.0, 78.0, 82.0), 100.0, 0.8, (), (RHYTHM_CYCLES,), 120.0
)


def figures(beat, placement, *, power_chair=False):
    drafts = Drafts(Basis(power_chair=power_chair), None, None)
    add_rhythm(drafts, beat, placement, 97.0)
    found = drafts.figures()
    assert tuple(found) == NAMES
    return found, drafts.refused


@pytest.mark.parametrize(
    ("placement", "halves", "counted"),
    [
        ("trunk", 0.5, "pair"),
        ("trunk", 0.4999, "cycle or half"),
        ("trunk", None, "cycle or half"),
        ("wrist", 0.5, "pair"),
        ("wrist", 0.4999, "cycle"),
        ("frame", -0.3, "cycle"),
        ("crank", None, "cycle"),
        ("wheel", 0.8, None),
    ],
)
def test_what_a_cycle_is_by_its_halves_and_the_sensors_place(placement, halves, counted):
    assert what_is_counted(replace(BEAT, halves=halves), placement, power_chair=False) == counted


def test_without_a_rhythm_of_the_students_nothing_is_counted():
    assert what_is_counted(replace(BEAT, cadence_mean=None), "trunk", power_chair=False) is None
    assert what_is_counted(BEAT, "frame", power_chair=True) is None
    assert what_is_counted(BEAT, "wrist", power_chair=True) == "pair"


@pytest.mark.parametrize("placement", ["trunk", "wrist", "crank", "frame"])
@pytest.mark.parametrize("halves", [0.9, 0.1, None])
def test_whole_cycles_are_given_everywhere(placement, halves):
    found, refused = figures(replace(BEAT, halves=halves), placement)
    assert [(each.value, each.low, each.high) for each in found.values()] == [
        (48.0, 47.0, 49.0),
        (2.5, 2.5, 2.5),
        (80.0, 78.0, 82.0),
    ]
    assert {each.coverage for each in found.values()} == {97.0}
    assert "over 100 s with a rhythm." in found["cadence_mean"].note
    assert found["cadence_mean"].notes[-1] == RHYTHM_CYCLES
    assert refused == []


def test_steps_are_told_beside_strides_only_where_both_are_sure():
    sure = figures(BEAT, "trunk")[0]
    assert "96 steps a minute" in sure["cadence_mean"].note
    unsure = figures(replace(BEAT, halves=0.4), "trunk")[0]
    assert "each may be one step or two" in unsure["cadence_mean"].note
    assert "96" not in unsure["cadence_mean"].note
    arms = figures(BEAT, "frame")[0]
    assert "48 cycles a minute are 96 halves" in arms["cadence_mean"].note
    assert "step" not in figures(replace(BEAT, halves=0.4), "frame")[0]["cadence_mean"].note


def test_a_wheels_turning_a_power_chairs_frame_and_a_floors_knocks_are_refused_as_rhythm():
    knocked = replace(BEAT, knocks_s=30.1)
    for beat, placement, power_chair, reason in (
        (BEAT, "wheel", False, "rhythm is the wheel's"),
        (BEAT, "frame", True, "power chair"),
        (knocked, "frame", False, "make up 25 % of the movement"),
        (replace(BEAT, cadence_mean=None, notes=(RHYTHM_NONE,)), "wrist", False, "Not given: No rhythm was found"),
    ):
        found, refused = figures(beat, placement, power_chair=power_chair)
        assert all(each.value is None and reason in each.note for each in found.values())
        assert refused == []
    at_the_limit = replace(BEAT, knocks_s=30.0)
    assert figures(at_the_limit, "frame")[0]["cadence_mean"].value == 48
    assert figures(knocked, "wrist")[0]["cadence_mean"].value == 48
    assert figures(BEAT, "wrist", power_chair=True)[0]["cadence_mean"].value == 48
