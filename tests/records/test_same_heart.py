"""One strap exported in several formats is one heart: it is not given to two students as two recordings."""

from datetime import date, datetime

import numpy as np
import pytest
from ownmark.errors import LogbookDamaged, NotATrial
from ownmark.records import Trial, open_logbook, restore
from ownmark.records.adding import keep
from ownmark.records.class_day import add_class
from ownmark.records.class_table import read_class
from ownmark.records.mending import Edit, edit_trial
from ownmark.records.removing import put_back, remove_trial
from ownmark.records.store.backup import back_up
from ownmark.sample_streams import writers

from tests.records.batch.district import CODES, batch, school
from tests.records.store import made

NINE = datetime(2026, 10, 6, 9, 0)  # noqa: DTZ001 as a strap states it
TODAY = date(2026, 11, 20)
ONE = {"rest_phase": "01:00-03:00", "work": "03:00-08:00", "recovery": "08:00-10:00"}
TWO = {"rest_phase": "12:00-14:00", "work": "14:00-19:00", "recovery": "19:00-21:00"}
HEAD = "code,protocol,files,date,rest,work,recovery,confirmed\n"


def beats(seed):
    """Ten minutes of one wearer."""
    rng = np.random.default_rng(seed)
    return np.r_[np.full(180, 80), np.full(300, 130), np.full(170, 95)] + rng.integers(-4, 5, 650)


@pytest.fixture
def strap(tmp_path):
    """A strap that two wore after each other, as three programs export it; one of the three was saved again."""
    bpm = np.r_[beats(1), np.zeros(10, int), beats(2)]
    rows = "time_s,heart_rate\n" + "".join(f"{second},{value}\n" for second, value in enumerate(bpm))
    data = {
        "S.fit": writers.fit(NINE, bpm, (1310,), 0),
        "S.tcx": writers.tcx(NINE, bpm, (1310,)),
        "S.csv": rows.encode(),
        "saved-again.csv": rows.rstrip("\n").encode(),
    }
    for name, each in data.items():
        (tmp_path / name).write_bytes(each)
    return tmp_path


@pytest.fixture
def two(logbook):
    return school(logbook, zone=None)


def added(logbook, code, path, phases):
    fields = {
        "code": code,
        "protocol": "slalom-gym",
        "protocol_version": 1,
        "on": NINE.date(),
        "confirmed": ("yes", "checked", "start"),
    }
    return keep(logbook, Trial(**fields, **phases), [path]).trial


NAMES = ("S.fit", "S.tcx", "S.csv", "saved-again.csv")


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)
@pytest.mark.parametrize("first", NAMES)
@pytest.mark.parametrize("second", NAMES)
def test_the_second_student_is_refused_and_told_what_mends_it(two, strap, first, second):
    number = added(two, CODES[0], strap / first, ONE).id
    if first == second:
        added(two, CODES[1], strap / second, TWO)
        return
    with pytest.raises(NotATrial, match=f"reading for reading, that of trial {number} of another student") as refused:
        added(two, CODES[1], strap / second, TWO)
    assert f"the file that trial {number} was made from" in str(refused.value)
    assert two.count()["trials"] == 1
    added(two, CODES[1], strap / first, TWO)  # what mends it


def test_rows_of_a_batch_and_of_class_add_are_refused_whatever_their_order(two, strap, another_place):
    for place, (code, phases, name) in enumerate(((CODES[0], ONE, "S.fit"), (CODES[1], TWO, "S.csv"))):
        row = f"{code},slalom-gym,{name},2026-10-06,{','.join(phases.values())},yes;checked;start\n"
        (strap / f"{place}.csv").write_text(HEAD + row)
    found = batch(two, strap / "1.csv", strap / "0.csv")
    assert (found.counts["added"], found.counts["refused"]) == (1, 1)
    (row,) = [row for each in found.tables for row in each.open_rows]
    assert (row.row.code, "reading for reading" in row.sentence) == (CODES[0], True)
    with open_logbook(another_place) as other:
        school(other, zone=None)
        states = [
            outcome.state
            for name in ("0.csv", "1.csv")
            for outcome in add_class(other, read_class(strap / name), day=None, today=TODAY)
        ]
    assert states == ["added", "refused"]


def test_a_file_that_is_added_later_is_looked_at_and_what_is_removed_or_restored_is_found(two, strap, another_place):
    number = added(two, CODES[0], strap / "S.fit", ONE).id
    other = two.add_trial(made.trial(CODES[1], distance_m=300.0, hand_results=())).id
    with pytest.raises(NotATrial, match="reading for reading"):
        edit_trial(two, other, Edit(add=(strap / "S.csv",)), why="forgotten", today=TODAY)
    back_up(two, strap / "all.zip")
    with open_logbook(another_place) as again:
        restore(again, strap / "all.zip")
        with pytest.raises(NotATrial, match="reading for reading"):
            added(again, CODES[1], strap / "S.csv", TWO)
    remove_trial(two, number, why="wrong")
    added(two, CODES[1], strap / "S.csv", TWO)
    assert two.count()["trials"] == 2


def test_a_removed_trial_is_not_put_back_beside_its_heart_in_another_students_record(two, strap):
    number = added(two, CODES[0], strap / "S.fit", TWO).id
    remove_trial(two, number, why="it was the other one")
    added(two, CODES[1], strap / "S.csv", TWO)
    with pytest.raises(NotATrial, match="reading for reading"):
        put_back(two, number)
    assert [each.code for each in two.trials()] == [CODES[1]]


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)
def test_a_student_s_own_heart_in_two_files_is_not_refused(two, strap):
    added(two, CODES[0], strap / "S.fit", ONE)
    added(two, CODES[0], strap / "S.csv", TWO)
    assert two.count()["trials"] == 2


def test_a_key_of_a_heart_that_changed_on_the_disk_is_told(two, strap):
    """A key is looked up by its value: one of another trial, or of other bytes, must not answer for it."""
    with two as logbook:
        added(logbook, CODES[0], strap / "S.fit", ONE)
        with logbook.writing() as connection:
            connection.exec_driver_sql("UPDATE hearts SET seal = seal + 1")
        with pytest.raises(LogbookDamaged):
            added(logbook, CODES[1], strap / "S.tcx", TWO)
