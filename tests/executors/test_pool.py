"""Processes of this machine: a job costs itself alone, whatever it does, and nothing stays behind."""

import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from ownmark.errors import WorkersGone
from ownmark.executors import Lost, worker_process
from ownmark.executors.pool import Pool
from ownmark.executors.worker import READY, answer, job_bytes, lost
from ownmark.executors.worker_process import WorkerProcess
from ownmark.words.message import Quoted

from tests.executors import work

ROOT = Path(__file__).parents[2]
SOON_S = 30.0
"""So long a crowded machine may take for what happens at once; the jobs that nobody may wait for take ten minutes."""


@pytest.fixture(scope="module")
def two():
    """Two workers, for what leaves them as they were."""
    with Pool(2) as pool:
        yield pool


def codes(found):
    """The results, and in the place of each lost one why."""
    return [each.reason.code if isinstance(each, Lost) else each for each in found]


def runs(pid):
    """Whether a process is there and has not ended."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def descendants(pid):
    """Every process below this one."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            parent = int(stat.read_text().rpartition(")")[2].split()[1])
        except (FileNotFoundError, ProcessLookupError):
            continue
        if parent == pid:
            child = int(stat.parent.name)
            found += [child, *descendants(child)]
    return found


def all_end(pids, within_s=SOON_S):
    """Whether all of these end within the time."""
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        if not any(map(runs, pids)):
            return True
        time.sleep(0.02)
    return False


def test_results_come_in_the_order_of_the_jobs_whichever_is_done_first(two):
    assert list(two.map(work.lasting, [(0, 0.2), (1, 0), (2, 0.1), (3, 0)])) == [0, 1, 2, 3]


def test_the_work_is_done_by_other_processes_of_which_there_are_as_many_as_asked_for(two):
    pids = set(two.map(work.own_pid, range(40)))
    assert 1 <= len(pids) <= 2
    assert os.getpid() not in pids


def test_nothing_to_do_is_done(two):
    assert list(two.map(work.half, [])) == []


def test_a_job_that_raises_is_lost_with_its_fault_and_the_others_go_on(two):
    first, failed, last = two.map(work.half, [1, 0, 5])
    assert (first, last) == (100, 20)
    assert isinstance(failed.fault, ZeroDivisionError)
    assert dict(failed.reason.values) == {"kind": Quoted("ZeroDivisionError")}


@pytest.mark.parametrize(
    ("function", "kind", "fault"),
    [
        (work.unpicklable, "AttributeError", AttributeError),
        (work.particular, "Particular", RuntimeError),  # its class asks for two values and would be handed one
    ],
)
def test_what_cannot_come_back_is_lost_and_the_next_job_is_done(two, function, kind, fault):
    (failed,) = two.map(function, [1])
    assert dict(failed.reason.values) == {"kind": Quoted(kind)}
    assert type(failed.fault) is fault
    assert list(two.map(work.half, [4])) == [25]


def test_a_result_that_cannot_be_made_again_is_lost_alone(two):
    (failed,) = two.map(work.contrary, [1])
    assert failed.reason.code == "executor.raised"
    assert isinstance(failed.fault, ValueError)


def test_a_job_that_cannot_be_sent_is_lost_alone(two):
    assert codes(two.map(work.same, [1, work.NoPickle(), lambda: 0, 3])) == [1, "executor.raised", "executor.raised", 3]


def test_a_job_that_cannot_be_made_again_there_is_lost_alone(two):
    assert codes(two.map(work.same, [1, work.Contrary(), 3])) == [1, "executor.raised", 3]


def test_work_that_has_no_name_is_told_before_anything_is_done(two):
    taken = []
    with pytest.raises((pickle.PicklingError, AttributeError)):
        next(two.map(lambda job: job, (taken.append(each) for each in range(3))))
    assert taken == []


def test_jobs_whose_source_fails_tell_it(two):
    def failing():
        yield 1
        raise KeyError("here")

    with pytest.raises(KeyError):
        list(two.map(work.half, failing()))


@pytest.mark.parametrize("how", ["kill", "leave", "exit", "fault"])
def test_a_job_that_ends_its_worker_costs_itself_alone(two, how):
    found = codes(two.map(work.deadly, [(number, how if number == 4 else "") for number in range(10)]))
    assert found == [0, 1, 2, 3, "executor.died", 5, 6, 7, 8, 9]


def test_a_job_whose_worker_was_killed_from_outside_is_done_again(two, tmp_path):
    assert list(two.map(work.killed_once, [tmp_path / str(number) for number in range(4)])) == ["done"] * 4


def test_every_worker_may_be_killed_at_any_moment(two):
    found, killed = [], set()
    for number, pid in two.map(work.lasting_pid, range(60)):
        found.append(number)
        if number % 10 == 5 and pid not in killed:
            killed.add(pid)
            os.kill(pid, signal.SIGKILL)  # it waits, or is at one of the next jobs
    assert found == list(range(60))
    assert len(killed) >= 3


def test_a_worker_that_is_killed_while_a_large_result_is_on_its_way_holds_nobody_up(two, tmp_path):
    jobs = [(tmp_path / str(number), number / 500) for number in range(8)]
    assert [len(each) for each in two.map(work.large, jobs)] == [20_000_000] * 8


def test_a_job_over_its_time_is_given_up_and_the_others_go_on():
    with Pool(2, deadline_s=1.5) as pool:
        begun = time.monotonic()
        found = codes(pool.map(work.lasting, [(0, 0), (1, 600), (2, 0.3), (3, 0)]))
        assert found == [0, "executor.too_long", 2, 3]
        assert 1.5 <= time.monotonic() - begun < SOON_S
        assert list(pool.map(work.half, [2])) == [50]


def test_a_job_that_never_lets_go_of_the_interpreter_is_given_up_too():
    with Pool(1, deadline_s=1.0) as pool:
        assert codes(pool.map(work.holding, [1])) == ["executor.too_long"]


def test_workers_say_nothing(two, capfd):
    assert list(two.map(work.loud, [1])) == ["quiet"]
    assert capfd.readouterr() == ("", "")


def test_while_nobody_takes_results_no_more_jobs_are_taken():
    taken = []
    with Pool(2, ahead=5) as pool:
        results = pool.map(work.same, (taken.append(number) or number for number in range(100)))
        next(results)
        time.sleep(0.3)
        assert len(taken) <= 6
        assert [next(results) for _ in range(20)] == list(range(1, 21))
        assert len(taken) <= 26


def test_what_a_pause_of_the_taker_used_up_is_taken_again():
    taken = []
    with Pool(2, ahead=8) as pool:
        results = pool.map(work.lasting, (taken.append(number) or (number, 0) for number in range(100)))
        for _ in range(10):
            next(results)
        time.sleep(0.3)
        for _ in range(20):
            next(results)
        assert len(taken) - 30 >= 6


@pytest.mark.parametrize("size", [1000, 3000])
def test_large_jobs_are_taken_as_long_as_they_hold_no_more_than_the_bound(size):
    taken = []
    with Pool(2, ahead=50, most_bytes=20_000) as pool:
        results = pool.map(work.same, (taken.append(number) or bytes(size) for number in range(100)))
        next(results)
        time.sleep(0.3)
        # Three are always taken, and the one that goes over the bound.
        assert len(taken) - 1 <= 20_000 // size + 1
        assert len(list(results)) == 99


def test_jobs_are_taken_by_the_thread_that_asks(two):
    asked = []
    list(two.map(work.same, (asked.append(threading.get_ident()) or number for number in range(20))))
    assert set(asked) == {threading.get_ident()}


def test_closing_ends_every_process_at_once_in_the_middle_of_jobs(monkeypatch):
    monkeypatch.setattr(worker_process, "_END_S", 120.0)  # whoever did not end at once would be waited for so long
    with Pool(2) as pool:
        first, second = pool.map(work.own_pid, [1, 2])
        results = pool.map(work.lasting, [(0, 0), (1, 600), (2, 600), (3, 600)])
        assert next(results) == 0
        pids = {worker.pid for worker in pool._running}
        assert {first, second} <= pids
        begun = time.monotonic()
    assert time.monotonic() - begun < SOON_S
    assert all_end(pids)


def test_who_stops_taking_may_ask_for_other_work(two):
    results = two.map(work.same, range(100))
    next(results)
    results.close()
    assert list(two.map(work.half, [1])) == [100]


def test_a_closed_pool_does_nothing_more():
    pool = Pool(1)
    with pool:
        assert list(pool.map(work.half, [1])) == [100]
    with pytest.raises((WorkersGone, RuntimeError)):
        list(pool.map(work.half, [1]))


def test_processes_that_end_while_they_come_up_are_started_again_after_a_while(monkeypatch):
    began = []

    def crowded(self):
        began.append(time.monotonic())
        if time.monotonic() - began[0] < 0.5:  # none comes up at first, however often it is tried
            self.kill()
        real(self)

    real = WorkerProcess.ready
    monkeypatch.setattr(WorkerProcess, "ready", crowded)
    with Pool(1) as pool:
        assert list(pool.map(work.half, [1, 2])) == [100, 50]
    assert len(began) > 1


def test_where_no_process_comes_up_that_is_said(monkeypatch):
    started = []

    def ended(self):
        started.append(self)
        self.kill()
        real(self)

    real = WorkerProcess.ready
    monkeypatch.setattr(WorkerProcess, "ready", ended)
    with Pool(1) as pool, pytest.raises(WorkersGone) as told:
        list(pool.map(work.half, [1]))
    assert told.value.what.code == "executor.none_starts"
    assert 3 <= len(started) <= 6


def script(lines, **settings):
    """A program of its own that opens a pool."""
    head = "from ownmark.executors.pool import Pool\nfrom tests.executors import work\n"
    return subprocess.Popen(
        [sys.executable, "-c", head + lines],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        **settings,
    )


BUSY = """
with Pool(2) as pool:
    results = pool.map(work.lasting, [(0, 0), (1, 600), (2, 600), (3, 600)])
    print(next(results), flush=True)
    try:
        print(next(results))
    except KeyboardInterrupt:
        print("stopped")
"""


def test_no_process_outlives_a_parent_that_is_killed():
    with script(BUSY) as parent:
        assert parent.stdout.readline() == "0\n"
        below = descendants(parent.pid)
        assert len(below) >= 3  # two workers, and who starts them
        parent.kill()
        assert all_end(below)
        assert parent.stderr.read() == ""


def test_ctrl_c_is_the_parents_alone():
    with script(BUSY) as parent:
        assert parent.stdout.readline() == "0\n"
        below = descendants(parent.pid)
        os.killpg(parent.pid, signal.SIGINT)  # as a terminal sends it to all of a program's processes
        assert parent.communicate(timeout=SOON_S) == ("stopped\n", "")
        assert parent.returncode == 0
        assert all_end(below)


COMING_UP = """
print(0, flush=True)
try:
    with Pool(2) as pool:
        print(list(pool.map(work.lasting, [(0, 600)])))
except KeyboardInterrupt:
    print("stopped")
"""


@pytest.mark.parametrize("after_s", [0.03, 0.06, 0.12])
def test_ctrl_c_while_processes_come_up_is_the_parents_alone(after_s):
    with script(COMING_UP) as parent:
        assert parent.stdout.readline() == "0\n"
        time.sleep(after_s)
        os.killpg(parent.pid, signal.SIGINT)
        assert parent.communicate(timeout=SOON_S) == ("stopped\n", "")


def test_a_loss_stands_for_whatever_a_job_raised():
    assert pickle.loads(answer(job_bytes(work.half, 5))) == 20
    found = pickle.loads(answer(job_bytes(work.half, 0)))
    assert found.reason == lost(ZeroDivisionError()).reason
    assert pickle.loads(answer(b"nothing")).reason.code == "executor.raised"
    assert READY
