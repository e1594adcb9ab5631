"""A class's day over the worker: its rows, answers and stored trials as plain JSON; what kills a job loses that job."""

import os
import signal
import threading
import time

import pytest
from ownmark.errors import ReaderFault
from ownmark.records import open_logbook
from ownmark.records.day_entry import RowDraft
from ownmark.web import jobs
from ownmark.web.day_jobs import answer, rows, store
from ownmark.web.jobs import State
from ownmark.web.measuring import Measuring

from tests.makers.class_days import NINE, table
from tests.records.day.class_day import AFTER, DAY, TODAY, ClassDay
from tests.records.plan.bag import trial_bpm

WHEN = {"day": DAY.isoformat(), "zone": None, "today": TODAY.isoformat()}
AT = AFTER.replace(tzinfo=None).isoformat()


@pytest.fixture
def day(tmp_path):
    with open_logbook(tmp_path / "logbook.db") as logbook:
        yield ClassDay(logbook, "TH-11", "BF-07")


@pytest.fixture
def state(day):
    found = State(day.logbook.place.shown)
    yield found
    found.close()


def with_two(day):
    for code, strap, seed in (("TH-11", "S3", 1), ("BF-07", "S4", 2)):
        day.listed(code, strap)
        day.pressed(code)
        day.recorded(f"{strap}.csv", seed=seed)


def states(found):
    return [(each["code"], each["state"]) for each in found["rows"]]


def test_a_day_is_planned_answered_and_stored_by_the_worker(day):
    with_two(day)
    lost = day.dropped("holiday.csv", b"not,a\nrecording,x\n")
    measuring = Measuring(day.logbook.place.shown, deadline_s=60)
    try:
        found = measuring.ask("rows", **WHEN)
        assert states(found) == [("TH-11", "ready"), ("BF-07", "ready"), (None, "asked")]
        assert (found["missing"], found["last"]) == ([], day.now.last)
        asked = found["rows"][2]["asked"][0]
        put = next(each for each in asked["answers"] if each["kind"] == "put_away")
        assert put["file"] == lost
        given = measuring.ask("answer", **WHEN, row=lost, turn=1, mark=asked["mark"], at=AT, **put)
        assert given == {"entered": True}
        told = measuring.ask("store", **WHEN, row="TH-11", turn=1, at=AT)
        assert told == {
            "state": "added",
            "trial": 1,
            "asked": [],
            "refused": None,
            "unseen": [],
            "left_out": [],
        }
        assert states(measuring.ask("rows", **WHEN)) == [("TH-11", "stored"), ("BF-07", "ready")]
    finally:
        measuring.close()
    assert day.logbook.trial(1).code == "TH-11"


def test_a_file_leaves_the_folder_with_the_last_row_that_needs_it(day, state):
    with_two(day)
    first, second = (each["files"][0] for each in rows(state, **WHEN)["rows"])
    store(state, **WHEN, row="TH-11", turn=1, at=AT)
    assert day.received.path(DAY, first) is None
    assert day.received.path(DAY, second) is not None
    store(state, **WHEN, row="BF-07", turn=1, at=AT)
    assert list(day.received.days()) == []
    assert states(rows(state, **WHEN)) == [("TH-11", "stored"), ("BF-07", "stored")]
    assert rows(state, **WHEN)["missing"] == []


def test_a_row_that_is_asked_is_not_stored_and_what_is_asked_at_the_end_comes_with_its_words(day, state):
    day.listed("TH-11", "S3")
    assert store(state, **WHEN, row="TH-11", turn=1, at=AT)["state"] == "not ready"
    assert store(state, **WHEN, row="XX-99", turn=1, at=AT)["state"] == "not ready"
    day.pressed("TH-11")
    day.recorded("S3.csv")
    day.enter(RowDraft(texts={"notes": "Maria was tired"}), "TH-11")
    told = store(state, **WHEN, row="TH-11", turn=1, at=AT)
    assert (told["state"], told["trial"], told["refused"]["kind"]) == ("to confirm", None, "NotConfirmed")
    (asked,) = told["asked"]
    (word,) = asked["answers"]
    assert (asked["code"], word) == ("guard.named", {"kind": "confirm", "value": "keep-text", "file": ""})
    assert answer(state, **WHEN, row="TH-11", turn=1, mark=asked["mark"], at=AT, **word) == {"entered": True}
    assert store(state, **WHEN, row="TH-11", turn=1, at=AT)["state"] == "added"


def test_an_answer_to_what_is_not_asked_enters_nothing(day, state):
    day.listed("TH-11", "S3")
    (row,) = rows(state, **WHEN)["rows"]
    (asked,) = row["asked"]
    before = day.now.last
    for wrong in (
        {"mark": "x", **asked["answers"][0]},
        {"mark": asked["mark"], "kind": "so", "value": "", "file": ""},
        {"mark": asked["mark"], **asked["answers"][0], "value": "99"},
    ):
        assert answer(state, **WHEN, row="TH-11", turn=1, at=AT, **wrong) == {"entered": False}
    known = {"mark": asked["mark"], **asked["answers"][0]}
    assert answer(state, **WHEN, row="XX-99", turn=1, at=AT, **known) == {"entered": False}
    assert answer(state, **WHEN, row="TH-11", turn=2, at=AT, **known) == {"entered": False}
    assert day.now.last == before


def test_a_file_that_is_not_on_this_computer_is_told(day, state):
    day.listed("TH-11", "S3")
    file = day.recorded("S3.csv")
    day.received.remove(file)
    assert rows(state, **WHEN)["missing"] == [file]


def test_a_day_is_planned_anew_only_if_something_changed(day, state, monkeypatch):
    with_two(day)
    read = []
    monkeypatch.setattr(
        State, "see", lambda self, path, zone, see=State.see: read.append(path) or see(self, path, zone)
    )
    first = rows(state, **WHEN)
    assert rows(state, **WHEN) == first
    assert len(read) == 2
    day.pressed("TH-11")
    rows(state, **WHEN)
    assert len(read) == 4


def test_files_in_memory_are_bounded_and_the_oldest_goes(day, state, monkeypatch):
    with_two(day)
    paths = list(day.received.paths(DAY).values())
    sizes = [jobs._size(state.see(path, None)) for path in paths]
    assert all(size > 1000 for size in sizes)
    state._seen.clear()
    monkeypatch.setattr(jobs, "MOST_BYTES", sum(sizes) - 1)
    for path in paths:
        state.see(path, None)
    assert [key[0] for key in state._seen] == [str(paths[1])]
    monkeypatch.setattr(jobs, "MOST_BYTES", sum(sizes))
    state.see(paths[0], None)
    assert len(state._seen) == 2


def test_of_many_jobs_at_once_the_one_that_is_killed_is_lost_alone(day, tmp_path):
    """Six files at once; the worker is killed in the middle of one of them."""
    long = np_table(tmp_path / "long.csv", 3_000_000)
    files = [long, *(written(tmp_path, seed) for seed in range(5))]
    measuring = Measuring(day.logbook.place.shown, deadline_s=120)
    found, lost = [], []

    def ask(path):
        try:
            found.append((path, measuring.ask("see", path=str(path), zone=None)["usable"]))
        except ReaderFault:
            lost.append(path)

    try:
        measuring.warm_up()
        running = [threading.Thread(target=ask, args=(path,)) for path in files]
        running[0].start()
        time.sleep(0.3)  # the long one is being read
        for each in running[1:]:
            each.start()
        first = measuring.process_id
        os.kill(first, signal.SIGKILL)
        for each in running:
            each.join()
        assert lost == [long]
        assert sorted(found) == sorted((path, True) for path in files[1:])
        assert measuring.process_id != first
    finally:
        measuring.close()


def written(folder, seed):
    path = folder / f"S{seed}.csv"
    path.write_bytes(table(trial_bpm(seed), NINE))
    return path


def np_table(path, count):
    """A table that takes seconds to read."""
    with path.open("w") as file:
        file.write("time_s,heart_rate\n")
        file.writelines(f"{n / 100:.2f},{100 + n % 50}\n" for n in range(count))
    return path
