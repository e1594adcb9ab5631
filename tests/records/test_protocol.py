"""A protocol is the standard that an adapted test lacks: its fields, and how each is compared."""

import pytest
from ownmark.errors import NotAProtocol
from ownmark.records.protocol import FIELDS, HandMeasure, Protocol
from ownmark.records.rules import MUST, SHOULD
from ownmark.records.trial import TRIAL_FIELDS, Trial
from ownmark.words.vocabulary import FIGURES
from pydantic import ValidationError

LEAST = {"name": "own", "title": "Own", "component": "aerobic", "primary_figure": "moving_time", "better": "higher"}
COUNT = {"name": "laps_done", "unit": "laps", "kind": "count", "sides": False, "attempts": 1, "how": "count"}


def test_every_field_has_a_rule_and_a_label_of_its_own():
    assert set(FIELDS) == set(Protocol.model_fields) - {"name", "version", "from_catalogue"}
    labels = [rule.label for rule in (*FIELDS.values(), *TRIAL_FIELDS.values())]
    assert len(set(labels)) == len(labels)
    assert set(TRIAL_FIELDS) <= set(Trial.model_fields)


def test_what_must_match_is_what_the_trade_tables_name():
    # Trade tables 12, comparability rule: task, chair or machine, course or resistance, sensor type and site,
    # assistance level, heart-rate-acting medicine; time of day, temperature and footwear should.
    must = {name for name, rule in {**FIELDS, **TRIAL_FIELDS}.items() if rule.rule == MUST}
    assert must >= {
        *("task", "device", "speed_setting", "tyre_pressure_kpa", "course", "course_length_m", "distance_m"),
        *("resistance", "cadence_target_per_min", "assistance", "assistance_given", "pulse_sensor", "pulse_site"),
        *("placement", "medicines", "rest_posture", "rest_minutes", "equation", "surface", "device_used"),
    }
    should = {name for name, rule in {**FIELDS, **TRIAL_FIELDS}.items() if rule.rule == SHOULD}
    assert should >= {"time_of_day", "temperature_c", "footwear_orthoses", "tested_by"}
    assert TRIAL_FIELDS["temperature_c"].within == 3.0


def test_nothing_is_assumed_of_a_field_that_is_left_out():
    protocol = Protocol(**LEAST)
    for name in FIELDS.keys() - LEAST.keys():
        assert getattr(protocol, name) in (None, ()), name


def test_the_primary_figure_is_measured_by_the_sheet_or_by_hand():
    for name in FIGURES:
        assert Protocol(**{**LEAST, "primary_figure": name, "better": "no direction"}).primary_figure == name
    by_hand = Protocol(**{**LEAST, "primary_figure": "laps_done", "hand_measures": (HandMeasure(**COUNT),)})
    assert by_hand.hand_measure("laps_done") == HandMeasure(**COUNT)
    with pytest.raises(NotAProtocol, match="neither a figure of the sheet nor a hand measure"):
        Protocol(**{**LEAST, "primary_figure": "laps_done"})


def test_a_rhythm_has_no_better_direction():
    # Trade tables 7.19: training lowered the stroke frequency.
    for name in ("cadence_mean", "cadence_variation"):
        with pytest.raises(NotAProtocol, match="no better direction"):
            Protocol(**{**LEAST, "primary_figure": name})


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("target", "60-40%"),
        ("target", "hard"),
        ("target", "20-900bpm"),
        ("equation", "guess"),
        ("name", "My Protocol"),
        ("version", 0),
        ("distance_m", -5),
        ("body_weight_support_percent", 120),
        ("work_mode", "wheels"),
        ("assistance", "some"),
        ("pulse_sensor", "ring"),
        ("gates", 2.5),
        ("slope_percent", float("nan")),
        ("hand_measures", ({**COUNT, "name": "moving_time"},)),
        ("hand_measures", (COUNT, COUNT)),
        ("hand_measures", ({**COUNT, "kind": "guess"},)),
        ("colour", "red"),
    ],
)
def test_a_value_that_does_not_fit_is_told_in_a_sentence(field, value):
    with pytest.raises(NotAProtocol) as refused:
        Protocol(**{**LEAST, field: value})
    assert str(refused.value).endswith(".")


def test_a_band_is_kept_in_one_way_of_writing():
    assert Protocol(**LEAST, target="40 – 60 %").target == "40-60%"
    assert Protocol(**LEAST, target="110-130 /min").target == "110-130bpm"


def test_a_protocol_cannot_be_changed_in_place_and_comes_back_from_json():
    protocol = Protocol(**LEAST, hand_measures=(HandMeasure(**COUNT),), cautions=("x",))
    assert Protocol.model_validate_json(protocol.model_dump_json()) == protocol
    with pytest.raises(ValidationError, match="frozen"):
        protocol.title = "other"  # pyright: ignore[reportAttributeAccessIssue]
