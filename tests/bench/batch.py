"""A district in one command: tables of 30 rows, 20 min of FIT and 20 min of 100 Hz CSV a trial, read, measured, stored.

``python -m tests.bench.batch 10000`` does so many trials; without a number, few enough for ``make bench``. With
``strap`` each has its strap alone, so that a logbook of 10,000 is there in minutes; with ``stored``, nothing else is
measured. Beside it, in the same run, the bare reading of the same bytes. Processor time is told besides the clock,
because a machine is mostly shared: that of the workers, of the process that stores, of the database's server. A process
of its own makes the files (``district_files``), whose processor time is told apart.
"""

import io
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import overload

import fitdecode
import pandas as pd
from ownmark.executors import Lost
from ownmark.executors.opening import opened
from ownmark.records import MeasuredRate, open_logbook
from ownmark.records.batch.job import Job
from ownmark.records.batch.report import TableReport
from ownmark.records.batch.tables import Table
from ownmark.records.batch.whole import Batch
from ownmark.records.batch.work import done
from ownmark.records.batch.writer import How, Writer
from ownmark.records.store import settings

from tests.bench.district_files import FIRST_DAY, ROWS, ZONE, District, codes
from tests.bench.processes import Meter, Used, cpu_of, loads
from tests.outside.database import programs
from tests.records.store.made import protocol, student
from tests.records.store.server import Server

TRIALS = 120
WORKERS = 2
PRELOAD = ("ownmark.records.batch.work", "pandas", "ownmark.metrics.motion_figures")
TODAY = date(2026, 11, 28)
_WAIT_S = 0.002
_COMPARED = 10  # classes, for what is not stored
_LOOKED_AT = (100, 1000, 3000)
_WINDOW = 90
"""Trials whose mean cost is looked at, before each of these and before the end; of many trials a fiftieth, because a
processor's time is told in hundredths of a second."""


class _Tables(Sequence[Table]):
    """The class tables of a district, each there when it is asked for; ``starved_s``: how long that was waited for."""

    def __init__(self, district: District, root: Path) -> None:
        self.district, self.root = district, root
        self.starved_s = 0.0

    def __len__(self) -> int:
        return self.district.classes

    @overload
    def __getitem__(self, at: int) -> Table: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[Table]: ...
    def __getitem__(self, at: int | slice) -> Table | Sequence[Table]:
        if isinstance(at, slice):
            raise TypeError("one table at a time")
        path = self.district.table(self.root, at)
        began = time.perf_counter()
        while not path.parent.exists():
            time.sleep(_WAIT_S)
        self.starved_s += time.perf_counter() - began
        return Table(path, None, path.parent / "aside")


@dataclass
class _Run:
    """What one call told of itself, table by table."""

    seconds: float = 0.0
    starved_s: float = 0.0
    fed_s: float = 0.0
    trials: int = 0
    counts: dict[str, int] = field(default_factory=dict)
    at: list[tuple[int, float, Used]] = field(default_factory=list)

    def cost_ms(self, until: int, of: str = "all") -> float:
        """Processor time of a trial over the trials that end at ``until`` [ms]."""
        wide = max(_WINDOW, min(self.trials // 50, until - ROWS))
        before = max((each for each in self.at if each[0] <= until - wide), default=self.at[0])
        last = min((each for each in self.at if each[0] >= until), default=self.at[-1])
        return 1000 * getattr(last[2].since(before[2]), of) / max(last[0] - before[0], 1)

    def whole(self) -> Used:
        """Processor time of all of it."""
        return self.at[-1][2].since(self.at[0][2])


def district(
    trials: int = TRIALS, kinds: Sequence[str] = ("SQLite", "PostgreSQL"), *, frames: bool = True, beside: bool = True
) -> None:
    """Print the figures.

    frames : a sensor's table besides the strap
    beside : bare reading too, and measuring without storing
    """
    classes = max(-(-trials // ROWS), 4)
    made = District(classes, frames)
    size = len(made.fit(0, 0)) + (len(made.csv(0, 0)) if frames else 0)
    print(f"A batch of {classes * ROWS} trials of {size / 1e6:.2f} MB, {WORKERS} workers; load before it {loads()}")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        if beside:
            least = District(min(classes, _COMPARED), frames)
            plain = _mapped("bare reading (pandas, fitdecode)", bare, least, place)
            whole = _mapped("measured and packed, not stored", done, least, place)
            print(f"    the second over the first: {whole / plain:.2f} times the processor time of the workers")
        if "SQLite" in kinds:
            _stored("SQLite", made, place, str(place / "logbook.db"), None)
            print(f"    the logbook has {_megabytes(place / 'logbook.db'):,.0f} MB")
            (place / "logbook.db").unlink()
        if "PostgreSQL" in kinds and programs() is None:
            print("  PostgreSQL: its server programs are not on this machine")
        elif "PostgreSQL" in kinds:
            server = Server(programs(), settings=())
            try:
                _stored("PostgreSQL", made, place, server.url(), server.process.pid)
                print(f"    the server's folder has {_megabytes(server.folder / 'data'):,.0f} MB")
            finally:
                server.stop()
    print(f"  load behind it {loads()}")


def bare(job: Job) -> int:
    """The bare reading of the same files: pandas for the table, a decoder for FIT."""
    found = 0
    for path in job.row.files:
        data = io.BytesIO(path.read_bytes())
        if path.suffix == ".csv":
            found += len(pd.read_csv(data))
            continue
        with fitdecode.FitReader(data) as reader:
            frames = [each for each in reader if isinstance(each, fitdecode.FitDataMessage)]
        found += sum(each.get_value("heart_rate", fallback=None) is not None for each in frames)
    return found


def _mapped(words: str, work: Callable[[Job], object], made: District, folder: Path) -> float:
    """Done by the workers, and given back; nothing is stored. Processor time of a trial with the workers [ms]."""
    with (
        _logbook(str(folder / f"{words}.db"), made) as logbook,
        _fed(made, folder) as (tables, feeder),
        Meter(None, frozenset({feeder})) as meter,
        opened(WORKERS, preload=PRELOAD) as pool,
    ):
        list(pool.map(_nothing, range(WORKERS)))
        batch = Batch(pool, Writer(logbook, How(None, TODAY)), tables)
        began, before, count = time.perf_counter(), meter.used(), 0
        for result in pool.map(work, batch._jobs((0, 0))):
            if isinstance(result, Lost):
                raise AssertionError(result)
            count += 1
            if count % ROWS == 0:
                _done_with(tables, count // ROWS - 1)
        spent = time.perf_counter() - began
        used = meter.used().since(before)
    own, workers = (1000 * each / count for each in (used.own, used.workers))
    print(
        f"  {words}: {count / spent:.1f} trials a second; processor time a trial: workers {workers:.1f} ms, "
        f"the process that takes them {own:.1f}"
    )
    return workers


def _stored(name: str, made: District, folder: Path, place: str, server: int | None) -> None:
    """A whole batch, and the same again."""
    with _logbook(place, made) as logbook:
        first, meter, start_s = _call(logbook, made, folder, server)
        print(
            f"  {name}: {first.trials} trials in {first.seconds:.1f} s, {first.trials / first.seconds:.1f} a second "
            f"({first.counts}); {first.starved_s:.1f} s of it waited for files; pool there after {start_s:.2f} s"
        )
        used = first.whole()
        words = "" if server is None else f", server {1000 * used.server / first.trials:.1f}"
        print(
            f"    processor time a trial: workers {1000 * used.workers / first.trials:.1f} ms, own "
            f"{1000 * used.own / first.trials:.1f}{words}, together {1000 * used.all / first.trials:.1f}; "
            f"making the files, apart, {1000 * first.fed_s / first.trials:.1f}"
        )
        ends = [number for number in _LOOKED_AT if number < 0.7 * first.trials] + [first.trials]
        costs = {number: first.cost_ms(number) for number in ends}
        print(
            "    cost of a trial around "
            + ", ".join(f"{number:,}: {cost:.1f} ms ({cost / costs[ends[0]]:.2f})" for number, cost in costs.items())
        )
        for of in ("own", "server")[: 1 if server is None else 2]:
            parts = (f"{number:,}: {first.cost_ms(number, of):.2f}" for number in ends)
            print(f"      of it {of}: {', '.join(parts)}")
        for words, sizes in (("own", meter.own_mib), ("a worker", meter.worker_mib), ("server", meter.server_mib)):
            if sizes and max(sizes):
                tenth = sizes[len(sizes) // 10 : len(sizes) // 5 + 1]
                print(f"    memory, {words}: {max(tenth):.0f} MiB after a tenth, {max(sizes):.0f} at the most")
        again, _, _ = _call(logbook, made, folder, server)
        print(
            f"    a second call: {again.seconds:.1f} s, {1000 * again.whole().all / again.trials:.1f} ms of processor "
            f"time a row ({again.counts}); {again.starved_s:.1f} s of it waited for files"
        )


def _call(logbook: object, made: District, folder: Path, server: int | None) -> tuple[_Run, Meter, float]:
    """One call of the batch."""
    run = _Run()
    with _fed(made, folder) as (tables, feeder), Meter(server, frozenset({feeder})) as meter:
        began = time.perf_counter()
        with opened(WORKERS, preload=PRELOAD) as pool:
            list(pool.map(_nothing, range(WORKERS)))
            ready = time.perf_counter()
            run.at.append((0, 0.0, meter.used()))

            def closed(report: TableReport) -> None:
                run.trials += report.rows
                for state, count in report.counts.items():
                    run.counts[state] = run.counts.get(state, 0) + count
                run.at.append((run.trials, time.perf_counter() - ready, meter.used()))
                _done_with(tables, run.trials // ROWS - 1)

            report = Batch(pool, Writer(logbook, How(None, TODAY)), tables, on_table=closed).run()
            run.seconds = time.perf_counter() - began
        if report.stopped is not None:
            raise report.stopped
        run.starved_s, run.fed_s = tables.starved_s, cpu_of(feeder)
    return run, meter, ready - began


def _nothing(number: int) -> int:
    return number


def _done_with(tables: _Tables, number: int) -> None:
    """Let the feeder take a class's files away."""
    place = tables.district.folder(tables.root, number)
    place.rename(place.with_suffix(".done"))


@contextmanager
def _fed(made: District, folder: Path) -> Iterator[tuple[_Tables, int]]:
    """The tables of a district whose files another process makes as they are wanted, and the number of that process."""
    with tempfile.TemporaryDirectory(dir=folder, ignore_cleanup_errors=True) as root:
        words = [sys.executable, "-m", "tests.bench.district_files", root, str(made.classes)]
        words += [] if made.frames else ["strap"]
        feeder = subprocess.Popen(words)
        tables = _Tables(made, Path(root))
        try:
            tables[min(1, made.classes - 1)]  # the first two are there
            tables.starved_s = 0.0
            yield tables, feeder.pid
        finally:
            feeder.kill()
            feeder.wait()


@contextmanager
def _logbook(place: str, made: District) -> Iterator[object]:
    """A logbook of the district's students and its test."""
    with open_logbook(place) as logbook:
        logbook.add_protocol(protocol(placement="frame"))
        rates = {"rests": (_rate(72),), "maxima": (_rate(188),)}
        logbook.add_students([student(code, **rates) for code in codes(made.classes)])
        settings.set_zone(logbook, ZONE)
        yield logbook


def _rate(bpm: float) -> MeasuredRate:
    """Measured before the year began, so that every figure is given."""
    return MeasuredRate(bpm=bpm, on=FIRST_DAY - timedelta(days=7))


def _megabytes(place: Path) -> float:
    files = [place] if place.is_file() else [each for each in place.rglob("*") if each.is_file()]
    return sum(each.stat().st_size for each in files) / 1e6


if __name__ == "__main__":
    words = sys.argv[1:]
    asked = ("strap", "stored")
    named = [each for each in words if not each.isdigit() and each not in asked]
    number = next((int(each) for each in words if each.isdigit()), TRIALS)
    district(number, named or ("SQLite", "PostgreSQL"), frames="strap" not in words, beside="stored" not in words)
