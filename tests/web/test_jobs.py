"""A class's day over the worker: its rows, answers and stored trials as plain JSON; what kills a job loses that job."""

import os
import signal
import threading

import pytest
from ownmark.errors import ReaderFault
from ownmark.records import open_logbook
from ownmark.records.day_entry import RowDraft
from ownmark.web.jobs import state as kept
from ownmark.web.jobs.day import answer, confirm, rows, store
from ownmark.web.jobs.state import State
from ownmark.web.measuring import Measuring

from tests.makers.class_days import NINE, table
from tests.records.day.class_day import AFTER, DAY, TODAY, ClassDay
from tests.records.plan.bag import trial_bpm
from tests.web.served import stop, unread, until

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


def asking(day):
    """What the page hands on with every job of the day: its files as they lie there."""
    lying = day.received.paths(DAY)
    here = [each for each in day.now.files if each.put_away is None and each.sha256[:32] in lying]
    return {**WHEN, "paths": {each.sha256: str(lying[each.sha256[:32]]) for each in here}}


def states(found):
    return [(each["code"], each["state"]) for each in found["rows"]]


def test_a_day_is_planned_answered_and_stored_by_the_worker(day):
    with_two(day)
    lost = day.dropped("holiday.csv", b"not,a\nrecording,x\n")
    measuring = Measuring(day.logbook.place.shown, deadline_s=60)
    try:
        found = measuring.ask("rows", **asking(day))
        assert states(found) == [("TH-11", "ready"), ("BF-07", "ready"), (None, "asked")]
        nobody = found["rows"][2]
        asked = nobody["asked"][0]
        (place,) = [n for n, each in enumerate(asked["answers"]) if (each["kind"], each["file"]) == ("put_away", lost)]
        at = {"row": nobody["key"], "mark": asked["mark"], "at": AT}
        assert measuring.ask("answer", **asking(day), **at, place=place)
        assert not measuring.ask("answer", **asking(day), **at, place=place)
        told = measuring.ask("store", **asking(day), rows=["TH-11 1"], at=AT)["TH-11 1"]
        assert (told["state"], told["trial"], told["asked"]) == ("added", 1, [])
        assert states(measuring.ask("rows", **asking(day))) == [("TH-11", "stored"), ("BF-07", "ready")]
    finally:
        measuring.close()
    assert day.logbook.trial(1).code == "TH-11"


def test_a_row_that_is_asked_is_not_stored_and_what_is_asked_at_the_end_comes_with_its_words(day, state):
    day.listed("TH-11", "S3")
    assert store(state, **asking(day), rows=["TH-11 1", "XX-99 1"], at=AT) == {}
    day.pressed("TH-11")
    day.recorded("S3.csv")
    day.enter(RowDraft(texts={"notes": "Maria was tired"}), "TH-11")
    told = store(state, **asking(day), rows=["TH-11 1"], at=AT)["TH-11 1"]
    assert (told["state"], told["trial"]) == ("to confirm", None)
    (asked,) = told["asked"]
    assert asked["asked"]["code"] == "guard.named"
    assert asked["answers"] == [{"kind": "confirm", "value": "keep-text", "file": ""}]
    assert confirm(state, **asking(day), row="TH-11 1", word="keep-text", at=AT)
    assert store(state, **asking(day), rows=["TH-11 1"], at=AT)["TH-11 1"]["state"] == "added"


def test_an_answer_to_what_is_not_asked_enters_nothing(day, state):
    day.listed("TH-11", "S3")
    (row,) = rows(state, **asking(day))["rows"]
    (asked,) = row["asked"]
    before = day.now.last
    for wrong in ({"mark": "x", "place": 0}, {"mark": asked["mark"], "place": -1}, {"mark": asked["mark"], "place": 2}):
        assert not answer(state, **asking(day), row="TH-11 1", at=AT, **wrong)
    for row in ("XX-99 1", "TH-11 2"):
        assert not answer(state, **asking(day), row=row, at=AT, mark=asked["mark"], place=0)
    assert day.now.last == before


def test_a_day_is_planned_anew_only_if_something_changed(day, state, monkeypatch):
    with_two(day)
    looked = []
    see = State.see
    monkeypatch.setattr(State, "see", lambda self, path, zone: looked.append(path) or see(self, path, zone))
    first = rows(state, **asking(day))
    assert rows(state, **asking(day)) == first
    assert len(looked) == 2
    day.pressed("TH-11")
    rows(state, **asking(day))
    assert len(looked) == 4


def test_files_in_memory_are_bounded_and_the_oldest_goes(day, state, monkeypatch):
    with_two(day)
    paths = list(day.received.paths(DAY).values())
    sizes = [kept._size(state.see(path, None)) for path in paths]
    assert all(size > 1000 for size in sizes)
    state._seen.clear()
    monkeypatch.setattr(kept, "MOST_BYTES", sum(sizes) - 1)
    for path in paths:
        state.see(path, None)
    assert [key[0] for key in state._seen] == [str(paths[1])]
    monkeypatch.setattr(kept, "MOST_BYTES", sum(sizes))
    state.see(paths[0], None)
    assert len(state._seen) == 2


def test_of_many_jobs_at_once_the_one_that_is_killed_is_lost_alone(day, tmp_path):
    """Six files at once; the worker is stopped and killed with the first of them in its hands."""
    files = [written(tmp_path, seed) for seed in range(6)]
    measuring = Measuring(day.logbook.place.shown, deadline_s=120)
    found, lost = [], []

    def ask(path):
        try:
            found.append((path, measuring.ask("see", path=str(path), zone=None)["usable"]))
        except ReaderFault:
            lost.append(path)

    try:
        measuring.ask("warm_up")
        worker = measuring.process_id
        stop(worker)
        running = [threading.Thread(target=ask, args=(path,)) for path in files]
        running[0].start()
        assert until(lambda: unread(measuring._worker.stdin))  # it is asked for the first one
        for each in running[1:]:
            each.start()
        os.kill(worker, signal.SIGKILL)
        for each in running:
            each.join()
        assert lost == files[:1]
        assert sorted(found) == [(path, True) for path in files[1:]]
        assert measuring.process_id != worker
    finally:
        measuring.close()


def written(folder, seed):
    path = folder / f"S{seed}.csv"
    path.write_bytes(table(trial_bpm(seed), NINE))
    return path
