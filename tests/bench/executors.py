"""Workers of this machine: how soon the first sheet is there, and whether they wait while what they did is stored."""

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path

import psutil
from ownmark.executors.cluster import opened as of_cluster
from ownmark.executors.pool import AHEAD, Pool
from ownmark.records import open_logbook
from ownmark.records.batch.job import Job
from ownmark.records.batch.tables import tables_in
from ownmark.records.batch.whole import Batch
from ownmark.records.batch.work import done
from ownmark.records.batch.writer import How, Writer
from ownmark.records.sheet_facts import PRELOAD

from tests.bench.files import fit_file
from tests.bench.movement import table as movement_table
from tests.records.store.made import protocol, student

_ROUNDS = 3
_TRIALS = 96
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


class _Taken(Exception):
    """The jobs of a batch are known."""


class _Takes:
    """An executor that only takes the jobs."""

    shares_disk = True
    jobs: Sequence[Job] = ()

    def map(self, work: object, jobs: Iterable[Job]) -> Iterator[object]:
        self.jobs = list(jobs)
        raise _Taken


def cluster() -> None:
    """Two Dask workers against a pool of two, on the same trials: 20 min of FIT and of 100 Hz CSV each, by path.

    Processor time of this process and all others beside the clock's: on a machine that does other things, the clock
    tells of those.
    """
    with tempfile.TemporaryDirectory() as folder:
        jobs = _batch_jobs(Path(folder))
        ways = {"pool": lambda: Pool(2, PRELOAD), "cluster": lambda: of_cluster("local:2", preload=PRELOAD)}
        clock: dict[str, list[float]] = {name: [] for name in ways}
        used: dict[str, list[float]] = {name: [] for name in ways}
        for _ in range(_ROUNDS):
            for name, opened in ways.items():
                with opened() as executor:
                    list(executor.map(done, jobs[:4]))  # the processes are up
                    before, begun = _processor_s(), time.perf_counter()
                    for _ in executor.map(done, jobs):
                        pass
                    clock[name].append(time.perf_counter() - begun)
                    used[name].append(_processor_s() - before)
    print(f"Two Dask workers against a pool of two, {len(jobs)} trials of 20 min (FIT and 100 Hz CSV), not stored")
    for what, spent in (("by the clock", clock), ("processor time", used)):
        each = {name: 1000 * statistics.median(seconds) / len(jobs) for name, seconds in spent.items()}
        share = statistics.median(a / b for a, b in zip(spent["cluster"], spent["pool"], strict=True))
        print(f"  {what}: {each['cluster']:.0f} ms a trial, pool {each['pool']:.0f} ms, ratio {share:.2f}")


def _batch_jobs(folder: Path) -> Sequence[Job]:
    """What a batch asks workers, of a table of as many rows."""
    strap = fit_file(1200)
    movement_table(1200, folder / "M.csv")
    lines = ["code,protocol,files,date,work"]
    for number in range(_TRIALS):
        (folder / f"S{number}.fit").write_bytes(strap)
        (folder / f"M{number}.csv").symlink_to(folder / "M.csv")
        lines.append(f"TH-11,slalom-gym,S{number}.fit; M{number}.csv,2026-05-12,06:00-18:00")
    (folder / "monday.csv").write_text("\n".join(lines))
    takes = _Takes()
    with open_logbook(folder / "made.db") as logbook, suppress(_Taken):
        logbook.add_student(student("TH-11"))
        logbook.add_protocol(protocol(rest_s=60.0, work_s=720.0))
        Batch(takes, Writer(logbook, How(None, date(2026, 11, 20))), tables_in([folder / "monday.csv"])).run()
    return takes.jobs


def _processor_s() -> float:
    """Processor time of this process and all that it started  [s]."""
    family = (psutil.Process(), *psutil.Process().children(recursive=True))
    return sum(each.cpu_times().user + each.cpu_times().system for each in family)


def main() -> None:
    """All of it."""
    start()
    look_ahead()
    cluster()
