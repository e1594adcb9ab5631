"""Work on a cluster: the same results as in this process, whatever becomes of workers and scheduler. Loopback only."""

import gc
import os
import time
from pathlib import Path

import psutil
import pytest
from ownmark.errors import WorkersDiffer
from ownmark.executors import Lost
from ownmark.executors import messages as said
from ownmark.executors.cluster import cluster as mapping
from ownmark.executors.cluster import opened
from ownmark.executors.cluster.seal import seal_here
from ownmark.executors.serial import Serial
from ownmark.words.message import Quoted

from tests.executors import cluster_jobs as jobs
from tests.executors import dask_processes as dask

DIED = Lost(said.EXECUTOR_DIED)


@pytest.fixture(scope="module")
def here():
    """A cluster of two workers on this machine."""
    with opened("local:2", preload=("json.tool",)) as executor:
        yield executor


@pytest.fixture(scope="module")
def port():
    """Of a scheduler with a worker that has this very ownmark."""
    port = dask.free_port()
    with dask.ended(dask.scheduler(port)), dask.ended(dask.worker(port)):
        yield port


def workers_of(executor):
    """The processes of a cluster's workers."""
    return {pid for _, pid in executor.map(jobs.where, range(40))}


def both_at_work(executor):
    """Wait for a worker that is being started again."""
    until = time.monotonic() + 20
    while len(workers_of(executor)) < 2 and time.monotonic() < until:
        time.sleep(0.1)
    executor._looked = 0.0


def test_results_are_those_of_this_process_in_the_same_order(here):
    numbers = [1, 2, 0, 5, *range(1, 60)]
    mine = list(here.map(jobs.half, numbers))
    alone = list(Serial().map(jobs.half, numbers))
    assert [each for each in mine if not isinstance(each, Lost)] == [x for x in alone if not isinstance(x, Lost)]
    assert [type(each) for each in mine] == [type(each) for each in alone]
    assert mine[2].reason == alone[2].reason
    assert isinstance(mine[2].fault, ZeroDivisionError)


def test_no_jobs_give_no_results(here):
    assert list(here.map(jobs.half, [])) == []


def test_both_workers_work_and_neither_is_this_process(here):
    assert here.shares_disk
    both_at_work(here)
    assert len(workers_of(here) - {os.getpid()}) == 2


def test_a_job_that_ends_its_worker_costs_itself_alone_and_the_worker_comes_back(here):
    before = workers_of(here)
    assert list(here.map(jobs.ends_its_worker, range(12))) == [0, 1, 2, DIED, *range(4, 12)]
    both_at_work(here)
    assert len(workers_of(here)) == 2
    assert workers_of(here) != before


def test_a_job_that_ends_its_worker_costs_none_of_those_that_went_out_with_it(here):
    both_at_work(here)
    assert list(here.map(jobs.ends_its_worker, range(20, 50))) == [*range(20, 33), DIED, *range(34, 50)]


def test_a_job_whose_worker_was_ended_from_outside_is_done_again(here, tmp_path):
    given = [(str(tmp_path / "mark"), number) for number in range(6)]
    assert list(here.map(jobs.ends_its_worker_once, given)) == list(range(6))
    assert (tmp_path / "mark").exists()


def test_a_job_that_never_ends_is_given_up_and_its_worker_goes_on(here, monkeypatch):
    monkeypatch.setattr(here, "_deadline_s", 0.5)
    assert list(here.map(jobs.never_ends, range(3))) == [0, Lost(said.EXECUTOR_TOO_LONG), 2]


def test_what_was_raised_and_cannot_be_sent_keeps_its_name(here):
    (lost,) = here.map(jobs.raises_what_cannot_be_sent, [7])
    assert lost.reason == said.executor_raised("Stubborn")
    assert str(lost.fault) == "Stubborn"


def test_a_result_that_cannot_be_sent_is_lost(here):
    (lost,) = here.map(jobs.gives_what_cannot_be_sent, [7])
    assert lost.reason.code == "executor.raised"
    assert "pickle" in str(lost.fault)


def test_a_job_that_cannot_be_sent_is_lost_and_the_others_go_on(here):
    first, lost, last = here.map(jobs.half, [1, lambda: 0, 5])
    assert (first, last) == (100, 20)
    assert lost.reason.code == "executor.raised"


def test_jobs_are_taken_a_few_for_each_worker_ahead_while_nobody_takes_results(here):
    both_at_work(here)
    taken = []
    results = here.map(jobs.half, (taken.append(number) or number for number in range(1, 500)))
    assert next(results) == 100
    time.sleep(0.3)
    assert len(taken) == 2 * mapping.AHEAD
    assert next(results) == 50
    assert len(taken) == 2 * mapping.AHEAD + 1
    results.close()


def test_no_more_bytes_go_out_than_memory_has_room_for(here, monkeypatch):
    monkeypatch.setattr(mapping, "MOST_BYTES", 2500)
    taken = []
    results = here.map(jobs.same, (taken.append(n) or b"x" * 1000 for n in range(50)))
    assert len(next(results)) == 1000
    assert len(taken) == 3  # two have less than 2,500 bytes together, with a third it is enough
    results.close()


def test_a_single_job_goes_out_however_large_it_is(here, monkeypatch):
    monkeypatch.setattr(mapping, "MOST_BYTES", 10)
    assert list(map(len, here.map(jobs.same, [b"x" * 1000] * 9))) == [1000] * 9


def test_what_was_given_back_is_released_on_the_cluster_and_here(here):
    for size in here.map(jobs.of_size, [jobs.BIG] * 30):
        assert len(size) == jobs.BIG
    gc.collect()
    client = here._link.client
    until = time.monotonic() + 10
    while any(client.has_what().values()) and time.monotonic() < until:
        time.sleep(0.05)
    assert not any(client.has_what().values())
    assert not client.futures


def test_results_are_handed_over_and_those_that_never_come_are_asked_for_again(here, monkeypatch):
    real, asked = here._handed.completed, []

    def completed(token, found):
        asked.append(found)
        return None if len(asked) == 1 else real(token, found)

    monkeypatch.setattr(here._handed, "completed", completed)
    monkeypatch.setattr(mapping, "_ON_THE_WAY_S", 0.0)
    assert list(here.map(jobs.same, [b"one", b"two"])) == [b"one", b"two"]
    monkeypatch.setattr(mapping, "_ON_THE_WAY_S", 30.0)
    assert list(here.map(jobs.same, [b"x" * 1000] * 3)) == [b"x" * 1000] * 3
    assert {None} == {each for found in asked for each in found}
    assert here._handed._awaited == {}


def test_jobs_that_nobody_waits_for_any_more_are_taken_back(here):
    results = here.map(jobs.slowly, range(100))
    assert next(results) == 0
    results.close()
    until = time.monotonic() + 10
    while here._link.client.futures and time.monotonic() < until:
        time.sleep(0.05)
    assert not here._link.client.futures


@pytest.mark.soak
def test_work_that_the_cluster_gave_back_undone_goes_out_again(here):
    results = here.map(jobs.slowly, range(40))
    assert next(results) == 0
    here._link.client.restart(wait_for_workers=False)
    assert list(results) == list(range(1, 40))


def test_nothing_listens_to_other_machines(here):
    assert workers_of(here)
    me = psutil.Process()
    open_to = {
        each.laddr.ip
        for process in (me, *me.children(recursive=True))
        for each in process.net_connections()
        if each.status == psutil.CONN_LISTEN
    }
    assert open_to == {"127.0.0.1"}


def test_another_account_of_this_machine_is_not_let_in(here):
    from distributed import Client

    address = here._link.address
    assert address.startswith("tls://127.0.0.1:")
    with pytest.raises((OSError, TypeError, RuntimeError)):
        Client(address.replace("tls://", "tcp://"), timeout=2, set_as_default=False)


def test_a_cluster_that_is_there_does_the_work_and_shares_no_disk(port):
    with opened(f"tcp://{dask.HOST}:{port}") as executor:
        assert not executor.shares_disk
        assert list(executor.map(jobs.half, [1, 2, 5])) == [100, 50, 20]


@pytest.mark.parametrize(
    ("init", "more", "found"),
    [
        ("raise ModuleNotFoundError(name='ownmark')", False, said.CLUSTER_HAS_NONE),
        pytest.param("__version__ = '0.0.1'", False, said.CLUSTER_HAS_OTHER, marks=pytest.mark.soak),
        ("__version__ = '0.0.1'", True, None),
    ],
    ids=["none", "too old to say", "older"],
)
def test_a_worker_with_another_ownmark_is_refused_by_name_also_where_it_joins_later(port, tmp_path, init, more, found):
    package = tmp_path / "ownmark"
    package.mkdir()
    (package / "__init__.py").write_text(init)
    if not more:
        (package / "executors.py").write_text("")  # no package
    else:
        root = Path(said.__file__).parents[1]
        (package / "errors.py").symlink_to(root / "errors.py")
        (package / "words").symlink_to(root / "words")
        (package / "executors").symlink_to(root / "executors")
    with opened(f"tcp://{dask.HOST}:{port}") as executor:
        results = executor.map(jobs.slowly, range(10_000))
        assert next(results) == 0
        with dask.ended(dask.worker(port, tmp_path)):
            with pytest.raises(WorkersDiffer) as later:
                list(results)
            with pytest.raises(WorkersDiffer) as at_once, opened(f"tcp://{dask.HOST}:{port}"):
                pass
    for refused in (later.value, at_once.value):
        assert refused.where.startswith(f"tcp://{dask.HOST}:")
        assert refused.where != f"tcp://{dask.HOST}:{port}"  # the worker is named, not the scheduler
        mine = seal_here()
        assert refused.what["here"] == said.cluster_has(mine.ownmark, mine.code, mine.python, mine.numpy)
        if found is not None:
            assert refused.what["there"] == found
        else:
            assert dict(refused.what["there"].values)["ownmark"] == Quoted("0.0.1")
