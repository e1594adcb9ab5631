"""Where a movement sensor saw work: stretches in which most of the time there was movement."""

import numpy as np

from ...ingest.recording import ACCELERATION, Recording
from ..motion.grid import to_grid
from ..motion.moving import Motion, moving

WINDOW_S, ACTIVE_S = 20, 15
"""Work is where 15 of 20 s are movement: a fidget at rest is not. Common practice."""
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

Span = tuple[float, float]


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
    """A stretch without the stillness at its ends [s]."""
    inside = [(begin, until) for begin, until in motion.moving if until > from_s and begin < until_s]
    return max(inside[0][0], from_s), min(inside[-1][1], until_s)


def one_work(stretches: tuple[Span, ...], work_s: float | None) -> Span | None:
    """The only stretch that can be the work, pauses joined; None where there is none, or more than one."""
    from .from_marks import as_long_as

    joined: list[Span] = []
    for begin, until in stretches:
        if joined and begin - joined[-1][1] <= PAUSE_S:
            joined[-1] = (joined[-1][0], until)
        else:
            joined.append((begin, until))
    fit = [(a, b) for a, b in joined if (b - a >= SHORTEST_S if work_s is None else as_long_as(b - a, work_s))]
    return fit[0] if len(fit) == 1 else None
