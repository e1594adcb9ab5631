"""How many workers there are where nobody says: what this process may use, also in a container."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from ownmark.executors.processors import usable

ROOT = Path(__file__).parents[2]


@pytest.fixture
def many(monkeypatch):
    """A machine of 16 processors, whatever runs the tests."""
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: set(range(16)), raising=False)


@pytest.fixture
def groups(tmp_path, many):
    """Control groups as given, and how many processors are usable there."""

    def made(mine, **files):
        (tmp_path / "mine").write_text(mine)
        for name, content in files.items():
            path = tmp_path / "groups" / name.replace("__", "/").replace("cpu_", "cpu.")
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(content)
        return usable(tmp_path / "groups", tmp_path / "mine")

    return made


def test_without_control_groups_it_is_what_the_process_is_bound_to(tmp_path, many):
    assert usable(tmp_path / "none", tmp_path / "none") == 16


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="this system binds no process to processors")
def test_a_process_that_is_bound_to_one_processor_uses_one():
    lines = "import os\nos.sched_setaffinity(0, {min(os.sched_getaffinity(0))})\n"
    more = "from ownmark.executors.processors import usable\nprint(usable())"
    done = subprocess.run([sys.executable, "-c", lines + more], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout == "1\n"


# The forms of the files: kernel documentation, admin-guide/cgroup-v2.rst ("cpu.max") and scheduler/sched-bwc.rst.
@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("max 100000\n", 16),
        ("100000 100000\n", 1),
        ("150000 100000\n", 2),  # one and a half keeps two busy in part
        ("200000 100000\n", 2),
        ("50000 100000\n", 1),
        ("9900000 100000\n", 16),  # more than there are
        ("rubbish\n", 16),
        ("100000 0\n", 16),
        ("", 16),
    ],
)
def test_what_a_container_is_allotted_counts(groups, text, count):
    assert groups("0::/\n", cpu_max=text) == count


def test_the_tightest_of_all_groups_above_counts(groups):
    assert groups("0::/one/two\n", one__cpu_max="300000 100000", one__two__cpu_max="max 100000") == 3
    assert groups("0::/one/two\n", one__cpu_max="500000 100000", one__two__cpu_max="400000 100000") == 4


def test_a_group_of_somebody_else_does_not_count(groups):
    assert groups("0::/one\n", other__cpu_max="100000 100000") == 16


def test_the_older_form_counts_too(groups):
    more = {"cpu__one__cpu_cfs_quota_us": "250000\n", "cpu__one__cpu_cfs_period_us": "100000\n"}
    assert groups("4:memory:/x\n3:cpu,cpuacct:/one\n", **more) == 3
    assert groups("3:cpu,cpuacct:/one\n", cpu__one__cpu_cfs_quota_us="-1\n") == 16


def test_the_older_form_under_the_name_of_all_its_controllers_counts_too(groups):
    place = {"cpu,cpuacct__one__cpu_cfs_quota_us": "100000\n", "cpu,cpuacct__one__cpu_cfs_period_us": "100000\n"}
    assert groups("3:cpu,cpuacct:/one\n", **place) == 1
