"""The shape of a sheet: frozen, closed, known by its name, and written so that a person can read it."""

import json

import pytest
from ownmark.metrics import EffortSheet, effort
from ownmark.metrics.figure import SCHEMA, Figure
from pydantic import ValidationError

from tests.makers.recordings import every_second

FIGURE = Figure(name="heart_rate_mean", value=100.0, unit="/min", source="from memory")


def test_a_figure_is_frozen_and_closed():
    with pytest.raises(ValidationError):
        FIGURE.value = 90.0
    with pytest.raises(ValidationError):
        Figure(name="x", value=None, unit="1", source="", more=1)


def test_what_may_be_left_out_is_none():
    assert FIGURE.model_dump(exclude={"name", "value", "unit", "source"}) == dict.fromkeys(
        ("low", "high", "own_rhythm_low", "own_rhythm_high", "coverage", "basis", "note", "reason")
    ) | {"rests_on": (), "notes": ()}


def test_the_schema_says_what_a_unit_and_an_absent_value_are():
    fields = Figure.model_json_schema()["properties"]
    assert fields["unit"]["description"] == "UCUM"
    assert fields["value"]["description"] == "null: not given, and the reason says why"


def test_a_sheet_is_known_by_its_schema_and_indented_by_two():
    sheet = effort(every_second([100.0, 101.0] * 30))
    text = sheet.to_json()
    assert SCHEMA == "ownmark-effort-sheet-2"
    assert json.loads(text)["schema"] == SCHEMA
    assert text.splitlines()[1].startswith('  "')
    assert not text.splitlines()[1].startswith("   ")
    assert EffortSheet(**{**dict(sheet), "schema_": SCHEMA}) == sheet  # by the field's name, too
    assert EffortSheet.from_json(text) == sheet
