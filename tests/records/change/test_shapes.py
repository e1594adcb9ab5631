"""The comparison as JSON."""

import json

import pytest
from ownmark.records.change.comparison import Comparison, compare
from ownmark.records.change.shapes import SCHEMA
from pydantic import ValidationError

from tests.records.makers import REACH, reached, trial

PAIR = [trial(0, 40), trial(7, 44)], [trial(60, 20)]


def test_the_json_names_its_schema_and_is_set_in_two():
    text = compare(*PAIR).to_json()
    assert SCHEMA == "ownmark-comparison-2"
    assert json.loads(text)["schema"] == SCHEMA
    assert "schema_" not in json.loads(text)
    assert text.splitlines()[1].startswith('  "code"')


def test_every_key_that_was_there_is_there():
    # Keys are never renamed: other programs read them.
    keys = {
        *("code", "protocol", "comparable", "differences", "verdict", "sentence", "primary_figure", "unit", "better"),
        *("for_the_better", "baseline_value", "retest_value", "change", "change_low", "change_high", "interval_low"),
        *("interval_high", "detectable_change", "typical_error", "degrees_of_freedom", "error_from", "percent"),
        *("chance_of_a_change_that_matters", "sides", "side_gaps", "baselines", "retests", "notes", "cautions"),
        *("schema", "error_source", "error_students", "baseline_drift", "withheld", "shared_shift"),
        "others_same_days",
    }
    held = json.loads(compare(*PAIR).to_json())
    assert keys <= set(held)
    assert (held["own_rhythm"], held["sides"], held["damaged"]) == (False, [], [])
    assert {"field", "label", "baseline", "retest", "rule", "forbids", "asked", "half"} <= set(
        json.loads(compare([trial(0, 40)], [trial(60, 20, tested_by="nurse")]).to_json())["differences"][0]
    )


def test_a_comparison_is_frozen_and_takes_its_schema_by_either_name():
    found = compare(*PAIR)
    with pytest.raises(ValidationError, match="frozen"):
        found.code = "X"  # pyright: ignore[reportAttributeAccessIssue]
    fields = found.model_dump()
    assert Comparison.model_validate(fields) == found
    assert Comparison.model_validate(found.model_dump(by_alias=True)) == found
    with pytest.raises(ValidationError, match="extra"):
        Comparison.model_validate({**fields, "rank": 1})


def test_what_was_entered_by_hand_is_shown_with_its_unit_side_and_attempt():
    found = compare([reached(0, (20, 21)), reached(7, 20)], [reached(60, 30)])
    shown = [(each.name, each.value, each.unit, each.side, each.attempt) for each in found.baselines[0].hand_results]
    name = REACH.primary_figure
    assert shown == [(name, 20, "cm", "left", 1), (name, 21, "cm", "left", 2)]
    plain = compare([trial(0, 40)], [trial(60, 20)]).baselines[0]
    assert (plain.trial, plain.on, plain.protocol, plain.protocol_version) == (1, "2025-09-01", "crank", 1)
    assert plain.figures["heart_rate_rise"].value == 40
