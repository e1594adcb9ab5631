"""A district's files, made when they are wanted: two a trial, as a strap and a sensor on a chair's frame write them.

10,000 trials are 43 GB, more than a machine has room for beside the logbook. So a process of its own makes the folder
of each class a little before its turn comes, and takes it away when it is done with. The bytes depend on the number of
the class and of the row alone: a second call meets the same files, and no two trials' files are equal.
"""

import os
import shutil
import struct
import time
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from fastcrc import crc16

ROWS = 30
"""Students of a class, and rows of a table."""
SECONDS, RATE_HZ = 1200, 100
WORK_S = (240, 960)
FIRST_DAY, ZONE = date(2026, 1, 12), "America/Denver"
AHEAD = 3
"""Classes whose files are there before their turn."""
_EPOCH = datetime(1989, 12, 31, tzinfo=UTC)
_RECORD = np.dtype([("head", "u1"), ("stamp", "<u4"), ("rate", "u1"), ("cadence", "u1"), ("distance", "<u4")])
_STAMP_DIGITS = 10  # of the whole seconds; three more for the thousandths
_DIGITS = 2_000_003
_WRITTEN = "class.csv"


def code_of(number: int, row: int, classes: int) -> str:
    """The student in a row of a class: schools of one class each, which meet day after day."""
    return f"D-{number % _schools(classes):03d}{row:02d}"


def codes(classes: int) -> list[str]:
    """Every student of a district with so many class days."""
    return [code_of(school, row, classes) for school in range(_schools(classes)) for row in range(ROWS)]


def _schools(classes: int) -> int:
    """A class has some 20 days in a year."""
    return max(-(-classes // 20), 1)


def begin_of(number: int, row: int, classes: int) -> datetime:
    """When a row's recordings begin: each class on a day of its own in its school, each student half a minute later."""
    day = FIRST_DAY + timedelta(days=number // _schools(classes))
    nine = datetime(day.year, day.month, day.day, 9, tzinfo=ZoneInfo(ZONE)).astimezone(UTC)
    return nine + timedelta(seconds=30 * row)


@dataclass(frozen=True)
class District:
    """So many class days. ``folder(root, number)`` is where the files of one lie.

    frames : a sensor on each chair besides the strap
    """

    classes: int
    frames: bool = True

    def folder(self, root: Path, number: int) -> Path:
        """The folder of a class."""
        return root / f"class-{number:05d}"

    def write(self, root: Path, number: int) -> None:
        """Make the files of a class; its folder is there when all of them are."""
        place = self.folder(root, number)
        part = place.with_suffix(".part")
        part.mkdir()
        lines = ["code,protocol,files,date,work"]
        for row in range(ROWS):
            strap, frame = f"strap-{row:02d}.fit", f"frame-{row:02d}.csv"
            begin = begin_of(number, row, self.classes)
            (part / strap).write_bytes(self.fit(number, row))
            if self.frames:
                (part / frame).write_bytes(self.csv(number, row))
                strap = f"{strap}; {frame}"
            local = begin.astimezone(ZoneInfo(ZONE))
            work = "-".join(f"@{local + timedelta(seconds=second):%H:%M:%S}" for second in WORK_S)
            code = code_of(number, row, self.classes)
            lines.append(f"{code},slalom-gym,{strap},{begin.date().isoformat()},{work}")
        (part / _WRITTEN).write_text("\n".join(lines) + "\n")
        part.rename(place)

    def table(self, root: Path, number: int) -> Path:
        """Its class table."""
        return self.folder(root, number) / _WRITTEN

    def fit(self, number: int, row: int) -> bytes:
        """A strap: time stamp, heart rate, cadence and distance once a second, as in ``files.fit_file``."""
        stamp = int((begin_of(number, row, self.classes) - _EPOCH).total_seconds())
        second = np.arange(SECONDS)
        rng = np.random.default_rng((number, row))
        work = (second >= WORK_S[0]) & (second < WORK_S[1])
        aim = np.where(work, rng.uniform(120, 160), rng.uniform(75, 95))
        course = np.convolve(np.concatenate((np.full(200, aim[0]), aim)), _answer(), "valid")[-SECONDS:]
        records = np.zeros(SECONDS, _RECORD)
        records["head"], records["cadence"] = 1, 55
        records["stamp"], records["distance"] = stamp + second, 120 * second
        records["rate"] = np.rint(course + rng.normal(0, 1.2, SECONDS))
        fields = ((253, 4, 0x86), (3, 1, 0x02), (4, 1, 0x02), (5, 4, 0x86))
        body = b"\x40\x00\x00" + struct.pack("<HB", 0, 2) + bytes((0, 1, 0, 4, 4, 0x86))
        body += struct.pack("<BBI", 0, 4, stamp) + b"\x41\x00\x00" + struct.pack("<HB", 20, len(fields))
        body += b"".join(bytes(field) for field in fields) + records.tobytes()
        head = struct.pack("<BBHI4s", 14, 0x10, 2132, len(body), b".FIT")
        head += struct.pack("<H", crc16.arc(head))
        return head + body + struct.pack("<H", crc16.arc(head + body))

    def csv(self, number: int, row: int) -> bytes:
        """A frame's sensor: the same movement, with times and last digits of its own."""
        text, stamps, last, digits = self._frame
        made = text.copy()
        first = int(begin_of(number, row, self.classes).timestamp())
        shown = np.frombuffer("".join(map(str, range(first, first + SECONDS))).encode(), np.uint8)
        made[stamps] = np.repeat(shown.reshape(SECONDS, _STAMP_DIGITS), RATE_HZ, axis=0)
        place = (number * ROWS + row) * 997 % (_DIGITS - len(last))
        made[last] = digits[place : place + len(last)]
        return made.tobytes()

    @cached_property
    def _frame(self) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """A whole table as bytes, where its seconds and its last digits stand, and digits to put there."""
        rng = np.random.default_rng(3)
        count = SECONDS * RATE_HZ
        time_s = np.arange(count) / RATE_HZ
        going = ((time_s >= WORK_S[0]) & (time_s < WORK_S[1])).astype(float)
        push = going * 0.3 * np.sin(2 * np.pi * 0.9 * time_s)
        axes = rng.normal(0, 0.01, (3, count)) + going * rng.normal(0, 0.05, (3, count))
        axes[0] += push
        axes[2] += 1
        milli = (np.arange(count) % RATE_HZ) * 1000 // RATE_HZ
        rows = [
            f"{1_700_000_000}{part:03d},{x:.4f},{y:.4f},{z:.4f}\n"
            for part, x, y, z in zip(milli.tolist(), *(axis.tolist() for axis in axes), strict=True)
        ]
        header = "Unix time (ms),Accelerometer X (g),Accelerometer Y (g),Accelerometer Z (g)\n"
        text = np.frombuffer((header + "".join(rows)).encode(), np.uint8)
        begins = len(header) + np.concatenate(([0], np.cumsum([len(each) for each in rows])[:-1]))
        ends = np.flatnonzero((text == ord(",")) | (text == ord("\n")))
        ends = ends[ends > begins[0] + _STAMP_DIGITS + 3]  # behind the first number of the first row
        last = ends[(text[ends - 1] != ord("g")) & ~np.isin(ends, begins + _STAMP_DIGITS + 3)] - 1
        digits = rng.integers(ord("0"), ord("9") + 1, _DIGITS, dtype=np.uint8)
        return text, begins[:, None] + np.arange(_STAMP_DIGITS), last, digits


def _answer() -> np.ndarray:
    """How a heart follows work: by an exponential of half a minute."""
    weights = np.exp(-np.arange(200) / 30.0)
    return weights / weights.sum()


def feed(root: Path, district: District, parent: int) -> None:
    """Make class after class, a few ahead, and take away those that are done with; until the parent has ended."""
    for number in range(district.classes):
        while _clear(root) >= AHEAD:
            if os.getppid() != parent:
                return
            time.sleep(0.01)
        district.write(root, number)
    while any(root.iterdir()) and os.getppid() == parent:
        _clear(root)
        time.sleep(0.05)


def _clear(root: Path) -> int:
    """Take away what is done with; how many classes wait."""
    waiting = 0
    for each in root.iterdir():
        if each.suffix == ".done":
            shutil.rmtree(each)
        waiting += each.suffix == ""
    return waiting


if __name__ == "__main__":
    import sys

    feed(Path(sys.argv[1]), District(int(sys.argv[2]), frames="strap" not in sys.argv[3:]), os.getppid())
