"""Set-up differences: which forbid a comparison, which leave a note, which cannot be checked."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ownmark.records.catalogue import edited
from ownmark.records.change.borrowed import Borrowed
from ownmark.records.change.comparison import compare
from ownmark.records.change.differences import alike, differences
from ownmark.records.protocol import FIELDS, Protocol
from ownmark.records.rules import MUST, SHOULD
from ownmark.records.trial import TRIAL_FIELDS, Trial

from tests.records.makers import CRANK, REACH, reached, sentences, trial

LENT = Borrowed(1.0, 4.0, 20)

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


def told(before, after):
    """Differences, and the notes in English."""
    listed, notes = differences(before, after)
    return listed, tuple(sentences(notes))


def found(before, after):
    return {each.field: each for each in differences(before, after)[0]}


def test_the_same_set_up_has_no_difference_and_nothing_unchecked():
    planned = edited(CRANK, {"assistance": "independent"})
    listed, notes = told([trial(0, protocol=planned, **FULL)], [trial(30, protocol=planned, **FULL)])
    assert listed == ()
    assert notes == ()


@pytest.mark.parametrize(
    ("planned", "used"), [("device", {"device_used": "own chair"}), ("assistance", {"assistance_given": "independent"})]
)
def test_what_each_trial_says_itself_was_written_down(planned, used):
    plan = edited(CRANK, {"device": "", "assistance": ""})
    word = f"{planned}_planned" if planned in TRIAL_FIELDS else planned
    assert word in unchecked([trial(0, protocol=plan)], [trial(30, protocol=plan)])
    assert word not in unchecked([trial(0, protocol=plan, **used)], [trial(30, protocol=plan, **used)])
    assert word not in unchecked([trial(0, protocol=plan, **used)], [trial(30, protocol=plan)])


def test_what_only_one_trial_says_is_told_as_written_down_for_one_side():
    plan = edited(CRANK, {"device": "", "assistance": "independent"})
    listed = found([trial(0, protocol=plan, device_used="own chair")], [trial(30, protocol=plan)])
    assert (listed["device_used"].half, listed["device_used"].forbids) == (True, False)


def unchecked(before, after):
    """The words of what could not be checked."""
    _, notes = differences(before, after)
    return [word for each in notes if each.code == "remark.unchecked" for word in dict(each.values)["fields"]]


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
    assert not found([trial(0, time_of_day="09:30")], [trial(30, time_of_day="07:30")])
    assert found([trial(0, time_of_day="09:30")], [trial(30, time_of_day="07:29")])


def test_a_fact_known_for_one_trial_only_is_unknown_and_forbids_nothing():
    listed, notes = told([trial(0, device_settings="level 3")], [trial(30)])
    (one,) = listed
    assert (one.baseline, one.retest, one.forbids, one.asked, one.half) == ("level 3", "unknown", False, False, True)
    assert notes[0] == (
        "Written down for one trial only, so it is not known whether it matched: settings of the device."
    )
    # What should match is told too, with its value.
    listed, notes = told([trial(0)], [trial(30, temperature_c=27.0)])
    assert (listed[0].half, listed[0].rule) == (True, SHOULD)
    assert notes[0] == "This should match and is written down for one trial only: room temperature (unknown; 27 °C)."
    # Unknown once among the baselines and the same where it is known.
    listed, _ = differences([trial(0, device_used="a"), trial(1)], [trial(30, device_used="a")])
    assert (listed[0].baseline, listed[0].retest, listed[0].half) == ("a, then unknown", "a", True)
    # Unknown in the same way on both sides is no difference between them.
    assert not found([trial(0, device_used="a"), trial(1)], [trial(30, device_used="a"), trial(31)])


def test_typed_words_that_may_be_the_same_are_asked_and_not_forbidden():
    listed, notes = told([trial(0, device_settings="load 3")], [trial(30, device_settings="load mark 3")])
    (one,) = listed
    assert (one.forbids, one.asked, one.half, one.rule) == (False, True, False, MUST)
    assert not any("not known whether" in note for note in notes)
    judged = compare([trial(0, 40, device_settings="load 3")], [trial(30, 20, device_settings="load mark 3")], LENT)
    assert (judged.comparable, judged.verdict) == (True, "decrease beyond day-to-day variation")
    assert judged.sentence.endswith(
        "First ask whether this was the same both times: settings of the device (load 3; load mark 3). If it was not,"
        " the two cannot be compared."
    )
    planned = [edited(CRANK, {"resistance": text}) for text in ("55 W", "55 W belt")]
    assert found([trial(0, protocol=planned[0])], [trial(30, protocol=planned[1])])["resistance"].asked
    # Words chosen from a list say what they say: "arms" is not a short form of "arms and legs".
    chosen = [edited(CRANK, {"work_mode": text}) for text in ("arms", "arms and legs")]
    one = found([trial(0, protocol=chosen[0])], [trial(30, protocol=chosen[1])])["work_mode"]
    assert (one.forbids, one.asked) == (True, False)
    # What should match is never asked: it leaves its note.
    should = found([trial(0, footwear_orthoses="gloves")], [trial(30, footwear_orthoses="leather gloves")])
    assert not should["footwear_orthoses"].asked


def test_every_fact_that_is_typed_freely_is_marked_so_and_no_other():
    checked = {"equation", "target", "time_of_day", "primary_figure"}  # one way of writing each, by their validators
    free = {
        name
        for model in (Protocol, Trial)
        for name, field in model.model_fields.items()
        if field.annotation in (str, str | None) and name not in checked
    }
    rules = {**FIELDS, **TRIAL_FIELDS}
    assert {name for name, rule in rules.items() if rule.typed} == free & set(rules)


def test_a_medicine_known_for_one_trial_only_is_asked_where_heart_rate_is_compared():
    for before, after in (({}, {"medicines": "beta-blocker"}), ({"medicines": "none"}, {})):
        one = found([trial(0, **before)], [trial(30, **after)])["medicines"]
        assert (one.forbids, one.asked, one.half) == (False, True, True)
    judged = compare([trial(0, 40)], [trial(30, 20, medicines="beta-blocker")], LENT)
    asked = "First ask whether this was the same both times: medicines that act on the heart (unknown; beta-blocker)"
    assert asked in judged.sentence
    assert found([trial(0, medicines="none")], [trial(30, medicines="beta-blocker")])["medicines"].forbids
    # By hand nothing of the heart is measured: it stays a note.
    one = found([reached(0, 20, 20)], [reached(30, 20, 20, medicines="beta-blocker")])["medicines"]
    assert (one.asked, one.half) == (False, True)
    moved = edited(CRANK, {"primary_figure": "moving_time", "better": "higher"})
    one = found([trial(0, protocol=moved)], [trial(30, protocol=moved, medicines="none")])["medicines"]
    assert not one.asked
    both = edited(CRANK, {"primary_figure": "heart_rate_moving_rise", "better": "lower"})
    assert found([trial(0, protocol=both)], [trial(30, protocol=both, medicines="none")])["medicines"].asked


def test_a_condition_that_acts_on_heart_rate_and_stands_on_one_sheet_only_is_asked():
    medicine = ("rate-limiting-medicine",)
    one = found([trial(0)], [trial(30, conditions=medicine)])["heart_conditions"]
    assert (one.forbids, one.asked, one.half, one.rule) == (False, True, False, MUST)
    assert (one.baseline, one.retest) == ("none", "beta-blocker or another medicine that limits heart rate")
    assert not found([trial(0, conditions=medicine)], [trial(30, conditions=medicine)])
    # Where both trials say what was taken, that is compared itself.
    assert not found([trial(0, medicines="x")], [trial(30, medicines="x", conditions=medicine)])
    assert "heart_conditions" in found([trial(0, medicines="x")], [trial(30, conditions=medicine)])
    # A pacemaker is no medicine.
    both = [trial(0, medicines="none")], [trial(30, medicines="none", conditions=("pacemaker", "latex-allergy"))]
    assert found(*both)["heart_conditions"].retest == "pacemaker"
    # Conditions that leave heart rate alone are no difference, nor are those of a trial without a sheet known.
    assert not found([trial(0)], [trial(30, conditions=("latex-allergy", "spina-bifida"))])
    half = found([without_sheet(0)], [trial(30, conditions=medicine)])["heart_conditions"]
    assert (half.half, half.asked, half.forbids) == (True, False, False)
    assert not found([without_sheet(0)], [without_sheet(30, conditions=medicine)])
    two = [trial(0, conditions=("pacemaker", "heart-transplant"))], [trial(30, conditions=("heart-transplant",))]
    assert found(*two)["heart_conditions"].baseline == "heart transplant; pacemaker"
    moved = edited(CRANK, {"primary_figure": "moving_time", "better": "higher"})
    assert not found([trial(0, protocol=moved)], [trial(30, protocol=moved, conditions=medicine)])


def without_sheet(day, **facts):
    return replace(trial(day, **facts), basis=None)


ON_HEART = "This changes heart rate by itself, so the change may come from it: "
ON_ANY = "This should match and did not, so the change may come from it: "


@pytest.mark.parametrize(
    ("before", "after", "note"),
    [
        ({"temperature_c": 20.0}, {"temperature_c": 27.0}, ON_HEART + "room temperature (20 °C; 27 °C)."),
        ({}, {"health": "ill, a cold"}, ON_HEART + "health on the day (unknown; ill, a cold)."),
        ({"hours_since_medicine": 2}, {"hours_since_medicine": 8}, ON_HEART + "time since the medicine (2 h; 8 h)."),
        ({"practice_trials": 0}, {"practice_trials": 3}, ON_ANY + "practice trials before (0; 3)."),
        ({"tested_by": "teacher"}, {"tested_by": "nurse"}, ON_ANY + "who ran the test (teacher; nurse)."),
    ],
)
def test_what_may_explain_a_change_leaves_a_note_and_the_verdict(before, after, note):
    judged = compare([trial(0, 40, **before)], [trial(30, 20, **after)], LENT)
    assert (judged.comparable, judged.verdict) == (True, "decrease beyond day-to-day variation")
    assert note in sentences(judged.notes)
    assert "Ask first" not in judged.sentence


def test_heat_is_like_any_other_difference_for_a_figure_that_is_not_of_the_heart():
    before, after = [reached(0, 20, 20, temperature_c=20.0)], [reached(30, 20, 20, temperature_c=27.0)]
    assert ON_ANY + "room temperature (20 °C; 27 °C)." in told(before, after)[1]
    # Both kinds at once are two notes.
    one, other = trial(0, temperature_c=20.0, time_of_day="09:00"), trial(30, temperature_c=27.0, time_of_day="13:00")
    notes = told([one], [other])[1]
    assert notes[:2] == (
        ON_HEART + "room temperature (20 °C; 27 °C).",
        ON_ANY + "time of day (09:00; 13:00).",
    )


def test_what_no_trial_has_written_down_is_told_where_much_hangs_on_it():
    _, notes = told([trial(0)], [trial(30)])
    (note,) = notes
    for label in ("assistance allowed", "highest assistance given", "medicines that act on the heart"):
        assert label in note
    once = told([trial(0, assistance_given="gesture")], [trial(30)])[1]
    assert not any("Never" in each and "highest assistance given" in each for each in once)
    # An arm crank stands: its floor does not matter.
    assert "surface" not in note


def test_capitals_and_a_full_stop_are_no_other_set_up():
    before, after = edited(CRANK, {"resistance": "Level 3"}), edited(CRANK, {"resistance": " level  3."})
    assert not found([trial(0, protocol=before)], [trial(30, protocol=after)])


def test_baselines_that_differ_among_themselves_forbid_too():
    listed = found([trial(0, device_settings="a"), trial(1, device_settings="b")], [trial(30, device_settings="a")])
    assert listed["device_settings"].forbids
    assert (listed["device_settings"].baseline, listed["device_settings"].retest) == ("a, then b", "a")


def test_what_forbids_stands_first_and_then_what_must_match():
    given = {**FULL, "device_settings": None, "medicines": "new", "tested_by": "nurse", "humidity_percent": 80.0}
    listed, _ = differences([trial(0, **FULL)], [trial(30, **given, conditions=("pacemaker",))])
    assert [(each.field, each.forbids, each.rule) for each in listed] == [
        ("medicines", True, "must match"),
        ("device_settings", False, "must match"),
        ("heart_conditions", False, "must match"),
        ("tested_by", False, "should match"),
        ("humidity_percent", False, "told"),
    ]


def test_the_baselines_protocol_decides_what_the_figure_and_its_set_up_are():
    summed = edited(CRANK, {"primary_figure": "moving_time", "better": "higher", "duration_s": "", "work_s": ""})
    mean = edited(CRANK, {"duration_s": "", "work_s": ""})
    assert found([trial(0, protocol=summed, work_s=480.0)], [trial(30, protocol=mean, work_s=720.0)])[
        "work_done_s"
    ].forbids
    assert not found([trial(0, protocol=mean, work_s=480.0)], [trial(30, protocol=summed, work_s=720.0)])[
        "work_done_s"
    ].forbids
    moved = edited(CRANK, {"place": "overground"})
    assert not any("surface" in note for note in told([trial(0)], [trial(30, protocol=moved)])[1])
    assert any("surface" in note for note in told([trial(0, protocol=moved)], [trial(30)])[1])


def test_other_hand_measures_are_another_test():
    twice = (REACH.hand_measures[0].model_copy(update={"attempts": 1}),)
    other = REACH.model_copy(update={"hand_measures": twice})
    row = found([reached(0, 20)], [reached(30, 20, protocol=other)])["hand_measures"]
    assert row.forbids
    how = REACH.hand_measures[0].how
    assert row.baseline == f"forward_reach, cm, range by ruler, True, 3, {how}, 0.5"
    assert row.retest == f"forward_reach, cm, range by ruler, True, 1, {how}, 0.5"


@given(st.dictionaries(st.sampled_from(sorted(FULL)), st.booleans()))
def test_swapping_the_sides_swaps_the_columns(chosen):
    facts = {name: (OTHER if other else FULL)[name] for name, other in chosen.items()}
    one, two = found([trial(0, **FULL)], [trial(30, **facts)]), found([trial(0, **facts)], [trial(30, **FULL)])
    assert {name: (each.baseline, each.retest, each.forbids) for name, each in one.items()} == {
        name: (each.retest, each.baseline, each.forbids) for name, each in two.items()
    }


def test_two_values_of_a_fact_are_alike_if_they_are_the_same_or_both_unknown():
    resistance, load = FIELDS["resistance"], FIELDS["load_kg"]
    assert alike("Level 3", "level-3", resistance)
    assert not alike("load 3", "load mark 3", resistance)
    assert alike(None, "", resistance)
    assert not alike(None, "level 3", resistance)
    assert not alike("level 3", "", resistance)
    assert alike(2.0, 2.0, load)
    assert not alike(2.0, 2.1, load)
    assert not alike("arms", "arms and legs", FIELDS["work_mode"])
