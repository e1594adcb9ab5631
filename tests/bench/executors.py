"""Workers of this machine: how soon the first sheet is there, and whether they wait while what they did is stored."""

import statistics
import subprocess
import sys
import time

from ownmark.executors.pool import AHEAD, Pool

_ROUNDS = 5
_JOB_S, _PAUSE_S, _EVERY, _JOBS, _WORKERS = 0.06, 0.3, 16, 96, 2
_FIRST_SHEET = """
import time
from ownmark.executors.opening import opened
from ownmark.records.sheet_facts import PRELOAD, SheetFacts, sheet_or_refusal
from ownmark.records.store.packing import packed
from tests.records.store import made
data = made.recording()
trial = made.trial(files=(made.kept("strap.csv", data),))
facts = SheetFacts(trial, made.student(), made.protocol(), (packed("strap.csv", data),))
begun = time.perf_counter()
with opened(2, preload=PRELOAD) as executor:
    (sheet,) = executor.map(sheet_or_refusal, [facts])
    spent = time.perf_counter() - begun
assert sheet.figures
print(spent)
"""
_ALONE = """
import time
from importlib import import_module
begun = time.perf_counter()
from ownmark.records.sheet_facts import PRELOAD
for name in PRELOAD:
    import_module(name)
print(time.perf_counter() - begun)
"""


def start() -> None:
    """From opening a pool of two to the first sheet, beside loading the same modules once in one process."""
    spent: dict[str, list[float]] = {"pool": [], "loaded": []}
    for _ in range(_ROUNDS):
        spent["pool"].append(_seconds(_FIRST_SHEET))
        spent["loaded"].append(_seconds(_ALONE))
    ratios = [pool / loaded for pool, loaded in zip(spent["pool"], spent["loaded"], strict=True)]
    print("A pool of two processes, from opening it to the first sheet of a trial")
    print(
        f"  {statistics.median(spent['pool']):.2f} s; loading the same modules once in one process "
        f"{statistics.median(spent['loaded']):.2f} s, ratio {statistics.median(ratios):.1f}"
    )


def _seconds(lines: str) -> float:
    done = subprocess.run([sys.executable, "-c", lines], capture_output=True, text=True, check=True)
    return float(done.stdout)


def sixty_ms(job: int) -> int:
    """What measuring a trial takes, without taking a processor: other programs do not lengthen it."""
    time.sleep(_JOB_S)
    return job


def look_ahead() -> None:
    """The share of their time in which two workers wait, where the taker stores a batch after every 16 results."""
    ideal = _JOBS * _JOB_S / _WORKERS
    print(f"Two workers at jobs of {_JOB_S * 1000:.0f} ms; after {_EVERY} results the taker is away for {_PAUSE_S} s")
    for each in (1, 2, 4, AHEAD, 2 * AHEAD):
        with Pool(_WORKERS, ahead=each * _WORKERS) as pool:
            list(pool.map(sixty_ms, range(2 * _WORKERS)))  # the processes are up
            begun = time.perf_counter()
            for place, _ in enumerate(pool.map(sixty_ms, range(_JOBS)), 1):
                if place % _EVERY == 0 and place < _JOBS:
                    time.sleep(_PAUSE_S)
            spent = time.perf_counter() - begun
        print(f"  {each:2d} jobs ahead for each: idle {100 * (1 - ideal / spent):3.0f} %")


def main() -> None:
    """Both."""
    start()
    look_ahead()
