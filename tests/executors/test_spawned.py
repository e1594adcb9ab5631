"""Where no server of processes can be had, each worker is started anew, and does the same."""

import os
import signal
import subprocess
import sys
from multiprocessing import util
from multiprocessing.context import ForkServerContext, SpawnContext
from pathlib import Path

import pytest
from ownmark.executors import worker_process
from ownmark.executors.pool import Pool
from ownmark.executors.worker_process import context

from tests.executors import work
from tests.executors.test_pool import all_end, codes

ROOT = Path(__file__).parents[2]


@pytest.fixture
def no_server(monkeypatch):
    monkeypatch.setattr(worker_process, "get_all_start_methods", lambda: ["spawn"])


def test_started_anew_a_worker_does_its_jobs_and_one_that_ends_costs_its_own(no_server, tmp_path):
    with Pool(1, ["json"]) as pool:
        assert isinstance(pool._context, SpawnContext)
        found = codes(pool.map(work.deadly, [(0, ""), (1, "leave"), (2, "")]))
        assert found == [0, "executor.died", 2]
        (pid,) = set(pool.map(work.own_pid, range(3)))
        assert pid != os.getpid()
        os.kill(pid, signal.SIGINT)  # Ctrl-C is the parent's
        assert set(pool.map(work.own_pid, range(3))) == {pid}
    assert all_end([pid])


PARENT = """
import sys, time
from ownmark.executors import worker_process
from ownmark.executors.pool import Pool
from tests.executors import work

if __name__ == "__main__":
    worker_process.get_all_start_methods = lambda: ["spawn"]
    with Pool(1) as pool:
        print(*pool.map(work.own_pid, [1]), flush=True)
        list(pool.map(time.sleep, [100]))
"""


def test_started_anew_it_ends_with_its_parent_whatever_ended_that(tmp_path):
    script = tmp_path / "parent.py"
    script.write_text(PARENT)
    with subprocess.Popen(
        [sys.executable, str(script)], stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)}
    ) as parent:
        pid = int(parent.stdout.readline())
        parent.kill()
        parent.wait()
        assert all_end([pid], within_s=30.0)


def test_where_the_socket_of_a_server_has_no_place_there_is_none(monkeypatch):
    def refuses():
        raise FileNotFoundError("No usable temporary directory found")

    assert isinstance(context(()), ForkServerContext)
    monkeypatch.setattr(worker_process, "get_temp_dir", refuses)
    assert isinstance(context(()), SpawnContext)
    for length, kind in ((85, ForkServerContext), (86, SpawnContext)):
        monkeypatch.setattr(worker_process, "get_temp_dir", lambda length=length: "/" + "x" * (length - 1))
        assert type(context(())) is kind


def test_a_socket_s_name_is_as_long_as_is_allowed_for():
    from multiprocessing.connection import arbitrary_address

    name = arbitrary_address("AF_UNIX")[len(util.get_temp_dir()) :]
    assert len(name) == len("/listener-12345678")


def test_with_a_folder_for_what_is_temporary_of_a_long_name_the_work_is_done(tmp_path):
    long = tmp_path / ("long" * 25)
    long.mkdir()
    script = tmp_path / "long.py"
    script.write_text(
        "from ownmark.executors.pool import Pool\nfrom tests.executors import work\n"
        "if __name__ == '__main__':\n    with Pool(1) as pool:\n        print(*pool.map(work.half, [4]))\n"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TMPDIR": str(long)}
    ended = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, env=env, check=False)
    assert (ended.stdout, ended.returncode) == ("25\n", 0), ended.stderr
