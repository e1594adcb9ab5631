"""The logbook is away for a while, full, or shut; the workers go; somebody presses Ctrl-C."""

import os
import signal

import pytest
from ownmark.errors import DiskFull, LogbookLocked, LogbookReadOnly, NoLogbook, WorkersGone
from ownmark.executors import Lost
from ownmark.executors.messages import EXECUTOR_DIED, EXECUTOR_TOO_LONG, executor_raised
from ownmark.executors.serial import Serial
from ownmark.records import open_logbook
from ownmark.records import patience as waiting
from ownmark.records.batch import writer
from ownmark.records.batch.stop import Stop
from ownmark.records.batch.work import done
from ownmark.records.patience import Patience

from tests.outside.parts import POSTGRESQL
from tests.records.batch.district import batch, contents, school, simple
from tests.records.batch.test_meanwhile import Between
from tests.records.store.server import Server


@pytest.fixture(scope="module")
def own_server():
    running = Server(POSTGRESQL.need(), settings=())
    yield running
    running.stop()


def refusing(count, reason):
    """Work that is refused so often before it is done."""
    left = [reason] * count

    def work():
        if left:
            raise left.pop()
        return "done"

    return work


def test_what_is_away_is_tried_again_with_pauses_and_told_once():
    told, slept = [], []
    patience = Patience(away=told.append, sleep=slept.append)
    assert patience.until_done(refusing(6, LogbookLocked("locked"))) == "done"
    assert slept == [0.5, 1.0, 2.0, 5.0, 5.0, 5.0]
    assert len(told) == 1
    assert patience.until_done(refusing(1, NoLogbook("away"))) == "done"
    assert len(told) == 2


def test_it_is_waited_for_some_minutes_and_no_longer():
    slept = []
    with pytest.raises(NoLogbook):
        Patience(sleep=slept.append, most_s=8.5).until_done(refusing(100, NoLogbook("away")))
    assert slept == [0.5, 1.0, 2.0, 5.0]  # 8.5 s: the next try is the last
    assert waiting.AWAY_S == 300


def test_nobody_waits_who_was_asked_to_stop_and_nothing_else_is_tried_again():
    with pytest.raises(LogbookLocked):
        Patience(hurried=lambda: True).until_done(refusing(1, LogbookLocked("locked")))
    for reason in (DiskFull("full"), LogbookReadOnly("shut")):
        with pytest.raises(type(reason)):
            Patience(sleep=lambda _: pytest.fail("waited")).until_done(refusing(1, reason))


def test_a_server_that_is_started_again_loses_and_doubles_nothing(own_server, tmp_path):
    simple(tmp_path, 6)
    away, place = [], own_server.url()
    with open_logbook(place) as logbook:

        def then(turn):
            if turn == 3:
                own_server.kill()

        def sleep(_):
            if own_server.process is None:
                own_server.start()

        patience = Patience(away=away.append, sleep=sleep)
        found = batch(school(logbook), tmp_path, executor=Between(then), patience=patience)
        assert dict(found.counts) == {"added": 6}
        assert [trial.notes for trial in logbook.trials()] == [f"turn {turn}" for turn in range(6)]
    assert len(away) == 1


@pytest.mark.parametrize("kept", [True, False])
def test_a_connection_that_ends_while_it_is_being_kept_is_looked_at_again(kept, own_server, tmp_path, monkeypatch):
    from ownmark.records.store import opening

    simple(tmp_path, 3)
    real, cut = opening._commit, []

    def ended(transaction, place):
        if len(cut) == 1:
            if kept:
                real(transaction, place)
            cut.append(1)
            raise NoLogbook("the server ended the connection.")
        real(transaction, place)

    with open_logbook(own_server.url()) as logbook:
        school(logbook)
        monkeypatch.setattr(opening, "_commit", ended)
        cut.append(0)
        found = batch(logbook, tmp_path, patience=Patience(sleep=lambda _: None))
        assert len(cut) == 2
        assert dict(found.counts) == {"added": 3}
        assert [trial.id for trial in logbook.trials()] == [1, 2, 3]


def test_another_program_that_holds_the_file_is_waited_for(tmp_path):
    # The row waits in the writer: it is asked again, and not its worker.
    with open_logbook(tmp_path / "logbook.db", wait_s=0.05) as logbook, open_logbook(tmp_path / "logbook.db") as other:
        simple(tmp_path / "t", 2)
        school(logbook)
        held, away, pauses = other.writing(), [], []

        def sleep(seconds):
            pauses.append(seconds)
            if len(pauses) == 3:
                held.__exit__(None, None, None)

        executor = Between(lambda turn: held.__enter__() if turn == 2 else None)
        patience = Patience(away=away.append, sleep=sleep)
        found = batch(logbook, tmp_path / "t", executor=executor, patience=patience)
        assert dict(found.counts) == {"added": 2}
        assert pauses == [0.5, 1.0, 2.0]
        assert [type(each) for each in away] == [LogbookLocked]
        assert executor.results == 2


def test_a_full_disk_ends_it_with_what_is_in_and_a_second_call_does_the_rest(tmp_path, monkeypatch):
    monkeypatch.setattr(writer, "AT_ONCE", 4)
    simple(tmp_path / "t", 20)
    with open_logbook(tmp_path / "logbook.db") as logbook:
        school(logbook)
        with logbook.writing() as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
            connection.exec_driver_sql(f"PRAGMA max_page_count = {pages + 60}")
        found = batch(logbook, tmp_path / "t")
        assert isinstance(found.stopped, DiskFull)
        assert not found.clean
        there = found.counts["added"]
        assert 0 < there < 20
        assert there % 4 == 0
        (table,) = found.tables
        assert (table.rows, dict(table.counts)) == (20, {"added": there})
        assert [trial.notes for trial in logbook.trials()] == [f"turn {turn}" for turn in range(there)]
        assert found.as_json()["stopped"] == "disk_full"
    with open_logbook(tmp_path / "logbook.db") as logbook:  # room was made
        again = batch(logbook, tmp_path / "t")
        assert dict(again.counts) == {"there already": there, "added": 20 - there}
        rest = contents(logbook)
    with open_logbook(tmp_path / "undisturbed.db") as logbook:
        batch(school(logbook), tmp_path / "t")
        assert contents(logbook)[:2] == rest[:2]


def test_no_row_waits_long_for_others(logbook, tmp_path, monkeypatch):
    simple(tmp_path, 4)
    monkeypatch.setattr(writer, "AT_ONCE_S", 0.0)
    there = []
    looking = Between(lambda _: there.append(len(list(logbook.trials()))))
    assert dict(batch(school(logbook), tmp_path, executor=looking).counts) == {"added": 4}
    assert there == [0, 1, 2, 3]


def test_a_logbook_that_may_not_be_written_ends_it_at_once(tmp_path, monkeypatch):
    simple(tmp_path / "t", 3)
    with open_logbook(tmp_path / "logbook.db") as logbook:
        school(logbook)
        with logbook.writing() as connection:
            connection.exec_driver_sql("PRAGMA query_only = ON")
        found = batch(logbook, tmp_path / "t")
        assert isinstance(found.stopped, LogbookReadOnly)
        assert found.tables == []


class Losing(Serial):
    """Loses the result of one row."""

    def __init__(self, lost):
        self.lost = lost

    def map(self, work, jobs):
        for number, result in enumerate(super().map(work, jobs), start=1):
            yield self.lost if number == 2 and work is done else result


@pytest.mark.parametrize(
    ("lost", "code"),
    [
        (Lost(EXECUTOR_DIED), "reader_fault"),
        (Lost(EXECUTOR_TOO_LONG), "reader_fault"),
        (Lost(executor_raised("KeyError"), KeyError("x")), ""),
    ],
)
def test_a_file_that_ends_its_worker_is_refused_and_put_aside(lost, code, logbook, tmp_path):
    simple(tmp_path, 3)
    found = batch(school(logbook), tmp_path, executor=Losing(lost))
    assert dict(found.counts) == {"added": 2, "refused": 1}
    (row,) = found.tables[0].open_rows
    assert (row.row.number, row.code, row.fault) == (3, code, lost.fault)
    assert [copy.name for copy in found.tables[0].copies] == ["F1001.csv"]
    assert "Nothing of it was added" in row.sentence
    assert dict(batch(logbook, tmp_path).counts) == {"there already": 2, "added": 1}


class Gone(Serial):
    """Whose workers go away."""

    def map(self, work, jobs):
        for number, result in enumerate(super().map(work, jobs), start=1):
            if number == 3:
                raise WorkersGone("they are gone.")
            yield result


def test_workers_that_do_not_come_back_leave_what_was_measured_in_the_logbook(logbook, tmp_path):
    simple(tmp_path, 5)
    found = batch(school(logbook), tmp_path, executor=Gone())
    assert isinstance(found.stopped, WorkersGone)
    assert dict(found.counts) == {"added": 2}
    assert dict(batch(logbook, tmp_path).counts) == {"there already": 2, "added": 3}


def test_one_press_stores_what_is_measured_and_ends(logbook, tmp_path):
    simple(tmp_path, 6)
    stop = Stop()

    def then(turn):
        if turn == 3:
            with pytest.raises(KeyboardInterrupt):
                stop.pressed()  # a worker is waited for
            raise KeyboardInterrupt

    found = batch(school(logbook), tmp_path, executor=Between(then), stop=stop)
    assert found.by_hand
    assert dict(found.counts) == {"added": 2}
    assert found.as_json()["stopped"] == "interrupted"
    assert len(list(logbook.trials())) == 2
    assert dict(batch(logbook, tmp_path).counts) == {"there already": 2, "added": 4}


def test_a_press_while_it_is_stored_lets_the_transaction_end(logbook, tmp_path, monkeypatch):
    simple(tmp_path, 6)
    monkeypatch.setattr(writer, "AT_ONCE", 2)
    stop = Stop()
    real = writer.insert_entries

    def inserting(connection, entries):
        stop.pressed()
        return real(connection, entries)

    monkeypatch.setattr(writer, "insert_entries", inserting)
    found = batch(school(logbook), tmp_path, stop=stop)
    assert found.by_hand
    assert dict(found.counts) == {"added": 2}


def test_a_second_press_ends_at_once(logbook, tmp_path, monkeypatch):
    simple(tmp_path, 6)
    monkeypatch.setattr(writer, "AT_ONCE", 2)
    stop = Stop()
    school(logbook)
    monkeypatch.setattr(writer, "insert_entries", lambda *_: (stop.pressed(), stop.pressed()))
    found = batch(logbook, tmp_path, stop=stop)
    assert found.by_hand
    assert stop.pressed_again
    assert sum(found.counts.values()) == 0
    assert list(logbook.trials()) == []


def test_a_press_ends_the_wait_for_a_logbook_that_is_away(tmp_path):
    stop = Stop()

    def sleep(_):
        with stop.waiting():
            stop.pressed()

    with pytest.raises(KeyboardInterrupt):
        Patience(sleep=sleep, hurried=lambda: stop.asked).until_done(refusing(9, NoLogbook("away")))
    with pytest.raises(KeyboardInterrupt), stop.waiting():
        pytest.fail("a wait began after the press")


def test_a_press_is_heard_as_a_signal():
    stop = Stop()
    before = signal.signal(signal.SIGINT, stop.pressed)
    try:
        os.kill(os.getpid(), signal.SIGINT)
        assert stop.asked
        assert not stop.pressed_again
        with pytest.raises(KeyboardInterrupt):
            os.kill(os.getpid(), signal.SIGINT)
        assert stop.pressed_again
    finally:
        signal.signal(signal.SIGINT, before)
