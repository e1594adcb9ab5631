"""Cadence lock where the truth is known: what is found of it, and what a true heart loses that lies near by chance.

python -m tests.bench.lock_accuracy
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ownmark.metrics.motion.cadence_lock import Lock, find_lock

from tests.makers.pulse import Heart, cadence, heart, locked, seen, shown, spans_mask

Floats = NDArray[np.float64]
SECONDS = 900


@dataclass(frozen=True)
class Worn:
    """An optical sensor on a moving arm: cadence as found, heart rate as written, and where it was locked."""

    time_s: Floats
    per_minute: Floats
    bpm: Floats
    when: tuple[tuple[float, float], ...]


def worn(
    seed: int, *, lock: bool, near: float | None, share: float | None = None, calm: bool = False, whole: bool = False
) -> Worn:
    """A quarter of an hour of arm work.

    near : the true heart is paced to within so many /min of a multiple
    share : by which the cadence wanders
    calm : the true heart hardly drifts and swings by 1 /min only
    whole : the lock lasts from the beginning to the end of every bout, not for a part of one
    """
    rng, seconds = np.random.default_rng(seed), SECONDS
    base = float(rng.uniform(35, 85))
    times = int(rng.choice([1, 2])) if base > 60 else 2
    moving = ((120, 780),) if rng.random() < 0.5 else ((120, 330), (350, 540), (575, 780))
    share = float(rng.choice([0.005, 0.01, 0.02, 0.03, 0.05])) if share is None else share
    pace = cadence(base, moving, seconds, rng, share=share, memory_s=float(rng.uniform(15, 60)))
    if rng.random() < 0.5:
        pace[int(rng.uniform(250, 600)) :] *= rng.uniform(0.85, 1.15)
    work = float(
        np.clip(times * base + rng.uniform(-near, near) if near is not None else rng.uniform(95, 170), 85, 185)
    )
    life = Heart(
        float(rng.uniform(65, min(95, work - 10))),
        work,
        float(rng.uniform(20, 50)),
        float(rng.uniform(30, 80)),
        float(rng.uniform(0, 2 if calm else 10)),
        float(rng.uniform(0.5, 1.5) if calm else rng.uniform(1, 3)),
    )
    begin = float(rng.uniform(130, 400))
    when = ((begin, min(begin + float(rng.uniform(60, 300)), 780.0)),) if lock else ()
    if lock and whole:
        when = tuple((float(a), float(b)) for a, b in moving)
    signal = locked(heart(life, moving, seconds, rng), pace, times, when)
    written = shown(
        signal,
        rng,
        smooth_s=int(rng.integers(3, 11)),
        late_s=int(rng.integers(1, 6)),
        noise_bpm=float(rng.uniform(0.2, 0.8)),
    )
    return Worn(*seen(pace, rng, error=float(rng.uniform(0.002, 0.008))), written, when)


@dataclass(frozen=True)
class Case:
    """Which hearts and cadences; see ``worn``."""

    words: str
    near: float | None = None
    share: float | None = None
    calm: bool = False
    whole: bool = False


CASES = (
    Case("true heart anywhere"),
    Case("... the lock from beginning to end", whole=True),
    Case("... and the cadence steady to 0.5 %", None, 0.005, whole=True),
    Case("true heart within 8 /min of the multiple", 8.0),
    Case("... and the cadence steady to 0.5 %", 8.0, 0.005),
    Case("... and the cadence wandering by 5 %", 8.0, 0.05),
    Case("... within 2 /min of the multiple", 2.0),
    Case("... and the cadence steady to 1 %", 2.0, 0.01),
    Case("calm heart within 2 /min", 2.0, None, calm=True),
    Case("... and the cadence steady to 0.3 %", 2.0, 0.003, calm=True),
    Case("... and the cadence steady to 1 %", 2.0, 0.01, calm=True),
    Case("... and the cadence wandering by 3 %", 2.0, 0.03, calm=True),
)


@dataclass(frozen=True)
class Rates:
    """Locked minutes found and in all; minutes without a lock that were flagged and in all; what each trial without a
    lock loses, as a share of its time, shape (trials,).
    """

    found: int
    locked: int
    false: int
    free: int
    lost: Floats


def judged(each: Worn) -> Lock:
    """What is found in one trial."""
    count = len(each.bpm)
    return find_lock(np.arange(count), np.ones(count), each.bpm, each.time_s, each.per_minute)


def minutes(each: Worn, found: Lock) -> tuple[int, int, int, int]:
    """Locked minutes found and in all, and minutes without a lock that were flagged and in all.

    A minute counts as locked if half of it is, and as found if half of that is flagged.
    """
    out = np.zeros(4, int)
    mask, known = found.covers(each.time_s), np.isfinite(each.per_minute)
    true = known & spans_mask(each.when, each.time_s)
    for first in range(0, len(mask) - 29, 30):
        part = slice(first, first + 30)
        if known[part].sum() < 15:
            continue
        if true[part].sum() >= 15:
            out[:2] += (mask & true)[part].sum() >= 0.5 * true[part].sum(), 1
        elif not true[part].any():
            out[2:] += mask[part].sum() >= 15, 1
    return int(out[0]), int(out[1]), int(out[2]), int(out[3])


def rates(case: Case, seeds: Sequence[int]) -> Rates:
    """The same trials with a lock and without."""
    out, lost = np.zeros(4, int), []
    for seed in seeds:
        bad = worn(9000 + seed, lock=True, near=case.near, share=case.share, calm=case.calm, whole=case.whole)
        good = worn(20000 + seed, lock=False, near=case.near, share=case.share, calm=case.calm)
        out[:2] += minutes(bad, judged(bad))[:2]
        found = judged(good)
        out[2:] += minutes(good, found)[2:]
        lost.append(sum(until - begin for begin, until in found.intervals) / SECONDS)
    return Rates(int(out[0]), int(out[1]), int(out[2]), int(out[3]), np.array(lost))


def locks(seeds: int = 150) -> None:
    """Locked minutes found, minutes flagged wrongly, and trials that lose much to it."""
    print(f"cadence lock, {seeds} trials of a quarter of an hour with a lock and as many without, in per cent: locked")
    print("minutes found; other minutes flagged; trials without a lock that lose over 5 and over 20 % of their time")
    for case in CASES:
        got = rates(case, range(seeds))
        print(
            f"  {case.words:<42} {100 * got.found / got.locked:5.1f} of {got.locked};"
            f" {100 * got.false / got.free:5.2f} of {got.free};"
            f" {100 * np.mean(got.lost > 0.05):5.1f} {100 * np.mean(got.lost > 0.2):5.1f}"
        )


if __name__ == "__main__":
    locks()
