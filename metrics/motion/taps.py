"""Three sharp taps on a sensor: the event by which recordings of different clocks are laid together.

Hold the sensors together and still for two seconds, tap them three times, about a second apart, and hold still again.
A tap is a jump from one sample to the next; three of them in an even row, alone on a quiet ground, are a group. Steps,
claps and knocks come in other numbers, or on a ground that is not quiet.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from .grid import Grid

LEAST_G = 0.15
"""Smallest jump between two samples that can be a tap [g]. A sensor of 25 Hz sees a tenth of a sharp tap."""
APART_S = (0.25, 1.5)
"""Two taps of a group lie this far apart [s]."""
EVEN = 2.2
"""The longer of the two pauses is at most this many times the shorter one. Measured on made taps
(``tests/bench/taps_accuracy.py``): of rows by hands that are unsure of their beat (each pause off by 30 %) 1.8 finds 45
of 60 and 2.2 finds 51; 60 lessons without taps hold no row under either; of 240 runs of two to five knocks at random
moments 26 and 34 pass for one. Missed taps cost a trial its clock; a chance row has to fit one of the other sensor."""
ALIKE = 5.0
"""The strongest tap is at most this many times the weakest."""
RING_S = 0.2
"""For this long a tap rings on; what jumps within it belongs to it [s]."""
ALONE_S = 1.5
"""Before the first and after the last tap the ground is quiet for this long [s]."""
QUIET = 0.4
"""On a quiet ground nothing jumps by more than this share of the weakest tap. All: common practice, no source."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Taps:
    """Moments of the three taps [s], and the weakest one's jump [g]."""

    time_s: tuple[float, float, float]
    size_g: float


def find_taps(grid: Grid, even: float = EVEN) -> tuple[Taps, ...]:
    """Every group of three taps in an acceleration, in order.

    Parameters
    ----------
    grid : values of shape (n, 3), unfiltered, at the sensor's own rate  [g]
    even : how many times the shorter pause the longer one may be
    """
    jump = _jumps(grid.values)
    peaks = _peaks(jump, max(round(RING_S * grid.rate_hz), 1))
    if len(peaks) < 3:
        return ()
    time = peaks / grid.rate_hz
    before, after = np.diff(time)[:-1], np.diff(time)[1:]
    pauses = np.stack((before, after))
    alike_pauses = pauses.max(axis=0) <= even * pauses.min(axis=0)
    inside = (pauses.min(axis=0) >= APART_S[0]) & (pauses.max(axis=0) <= APART_S[1])
    sizes = np.stack((jump[peaks[:-2]], jump[peaks[1:-1]], jump[peaks[2:]]))
    alike = sizes.max(axis=0) <= ALIKE * sizes.min(axis=0)
    groups = [peaks[place : place + 3] for place in np.flatnonzero(alike_pauses & inside & alike)]
    return tuple(_taps(grid, jump, group) for group in groups if _quiet(jump, group, grid.rate_hz))


def _jumps(values: Floats) -> Floats:
    """Length of the step from the sample before to the one behind, halved where they are two apart, shape (n,) [g].

    Over two samples, so that the moment is the sample's own; 0 at the ends and beside gaps.
    """
    out = np.zeros(len(values))
    if len(values) > 2:
        step = np.diff(values, axis=0)
        size = np.sqrt(np.einsum("ij,ij->i", step, step))
        out[1:-1] = np.fmax(size[:-1], size[1:])
        out[~np.isfinite(out)] = 0.0
    return out


def _peaks(jump: Floats, ring: int) -> NDArray[np.int64]:
    """Samples that jump by enough and more than any other within a ring, in order."""
    loud = np.flatnonzero(jump >= LEAST_G)
    kept: list[int] = []
    for place in loud.tolist():
        if kept and place - kept[-1] <= ring:
            if jump[place] > jump[kept[-1]]:
                kept[-1] = place
        else:
            kept.append(place)
    return np.array(kept, dtype=np.int64)


def _quiet(jump: Floats, group: NDArray[np.int64], rate_hz: float) -> bool:
    """Tell whether nothing else jumps around and between the taps."""
    ring, alone = round(RING_S * rate_hz), round(ALONE_S * rate_hz)
    first, last = int(group[0]), int(group[-1])
    lead = max(round(0.05 * rate_hz), 3)  # a tap that falls between two samples rises over three steps
    parts = [jump[max(first - alone, 0) : first - lead], jump[last + ring + 1 : last + alone]]
    parts += [jump[int(begin) + ring + 1 : int(until) - lead] for begin, until in pairwise(group)]
    highest = max(float(part.max()) if len(part) else 0.0 for part in parts)
    return highest <= QUIET * float(jump[group].min())


def _taps(grid: Grid, jump: Floats, group: NDArray[np.int64]) -> Taps:
    first, second, third = (grid.start_s + float(place) / grid.rate_hz for place in group)
    return Taps((first, second, third), float(jump[group].min()))
