"""Days of a class whose truth is known: files as they really arrive, and the tables that people wrote about them.

Every student does the same short trial with a strap of the student's own or one that goes round. Names, clocks and
tables are right or wrong in the ways in which they are at a school; what is true is kept beside. Drawn from a seed.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np
from ownmark.sample_streams.writers import fit

from tests.makers.class_recordings import Day, life, strap, true_rate

REST_S, WORK_S, RECOVERY_S = 60.0, 180.0, 60.0
NINE = datetime(2026, 5, 12, 9, 0, 0)  # noqa: DTZ001 a strap states no zone
ZONE, ZONE_HOURS = "America/Denver", 6
"""The school's, and by how much UTC is ahead of it in May."""
SLOT_S = 600.0
"""A strap that goes round changes hands every so often [s]."""


@dataclass(frozen=True)
class Truth:
    """What a file really is.

    codes : of all whose heart is in it
    work : when the first of them worked, by the clock on the wall  [s after midnight]
    on : the day, as YYYY-MM-DD
    odd : what is wrong with the file, its clock, its name or the tables
    """

    codes: frozenset[str]
    work: tuple[float, float] | None = None
    on: str = "2026-05-12"
    odd: frozenset[str] = frozenset()


@dataclass
class ClassDay:
    """Files by name, what people wrote, and the truth by name."""

    files: dict[str, bytes] = field(default_factory=dict)
    truth: dict[str, Truth] = field(default_factory=dict)
    roster: list[tuple[str, str]] = field(default_factory=list)
    straps: list[tuple[str, str, str, str]] = field(default_factory=list)
    starts: dict[str, str] = field(default_factory=dict)


def clock(seconds, *, to_minute=False):
    """A time of day as people write it."""
    whole = round(seconds / 60) * 60 if to_minute else round(seconds)
    shown = f"{whole // 3600:02d}:{whole // 60 % 60:02d}"
    return shown if to_minute else f"{shown}:{whole % 60:02d}"


def heart(rng, before_s, after_s=40.0):
    """One trial as a strap writes it, and when the work was  [/min], [s] from the recording's start."""
    begin = before_s + REST_S
    end = begin + WORK_S
    work = (begin, end)
    when = Day(round(end + RECOVERY_S + after_s), (before_s, begin), work, (end, end + RECOVERY_S), (work,))
    return strap(true_rate(life(rng, (45.0, 80.0)), when, rng), rng), work


def table(bpm, start):
    """The strap's table with clock times; without a start with seconds."""
    lines = ["time,heart_rate"]
    for second, beat in enumerate(bpm):
        at = second if start is None else (start + timedelta(seconds=second)).isoformat()
        lines.append(f"{at},{beat:.0f}")
    return ("\n".join(lines) + "\n").encode()


def seconds_of_day(moment):
    return moment.hour * 3600.0 + moment.minute * 60.0 + moment.second


class Maker:
    """Draws one day."""

    def __init__(self, seed, students=8):
        self.rng = np.random.default_rng([seed, 4711])
        self.day = ClassDay()
        self.codes = [f"TH-{number}" for number in range(11, 11 + students)]
        self.listed = self.rng.random() < 0.85
        self.timed = self.rng.random() < 0.8
        self.started = self.rng.random() < 0.8
        self.by_number = self.rng.random() < 0.3

    def often(self, share):
        return self.rng.random() < share

    def draw(self):
        """The whole day, strap by strap."""
        left, number = list(self.codes), 0
        self.day.roster = [(code, "slalom") for code in self.codes]
        while left:
            number += 1
            size = min(len(left), int(self.rng.choice([1, 1, 1, 2, 3])))
            wearers, left = left[:size], left[size:]
            self.one_strap(str(number) if self.by_number else f"S{number:02d}", wearers)
        return self.day

    def one_strap(self, label, wearers):
        """The files of one strap, one a wearer or one of two in turn, all on its own clock."""
        odd = set()
        off = 0.0
        if self.often(0.12):
            off, odd = float(self.rng.choice([-3600.0, 3600.0, 7200.0])), {"clock"}
        elif self.often(0.08):
            off, odd = float(self.rng.choice([-SLOT_S, SLOT_S])), {"clock"}
        utc = not odd and self.often(0.1)
        first = NINE + timedelta(seconds=float(self.rng.integers(0, 20)) * 60)
        begins = [first + timedelta(seconds=place * SLOT_S) for place in range(len(wearers))]
        for code, begin in zip(wearers, begins, strict=True):
            self.written(label, code, begin)
        if len(wearers) == 2 and self.often(0.4):
            self.handed_on(label, wearers, begins, off, odd)
            return
        for code, begin in zip(wearers, begins, strict=True):
            if not self.often(0.08):  # else the file did not make it into the bag
                self.one_file(label, code, begin, off, odd, utc=utc)

    def written(self, label, code, begin):
        """What people wrote of it, to the minute."""
        at = seconds_of_day(begin)
        if self.listed:
            until = at + REST_S + WORK_S + RECOVERY_S + 100
            times = (clock(at - 30, to_minute=True), clock(until, to_minute=True)) if self.timed else ("", "")
            self.day.straps.append((label, code, *times))
        if self.started and not self.often(0.1):
            self.day.starts[code] = clock(at + 30.0 + float(self.rng.uniform(-15, 15)))

    def named(self, label, code):
        """A name: with the code, with the strap, with both, with neither, or with another student's code."""
        how = self.rng.choice(
            ["code", "strap", "strap", "strap", "both", "none", "wrong"], p=[0.2, *[0.2] * 3, 0.1, 0.07, 0.03]
        )
        dated = f"_{NINE:%Y-%m-%d}" if self.often(0.5) else ""
        of_strap = f"strap {label}" if self.by_number and self.often(0.7) else label
        how = "both" if how == "wrong" and not self.listed else how  # nothing could tell
        other = self.codes[(self.codes.index(code) + 1) % len(self.codes)]
        stem = {
            "code": code,
            "strap": of_strap,
            "both": f"{code} {of_strap}",
            "none": "export",
            "wrong": f"{other} {of_strap}",
        }[how]
        taken, count = {name.rpartition(".")[0] for name in self.day.files}, 1
        name = f"{stem}{dated}"
        while name in taken:
            count += 1
            name = f"{stem}{dated} ({count})"
        return f"{name}.csv", {"name"} if how == "wrong" else set()

    def one_file(self, label, code, begin, off, odd, *, utc):
        """One wearer's file, and whatever went wrong with it."""
        bpm, work = heart(self.rng, 30.0)
        at, on = begin + timedelta(seconds=off), "2026-05-12"
        name, more = self.named(label, code)
        odd = odd | more
        if self.often(0.06):
            at, odd = at - timedelta(days=7), odd | {"day"}
            on = "2026-05-05"
        truth = (seconds_of_day(begin) + work[0], seconds_of_day(begin) + work[1])
        data = self.spoiled(bpm, at, odd) if not utc and self.often(0.12) else table(bpm, at)
        if utc:
            aware = (at + timedelta(hours=ZONE_HOURS)).replace(tzinfo=UTC)
            name, data = name.replace(".csv", ".fit"), fit(aware, bpm.astype(np.int64), (), 0)
        self.put(name, data, Truth(frozenset({code}), truth, on, frozenset(odd)))
        if self.often(0.04):
            self.put(f"copy of {name}", data, Truth(frozenset({code}), truth, on, frozenset(odd | {"twice"})))

    def put(self, name, data, truth):
        self.day.files[name], self.day.truth[name] = data, truth

    def spoiled(self, bpm, at, odd):
        """A file that holds nothing, cannot be read, or was put on late."""
        how = self.rng.choice(["empty", "unreadable", "late"])
        odd.add(str(how))
        if how == "empty":
            return b""
        if how == "unreadable":
            return self.rng.integers(0, 256, 4000, np.uint8).tobytes()
        late = int(self.rng.integers(70, 200))
        return table(bpm[late:], at + timedelta(seconds=late))

    def handed_on(self, label, wearers, begins, off, odd):
        """One file that ran while two wore the strap, one behind the other, with no contact between."""
        parts = [heart(self.rng, 30.0)[0] for _ in wearers]
        gap = int(SLOT_S) - len(parts[0])
        bpm = np.concatenate((parts[0], np.zeros(gap), parts[1]))
        name, more = self.named(label, wearers[0])
        at = begins[0] + timedelta(seconds=off)
        begin = seconds_of_day(begins[0]) + 30.0 + REST_S
        self.put(
            name,
            table(bpm, at),
            Truth(frozenset(wearers), (begin, begin + WORK_S), odd=frozenset(odd | more | {"two"})),
        )


def class_day(seed, students=8):
    """A day of a class."""
    return Maker(seed, students).draw()
