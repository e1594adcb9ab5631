"""Who works, by what is asked for; what cannot be is refused before anything starts."""

import os
import tempfile

import pytest
from ownmark.errors import UsageError, WorkersGone
from ownmark.executors import cluster, opening
from ownmark.executors.opening import opened
from ownmark.executors.pool import Pool
from ownmark.executors.processors import usable

from tests.executors import work


def workers_of(pool):
    assert isinstance(pool, Pool)
    with pool:
        return pool._count


@pytest.mark.parametrize("count", [1, 2])
def test_a_pool_has_as_many_workers_as_asked_for(count):
    assert workers_of(opened(count)) == count


def test_without_a_number_there_is_a_worker_for_each_usable_processor():
    assert workers_of(opened()) == min(usable(), opening.MOST)


def test_an_open_pool_works():
    with opened(1) as executor:
        (found,) = executor.map(work.own_pid, [0])
        assert found != os.getpid()
        assert executor.shares_disk


@pytest.mark.parametrize("count", [0, -1, 257, 10**9])
def test_a_number_that_no_machine_can_do_is_refused_with_a_sentence(count):
    with pytest.raises(UsageError) as told:
        opened(count)
    assert f"a number from 1 to 256, not {count}" in str(told.value)


@pytest.mark.parametrize("count", [1, 256])
def test_the_bounds_themselves_are_taken(count):
    assert opening._checked(count) == count


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:8786", "local:2"])
def test_workers_of_this_machine_and_a_cluster_are_not_asked_for_at_once(address):
    with pytest.raises(UsageError, match="Leave one of the two out"):
        opened(2, address)


@pytest.mark.parametrize(
    ("address", "count", "handed"), [("tcp://h:1", None, None), ("local:3", None, None), ("local", 2, 2)]
)
def test_a_cluster_is_handed_what_was_said(monkeypatch, address, count, handed):
    given = []
    monkeypatch.setattr(cluster, "opened", lambda *words, **more: given.append((words, more)))
    opened(count, address, ("json",))
    opened(count, address, ("json",), tell=print)
    assert given == [((address, handed, ("json",)), {}), ((address, handed, ("json",)), {"tell": print})]


def test_a_cluster_on_this_machine_has_a_worker_for_each_usable_processor_where_nobody_says(monkeypatch):
    given = []
    monkeypatch.setattr(cluster, "opened", lambda *words: given.append(words))
    opened(None, "local")
    assert given == [("local", usable(), ())]
    with pytest.raises(UsageError, match="not 257"):
        opened(257, "local")


@pytest.mark.parametrize("address", ["local:257", "local:999", "local:1000000"])
def test_a_cluster_on_this_machine_has_no_more_workers_than_a_pool(monkeypatch, address):
    monkeypatch.setattr(cluster, "opened", lambda *_, **__: pytest.fail("started"))
    with pytest.raises(UsageError, match=f"at most 256 workers, not {address[6:]}"):
        opened(cluster=address)


def test_a_cluster_on_this_machine_may_have_as_many_as_a_pool(monkeypatch):
    monkeypatch.setattr(cluster, "opened", lambda address, *_, **__: address)
    assert opened(cluster="local:256") == "local:256"


@pytest.mark.parametrize("failure", [FileNotFoundError("No usable temporary directory"), PermissionError("shut")])
def test_a_cluster_on_this_machine_without_a_temporary_folder_is_refused_in_words(monkeypatch, failure):
    pytest.importorskip("distributed")

    def refuses(**_):
        raise failure

    monkeypatch.setattr(tempfile, "TemporaryDirectory", refuses)
    with pytest.raises(WorkersGone) as refused, opened(cluster="local:1"):
        pass
    assert str(refused.value).endswith("Make room, or name another place for such folders in TMPDIR.")
