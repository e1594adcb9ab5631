"""The form of a protocol asks for what must or should match, and takes what ``protocol edit`` takes."""

import pytest
from ownmark.metrics.maximum import EQUATIONS
from ownmark.records.catalogue import copy, edited
from ownmark.records.protocol import FIELDS
from ownmark.records.protocol_form import FormField, as_typed, changed_in, faults_of, form_groups
from ownmark.records.rules import MUST, TOLD

SLALOM = copy("power-chair-slalom", "slalom-gym")
ASKED = {each.name: each for _, fields in form_groups() for each in fields}


def test_every_fact_that_is_compared_is_asked_but_what_the_test_brings():
    assert set(FIELDS) - set(ASKED) == {name for name, rule in FIELDS.items() if rule.rule == TOLD} | {
        "component",
        "hand_measures",
    }
    assert [each.name for each in ASKED.values() if each.must] == [name for name in ASKED if FIELDS[name].rule == MUST]
    assert "write" not in dict(form_groups())  # nothing of it is compared


@pytest.mark.parametrize(
    "field",
    [
        FormField("gates", "whole", "", must=True, above=0),
        FormField("load_kg", "number", "kg", must=True, low=0),
        FormField("pause_s", "number", "s", must=True, low=0, high=60),
        FormField("stop_s", "number", "s", must=True, above=0, high=60),
        FormField("slope_percent", "number", "%", must=True),
        FormField("camber_degrees", "number", "degrees", must=False, low=0),
        FormField("course", "long", "", must=True),
        FormField("device", "text", "", must=True),
        FormField("turning", "choice", "", must=True, choices=("left", "right", "both")),
        FormField("equation", "choice", "", must=True, choices=tuple(EQUATIONS)),
    ],
)
def test_how_a_field_is_asked(field):
    assert ASKED[field.name] == field


def test_whatever_a_protocol_has_comes_back_as_it_was():
    typed = {name: as_typed(getattr(SLALOM, name)) for name in ASKED}
    assert changed_in(SLALOM, typed) == {}
    assert changed_in(SLALOM, {}) == {}
    assert edited(SLALOM, typed) == SLALOM


def test_only_what_was_typed_otherwise_is_changed():
    had = edited(SLALOM, {"gates": "6", "load_kg": "2.5", "course": "two\nlines"})
    typed = {
        "gates": " 6 ",
        "load_kg": "2.5",
        "course": "two\r\nlines\r\n",
        "surface": " tiles ",
        "name": "x",
        "why": "y",
    }
    assert changed_in(had, typed) == {"surface": "tiles"}
    assert changed_in(had, {"gates": "", "load_kg": "3"}) == {"gates": "", "load_kg": "3"}


@pytest.mark.parametrize(
    ("name", "text", "fault"),
    [
        ("gates", "six", "number"),
        ("gates", "6.5", "whole"),
        ("gates", "0", "above_zero"),
        ("gates", "1", None),
        ("load_kg", "-1", "limits"),
        ("load_kg", "0", None),
        ("pause_s", "60.5", "limits"),
        ("pause_s", "60", None),
        ("stop_s", "0", "above_zero"),
        ("stop_s", "61", "limits"),
        ("target", "a lot", "band"),
        ("target", "110-130bpm", None),
        ("surface", "x" * 256, "text"),
        ("turning", "up", "text"),
        ("course", "x" * 4000, None),
    ],
)
def test_what_is_wrong_with_a_text(name, text, fault):
    assert faults_of(SLALOM, {name: text}) == ({} if fault is None else {name: fault})
