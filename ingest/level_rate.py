"""A heart rate that stands level for minutes, and what in the file vouches for it.

The rule "frozen" looks at the values alone. Two things in the same file can vouch for them: skin contact, which the
sensor states with each value, and beats that go on arriving at that rate. Whose heart it was is not known here; a
device that sets the rate is a matter of ``metrics.level_rate``.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from .flags import REJECTING, Flag
from .recording import Stream

LEAST_BEATS = 0.8
"""RR intervals vouch for a level stretch if they fill at least this share of it. Common practice, as for coverage."""
WITHIN_BPM = 3.0
"""And if they beat at its rate to within this [/min]: a shown rate is a rounded mean of seconds. Common practice."""

_FROZEN = np.uint16(Flag.FROZEN)
_NOT_JUDGED = np.uint16(Flag.DUPLICATE_STAMP | Flag.NO_CONTACT | Flag.DROPOUT | Flag.IMPLAUSIBLE)
_REJECTING = np.uint16(REJECTING)

Bools = NDArray[np.bool_]


def vouched(pulse: Stream, contact: Bools, intervals: Stream | None) -> Stream:
    """The stream without the flag ``FROZEN`` where skin contact or beats vouch for the level rate.

    Parameters
    ----------
    pulse : heart rate, judged
    contact : shape (n,), the sensor said with this value that it had skin contact
    intervals : RR intervals of the same file, judged; None if it holds none
    """
    flags = pulse.flags.copy()
    for first, last in level_runs(pulse):
        frozen = np.flatnonzero((pulse.flags[first : last + 1] & _FROZEN) != 0) + first
        if contact[frozen].all() or (intervals is not None and _beats_agree(pulse, first, last, intervals)):
            flags[frozen] &= ~_FROZEN
    return replace(pulse, flags=flags)


def level_runs(pulse: Stream) -> list[tuple[int, int]]:
    """First and last index of each stretch of one value that the rule "frozen" found. It leaves the first unflagged."""
    judged = np.flatnonzero((pulse.flags & _NOT_JUDGED) == 0)
    frozen = (pulse.flags[judged] & _FROZEN) != 0
    edges = np.flatnonzero(np.diff(np.concatenate(([False], frozen, [False])).astype(np.int8)))
    return [(int(judged[begin - 1]), int(judged[end - 1])) for begin, end in edges.reshape(-1, 2)]


def _beats_agree(pulse: Stream, first: int, last: int, intervals: Stream) -> bool:
    """Whether good beats fill a stretch, at its rate, and not as one interval repeated to the last digit."""
    begin, end = pulse.time[first], pulse.time[last]
    inside = (intervals.time >= begin) & (intervals.time < end) & ((intervals.flags & _REJECTING) == 0)
    rr_s = intervals.values[inside]
    if float(rr_s.sum()) < LEAST_BEATS * (end - begin) or not np.ptp(rr_s) > 0:
        return False
    return bool(abs(60.0 * len(rr_s) / rr_s.sum() - pulse.values[first]) <= WITHIN_BPM)
