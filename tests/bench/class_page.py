"""The after-class screen: how soon a dropped file shows its row, a day of 30 planned and stored, memory over uploads.

A FIT file of 20 min is dropped onto the page, which runs as a program, and the day's screen is read to its end: at most
0.3 s. A day of 30 students with their presses is planned and stored by the worker, one row after the
other: at most 5 s of computing. 1,000 files are dropped one by one: the server's memory stays where it is.

python -m tests.bench.class_page
"""

import os
import statistics
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from ownmark.records import Student, open_logbook
from ownmark.records.catalogue import copy
from ownmark.records.day_entry import FileIn, Listed, Press, entry
from ownmark.records.store.day_entries import append
from ownmark.records.store.received import received_at
from ownmark.sample_streams.writers import fit
from ownmark.web.measuring import Measuring

from tests.bench.class_plan import BEFORE_S, RECOVERY_S, REST_S, WORK_S, _heart
from tests.makers.class_days import NINE, ZONE_HOURS, table
from tests.web.served import page
from tests.web.visiting import dropped, looked_at, session_of

STUDENTS, DROPS, UPLOADS = 30, 15, 1000
DAY = NINE.date()
ZONE = "America/Denver"


def main(students: int = STUDENTS, drops: int = DROPS, uploads: int = UPLOADS) -> None:
    """Print all three."""
    with tempfile.TemporaryDirectory() as name:
        dropping(Path(name), drops)
    with tempfile.TemporaryDirectory() as name:
        storing(Path(name), students)
    if sys.platform.startswith("linux"):
        with tempfile.TemporaryDirectory() as name:
            memory(Path(name), uploads)


def dropping(folder: Path, drops: int) -> None:
    """From the drop of a file until its row is there, after a first one."""
    place = folder / "logbook.db"
    open_logbook(place).close()
    spent: list[float] = []
    computed: list[float] = []
    with page(place) as found:
        cookie = session_of(found)
        for turn in range(drops + 1):
            data = _twenty_minutes(turn)
            begin, worked = time.perf_counter(), _of_family(found.program.pid)
            status, _ = dropped(found, cookie, f"/day/{DAY}/files", {f"strap-{turn}.fit": data})
            shown = looked_at(found, cookie, f"/day/{DAY}")
            spent.append(time.perf_counter() - begin)
            computed.append(_of_family(found.program.pid) - worked)
            if status != 303 or shown.count("20:00") < turn + 1:  # each file's row says how long it ran
                raise AssertionError(status)
    print(f"A FIT file of 20 min from the drop to its row, median of {drops} (wanted 0.30 s)")
    print(f"  {statistics.median(spent[1:]):.2f} s; the first one {spent[0]:.2f} s, the last one {spent[-1]:.2f} s")
    print(f"  of that computing, by the page and its worker: {statistics.median(computed[1:]):.2f} s")


def storing(folder: Path, students: int) -> None:
    """A class's day in the worker: planned, looked at again, stored row by row."""
    place = folder / "logbook.db"
    asked = _class(place, students)
    measuring = Measuring(str(place))
    try:
        measuring.warm_up()
        began, worked = time.perf_counter(), _computed(measuring.process_id)
        rows = measuring.ask("rows", **asked)["rows"]
        half, planned = time.perf_counter(), _computed(measuring.process_id)
        keys = [each["key"] for each in rows]
        done = [measuring.ask("store", **asked, rows=[key], at=f"{DAY}T15:00:00")[key]["state"] for key in keys]
        end, stored = time.perf_counter(), _computed(measuring.process_id)
    finally:
        measuring.close()
    if done != ["added"] * students:
        raise AssertionError(done)
    print(f"A day of {students} students, files of 15 min, by the worker (wanted 5 s together)")
    print(f"  computing: planned {planned - worked:.2f} s, stored {stored - planned:.2f} s")
    print(f"  by the wall: planned {half - began:.2f} s, stored {end - half:.2f} s")


def memory(folder: Path, uploads: int) -> None:
    """The server's memory before and after many uploads."""
    place = folder / "logbook.db"
    open_logbook(place).close()
    with page(place) as found:
        cookie = session_of(found)
        sizes: list[float] = []
        for turn in range(uploads + 1):
            data = f"time_s,heart_rate\n0,{turn}\n".encode() + b"1,100\n" * 2000
            dropped(found, cookie, f"/day/{DAY}/files", {f"S{turn}.csv": data})
            if turn % (uploads // 10) == 0:
                sizes.append(_resident(found.program.pid))
    print(f"The server's memory over {uploads} uploads [MiB], every tenth part of them")
    print("  " + " ".join(f"{each:.1f}" for each in sizes))


def _computed(process: int | None) -> float:
    """What a process has computed so far [s]; where the system does not tell, by the wall."""
    stat = Path(f"/proc/{process}/stat")
    if not stat.exists():
        return time.perf_counter()
    fields = stat.read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _of_family(process: int) -> float:
    """What a process and those that it started have computed so far [s]."""
    started = [each.read_text().split() for each in Path(f"/proc/{process}/task").glob("*/children")]
    return _computed(process) + sum(_computed(int(child)) for children in started for child in children)


def _resident(process: int) -> float:
    """What a process holds in memory [MiB]."""
    lines = Path(f"/proc/{process}/status").read_text().splitlines()
    return next(int(each.split()[1]) for each in lines if each.startswith("VmRSS")) / 1024


def _twenty_minutes(seed: int) -> bytes:
    """A strap's file."""
    bpm = np.random.default_rng(seed).normal(120, 2, 1200).round().astype(np.int64)
    return fit((NINE + timedelta(hours=ZONE_HOURS)).replace(tzinfo=UTC), bpm, (), seed)


def _class(place: Path, students: int) -> dict[str, object]:
    """A pressed day with its files received; what the page hands on with every job."""
    codes = [f"CL-{number:02d}" for number in range(1, students + 1)]
    with open_logbook(place) as logbook:
        protocol = copy("manual-chair-distance", "corridor-chair")
        logbook.add_protocol(protocol.model_copy(update={"rest_s": REST_S, "work_s": WORK_S, "recovery_s": RECOVERY_S}))
        logbook.add_students([Student(code=code, born="2012-05") for code in codes])
        batch = received_at(logbook.place).batch(DAY)
        for number, code in enumerate(codes):
            begin = NINE + timedelta(minutes=number)
            append(logbook, entry(DAY, begin, Listed(protocol="corridor-chair", strap=f"S{number:02d}"), code))
            moments = (BEFORE_S, BEFORE_S + REST_S, BEFORE_S + REST_S + WORK_S)
            for what, after in zip(("rest_begins", "work_begins", "work_ends"), moments, strict=True):
                append(logbook, entry(DAY, begin + timedelta(seconds=after), Press(what=what), code))
            incoming = batch.begin(f"S{number:02d}.{'csv' if number % 2 else 'fit'}")
            incoming.write(_file(number, begin))
            (came,) = incoming.done()
            append(logbook, entry(DAY, begin, FileIn(sha256=came.sha256, name=came.name, size=came.size)))
    paths = {each.sha256: str(each.path) for each in batch.arrived}
    return {"day": DAY.isoformat(), "paths": paths, "zone": ZONE, "today": (DAY + timedelta(days=1)).isoformat()}


def _file(number: int, begin: datetime) -> bytes:
    """A strap's file of a quarter of an hour, one in two a table."""
    bpm = _heart(number)
    if number % 2:
        return table(bpm, begin)
    return fit((begin + timedelta(hours=ZONE_HOURS)).replace(tzinfo=UTC), bpm.astype(np.int64), (), 0)


if __name__ == "__main__":
    main()
