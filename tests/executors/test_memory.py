"""What a worker frees it gets again without the system's help; told by the pages that the system had to fill."""

import subprocess
import sys

import pytest
from ownmark.executors import memory

FILLED = """
import resource, sys
import numpy as np
from ownmark.executors.memory import keep_memory
if sys.argv[1] == "kept":
    assert keep_memory()
def job():
    return len([np.ones(250_000) for _ in range(20)])  # 40 MB in arrays of 2 MB
job()
before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
for _ in range(10):
    job()
print(resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before)
"""


def filled(how):
    """Pages that were filled with zeros in ten jobs."""
    told = subprocess.run([sys.executable, "-c", FILLED, how], capture_output=True, text=True, check=True)
    return int(told.stdout)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only the GNU C library can be told")
def test_a_job_gets_the_memory_that_the_one_before_freed():
    assert filled("kept") < 100  # of 100,000 that the arrays take
    assert filled("as it is") > 1000


def test_where_the_library_cannot_be_told_nothing_is_changed(monkeypatch):
    class Other:
        pass

    monkeypatch.setattr(memory.ctypes, "CDLL", lambda _: Other())
    assert memory.keep_memory() is False

    def none(_):
        raise OSError

    monkeypatch.setattr(memory.ctypes, "CDLL", none)
    assert memory.keep_memory() is False


@pytest.mark.parametrize("answers", [(1, 1), (1, 0), (0, 1)])
def test_both_limits_are_set(monkeypatch, answers):
    asked = []

    class Library:
        @staticmethod
        def mallopt(name, value):
            asked.append((name, value))
            return answers[len(asked) - 1]

    monkeypatch.setattr(memory.ctypes, "CDLL", lambda _: Library)
    assert memory.keep_memory() is (answers == (1, 1))
    # mallopt(3): M_MMAP_THRESHOLD is -3, M_TRIM_THRESHOLD -1, in malloc.h
    assert asked == [(-3, 33_554_432), (-1, 67_108_864)][: len(asked)]
    assert len(asked) == (1 if answers[0] == 0 else 2)
