"""What a mistyped field can mean."""

from datetime import date

import pytest
from ownmark.errors import NotAProtocol, NotATrial
from ownmark.records.catalogue import edited, entry
from ownmark.records.entry import trial_of
from ownmark.records.field_hints import CALLED, hint_of_protocol, hint_of_trial, meant, plain
from ownmark.records.protocol import FIELDS
from ownmark.records.trial import TRIAL_FIELDS


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("cones", "Did you mean gates or course? `ownmark protocol show` lists every field."),
        ("Tire  Pressure", "Did you mean tyre_pressure_kpa? "),  # its label, whatever its name
        ("chair", "Did you mean device? "),  # device_used is a trial's
        ("gate", "Did you mean gates or gate_spacing_m? "),
        ("body-weight", "Did you mean body_weight_support_percent? "),
        ("work", "Did you mean work_s"),  # its own field before those that only hold the word
        ("room temperature", "That is written down of a trial: `ownmark trial add … --set temperature_c=…`. `ownmark"),
        ("temprature", "That is written down of a trial: `ownmark trial add … --set temperature_c=…`. "),
        ("meds", "That is written down of a trial: `ownmark trial add … --set medicines=…`. "),
        ("xyzzy", "`ownmark protocol show` lists every field."),
    ],
)
def test_a_mistyped_field_of_a_protocol_is_told_what_it_can_mean(typed, told):
    with pytest.raises(NotAProtocol) as refused:
        edited(entry("power-chair-slalom"), {typed: "6"})
    assert refused.value.mend.startswith(told)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("room temperature", "Did you mean temperature_c? "),
        ("temprature", "Did you mean temperature_c? "),  # once, not by its short name too
        ("noets", "Did you mean notes? "),
        ("rpe", "Did you mean exertion_scale or exertion? "),
        ("surface", "That is fixed in the protocol: `ownmark protocol edit NAME --set surface=…`. "),
        ("tire pressure", "That is fixed in the protocol: `ownmark protocol edit NAME --set tyre_pressure_kpa=…`. "),
        ("xyzzy", "It has gates_passed."),
    ],
)
def test_a_mistyped_field_of_a_trial_is_told_what_it_can_mean(typed, told):
    with pytest.raises(NotATrial) as refused:
        trial_of({typed: "6", "code": "A1"}, entry("power-chair-slalom"), today=date(2026, 5, 1))
    assert refused.value.mend.startswith(told)


def test_every_other_word_is_one_of_a_field_that_there_is():
    known = {*FIELDS, *TRIAL_FIELDS, "exertion"}
    assert not {name for names in CALLED.values() for name in names} - known
    assert all(plain(word) == word for word in CALLED)


def test_three_at_most_are_named_and_none_where_nothing_is_near():
    assert meant("rest", FIELDS) == ("rest_s", "rest_posture", "rest_minutes")
    assert meant("xyzzy", FIELDS) == ()
    assert meant("", FIELDS) == ()
    assert hint_of_protocol("xyzzy", FIELDS) == hint_of_trial("xyzzy", TRIAL_FIELDS, {}) == ""
