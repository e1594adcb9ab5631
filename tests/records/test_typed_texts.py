"""What stands in a field is read back as the same."""

from datetime import date

import pytest
from ownmark.records.entry import TYPED, edited
from ownmark.records.protocol import Protocol
from ownmark.records.trial import HandResult, Stop, Trial
from ownmark.records.typed_texts import parts_of_header, result_header, result_texts, typed_text

from tests.records.store import made

TODAY = date(2026, 6, 1)


def full() -> Trial:
    return Trial(
        code="TH-11",
        protocol="slalom",
        protocol_version=1,
        on=date(2026, 5, 12),
        time_of_day="09:30",
        rest_phase="0:00-4:00",
        work="@09:35:00-@09:47:00",
        zone="+02:00",
        assisted=("7:00-7:30", "8:00-8:10"),
        margin_s=60,
        distance_m=312.5,
        notes="slid forward twice",
        exertion=13,
        exertion_scale="6-20",
        battery_start_percent=80,
        assistance_given="independent",
        stops=(Stop(at="09:14", why="wheel loose"), Stop(at="10:02", why="tired")),
        temperature_c=-2.5,
        medicines="none",
        practice_trials=2,
        practice=True,
    )


def test_fields_as_people_type_them():
    trial = full()
    assert typed_text(trial, "stops") == "09:14 wheel loose; 10:02 tired"
    assert typed_text(trial, "assisted") == "7:00-7:30; 8:00-8:10"
    assert typed_text(trial, "distance_m") == "312.5"
    assert typed_text(trial, "exertion") == "13"
    assert typed_text(trial, "on") == "2026-05-12"
    assert typed_text(trial, "practice") == "yes"
    assert typed_text(trial.model_copy(update={"practice": False}), "practice") == "no"
    assert typed_text(trial, "recovery") == ""
    assert typed_text(trial, "health") == ""


def test_what_nobody_types_has_no_text():
    with pytest.raises(ValueError, match="nobody types files"):
        typed_text(full(), "files")


def test_every_field_reads_back_as_the_same(protocol):
    trial = full().model_copy(update={"protocol": protocol.name})
    texts = {name: typed_text(trial, name) for name in TYPED if name not in ("code", "protocol", "confirmed")}
    assert edited(trial, protocol, {name: text for name, text in texts.items() if text}, today=TODAY) == trial


def test_hand_results_by_their_columns():
    results = (HandResult(name="reach", value=31.5, side="left", attempt=2), HandResult(name="laps", value=4))
    trial = full().model_copy(update={"hand_results": results})
    assert result_texts(trial) == {"reach left 2": "31.5", "laps 1": "4"}
    assert result_header("laps", None, 1) == "laps 1"


@pytest.fixture
def protocol() -> Protocol:
    return made.protocol("slalom")


@pytest.mark.parametrize(
    ("header", "parts"),
    [
        ("grip_force left 2", ("grip_force", "left", 2)),
        ("grip_force right 1", ("grip_force", "right", 1)),
        ("reach 10", ("reach", None, 10)),
        ("reach", None),
        ("2", None),
        ("reach left", None),
        ("reach middle 1", None),
        ("reach left right 1", None),
    ],
)
def test_a_column_is_taken_apart_as_it_was_put_together(header, parts):
    assert parts_of_header(header) == parts
    assert parts is None or result_header(*parts) == header
