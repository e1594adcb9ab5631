"""The two ends of the work, each with what it rests on and how good it is; better witnesses replace weaker ones."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import erf, hypot, sqrt

from ...words.message import Message
from ..phases import Span
from .effort_model import SHORTEST_S
from .found import HEART_RATE
from .from_heart_rate import Effort

CLOSE_S = 15.0
"""Confidence is the share of such cases in which both ends lie this close [s]."""
HEARTS_DIFFER_S = 3.0
"""Hearts answer more or less at once and straps are more or less late: found on made hearts, as a standard deviation
beside the evidence's own [s]."""
AHEAD_OVER_RISE = 160.0
"""Where the heart rises little, a rise ahead of the start looks like the start: this over the rise is a standard
deviation of the start [s · /min], found on made power-chair trials."""
NINE_IN_TEN = 2.1
"""So many standard deviations of the worse end hold both ends in nine of ten made recordings of the hardest case, and
in more of the others."""
LEAST_REACH_S, MOST_REACH_S = 20.0, 45.0
"""A press or a lap within three standard deviations of an end is that end, but always within the first and never beyond
the second [s]."""
SAME_WORK = 0.6
"""Two stretches are the same work if what they share is this much of what they cover together. Our own choice."""
_SDS = 3.0


@dataclass(frozen=True, slots=True)
class Edge:
    """One end of the work: when, its standard deviation [s], and what it rests on."""

    time_s: float
    sd_s: float
    how: str

    @property
    def reach_s(self) -> float:
        """How far off a better witness may lie [s]."""
        return min(max(_SDS * self.sd_s, LEAST_REACH_S), MOST_REACH_S)


@dataclass(frozen=True, slots=True)
class Edges:
    """Start and end of the work; how far they are trusted beside their spread, 0 to 1; what a person should look at."""

    start: Edge
    end: Edge
    trust: float = 1.0
    notes: tuple[Message, ...] = ()

    @property
    def within_s(self) -> float:
        """Both ends are this good in nine cases of ten [s]."""
        return NINE_IN_TEN * max(self.start.sd_s, self.end.sd_s)

    @property
    def confidence(self) -> float:
        """In how many such cases both ends lie within 15 s, 0 to 1, by the normal distribution."""
        return self.trust * _share(self.start.sd_s) * _share(self.end.sd_s)


def _share(sd_s: float) -> float:
    return erf(CLOSE_S / (sd_s * sqrt(2.0)))


def of_effort(effort: Effort) -> Edges:
    """The ends that the heart rate shows."""
    return Edges(
        Edge(effort.start_s, hypot(effort.start_sd_s, HEARTS_DIFFER_S, AHEAD_OVER_RISE / effort.rise_bpm), HEART_RATE),
        Edge(effort.end_s, hypot(effort.end_sd_s, HEARTS_DIFFER_S), HEART_RATE),
    )


def replaced(
    edges: Edges,
    starts: Sequence[float],
    ends: Sequence[float],
    how: str,
    sd_s: float,
    reach_s: float | None = None,
    work_s: float | None = None,
) -> Edges | None:
    """The ends with those replaced that a better witness lies near; None where it lies near neither.

    Parameters
    ----------
    starts, ends : moments of the witness that may be the start, and the end  [s]
    how, sd_s : what it is, and how good  [s]
    reach_s : how far off it may lie; None: as far as the edge is unsure  [s]
    work_s : of several pairs the one nearest to this length is taken; None: those nearest to the edges  [s]
    """
    first, last = (_near(edge, moments, reach_s) for edge, moments in ((edges.start, starts), (edges.end, ends)))
    if not first and not last:
        return None
    pairs = [
        (begin, end)
        for begin in first or [edges.start.time_s]
        for end in last or [edges.end.time_s]
        if end - begin >= SHORTEST_S
    ]
    if not pairs:
        return None

    def apart(pair: tuple[float, float]) -> float:
        if work_s is not None:
            return abs(pair[1] - pair[0] - work_s)
        return abs(pair[0] - edges.start.time_s) + abs(pair[1] - edges.end.time_s)

    begin, end = min(pairs, key=apart)
    return replace(
        edges,
        start=Edge(begin, sd_s, how) if first else edges.start,
        end=Edge(end, sd_s, how) if last else edges.end,
    )


def overlapping(edges: Edges, spans: Sequence[Span]) -> Span | None:
    """The span that shares most of itself and of the work with the work found [s]; None where none shares enough."""
    begin, end = edges.start.time_s, edges.end.time_s

    def shared(span: Span) -> float:
        return max(min(span[1], end) - max(span[0], begin), 0.0) / (max(span[1], end) - min(span[0], begin))

    best = max(spans, key=shared, default=None)
    return best if best is not None and shared(best) >= SAME_WORK else None


def _near(edge: Edge, moments: Sequence[float], reach_s: float | None) -> list[float]:
    reach = edge.reach_s if reach_s is None else reach_s
    return [moment for moment in moments if abs(moment - edge.time_s) <= reach]
