"""Where a movement sensor saw work: stretches in which most of the time there was movement."""

from collections.abc import Sequence

import numpy as np

from ...ingest.recording import ACCELERATION, Recording
from ..motion.grid import to_grid
from ..motion.moving import Motion, moving
from ..phases import Span
from .from_marks import as_long_as

WINDOW_S, ACTIVE_S = 20, 15
"""Work is where 15 of 20 s are movement: a fidget at rest is not. Common practice."""
BURST_S, BREAK_S = 5.0, 0.5
"""At the ends of the work, movement that lasts less than the first and lies apart from the rest by more than the second
is a fidget [s]. Our own choice."""
PLACEMENT = "wrist"
"""Where a sensor is taken to sit if nobody says: the least sure of all places, so that the least is called movement."""
MOVEMENT_SD_S = 2.4
"""How well movement shows an end, as a standard deviation [s]: measured on made recordings."""
REACH_S = 30.0
"""Movement is the heart's own effort if it begins and ends this near to it [s]."""
PAUSE_S = 90.0
"""Stretches with a shorter pause between them are one work [s]. Common practice."""
SHORTEST_S = 60.0
"""Without a heart rate beside it, shorter movement is no work [s]."""


def movement_of(recording: Recording, placement: str | None = None) -> Motion | None:
    """Where the first movement sensor moved; None where there is none or nothing was measured.

    Raises
    ------
    KeyError
        For a placement that is none.
    """
    sensor = next(iter(recording.all(ACCELERATION)), None)
    grid = to_grid(sensor) if sensor is not None and len(sensor) else None
    return None if grid is None else moving(grid, placement or PLACEMENT)


def active_stretches(motion: Motion) -> tuple[Span, ...]:
    """Stretches in which each 20 s hold 15 s of movement, from where movement begins to where it ends [s]."""
    count = int(np.ceil(motion.until_s - motion.from_s))
    if count < WINDOW_S:
        return ()
    edges = motion.from_s + np.arange(count + 1.0)
    spent = np.zeros(count + 1)
    for begin, until in motion.moving:
        spent += np.clip(edges - begin, 0.0, until - begin)
    busy = np.flatnonzero(spent[WINDOW_S:] - spent[:-WINDOW_S] >= ACTIVE_S - 1e-9)
    if not len(busy):
        return ()
    breaks = np.flatnonzero(np.diff(busy) > WINDOW_S)
    first, last = busy[np.append(0, breaks + 1)], busy[np.append(breaks, len(busy) - 1)] + WINDOW_S
    return tuple(_trimmed(motion, float(edges[a]), float(edges[b])) for a, b in zip(first, last, strict=True))


def _trimmed(motion: Motion, from_s: float, until_s: float) -> Span:
    """A stretch without the stillness, and the short bursts apart from the rest, at its ends [s]."""
    inside = [(max(a, from_s), min(b, until_s)) for a, b in motion.moving if b > from_s and a < until_s]
    bursts = joined(inside, BREAK_S)
    lasting = [burst for burst in bursts if burst[1] - burst[0] >= BURST_S] or bursts
    return lasting[0][0], lasting[-1][1]


def joined(spans: Sequence[Span], pause_s: float) -> tuple[Span, ...]:
    """Spans in order, those joined between which there is no longer a pause than this [s]."""
    found: list[Span] = []
    for begin, until in spans:
        if found and begin - found[-1][1] <= pause_s:
            found[-1] = (found[-1][0], until)
        else:
            found.append((begin, until))
    return tuple(found)


def works(stretches: Sequence[Span]) -> tuple[Span, ...]:
    """The stretches with the pauses between them joined [s]."""
    return joined(stretches, PAUSE_S)


def one_work(stretches: tuple[Span, ...], work_s: float | None) -> Span | None:
    """The only stretch that can be the work, pauses joined; None where there is none, or more than one."""
    lengths = [(begin, until, until - begin) for begin, until in works(stretches)]
    fit = [
        (begin, until)
        for begin, until, length_s in lengths
        if (length_s >= SHORTEST_S if work_s is None else as_long_as(length_s, work_s))
    ]
    return fit[0] if len(fit) == 1 else None
