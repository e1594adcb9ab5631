"""What was typed for a row: checked field by field, laid over the proposal, never equal to it."""

from datetime import date

import pytest
from ownmark.records.day.typed_row import Around, Typed, checked, drafted, without_shifts
from ownmark.records.day_entry import RowDraft
from ownmark.records.plan.seen import see
from ownmark.records.protocol import HandMeasure
from ownmark.records.store.logbook import open_logbook

from tests.records.day.class_day import DAY, ClassDay
from tests.records.store import made

ONE, TWO = "a" * 64, "b" * 64
GRIP = made.protocol(
    "grip",
    hand_measures=(HandMeasure(name="grip_force", unit="kg", kind="other", sides=True, attempts=2, how="Squeeze."),),
    primary_figure="grip_force",
    better="higher",
)
PROPOSED = {"code": "TH-11", "protocol": "slalom", "on": "2026-03-02", "work": "@9:01:30-@9:04:30"}


def around(**more):
    protocols = {"slalom": made.protocol("slalom"), "grip": GRIP}
    return Around("TH-11", date(2026, 3, 9), protocols, frozenset({ONE, TWO}), **more)


def faults(texts=None, draft=None, **more):
    found = checked(Typed(texts or {}, **more), draft or RowDraft(), PROPOSED, around())
    return set(found.faults), found.good


@pytest.mark.parametrize(
    ("texts", "wrong"),
    [
        ({"battery_start_percent": "100"}, set()),
        ({"battery_start_percent": "100.5"}, {"battery_start_percent"}),
        ({"battery_end_percent": "-1"}, {"battery_end_percent"}),
        ({"on": "2026-03-09"}, set()),
        ({"on": "2026-03-10"}, {"on"}),
        ({"on": "spring"}, {"on"}),
        ({"work": "nine-ten"}, {"work"}),
        ({"work": "01:30-04:30"}, set()),
        ({"recovery": "04:30"}, {"recovery"}),
        ({"stops": "@9:02:00 tired; 9:03 wheel loose"}, set()),
        ({"stops": "tired"}, {"stops"}),
        ({"practice": "perhaps"}, {"practice"}),
        ({"tested_by": "PE teacher"}, set()),
        ({"exertion": "13", "exertion_scale": "6-20"}, set()),
        ({"exertion": "13", "exertion_scale": "0-10"}, {"exertion"}),
        ({"exertion_scale": "0-10"}, set()),
        ({"exertion": "3"}, {"exertion"}),
        ({"protocol": "crawl"}, {"protocol"}),
        ({"code": "BF-07"}, {"code"}),
        ({"files": "S3.csv"}, {"files"}),
        ({"notes": "call home: someone@example.org"}, {"notes"}),
        ({"stops": "9:03 write to someone@example.org"}, {"stops"}),
    ],
)
def test_each_field_is_refused_alone_by_what_refuses_the_trial(texts, wrong):
    found, good = faults(texts)
    assert found == wrong
    assert set(good.texts) == set(texts) - wrong


def test_results_go_by_the_protocol_with_its_sides():
    typed = {"protocol": "grip", "grip_force left 1": "12.5", "grip_force right 2": "9,5"}
    assert faults(typed) == (set(), Typed(typed))
    assert faults({"protocol": "grip", "grip_force 1": "12"})[0] == {"grip_force 1"}
    assert faults({"protocol": "grip", "grip_force left 1": "strong"})[0] == {"grip_force left 1"}
    assert faults({"grip_force left 1": "12"})[0] == {"grip_force left 1"}  # slalom measures nothing by hand
    assert faults({"protocol": "", "grip_force left 1": "12"})[0] == set()  # waits for its protocol


def test_what_stands_in_the_draft_is_checked_with_what_is_typed():
    draft = RowDraft(texts={"protocol": "grip", "grip_force left 1": "12"})
    assert faults({"notes": "windy"}, draft) == (set(), Typed({"notes": "windy"}))
    assert faults({"protocol": "slalom"}, draft) == ({"grip_force left 1"}, Typed({"protocol": "slalom"}))
    assert faults({"protocol": "slalom", "grip_force left 1": ""}, draft)[0] == set()


def test_what_a_row_says_of_its_files_is_no_field_of_the_trial():
    draft = RowDraft(texts={"columns": "heart_rate=bpm", "offset": "S3.csv=5"}, answers=("yes",))
    assert faults({"notes": "windy"}, draft) == (set(), Typed({"notes": "windy"}))


def test_what_is_wrong_together_leaves_nothing():
    typed = {"protocol": "grip", "grip_force left 1": "12; 13", "grip_force left 2": "14", "notes": "windy"}
    found = checked(Typed(typed), RowDraft(), PROPOSED, around())
    assert set(found.faults) == {""}
    assert found.good == Typed()


def test_files_and_their_clocks_are_checked():
    assert faults(files=(ONE, TWO)) == (set(), Typed(files=(ONE, TWO)))
    assert faults(files=(ONE, "c" * 64)) == ({"files"}, Typed())
    assert faults(files=()) == (set(), Typed(files=()))
    assert faults(shifts={ONE: "+1:00:00", TWO: "1:00"}) == ({TWO}, Typed(shifts={ONE: "+1:00:00"}))
    assert faults(shifts={ONE: "", "name.fit": "+5"}) == ({"name.fit"}, Typed(shifts={ONE: ""}))


def test_a_phase_is_read_on_the_rows_own_recording(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        day = ClassDay(logbook, "TH-11")
        sha256 = day.recorded("S3.csv")
        (seen,) = see([day.received.path(DAY, sha256)], None, logbook.holders)
        backwards = {"work": "@9:04:30-@9:01:30"}
        assert not checked(Typed(backwards), RowDraft(), PROPOSED, around()).faults
        found = checked(Typed(backwards), RowDraft(), PROPOSED, around(recording=seen.recording))
        assert set(found.faults) == {"work"}


def test_only_what_differs_from_the_proposal_is_typed_over_it():
    draft = RowDraft(texts={"notes": "windy", "work": "01:00-02:00"}, files=(ONE,), shifts={ONE: 5.0}, checked=("m",))
    good = Typed(
        {"work": " @9:01:30-@9:04:30 ", "on": "2026-03-03 ", "protocol": "", "health": ""}, (TWO,), {TWO: "-37"}
    )
    new = drafted(draft, good, PROPOSED)
    assert new.texts == {"notes": "windy", "on": "2026-03-03", "protocol": ""}
    assert (new.files, new.shifts, new.checked) == ((TWO,), {ONE: 5.0, TWO: -37.0}, ("m",))
    assert drafted(draft, Typed(), PROPOSED) == draft
    assert drafted(draft, Typed(files=()), PROPOSED).files == ()
    assert drafted(draft, Typed(shifts={ONE: ""}), PROPOSED).shifts == {ONE: 0.0}


def test_the_shift_of_a_file_that_was_typed_last_counts(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        day = ClassDay(logbook, "TH-11", "BF-07")
        day.enter(RowDraft(shifts={ONE: 5.0, TWO: 6.0}, texts={"notes": "windy"}), "BF-07")
        day.enter(RowDraft(shifts={ONE: 7.0}), "TH-11")
        day.enter(RowDraft(shifts={TWO: 8.0}, turn=2), "TH-11")
        found = without_shifts(day.now, "TH-11", 1, [ONE])
        assert {key: draft.shifts for key, draft in found.items()} == {("BF-07", 1): {TWO: 6.0}}
        assert found["BF-07", 1].texts == {"notes": "windy"}
        assert set(without_shifts(day.now, "TH-11", 1, [TWO])) == {("BF-07", 1), ("TH-11", 2)}
        assert without_shifts(day.now, "TH-11", 1, []) == {}


def test_a_clock_that_is_said_to_be_right_is_left_alone(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        day = ClassDay(logbook, "TH-11")
        day.listed("TH-11", "S3")
        sha256 = day.recorded("S3.csv")
        day.enter(RowDraft(shifts={sha256: 60.0}), "TH-11")
        ahead = day.row("TH-11")
        day.enter(RowDraft(shifts={sha256: 0.0}), "TH-11")
        assert ahead.texts["work"] != day.row("TH-11").texts["work"]
