"""Many kills of a batch at random moments, and its memory over thousands of rows."""

import random
import subprocess
import sys
from pathlib import Path

import pytest
from ownmark.records import open_logbook

from tests.records.batch.district import contents, school, simple
from tests.records.batch.test_kill import ROWS, killed_until_done, undisturbed
from tests.records.store.zygote import Zygote

pytestmark = pytest.mark.soak
MOST_MIB = 500


@pytest.fixture(scope="module")
def zygote():
    running = Zygote()
    yield running
    running.stop()


@pytest.mark.timeout(900)
@pytest.mark.parametrize("seed", range(5))
def test_a_batch_that_is_killed_again_and_again_ends_as_if_nothing_had_been(seed, tmp_path, zygote):
    simple(tmp_path / "drive", ROWS)
    for turn in range(4):
        place = str(tmp_path / f"logbook-{turn}.db")
        killed_until_done(zygote, place, tmp_path / "drive", 6, random.Random(100 * seed + turn))
        with open_logbook(place) as logbook:
            found = contents(logbook)[:2]
        assert found == undisturbed(str(tmp_path / f"other-{turn}.db"), tmp_path / "drive")[:2]


RUN = """
import resource, sys
from pathlib import Path
from ownmark.executors.opening import opened
from ownmark.records import open_logbook
from tests.records.batch.district import batch
if __name__ == "__main__":
    with open_logbook(sys.argv[1]) as logbook, opened(2, preload=("ownmark.records.batch.work",)) as executor:
        found = batch(logbook, Path(sys.argv[2]), executor=executor)
    kinds = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    print(found.counts["added"], *(resource.getrusage(kind).ru_maxrss // 1024 for kind in kinds))
"""


@pytest.mark.timeout(1800)
def test_memory_does_not_grow_with_the_number_of_rows(tmp_path):
    (tmp_path / "run.py").write_text(RUN)
    used = {}
    for rows in (300, 3000):
        drive, place = tmp_path / f"drive-{rows}", tmp_path / f"{rows}.db"
        simple(drive, rows, seed=10_000 * rows)
        with open_logbook(place) as logbook:
            school(logbook)
        words = [sys.executable, str(tmp_path / "run.py"), str(place), str(drive)]
        root = Path(__file__).parents[2]
        done = subprocess.run(
            words, cwd=root, env={"PYTHONPATH": str(root)}, capture_output=True, text=True, check=True
        )
        added, parent, worker = map(int, done.stdout.split())
        assert added == rows
        assert max(parent, worker) < MOST_MIB
        used[rows] = (parent, worker)
    for few, many in zip(used[300], used[3000], strict=True):
        assert many < 1.25 * few + 20, used  # ten times as many rows
