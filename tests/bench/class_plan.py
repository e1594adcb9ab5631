"""The plan of a class's day: how long a class of 30 takes, and what is sure, asked and wrong on days of known truth.

A class brings 30 strap files of 15 min at 1 Hz, half of them FIT and half tables, and 10 tables of movement at 100 Hz.
``ownmark class plan`` and ``ownmark class add`` are timed with the program's start, beside reading the same files in
one process: at most 5 s each are asked for, on two cores.

python -m tests.bench.class_plan
"""

import csv
import subprocess
import sys
import tempfile
import time
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest import read
from ownmark.records import Student, open_logbook
from ownmark.records.catalogue import copy
from ownmark.sample_streams.writers import fit

from tests.makers.class_days import NINE, ZONE_HOURS, class_day, clock, seconds_of_day, table
from tests.makers.class_recordings import Day, life, strap, true_rate
from tests.records.plan.judged import judged

STUDENTS, MOVING, SECONDS, RATE_HZ = 30, 10, 900, 100
REST_S, WORK_S, RECOVERY_S, BEFORE_S = 180.0, 480.0, 120.0, 60.0
DAYS, HELD_OUT = 150, 20_000
"""Made days, and the first seed of those that no rule was made on."""


def main(students: int = STUDENTS, days: int = DAYS) -> None:
    """Print both."""
    speed(students, min(MOVING, students))
    accuracy(days)


def speed(students: int, moving: int) -> None:
    """Time the plan and the addition of a class."""
    print(f"A class's day: {students} strap files of {SECONDS // 60} min, {moving} of movement at {RATE_HZ} Hz")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _school(folder, students, moving)
        paths = sorted((folder / "bag").iterdir())
        begin = time.perf_counter()
        for path in paths:
            read(path)
        reading = time.perf_counter() - begin
        tables = ["--roster", "roster.csv", "--straps", "straps.csv", "--start", "starts.csv"]
        planned = _timed(folder, "class", "plan", "bag", *tables, "--zone", "America/Denver", "--out", "day.csv")
        with (folder / "day.csv").open(newline="") as handle:
            rows = list(csv.DictReader(handle))
        sure = sum(not row["check"] for row in rows)
        added = _timed(folder, "class", "add", "day.csv")
        for what, spent in (("planned", planned), ("added", added)):
            print(f"  {what:<8} {spent:5.2f} s, {spent / reading:4.1f} times as long as reading the files")
        print(f"  {sure} of {len(rows)} rows are sure")


def _timed(folder: Path, *words: str) -> float:
    """How long a command takes, the program's start included  [s]."""
    own = [str(Path(sys.executable).with_name("ownmark")), *words, "--logbook", "logbook.db"]
    begin = time.perf_counter()
    subprocess.run(own, cwd=folder, check=False, capture_output=True)
    return time.perf_counter() - begin


def _school(folder: Path, students: int, moving: int) -> None:
    """A logbook, a bag of files, and the tables beside."""
    bag, codes = folder / "bag", [f"CL-{number:02d}" for number in range(1, students + 1)]
    bag.mkdir()
    with open_logbook(folder / "logbook.db", create=True) as logbook:
        protocol = copy("manual-chair-distance", "corridor-chair")
        logbook.add_protocol(protocol.model_copy(update={"rest_s": REST_S, "work_s": WORK_S, "recovery_s": RECOVERY_S}))
        logbook.add_students([Student(code=code, born="2012-05") for code in codes])
    straps, starts = ["strap,code,from,until"], ["code,start"]
    for place, code in enumerate(codes):
        begin = NINE + timedelta(minutes=place)
        bpm = _heart(place)
        if place % 2:
            (bag / f"S{place:02d}.csv").write_bytes(table(bpm, begin))
        else:
            utc = (begin + timedelta(hours=ZONE_HOURS)).replace(tzinfo=UTC)
            (bag / f"S{place:02d}.fit").write_bytes(fit(utc, bpm.astype(np.int64), (), 0))
        straps.append(f"S{place:02d},{code},,")
        starts.append(f"{code},{clock(seconds_of_day(begin) + BEFORE_S)}")
        if place < moving:
            _movement(bag / f"{code}_frame.csv", begin, place)
    (folder / "straps.csv").write_text("\n".join(straps))
    (folder / "starts.csv").write_text("\n".join(starts))
    (folder / "roster.csv").write_text("code,protocol\n" + "\n".join(f"{code},corridor-chair" for code in codes))


def _heart(seed: int) -> NDArray[np.float64]:
    """A quarter of an hour of one student."""
    rng = np.random.default_rng([seed, 31])
    begin = BEFORE_S + REST_S
    end = begin + WORK_S
    when = Day(SECONDS, (BEFORE_S, begin), (begin, end), (end, end + RECOVERY_S), ((begin, end),))
    return strap(true_rate(life(rng, (45.0, 80.0)), when, rng), rng)


def _movement(path: Path, start: datetime, seed: int) -> None:
    """A table of acceleration with clock times, moving while the student works."""
    rng = np.random.default_rng([seed, 32])
    second = np.arange(SECONDS * RATE_HZ) / RATE_HZ
    works = (second >= BEFORE_S + REST_S) & (second < BEFORE_S + REST_S + WORK_S)
    swing = 0.3 * works * np.sin(2 * np.pi * 0.9 * second)
    x, y, z = (part + rng.normal(0, 0.006, len(second)) for part in (swing, 0.5 * swing, 1.0))
    rows = [
        f"{(start + timedelta(seconds=float(at))).isoformat(timespec='milliseconds')},{a:.4f},{b:.4f},{c:.4f}"
        for at, a, b, c in zip(second, x, y, z, strict=True)
    ]
    path.write_text("\n".join(["Time,Accelerometer X (g),Accelerometer Y (g),Accelerometer Z (g)", *rows, ""]))


def accuracy(days: int) -> None:
    """What becomes of the files of made days, by what is odd about them."""
    seen, sure, wrong = Counter[str](), Counter[str](), 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(HELD_OUT, HELD_OUT + days):
            day = class_day(seed)
            found = judged(day, Path(folder) / str(seed))
            wrong += len(found.wrong)
            for name, truth in day.truth.items():
                for odd in sorted(truth.odd) or ["nothing odd"]:
                    seen[odd] += 1
                    sure[odd] += name in found.sure
    print(f"Files of {days} made days of 8 students, names and tables of mixed quality: how many, and sure [%]")
    for odd, count in seen.most_common():
        print(f"  {WORDS[odd]:<36} {count:5} {100 * sure[odd] / count:6.1f}")
    print(f"  sure and wrong in student, day or work: {wrong}")


WORDS = {
    "nothing odd": "nothing odd",
    "clock": "clock off by an hour or a turn",
    "day": "of another day",
    "two": "two students in turn",
    "empty": "empty",
    "unreadable": "unreadable",
    "late": "strap put on late",
    "twice": "the same file twice",
    "name": "another student's code in the name",
}

if __name__ == "__main__":
    main()
