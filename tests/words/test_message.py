"""A message goes through JSON, pickle and pydantic and comes back equal."""

import json
import pickle
from datetime import date

import pytest
from ownmark.words import Message, Quoted, message
from pydantic import BaseModel, ConfigDict, ValidationError

WHY = Message.of("why.pacemaker", condition="pacemaker")
FULL = Message.of(
    "figure.example",
    share=61.2,
    count=3,
    on=date(2026, 5, 12),
    file=Quoted("strap 7.fit"),
    names=("time_light", "time_moderate"),
    why=WHY,
    each=(WHY, 2, Quoted("a")),
)

SAID = Message.of("ceiling.set", bpm=120.0, role=Quoted("school nurse"))


class Holder(BaseModel):
    model_config = ConfigDict(frozen=True)
    reason: Message | None = None
    notes: tuple[Message, ...] = ()


def test_a_message_comes_back_equal_through_json():
    text = json.dumps(FULL.to_json())
    assert Message.from_json(json.loads(text)) == FULL


def test_the_json_is_code_and_values_with_dates_and_quotations_tagged():
    assert FULL.to_json()["code"] == "figure.example"
    assert FULL.to_json()["values"] == {
        "share": 61.2,
        "count": 3,
        "on": {"date": "2026-05-12"},
        "file": {"text": "strap 7.fit"},
        "names": ["time_light", "time_moderate"],
        "why": {"code": "why.pacemaker", "values": {"condition": "pacemaker"}},
        "each": [{"code": "why.pacemaker", "values": {"condition": "pacemaker"}}, 2, {"text": "a"}],
    }


def test_a_message_comes_back_equal_through_pickle_and_is_hashable():
    assert pickle.loads(pickle.dumps(FULL)) == FULL
    assert hash(pickle.loads(pickle.dumps(FULL))) == hash(FULL)


def test_pydantic_holds_messages_and_gives_them_back_from_its_json():
    assert Holder.model_validate({"reason": FULL.to_json()}) == Holder(reason=FULL)
    held = Holder(reason=Message.english("Not given."), notes=(SAID,))
    assert Holder.model_validate_json(held.model_dump_json()) == held
    assert json.loads(held.model_dump_json())["notes"] == [
        {
            "code": "ceiling.set",
            "values": {"bpm": 120.0, "role": {"text": "school nurse"}},
            "text": "Ceiling 120 /min, set by the school nurse.",
        }
    ]
    assert json.loads(held.model_dump_json(round_trip=True))["notes"] == [SAID.to_json()]
    assert "values" in Holder.model_json_schema()["properties"]["notes"]["items"]["properties"]


@pytest.mark.parametrize("found", [{}, {"code": 3}, {"code": "a", "values": [1]}, {"code": "a", "values": {"b": None}}])
def test_what_is_no_message_is_refused(found):
    with pytest.raises(ValueError, match="message"):
        Message.from_json(found)


def test_a_value_is_read_by_its_name():
    assert FULL["count"] == 3
    with pytest.raises(KeyError):
        FULL["none"]


class _Holder(BaseModel):
    message: Message


def read(values, code="a.b"):
    return _Holder.model_validate_json(json.dumps({"message": {"code": code, "values": values}})).message


def test_equal_messages_of_a_sheet_are_one_object_and_a_digit_makes_another():
    assert read({"bpm": 72, "how": {"code": "c"}}) is read({"bpm": 72, "how": {"code": "c"}})
    assert type(read({"bpm": 72})["bpm"]) is int
    assert type(read({"bpm": 72.0})["bpm"]) is float
    assert read({"on": {"date": "2026-01-02"}}) != read({"on": {"text": "2026-01-02"}})
    assert read({"bpm": 72}) != read({"bpm": 72}, code="a.c")
    assert read({}).values == ()


def test_messages_are_forgotten_before_there_are_too_many(monkeypatch):
    monkeypatch.setattr(message, "_MOST_READ", 2)
    first = read({"bpm": 1001})
    assert read({"bpm": 1002}) != first
    assert len(message._read) <= 2
    assert read({"bpm": 1003}) != first
    assert len(message._read) <= 2
    assert read({"bpm": 1001}) == first


@pytest.mark.parametrize("found", [{"code": ["a"]}, {"code": "a", "values": 3}, {"values": {}}, [], "a"])
def test_a_model_refuses_what_is_no_message(found):
    with pytest.raises(ValidationError):
        _Holder.model_validate({"message": found})


def test_who_writes_a_model_may_change_what_was_written():
    holder = _Holder(message=Message.of("note.peak"))
    for mode in ("python", "json"):
        page = holder.model_dump(mode=mode)
        page["message"]["text"] = page["message"]["values"]["x"] = "spoilt"
        assert holder.model_dump(mode=mode)["message"] == Message.of("note.peak").with_text()
