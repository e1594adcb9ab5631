"""Hearts beat by beat, and recorders that see beats that were none, miss some, or show premature ones.

Nothing here is shared with the code under test.
"""

import numpy as np
from numpy.typing import NDArray
from ownmark.ingest.flags import Flag
from ownmark.ingest.recording import RR_INTERVAL, Recording, Stream

from tests.makers.recordings import recording

Floats = NDArray[np.float64]
HIGHEST_BPM = 230.0


def heart(rng: np.random.Generator, from_bpm: float, to_bpm: float, seconds: float = 300.0) -> Floats:
    """Intervals of a heart that turns from one rate to another, with its breathing, shape (n,) [s].

    Breathing swings the intervals by 15 % at 40 /min and by less the faster it beats (5 % at 105, 1 % at 200). The
    real, strongly varying hearts of the tests swing by about a tenth at 75 /min; this one by 8 %.
    """
    turn, lasts = rng.uniform(0.1, 0.9) * seconds, rng.uniform(15, 60)
    breath, phase = rng.uniform(0.15, 0.35), rng.uniform(0, 2 * np.pi)
    at, found = 0.0, []
    while at < seconds:
        rate = from_bpm if at < turn else to_bpm + (from_bpm - to_bpm) * np.exp(-(at - turn) / lasts)
        swing = 0.15 * np.exp(-(rate - 40) / 60)
        share = 1 + swing * np.sin(2 * np.pi * breath * at + phase) + rng.normal(0, 0.2 * swing + 0.004)
        found.append(max(60 / rate * share, 60 / HIGHEST_BPM))
        at += found[-1]
    return np.array(found)


def spoiled(
    rng: np.random.Generator, rr_s: Floats, *, extra: float = 0.0, missed: float = 0.0, premature: float = 0.0
) -> Floats:
    """What a recorder writes that sees false beats, misses true ones, or meets premature ones, each by chance.

    A false beat lies anywhere in its interval; of five times beats are missed, once two are missed at once; a
    premature beat comes after 0.4 to 0.7 of its interval, and the next one in its own time.
    """
    found: list[float] = []
    at = 0
    while at < len(rr_s):
        chance, rest = rng.random(), rr_s[at:]
        if chance < extra:
            cut = rng.uniform(0.02, 0.98)
            found += [rest[0] * cut, rest[0] * (1 - cut)]
            at += 1
        elif chance < extra + missed and len(rest) > 2:
            together = 2 if rng.random() < 0.8 else 3
            found.append(float(rest[:together].sum()))
            at += together
        elif chance < extra + missed + premature and len(rest) > 1:
            early = rest[0] * rng.uniform(0.4, 0.7)
            found += [early, float(rest[:2].sum()) - early]
            at += 2
        else:
            found.append(float(rest[0]))
            at += 1
    return np.array(found)


def intervals(rr_s: Floats, *, judged: bool = False) -> Recording:
    """A recording of intervals one behind the other; ``judged``: with no flag on any, as a perfect sensor's."""
    flags = np.full(len(rr_s), 0 if judged else Flag.UNCHECKED, np.uint16)
    starts = np.append(0.0, np.cumsum(rr_s)[:-1])
    return recording(Stream.from_samples(RR_INTERVAL, starts, rr_s, cover_s=rr_s, flags=flags, source="made.csv"))


STRETCHES = ("halved", "unevenly halved", "cut in three", "cut anywhere", "two as one", "some as one", "couplets")


def in_stretches(rng: np.random.Generator, rr_s: Floats, how: str) -> Floats:
    """What a recorder writes that goes wrong for 3 to 20 beats in a row, after 60 good ones about every 40.

    T waves counted as beats cut each interval in two; noise cuts anywhere; a weak signal takes two beats, or up to
    three, for one; couplets are two premature beats and their pause. ``how`` is one of ``STRETCHES``.
    """
    found, at = rr_s[:60].tolist(), 60
    while at < len(rr_s):
        count = int(rng.integers(3, 21)) if rng.random() < 1 / 40 else 0
        found += _gone_wrong(rng, rr_s[at : at + count], how) if count else [float(rr_s[at])]
        at += max(count, 1)
    return np.array(found)


def _gone_wrong(rng: np.random.Generator, rr_s: Floats, how: str) -> list[float]:
    if how == "cut in three":
        return np.repeat(rr_s / 3, 3).tolist()
    if how in ("halved", "unevenly halved", "cut anywhere"):
        usual, free = rng.uniform(0.35, 0.65, len(rr_s)), rng.uniform(0.02, 0.98, len(rr_s))
        share = {"halved": np.full(len(rr_s), 0.5), "unevenly halved": usual, "cut anywhere": free}[how]
        return np.column_stack((rr_s * share, rr_s * (1 - share))).ravel().tolist()
    sizes = {"two as one": (2, 3), "some as one": (1, 4), "couplets": (3, 4)}[how]
    found, at = [], 0
    while at < len(rr_s):
        part = rr_s[at : at + int(rng.integers(*sizes))]
        at += len(part)
        early = rng.uniform(0.45, 0.7, 2) * part[:2] if how == "couplets" and len(part) == 3 else []
        found += [*early, float(part.sum() - sum(early))]
    return found
