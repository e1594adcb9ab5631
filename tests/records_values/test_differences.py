"""Set-up differences: which forbid a comparison, which leave a note, which cannot be checked."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark.records.catalogue import edited
from ownmark.records.change.differences import differences
from ownmark.records.protocol import FIELDS
from ownmark.records.rules import MUST, SHOULD
from ownmark.records.trial import TRIAL_FIELDS

from tests.records_values.makers import CRANK, trial

FULL = {
    "assistance_given": "independent",
    "assistance_usual": "independent",
    "prompts_per_min": 1.0,
    "device_used": "crank 2",
    "device_settings": "level 3",
    "sensor_used": "chest strap",
    "medicines": "none",
    "hours_since_medicine": 4.0,
    "time_of_day": "09:30",
    "temperature_c": 20.0,
    "footwear_orthoses": "gloves",
    "tested_by": "teacher",
    "practice_trials": 1,
    "battery_start_percent": 90.0,
    "humidity_percent": 50.0,
    "health": "well",
    "exertion_scale": "0-10",
}
OTHER = {
    "assistance_given": "partial physical",
    "assistance_usual": "gesture",
    "prompts_per_min": 4.0,
    "device_used": "crank 5",
    "device_settings": "level 4",
    "sensor_used": "armband",
    "medicines": "beta-blocker since May",
    "hours_since_medicine": 8.0,
    "time_of_day": "14:00",
    "temperature_c": 24.0,
    "footwear_orthoses": "none",
    "tested_by": "therapist",
    "practice_trials": 0,
    "battery_start_percent": 40.0,
    "humidity_percent": 80.0,
    "health": "tired",
    "exertion_scale": "6-20",
}


def found(before, after):
    return {each.field: each for each in differences(before, after)[0]}


def test_the_same_set_up_has_no_difference_and_nothing_unchecked():
    planned = edited(CRANK, {"assistance": "independent"})
    listed, notes = differences([trial(0, protocol=planned, **FULL)], [trial(30, protocol=planned, **FULL)])
    assert listed == ()
    assert notes == ()


@pytest.mark.parametrize("field", TRIAL_FIELDS)
def test_each_fact_of_a_trial_is_listed_and_forbids_only_if_it_must_match(field):
    listed = found([trial(0, **FULL)], [trial(30, **{**FULL, field: OTHER[field]})])
    assert list(listed) == [field]
    assert listed[field].forbids == (TRIAL_FIELDS[field].rule == MUST)
    assert listed[field].label == TRIAL_FIELDS[field].label


@pytest.mark.parametrize(
    ("field", "before", "after"),
    [
        ("speed_setting", "2", "3"),
        ("tyre_pressure_kpa", "400", "200"),
        ("cadence_target_per_min", "50", "60"),
        ("resistance", "20 W", "30 W"),
        ("pulse_sensor", "chest", "optical"),
        ("assistance", "independent", "full physical"),
        ("rest_minutes", "5", "2"),
        ("instructions", "Go.", "Go fast."),
        ("seating", "own", "moulded"),
        ("title", "A", "B"),
        ("cautions", "A.", "B.; C."),
    ],
)
def test_each_planned_fact_is_listed_with_both_values_and_forbids_only_if_it_must_match(field, before, after):
    listed = found(
        [trial(0, protocol=edited(CRANK, {field: before}))], [trial(30, protocol=edited(CRANK, {field: after}))]
    )
    assert list(listed) == [field]
    assert listed[field].baseline.startswith(before.split(";")[0])
    assert listed[field].retest.startswith(after.split(";")[0])
    assert listed[field].forbids == (FIELDS[field].rule == MUST)


def test_three_degrees_are_the_same_room_and_more_are_not():
    # Trade tables 12, comparability rule: temperature within 3 degrees.
    assert not found([trial(0, temperature_c=20.0)], [trial(30, temperature_c=23.0)])
    assert found([trial(0, temperature_c=20.0)], [trial(30, temperature_c=23.1)])["temperature_c"].rule == SHOULD


def test_two_hours_are_the_same_time_of_day_and_more_are_not():
    assert not found([trial(0, time_of_day="09:00")], [trial(30, time_of_day="11:00")])
    assert found([trial(0, time_of_day="09:00")], [trial(30, time_of_day="11:01")])


def test_a_fact_known_for_one_trial_only_is_unknown_and_forbids_nothing():
    listed, notes = differences([trial(0, device_settings="level 3")], [trial(30)])
    (one,) = listed
    assert (one.baseline, one.retest, one.forbids) == ("level 3", "unknown", False)
    assert any("not known whether it matched: settings of the device" in note for note in notes)


def test_what_no_trial_has_written_down_is_told_where_much_hangs_on_it():
    _, notes = differences([trial(0)], [trial(30)])
    (note,) = notes
    for label in ("assistance allowed", "highest assistance given", "medicines that act on the heart"):
        assert label in note
    # An arm crank stands: its floor does not matter.
    assert "surface" not in note


def test_capitals_and_a_full_stop_are_no_other_set_up():
    before, after = edited(CRANK, {"resistance": "Level 3"}), edited(CRANK, {"resistance": " level  3."})
    assert not found([trial(0, protocol=before)], [trial(30, protocol=after)])


def test_baselines_that_differ_among_themselves_forbid_too():
    listed = found([trial(0, device_settings="a"), trial(1, device_settings="b")], [trial(30, device_settings="a")])
    assert listed["device_settings"].forbids
    assert (listed["device_settings"].baseline, listed["device_settings"].retest) == ("a, then b", "a")


def test_a_work_phase_of_a_fixed_length_must_have_been_as_long():
    # The crank protocol fixes 360 s: 2 % are 7.2 s.
    assert not found([trial(0, work_s=360.0)], [trial(30, work_s=353.0)])
    assert found([trial(0, work_s=360.0)], [trial(30, work_s=352.0)])["work_done_s"].forbids
    open_ended = edited(CRANK, {"duration_s": "", "work_s": ""})
    assert not found([trial(0, work_s=360.0, protocol=open_ended)], [trial(30, work_s=500.0, protocol=open_ended)])


def test_what_forbids_stands_first():
    listed, _ = differences(
        [trial(0, **FULL)], [trial(30, **{**FULL, "health": "tired", "medicines": "new", "tested_by": "nurse"})]
    )
    assert [each.rule for each in listed] == ["must match", "should match", "told"]


@given(st.dictionaries(st.sampled_from(sorted(FULL)), st.booleans()))
def test_swapping_the_sides_swaps_the_columns(chosen):
    facts = {name: (OTHER if other else FULL)[name] for name, other in chosen.items()}
    one, two = found([trial(0, **FULL)], [trial(30, **facts)]), found([trial(0, **facts)], [trial(30, **FULL)])
    assert {name: (each.baseline, each.retest, each.forbids) for name, each in one.items()} == {
        name: (each.retest, each.baseline, each.forbids) for name, each in two.items()
    }
