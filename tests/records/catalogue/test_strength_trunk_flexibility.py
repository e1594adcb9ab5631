"""Tests of strength, trunk and flexibility: complete families, sides, directions and where the measuring comes from."""

import re
from collections import defaultdict

import pytest
from ownmark.records.abilities import MOVEMENTS, with_implied
from ownmark.records.catalogue import entries, families
from ownmark.words.render import texts

from tests.each import for_each

COMPONENTS = ("strength", "trunk", "flexibility")
ALL = [each for each in entries().values() if each.protocol.component in COMPONENTS]
MEASURES = [(each, measure) for each in ALL for measure in each.protocol.hand_measures]
LADDERS = {
    "push-up": [
        {"push-up-own-cadence"},
        {"push-up-part-lowering"},
        {"push-up-from-knees", "push-up-from-mat-edge"},
        {"push-up-at-wall"},
        {"plank-hold"},
    ],
    "seat-push-up": [{"chair-push-ups"}, {"chair-push-up-hold"}],
    "chest-press": [{"chest-press-weights"}, {"chest-press-band"}, {"seated-band-press"}],
    "arm-pull": [{"rope-pull-in"}, {"loaded-elbow-bends"}],
    "throw": [{"seated-ball-push"}],
    "grip": [{"squeeze-and-hold"}],
    "curl-up": [
        {"curl-up-thigh-slide", "curl-up-own-cadence"},
        {"curl-up-feet-held"},
        {"curl-up-part-range"},
        {"curl-up-wedge"},
        {"curl-up-assisted-start"},
        {"curl-up-hand-held"},
        {"curl-up-lowering"},
        {"kneeling-rock"},
        {"seated-crunch"},
    ],
    "walk-out": [{"walk-out"}, {"roll-out"}],
    "seated-trunk": [{"figure-of-eight"}, {"lean-and-return"}],
    "sitting-balance": [{"ball-sit"}, {"sit-without-support"}, {"head-up-lying-front"}, {"head-up-seated"}],
    "forward-reach": [
        {"mat-forward-reach"},
        {"seated-forward-reach"},
        {"forward-reach-visible-marks", "forward-reach-touch-marks"},
    ],
    "side-reach": [{"side-reach-down"}, {"side-reach-touch-marks"}],
    "turning": [{"seated-trunk-rotation"}, {"turn-and-touch"}, {"head-turn"}],
    "arm-raise": [{"arm-raise-to-front", "arm-raise-to-side"}, {"arm-slide-lying"}],
    "knee-straightening": [{"knee-straightening-gap"}, {"knee-straightening-in-chair"}],
}
UNITS = {
    "count": {"repetitions", "bends", "leans"},
    "hold time": {"s"},
    "time": {"s"},
    "distance": {"m"},
    "range by ruler": {"cm"},
    "range by tape": {"cm"},
    "other": {"degrees"},
}


def named(entry):
    return entry.name


def of_measure(case):
    entry, measure = case
    return f"{entry.name}, {measure.name}"


def test_every_family_goes_from_its_first_step_to_its_last_without_a_gap():
    found = defaultdict(dict)
    for each in ALL:
        found[each.family].setdefault(each.step, set()).add(each.name)
    assert {family: [steps[step] for step in sorted(steps)] for family, steps in found.items()} == LADDERS
    assert all(sorted(steps) == list(range(1, len(steps) + 1)) for steps in found.values())


def test_every_family_is_of_the_component_of_its_tests_and_says_what_it_is_made_from():
    of_components = {name: each for name, each in families().items() if each.component in COMPONENTS}
    assert set(of_components) == set(LADDERS)
    for family in of_components.values():
        assert {each.protocol.component for each in ALL if each.family == family.name} == {family.component}
        assert family.about.endswith(".")
        assert family.unadapted
        assert family.title


@for_each(ALL, name=named)
def test_each_is_complete(entry):
    protocol = entry.protocol
    sentences = (
        *(protocol.task, protocol.set_up, protocol.instructions, protocol.practice, protocol.why),
        *(protocol.comparable, protocol.cannot_say, entry.gives_up),
    )
    assert all(text and text[0].isupper() and text.endswith(".") for text in sentences)
    assert len(set(sentences)) == len(sentences)
    assert protocol.ask
    assert all(each.endswith("?") for each in protocol.ask)
    assert len(protocol.write_down) >= 3
    assert protocol.cautions
    assert entry.moves_all
    assert entry.helps
    assert entry.bases


@for_each(ALL, name=named)
def test_sides_are_measured_apart_where_one_limb_works_at_a_time(entry):
    measures = entry.protocol.hand_measures
    in_turn = entry.protocol.limbs == "in turn"
    assert all(measure.sides is in_turn for measure in measures)
    if in_turn:
        assert "one-side" in entry.helps
        assert not entry.both_sides


@for_each(ALL, name=named)
def test_who_leaves_the_chair_is_asked_first_how(entry):
    leaves = "leave-chair" in entry.moves_all
    sentence = texts("en")["planned.transfer"]
    assert ("stay-in-chair" in entry.helps) is not leaves
    assert entry.transfer or not leaves
    assert (entry.protocol.cautions[0] == sentence) is entry.transfer
    assert entry.protocol.cautions.count(sentence) == entry.transfer


@for_each(MEASURES, name=of_measure)
def test_unit_and_step_of_reading_fit_the_kind_of_measure(entry, measure):
    assert measure.unit in UNITS[measure.kind]
    assert (measure.resolution is not None) is (measure.kind in ("range by ruler", "range by tape", "other"))
    assert measure.how.endswith(".")


@for_each(ALL, name=named)
def test_more_is_better_except_in_a_race_and_in_a_gap(entry):
    # Trade: counts, holds, reaches and distances higher; time over a fixed way lower. The gap from chin to shoulder
    # closes as the head turns.
    measure = entry.protocol.hand_measure(entry.protocol.primary_figure)
    assert measure is not None
    lower = measure.kind == "time" or measure.name == "chin_gap"
    assert entry.protocol.better == ("lower" if lower else "higher")


@for_each(ALL, name=named)
def test_a_count_has_its_minute_or_its_rhythm(entry):
    protocol = entry.protocol
    measure = protocol.hand_measure(protocol.primary_figure)
    assert measure is not None
    if measure.kind != "count":
        assert protocol.duration_s is None
        return
    assert measure.attempts == 1
    assert (protocol.duration_s is None) is (protocol.pacing == "set rhythm")
    assert protocol.duration_s in (None, 60)
    assert (protocol.cadence_target_per_min is not None) is ("rhythm" in entry.senses)


def test_a_curl_up_to_a_rhythm_keeps_the_published_one():
    # Source: Sparling 1997, Res Q Exerc Sport 68:309-316: a cadence curl-up test, 25 repetitions a minute, feet free.
    assert entries()["curl-up-thigh-slide"].protocol.cadence_target_per_min == 25


@pytest.mark.parametrize(
    ("name", "attempts", "sides"),
    [
        # Lynch 1998 (doi 10.1093/ptj/78.2.128): three recorded trials of the seated reach.
        ("seated-forward-reach", 3, True),
        # 2012, J Athl Train 47:52-60: seated rotation three times to each side.
        ("seated-trunk-rotation", 3, True),
        # Three attempts at the seated ball push in public descriptions.
        ("seated-ball-push", 3, False),
    ],
)
def test_attempts_follow_the_published_descriptions(name, attempts, sides):
    (measure,) = entries()[name].protocol.hand_measures
    assert (measure.attempts, measure.sides) == (attempts, sides)


@for_each(ALL, name=named)
def test_each_way_of_measuring_names_its_source_or_says_that_it_is_practice(entry):
    for basis in entry.bases.values():
        assert len(basis) <= 255
        practice = "common practice" in basis or "from memory" in basis
        source = re.search(r"\b(19|20)\d\d\b|Meas Phys Educ Exerc Sci|public description", basis)
        assert practice or source
        assert re.findall(r"doi (\S+?)[),;]", basis) == re.findall(r"doi (10\.\d{4,}/\S+?)[),;]", basis)


def test_the_seated_crunch_is_the_last_step_and_asks_whether_a_transfer_is_possible():
    crunch = entries()["seated-crunch"]
    assert crunch.step == max(each.step for each in ALL if each.family == "curl-up")
    assert crunch.transfer is False
    assert "transfer" in crunch.protocol.ask[0]
    others = [each for each in ALL if each.family == "curl-up" and each is not crunch]
    assert all(each.transfer for each in others)


def test_marks_for_a_reach_can_be_seen_or_felt():
    found = {each.name: (each.senses, set(each.helps)) for each in ALL if each.name.endswith("-marks")}
    assert found["forward-reach-visible-marks"][0] == ("see",)
    assert "visible-signal" in found["forward-reach-visible-marks"][1]
    for name in ("forward-reach-touch-marks", "side-reach-touch-marks"):
        assert found[name][0] == ()
        assert "touch-signal" in found[name][1]


@pytest.mark.parametrize(
    ("component", "movements"),
    [
        # Upper-body strength needs an arm; a leg, the trunk, the head or breath alone have no such test.
        ("strength", {"arms", "push-chair"}),
        ("trunk", {"trunk", "head"}),
        ("flexibility", {"arms", "legs", "trunk", "head", "push-chair", "walk", "walk-device"}),
    ],
)
def test_one_movement_is_enough_for_a_test_where_that_makes_sense(component, movements):
    fitting = set()
    for movement in MOVEMENTS:
        can = with_implied([movement])
        if any(set(each.moves_all) <= can for each in ALL if each.protocol.component == component):
            fitting.add(movement)
    assert fitting == movements
