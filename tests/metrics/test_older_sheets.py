"""What older sheets kept in English: the codes that decisions look at."""

import pytest
from ownmark.metrics.message_codes import code_of, without
from ownmark.metrics.messages.heart_rate import (
    NOT_ASKED,
    NOT_PERFORMED,
    WHY_NO_HEART_RATE,
    WHY_NO_TARGET,
    note_one_error,
)
from ownmark.metrics.messages.movement import NOTE_CHAIR, WHY_NO_CLOCK, note_moving
from ownmark.metrics.older_sheets import OLDER, current_form
from ownmark.words.message import ENGLISH, Message

CHAIR = "the chair moving: floor, speed and motor, not the student's effort"
SHIFT = "12 s if the maximum is one standard error lower, 9 s if it is higher"


@pytest.mark.parametrize(
    ("sentence", "code"),
    [
        ("Not given: there is no movement sensor in the recording.", "why.no_movement_sensor"),
        ("Not given: there is no gyroscope in the recording.", "why.no_gyroscope"),
        ("Not given: no target band is set (--target).", "why.no_target"),
        ("Not given: no ceiling is set (--ceiling).", "why.no_ceiling"),
        ("Not given: no distance is known (--distance).", "why.no_distance"),
        ("Not given: its constants are split by sex (--sex), which is not stated.", "why.no_sex"),
        (
            "No crossing of the ceiling was recorded. Heart rate was measured for 97 % of the recording.",
            "why.no_crossing",
        ),
        ("Not given: there is no heart rate in the recording.", "why.no_heart_rate"),
        ("Not given: nothing lays heart rate and movement on one clock to within a few seconds.", "why.no_clock"),
        ("entered", "basis.rest_entered"),
        ("was entered by hand", ENGLISH),
        (CHAIR, "note.chair"),
        (SHIFT, "note.one_error"),
        ("Not read: 12 bytes behind the last record.", "unread.older"),
        ("Not given: no resting rate is known.", ENGLISH),
    ],
)
def test_an_older_sentence_has_the_code_that_it_would_have_now(sentence, code):
    assert code_of(Message.english(sentence)) == code


def test_a_message_keeps_its_own_code():
    assert code_of(WHY_NO_CLOCK) == "why.no_clock"
    assert code_of(Message.of("found.rest_high", bpm=120.0)) == "found.rest_high"
    assert code_of(None) == ""


def test_a_message_of_now_needs_no_sentence_to_be_known():
    for message in (WHY_NO_HEART_RATE, WHY_NO_TARGET, WHY_NO_CLOCK, NOTE_CHAIR, note_one_error(12.0, 9.0)):
        assert code_of(message) == message.code


def test_notes_are_left_out_by_their_codes_and_older_ones_part_by_part():
    codes = frozenset({"note.one_error", "note.chair"})
    moving = note_moving(12.0)
    assert without((NOTE_CHAIR, moving, note_one_error(12.0, 9.0)), codes) == (moving,)
    assert without((Message.english(f"{CHAIR}; above 40; {SHIFT}"),), codes) == (Message.english("above 40"),)
    assert without((Message.english(f"{CHAIR}; {SHIFT}"), moving), codes) == (moving,)
    assert without((Message.english("a; b"),), codes) == (Message.english("a; b"),)
    assert without((), codes) == ()


def test_no_crossing_was_looked_for_and_all_else_was_not_performed():
    assert {"why.no_crossing"} == NOT_ASKED - NOT_PERFORMED
    assert NOT_PERFORMED < NOT_ASKED


def page(**provenance):
    """A sheet of the schema before, as little as there can be."""
    return {"schema": OLDER, "figures": {}, "cautions": ["a"], "provenance": {"notes": ["b"], **provenance}}


def message(text):
    return {"code": ENGLISH, "values": {"text": {"text": text}}}


def test_each_sentence_of_an_older_sheet_becomes_a_message():
    found = current_form(
        page(
            phases={"how": "given"},
            basis={"rest_how": "entered", "maximum_how": None},
            clocks=[{"note": "n"}, {"note": ""}, {"notes": []}],
        ),
        "now",
    )
    assert found == {
        "schema": "now",
        "figures": {},
        "cautions": [message("a")],
        "provenance": {
            "notes": [message("b")],
            "phases": {"decided": message("given")},
            "basis": {"rest_from": message("entered")},
            "clocks": [{"notes": [message("n")]}, {}, {"notes": []}],
        },
    }


@pytest.mark.parametrize(
    ("figure", "read"),
    [
        ({"value": 1, "note": "x", "basis": "y"}, {"value": 1, "rests_on": [message("y")], "notes": [message("x")]}),
        ({"value": None, "note": "x"}, {"value": None, "reason": message("x")}),
        ({"value": 1, "note": None, "basis": None}, {"value": 1}),
        ({"value": None, "note": "x", "reason": {"code": "c"}}, {"value": None, "reason": {"code": "c"}}),
        ({"value": None, "note": "x", "notes": []}, {"value": None, "notes": []}),
        (
            {"value": 1, "note": "x", "notes": [], "basis": "y", "rests_on": []},
            {"value": 1, "notes": [], "rests_on": []},
        ),
    ],
)
def test_english_beside_a_figure_is_read_only_where_there_is_no_message(figure, read):
    assert current_form({"schema": "now", "figures": {"f": figure}}, "now") == {"schema": "now", "figures": {"f": read}}


def test_the_very_first_sheets_stated_no_schema_and_others_keep_theirs():
    assert current_form({}, "now") == {"schema": "now"}
    assert current_form({"schema": "later"}, "now") == {"schema": "later"}


def test_what_is_no_sheet_is_left_for_the_model_to_refuse():
    for found in ([], "x", None, 3, {"schema": 1, "figures": [], "cautions": 3, "provenance": 4}):
        assert current_form(found, "now") == found
    inner = {"schema": "x", "figures": {"f": 1}, "provenance": {"phases": 1, "basis": [], "clocks": [2], "notes": 3}}
    assert current_form(inner, "now") == inner


@pytest.mark.parametrize("name", ["note", "basis"])
def test_a_number_is_no_sentence(name):
    for more in ({}, {"notes": [], "rests_on": []}, {"reason": None}):
        with pytest.raises(ValueError, match="is a sentence"):
            current_form({"figures": {"f": {"value": 1, name: 3, **more}}}, "now")
