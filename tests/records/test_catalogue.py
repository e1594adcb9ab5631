"""The catalogue of starting protocols, and adapting one."""

import re
from collections import Counter

import pytest
from ownmark.errors import NotAProtocol, UnknownProtocol
from ownmark.records.catalogue import KEPT, catalogue, copy, edited
from ownmark.records.protocol import Protocol
from ownmark.words.vocabulary import FIGURES

from tests.each import for_each

ALL = list(catalogue().values())
AEROBIC = [protocol for protocol in ALL if protocol.component == "aerobic"]
SLALOM = copy("power-chair-slalom", "slalom-b")


def test_ten_aerobic_tasks_and_eight_for_strength_trunk_and_flexibility():
    found = Counter(protocol.component for protocol in ALL)
    assert found["aerobic"] >= 10
    assert found["strength"] + found["trunk"] + found["flexibility"] >= 8
    assert min(found[name] for name in ("strength", "trunk", "flexibility")) >= 2


@for_each(ALL, name=lambda each: each.name)
def test_each_says_how_it_is_done_what_is_written_down_and_why(protocol):
    for text in (protocol.task, protocol.set_up, protocol.instructions, protocol.why):
        assert text
        assert text.endswith(".")
    assert protocol.write_down
    assert protocol.cautions
    assert all(len(caution) <= 120 and caution.endswith(".") for caution in protocol.cautions)


@for_each(AEROBIC, name=lambda each: each.name)
def test_each_aerobic_one_has_phases_and_a_sensor_site(protocol):
    assert protocol.rest_posture
    assert protocol.rest_s
    assert protocol.recovery_s
    assert protocol.pulse_sensor
    assert protocol.pulse_site
    if protocol.duration_s:
        assert protocol.work_s == protocol.duration_s
    if protocol.primary_figure.startswith(("moving", "longest_moving")):
        assert protocol.placement


@for_each([each for each in ALL if each not in AEROBIC], name=lambda each: each.name)
def test_each_other_one_is_entered_by_hand(protocol):
    assert protocol.hand_measure(protocol.primary_figure) is not None


def test_hand_measures_count_time_and_measure_and_keep_the_sides_apart():
    measures = [measure for protocol in ALL for measure in protocol.hand_measures]
    assert {measure.kind for measure in measures} >= {"count", "hold time", "range by ruler", "range by tape"}
    flexibility = [each for protocol in ALL if protocol.component == "flexibility" for each in protocol.hand_measures]
    assert all(measure.sides for measure in flexibility)


def test_directions_follow_the_trade():
    # Trade tables 9.15: same-load heart rate and beats per metre lower; continuous movement and distance
    # self-propelled higher; no direction for a power chair.
    for protocol in AEROBIC:
        figure = protocol.primary_figure
        if protocol.work_mode == "power chair":
            assert protocol.better == "no direction"
        elif figure in ("heart_rate_rise", "beats_per_metre"):
            assert protocol.better == "lower"
        else:
            measure = protocol.hand_measure(figure)
            assert protocol.better == ("lower" if measure is not None and measure.kind == "time" else "higher")


def test_same_load_heart_rate_is_primary_only_where_the_load_is_set():
    for protocol in AEROBIC:
        if protocol.primary_figure == "heart_rate_rise" and protocol.better == "lower":
            assert protocol.pacing in ("set rhythm", "set speed")


def test_it_holds_no_norm_and_no_promise():
    for protocol in ALL:
        text = " ".join(str(value) for value in protocol.model_dump().values())
        assert not re.search(r"\b(safe|norms?|percentile|cut-?off|grade|average)\b", text, re.IGNORECASE), protocol.name


def test_a_copy_is_version_1_of_an_own_protocol_that_knows_where_it_comes_from():
    assert (SLALOM.name, SLALOM.version, SLALOM.from_catalogue) == ("slalom-b", 1, "power-chair-slalom")
    original = catalogue()["power-chair-slalom"]
    assert SLALOM.model_dump(exclude={"name", "from_catalogue"}) == original.model_dump(
        exclude={"name", "from_catalogue"}
    )


def test_an_unknown_entry_offers_the_nearest_and_a_bad_name_is_refused():
    with pytest.raises(UnknownProtocol, match="power-chair-slalom"):
        copy("powerchair-slalom", "mine")
    for name in ("My slalom", "", "-a", "Ünal"):
        with pytest.raises(NotAProtocol, match="small letters, digits and hyphens"):
            copy("power-chair-slalom", name)


def test_typed_text_becomes_a_value_of_the_fields_own_type():
    found = edited(
        SLALOM,
        {
            "gate-spacing-m": "2,5",
            "gates": "8",
            "better": "Lower",
            "cautions": "Belt on. ; Spotter.",
            "speed_setting": "3 of 5",
            "hand_measures": "touched | cones | count | sides | 2 | Count touched cones.",
            "placement": "",
            "target": "40-60%",
        },
    )
    assert (found.gate_spacing_m, found.gates, found.better, found.speed_setting) == (2.5, 8, "lower", "3 of 5")
    assert found.cautions == ("Belt on.", "Spotter.")
    assert found.placement is None
    measure = found.hand_measure("touched")
    assert measure is not None
    assert (measure.kind, measure.sides, measure.attempts) == ("count", True, 2)
    assert (found.name, found.version) == (SLALOM.name, SLALOM.version)
    assert SLALOM.gates == 6


@pytest.mark.parametrize("field", [name for name in Protocol.model_fields if name not in KEPT])
def test_every_field_can_be_edited_to_what_it_already_holds_somewhere(field):
    for protocol in ALL:
        value = getattr(protocol, field)
        if value in (None, ()) or field == "hand_measures":
            continue
        text = "; ".join(value) if isinstance(value, tuple) else str(value)
        if isinstance(value, tuple) and any(";" in part for part in value):
            continue
        assert getattr(edited(protocol, {field: text}), field) == value


@pytest.mark.parametrize(
    ("field", "text", "told"),
    [
        ("gate_spacing", "2", "gate_spacing_m"),
        ("gates", "many", "whole number"),
        ("gates", "2.5", "whole number"),
        ("device_mass_kg", "40 kg", "in kg"),
        ("better", "up", "no direction"),
        ("version", "3", "not edited"),
        ("component", "strength", "not edited"),
        ("title", " ", "cannot be empty"),
        ("primary_figure", "speed", "neither"),
        ("hand_measures", "laps", "ATTEMPTS"),
        ("hand_measures", "laps|laps|guess|one|1|count", "kind"),
        ("duration_s", "inf", "is not a number for duration_s"),
    ],
)
def test_a_wrong_field_or_value_is_told_with_what_would_do(field, text, told):
    with pytest.raises(NotAProtocol, match=re.escape(told)):
        edited(SLALOM, {field: text})


def test_every_primary_figure_exists():
    for protocol in ALL:
        assert protocol.primary_figure in FIGURES or protocol.hand_measure(protocol.primary_figure)
