"""RR intervals of packets on one time line: a running clock, because a packet says only when it was received."""

from array import array
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FURTHEST_S = 2.0
"""A packet a second, plus the interval in which it waits: more apart means lost beats [common practice]."""


@dataclass(frozen=True, slots=True, eq=False)
class Beats:
    """RR intervals in the order of their packets.

    start_s, rr_s : ndarray, shape (n,)  [s]
    packet : ndarray of int, shape (n,): which packet an interval came with
    breaks : packets before which the running clock was set anew
    """

    start_s: NDArray[np.float64]
    rr_s: NDArray[np.float64]
    packet: NDArray[np.intp]
    breaks: tuple[int, ...]


def chain(received_s: Sequence[float], intervals: Sequence[Sequence[float]]) -> Beats:
    """Lay the intervals of packets one behind the other.

    The last interval of the first packet ended when it was received. Each later interval starts where the one
    before it ended, as long as the end of a packet's last interval stays within 2 s of the packet's time: a packet
    waits up to a second, and its stamp must not move beats that touch each other. Beyond that, beats were lost (or
    packets repeated), and the clock is set by the packet again.

    Parameters
    ----------
    received_s : time of each packet [s], in the order of the file
    intervals : its RR intervals [s], the oldest first; may be empty
    """
    starts, values, packet = array("d"), array("d"), array("q")
    breaks: list[int] = []
    end: float | None = None
    for number, (stamp, rr_s) in enumerate(zip(received_s, intervals, strict=True)):
        if not rr_s:
            continue
        length = sum(rr_s)
        if end is None or abs(end + length - stamp) > FURTHEST_S:
            if end is not None:
                breaks.append(number)
            end = stamp - length
        for interval in rr_s:
            starts.append(end)
            values.append(interval)
            packet.append(number)
            end += interval
    return Beats(np.array(starts), np.array(values), np.array(packet, np.intp), tuple(breaks))
