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
HEARTS_DIFFER_S = 5.0
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
LENGTH_SD_S = 20.0
"""Work is as long as its protocol says to about this, as a standard deviation [s]. Where somebody calls the stop it is
far closer, but some stop early: a smaller one makes starts better where nobody does, and far worse where one stops half
a minute before the end; see ``tests/bench/phase_accuracy.py``."""
LENGTH_SDS = 2.0
"""The protocol's length moves the ends only where what was found differs by no more standard deviations than this:
beyond, the student stopped early or went on."""
AS_LIKELY = 6.0
"""Two presses near an end cannot be told apart where the sums of their squared standard deviations differ by no more:
twice the logarithm of 20, one being less than 20 times as likely as the other."""
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
    def within_s(self) -> float:
        """It is this good in nine cases of ten [s]."""
        return NINE_IN_TEN * self.sd_s

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
        return max(self.start.within_s, self.end.within_s)

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


def by_length(edges: Edges, work_s: float) -> Edges:
    """The ends moved towards the protocol's length, each by its share of what is unsure; unmoved where it is far off.

    That is the mean of start, end and length weighted by their variances. An end that shows well hardly moves.
    """
    start, end = edges.start, edges.end
    differs = end.time_s - start.time_s - work_s
    variance = start.sd_s**2 + end.sd_s**2 + LENGTH_SD_S**2
    if abs(differs) > LENGTH_SDS * sqrt(variance):
        return edges

    def moved(edge: Edge, by_s: float) -> Edge:
        share = edge.sd_s**2 / variance
        return replace(edge, time_s=edge.time_s + by_s * share, sd_s=edge.sd_s * sqrt(1.0 - share))

    return replace(edges, start=moved(start, differs), end=moved(end, -differs))


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

    Of several pairs the likeliest is taken: near to the ends as far as these are sure, and as long as expected. Where
    another is nearly as likely, the end is only as good as they lie apart.

    Parameters
    ----------
    starts, ends : moments of the witness that may be the start, and the end  [s]
    how, sd_s : what it is, and how good  [s]
    reach_s : how far off it may lie; None: as far as the edge is unsure  [s]
    work_s : how long the work is expected to be; None: nobody says  [s]
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

    def unlikely(pair: Span) -> float:
        off = ((pair[0] - edges.start.time_s) / edges.start.sd_s, (pair[1] - edges.end.time_s) / edges.end.sd_s)
        long = 0.0 if work_s is None else (pair[1] - pair[0] - work_s) / LENGTH_SD_S
        return off[0] ** 2 + off[1] ** 2 + long**2

    best = min(pairs, key=unlikely)
    rivals = [pair for pair in pairs if unlikely(pair) - unlikely(best) <= AS_LIKELY]

    def edge(side: int) -> Edge:
        apart = max(abs(pair[side] - best[side]) for pair in rivals)
        return Edge(best[side], max(sd_s, apart / NINE_IN_TEN), how)

    return replace(edges, start=edge(0) if first else edges.start, end=edge(1) if last else edges.end)


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
