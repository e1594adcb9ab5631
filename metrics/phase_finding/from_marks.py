"""Presses of the button and laps: moments that a person set on purpose."""

from collections.abc import Sequence
from itertools import pairwise

from ...ingest.recording import Mark
from .effort_model import SHORTEST_S
from .found import BUTTON, LAP

PRESS_SD_S = 2.0
"""A person presses within some seconds of the start or the end, as a standard deviation [s]. Common practice."""
SAME_S = 3.0
"""A second press so soon is the same one again; a lap and its press are one [s]. Common practice."""
EVEN_S = 2.0
"""Laps that are all as long as each other to within this were set by the device, not by a person [s]."""
LEAST_EVEN = 3
TOLERANCE_S, TOLERANCE_SHARE = 30.0, 0.2
"""Work is as long as expected if it differs by no more than this [s] or this share. The plan's own limits."""


def moments(marks: Sequence[Mark], from_s: float, until_s: float) -> tuple[tuple[float, ...], str]:
    """Moments that a person set inside a recording, in order [s], and whether they are presses or laps.

    The recording's own ends are no such moments, nor are the laps that a device sets by itself.
    """
    laps = [mark for mark in marks if mark.kind == "lap"]
    found = [] if _automatic(laps) else [mark.time_s for mark in laps]
    found += [] if _automatic(laps) else [mark.until_s for mark in laps if mark.until_s is not None]
    how = LAP if found else BUTTON
    presses = [mark.time_s for mark in marks if mark.kind == "button"]
    if _automatic(laps):
        starts = [mark.time_s for mark in laps]
        presses = [each for each in presses if not any(abs(each - lap) <= SAME_S for lap in starts)]
    kept: list[float] = []
    for moment in sorted(found + presses):
        inside = from_s + SAME_S < moment < until_s - SAME_S
        if inside and (not kept or moment - kept[-1] > SAME_S):
            kept.append(moment)
    return tuple(kept), how


def _automatic(laps: Sequence[Mark]) -> bool:
    """Whether laps are all equally long but for the last, as those that a device sets."""
    steps = [after.time_s - before.time_s for before, after in pairwise(laps)]
    return len(steps) >= LEAST_EVEN and max(steps) - min(steps) <= EVEN_S


def as_long_as(length_s: float, expected_s: float) -> bool:
    """Whether a length is the expected one."""
    return abs(length_s - expected_s) <= max(TOLERANCE_S, TOLERANCE_SHARE * expected_s)


def pair_of(moments_s: Sequence[float], work_s: float | None, until_s: float) -> tuple[float, float] | None:
    """Start and end of the work by the moments alone; None where more than one reading of them makes sense.

    With a length, the one pair that is as long, or a single moment and that length behind it; without, two moments.
    """
    if work_s is None:
        alone = len(moments_s) == 2 and moments_s[1] - moments_s[0] >= SHORTEST_S
        return (moments_s[0], moments_s[1]) if alone else None
    if len(moments_s) == 1:
        return (moments_s[0], moments_s[0] + work_s) if moments_s[0] + work_s <= until_s else None
    pairs = [
        (begin, end)
        for place, begin in enumerate(moments_s)
        for end in moments_s[place + 1 :]
        if as_long_as(end - begin, work_s) and end - begin >= SHORTEST_S
    ]
    return pairs[0] if len(pairs) == 1 else None
