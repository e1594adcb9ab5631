"""The list of a class as entries of its day."""

from datetime import date, datetime

import pytest
from ownmark.errors import NotATrial
from ownmark.records.day.from_table import entries_of_list, is_class_list
from ownmark.records.day.happened import happened
from ownmark.records.protocol import Protocol
from ownmark.sample_streams import FOLDER

DAY = date(2026, 11, 18)
AT = datetime(2026, 11, 18, 15, 0)  # noqa: DTZ001 the clock of the wall
RESTED = Protocol(
    name="crank", title="C", component="aerobic", primary_figure="reserve_mean", better="higher", rest_s=300
)
PLAIN = Protocol(name="dash", title="D", component="aerobic", primary_figure="reserve_mean", better="higher")
PROTOCOLS = {"crank": RESTED, "dash": PLAIN}


def day_of(tmp_path, text, name="class.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    assert is_class_list(path)
    numbered = [
        each.__class__(each.day, each.at, each.what, each.code, number)
        for number, each in enumerate(entries_of_list(path, DAY, AT, PROTOCOLS), start=1)
    ]
    return happened(DAY, numbered)


def test_a_start_is_that_of_the_rest_where_the_protocol_has_one(tmp_path):
    found = day_of(tmp_path, "code,protocol,strap,start\nth-1,crank,S1,9:03\nTH-2,dash,,9:10:30\nTH-3,crank,,\n")
    pressed = {each.code: {kind: f"{m.at:%H:%M:%S}" for kind, m in each.presses.items()} for each in found.tests}
    assert pressed == {"TH-1": {"rest_begins": "09:03:00"}, "TH-2": {"work_begins": "09:10:30"}, "TH-3": {}}
    assert [(each.code, each.protocol, each.strap) for each in found.tests] == [
        ("TH-1", "crank", "S1"),
        ("TH-2", "dash", None),
        ("TH-3", "crank", None),
    ]


def test_work_by_the_clock_is_pressed_and_work_by_presses_of_the_recording_stays_typed(tmp_path):
    found = day_of(tmp_path, "code,protocol,work,notes\nTH-1,crank,9:08-9:16,wheel loose\nTH-2,dash,lap 2,\n")
    first, second = found.tests
    assert [f"{first.presses[kind].at:%H:%M}" for kind in ("work_begins", "work_ends")] == ["09:08", "09:16"]
    assert [each.text for each in first.notes] == ["wheel loose"]
    assert (second.presses, second.draft.texts) == ({}, {"work": "lap 2"})


def test_the_list_of_the_bag_is_one_and_its_recordings_are_none():
    bag = FOLDER / "bag"
    assert is_class_list(bag / "class.csv")
    assert not any(map(is_class_list, bag.glob("*.fit")))
    assert not is_class_list(FOLDER / "TH-12-loose-strap.csv")
    entries = entries_of_list(bag / "class.csv", DAY, AT, {"crank-8-min": RESTED})
    assert len({each.code for each in entries}) == 12


def test_a_student_in_two_rows_is_refused(tmp_path):
    path = tmp_path / "class.csv"
    path.write_text("code,protocol\nTH-1,crank\nTH-1,dash\n", encoding="utf-8")
    with pytest.raises(NotATrial):
        entries_of_list(path, DAY, AT, {})


@pytest.mark.parametrize("text", ["", "code\nTH-1\n", "time,bpm\n0,80\n", "\x00\x01"])
def test_what_is_no_list_of_a_class_is_left_to_the_readers(tmp_path, text):
    path = tmp_path / "class.csv"
    path.write_text(text, encoding="utf-8")
    assert not is_class_list(path)
