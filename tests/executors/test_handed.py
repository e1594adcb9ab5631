"""Results that a cluster's workers of this machine hand over by a socket: whole ones, once, and nothing on the disk."""

import os
import signal
import socket
import stat
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest
from ownmark.executors.cluster import handed as handing
from ownmark.executors.cluster.handed import TOKEN_BYTES, arriving, hand_over


@pytest.fixture
def top():
    """A folder whose path is short enough for a socket's."""
    with tempfile.TemporaryDirectory(prefix="h") as found:
        yield Path(found)


@pytest.fixture
def here(top):
    """Where results arrive."""
    with arriving(str(top)) as found:
        yield found


@pytest.fixture(autouse=True)
def no_old_ways():
    yield
    for each in handing._to.values():
        each.close()
    handing._to.clear()


def arrived(here, token, found, within_s=10.0):
    """The results, once they are all there."""
    until = time.monotonic() + within_s
    while (results := here.completed(token, found)) is None and time.monotonic() < until:
        time.sleep(0.002)
    return results


def test_results_arrive_byte_for_byte_in_the_place_of_their_jobs(here):
    token, large = here.expect(), os.urandom(3_000_000)
    assert len(token) == TOKEN_BYTES
    assert hand_over(here.place, token, 2, large)
    assert hand_over(here.place, token, 0, b"")
    assert arrived(here, token, (None, b"by Dask", None)) == (b"", b"by Dask", large)


def test_what_is_not_all_there_is_none_and_what_all_came_the_other_way_is_whole_at_once(here):
    token = here.expect()
    assert hand_over(here.place, token, 0, b"a")
    assert arrived(here, token, (None, b"b")) == (b"a", b"b")
    assert here.completed(token, (None, None)) is None
    assert here.completed(token, (b"x", b"y")) == (b"x", b"y")


def test_each_call_has_its_own_and_what_nobody_waits_for_is_dropped(here):
    one, other = here.expect(), here.expect()
    here.forget(other)
    here.forget(other)
    assert hand_over(here.place, other, 0, b"nobody's")
    assert hand_over(here.place, one, 0, b"mine")
    assert arrived(here, one, (None,)) == (b"mine",)
    assert here.completed(other, (None,)) is None
    assert set(here._awaited) == {one}


def test_of_a_result_whose_worker_ends_on_the_way_nothing_is_kept(here):
    token = here.expect()
    with socket.socket(socket.AF_UNIX) as way:
        way.connect(here.place)
        way.sendall(handing._HEAD.pack(token, 0, 1000) + b"x" * 999)
    assert arrived(here, token, (None,), 0.2) is None
    assert hand_over(here.place, token, 0, b"again")
    assert arrived(here, token, (None,)) == (b"again",)


def test_where_nobody_is_nothing_is_handed_over(here, tmp_path):
    assert not hand_over(str(tmp_path / "nobody"), b"t" * 16, 0, b"x")
    assert hand_over(here.place, here.expect(), 0, b"x")
    here.close()
    until = time.monotonic() + 10  # the other end is gone, which a worker learns by its next results
    while hand_over(here.place, b"t" * 16, 0, b"x" * 1_000_000) and time.monotonic() < until:
        pass
    assert handing._to == {}


def test_the_folder_is_this_accounts_alone_holds_a_socket_and_goes(top):
    with arriving(str(top)) as here:
        assert hand_over(here.place, here.expect(), 0, b"a child's" * 1000)
        (folder,) = top.iterdir()
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        held, only = sorted(folder.iterdir())
        assert held.stat().st_size == 0
        assert stat.S_ISSOCK(only.stat().st_mode)
    assert list(top.iterdir()) == []


_KILLED = """
import sys, time
from ownmark.executors.cluster.handed import arriving, hand_over
with arriving(sys.argv[1]) as here:
    assert hand_over(here.place, here.expect(), 0, b"a child's" * 1000)
    print("there", flush=True)
    time.sleep(60)
"""


def test_whoever_is_killed_leaves_an_empty_socket(top):
    with subprocess.Popen([sys.executable, "-c", _KILLED, str(top)], stdout=subprocess.PIPE) as process:
        assert process.stdout.readline() == b"there\n"
        os.kill(process.pid, signal.SIGKILL)
    left = [each for each in top.rglob("*") if not each.is_dir()]
    assert sorted((each.name, stat.S_ISSOCK(each.stat().st_mode), each.stat().st_size) for each in left) == [
        ("held", False, 0),
        ("results", True, 0),
    ]
    with arriving(str(top)) as here:  # and the next one clears it
        assert [each.parent for each in top.rglob("results")] == [Path(here.place).parent]


def test_where_no_socket_can_be_results_go_the_other_way(monkeypatch, tmp_path):
    far = tmp_path / ("x" * 120)
    far.mkdir()
    with arriving(str(far)) as here:
        assert here is None
    assert list(far.iterdir()) == []
    monkeypatch.delattr(socket, "AF_UNIX")
    with arriving() as here:
        assert here is None


def test_workers_that_end_slowly_cost_nobody_the_work_that_is_done(monkeypatch):
    distributed = pytest.importorskip("distributed")
    from ownmark.executors.cluster.local import started

    class Slow:
        def __init__(self, **_):
            pass

        def close(self, timeout):
            raise TimeoutError

    monkeypatch.setattr(distributed, "LocalCluster", Slow)
    with started(1, ()) as cluster:
        assert isinstance(cluster, Slow)


def test_what_a_killed_cluster_of_this_machine_left_goes_with_the_next(monkeypatch, tmp_path):
    distributed = pytest.importorskip("distributed")
    from ownmark.executors.cluster.local import started

    class Idle:
        def __init__(self, **more):
            self.folder = Path(more["local_directory"])

        def close(self, timeout):
            pass

    monkeypatch.setattr(distributed, "LocalCluster", Idle)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    (tmp_path / "ownmark-killed").mkdir()
    (tmp_path / "ownmark-killed" / "held").write_bytes(b"")
    with started(1, ()) as cluster:
        assert list(tmp_path.iterdir()) == [cluster.folder]
    assert list(tmp_path.iterdir()) == []


def test_a_cluster_of_this_machine_uses_no_folder_that_another_account_could_have_made(monkeypatch, tmp_path):
    # Its scheduler, which runs in this process, made TMPDIR/dask-scratch-space, left it there, and looked for modules
    # in it first: a folder of that name under /tmp can be anybody's.
    pytest.importorskip("distributed")
    from ownmark.executors.cluster.local import started

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    before = list(sys.path)
    with started(0, ()):
        (own,) = tmp_path.iterdir()
        assert own.name.startswith("ownmark-")
        assert [path for path in sys.path if path not in before and not Path(path).is_relative_to(own)] == []
    assert list(tmp_path.iterdir()) == []
