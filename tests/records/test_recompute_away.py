"""Sheets are worked out again while the logbook is away for a while, and by a cluster whose worker is killed."""

import os
import signal

import pytest
from ownmark.errors import LogbookDamaged, LogbookLocked, NoLogbook
from ownmark.executors.opening import opened
from ownmark.records import open_logbook
from ownmark.records import recompute as recomputing
from ownmark.records.patience import Patience
from ownmark.records.recompute import recompute
from ownmark.records.sheet_facts import PRELOAD
from ownmark.records.store import logbook as storing

from tests.outside.parts import POSTGRESQL
from tests.records.store.server import Server
from tests.records.test_recompute import Doing, exact, outdated, patient, spoiled, versions  # noqa: F401


@pytest.fixture(scope="module")
def own_server():
    running = Server(POSTGRESQL.need(), settings=())
    yield running
    running.stop()


def away_at(monkeypatch, module, name, turns, reason):
    """Have a function refuse at its calls of these numbers."""
    real, calls = getattr(module, name), []

    def refusing(*given, **named):
        calls.append(given)
        if len(calls) in turns:
            raise reason
        return real(*given, **named)

    monkeypatch.setattr(module, name, refusing)
    return calls


@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_a_server_that_is_started_again_loses_no_sheet_and_it_is_told_once(own_server, monkeypatch, turn):
    monkeypatch.setattr(recomputing, "_AT_ONCE", 2)
    told = []

    def killed(found):
        own_server.kill()
        return found

    def sleep(_):
        if own_server.process is None:
            own_server.start()

    with open_logbook(own_server.url()) as logbook:
        numbers = outdated(logbook)
        executor = Doing(*[None] * turn, killed)
        done = list(recompute(logbook, executor=executor, patience=Patience(away=told.append, sleep=sleep)))
        assert [(each.trial_id, each.stored, each.refused) for each in done] == [(n, True, None) for n in numbers]
        assert "0.0.1" not in versions(logbook)
    assert [type(each) for each in told] == [NoLogbook]


def test_a_list_of_trials_that_breaks_off_goes_on_behind_the_last_one(logbook, monkeypatch):
    numbers = outdated(logbook)
    monkeypatch.setattr(storing, "_BATCH", 1)
    calls = away_at(monkeypatch, storing, "_whole_trials", {1, 4}, NoLogbook("away"))
    slept = []
    done = list(recompute(logbook, store=False, patience=Patience(sleep=slept.append)))
    assert [each.trial_id for each in done] == numbers
    assert slept == [0.5, 0.5]
    assert len(calls) > 5


def test_files_that_cannot_be_reached_now_are_no_refusal_of_their_trial(logbook, monkeypatch):
    numbers = outdated(logbook)
    away_at(monkeypatch, recomputing, "facts_of", {2, 3}, LogbookLocked("held"))
    told, slept = [], []
    done = list(recompute(logbook, patience=Patience(away=told.append, sleep=slept.append)))
    assert [(each.trial_id, each.stored) for each in done] == [(number, True) for number in numbers]
    assert (len(told), slept) == (1, [0.5, 1.0])


@pytest.mark.parametrize("reason", [NoLogbook("away"), LogbookLocked("held")])
def test_whoever_stays_away_ends_it_and_what_is_worked_out_is_stored_if_it_can_be(logbook, monkeypatch, reason):
    outdated(logbook)
    away_at(monkeypatch, recomputing, "facts_of", {3, 4, 5}, reason)
    slept = []
    with pytest.raises(type(reason)):
        list(recompute(logbook, patience=Patience(sleep=slept.append, most_s=1.0)))
    assert slept == [0.5, 1.0]
    assert versions(logbook).count("0.0.1") == 2


def test_a_logbook_that_is_held_while_sheets_are_stored_is_waited_for(logbook, monkeypatch):
    outdated(logbook)
    away_at(monkeypatch, recomputing, "still_hold", {2, 3}, LogbookLocked("held"))
    slept = []
    done = list(recompute(logbook, patience=Patience(sleep=slept.append)))
    assert all(each.stored and each.refused is None for each in done)
    assert slept == [0.5, 1.0]
    assert "0.0.1" not in versions(logbook)


def test_ctrl_c_in_a_wait_tries_once_more_to_store_and_waits_no_longer(logbook, monkeypatch):
    outdated(logbook)
    calls = away_at(monkeypatch, recomputing, "still_hold", {1}, LogbookLocked("held"))

    def pressed(_):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        list(recompute(logbook, patience=Patience(sleep=pressed)))
    assert len(calls) == 5
    assert "0.0.1" not in versions(logbook)


def test_a_cluster_gives_the_same_sheets_whose_worker_is_killed_and_a_damaged_recording_costs_itself(tmp_path):
    pytest.importorskip("distributed")
    outcomes = []
    with opened(cluster="local:2", preload=PRELOAD) as cluster:
        for name, executor in (("alone", None), ("cluster", cluster), ("killed", cluster)):
            place = str(tmp_path / f"{name}.db")
            with open_logbook(place) as logbook:
                outdated(logbook)
                spoiled(place, 2)
                if name == "killed":
                    (pid,) = cluster.map(pid_of, [0])
                    os.kill(pid, signal.SIGKILL)
                done = {each.trial_id: each for each in recompute(logbook, executor=executor)}
                assert [number for number, each in sorted(done.items()) if each.stored] == [1, 3, 4]
                assert isinstance(done[2].refused, LogbookDamaged)
                assert done[2].refused.where == "strap-1.csv"
                outcomes.append(([(n, each.changed, each.stored) for n, each in done.items()], exact(logbook)))
    assert outcomes[1] == outcomes[0]
    assert outcomes[2] == outcomes[0]


def pid_of(_):
    return os.getpid()
