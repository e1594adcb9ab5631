"""Rest, work and recovery of one recording: what was pressed before what moved before what the heart shows."""

from dataclasses import replace
from itertools import pairwise
from math import ceil, floor

from ...ingest.recording import Recording, Stream
from ...words.message import Message
from ..messages import phase_finding as say
from ..phases import Span, from_laps
from ..timeline import own_span
from .edges import MOST_REACH_S, NINE_IN_TEN, Edge, Edges, by_length, of_effort, overlapping, replaced
from .found import BUTTON, HEART_RATE, LAP, MOVEMENT, STATED, Expected, FoundPhases, NotFound, Side
from .from_heart_rate import LONGEST_S, Effort, Limits, find_effort, usable_heart_rate
from .from_marks import PRESS_SD_S, TOLERANCE_S, TOLERANCE_SHARE, as_long_as, moments, pair_of
from .from_movement import MOVEMENT_SD_S, REACH_S, active_stretches, movement_of, one_work, works

MOST_WITHIN_S = 45.0
"""Ends that are no better than this are no proposal [s]."""
UNCONFIRMED = 0.6
"""Confidence of presses, laps or movement that the heart rate does not show. Our own choice."""
CONTRADICTED = 0.5
"""By this the confidence is less where the protocol or the time table says otherwise. Our own choice."""
ONLY_STATED = 0.3
TOLD_S = 5.0
"""Ends that the protocol's length moved by so much or more are told of [s]."""
AROUND_S = 600.0
"""Of a long recording, so much before and behind what is expected, or was pressed, is looked at [s]."""
LONGEST_REST_S, SHORTEST_REST_S = 300.0, 30.0
"""Rest and recovery are proposed no longer than the first where the protocol says nothing, and no shorter than the
second [s]."""


def find_phases(
    recording: Recording,
    expected: Expected | None = None,
    *,
    placement: str | None = None,
    lap_names: tuple[str, ...] = (),
) -> FoundPhases | NotFound:
    """Propose the phases of a trial.

    Parameters
    ----------
    recording : of one student alone, cleaned, all files on one clock
    expected : what the protocol and the time table say
    placement : where the movement sensor sits; None: nobody says
    lap_names : names of its laps in order, as ``phases.from_laps`` takes them; nothing is looked for then

    Raises
    ------
    BasisError
        If the names do not fit the laps.
    """
    expected = expected or Expected()
    if lap_names:
        named = _named(recording, lap_names)
        if named is not None:
            return named
    span = _span(recording)
    if span is None:
        return NotFound(say.PROPOSAL_NOTHING_MEASURED)
    set_s, kind = moments(recording.marks, *span)
    pulse = usable_heart_rate(recording)
    heart = _effort(pulse, _window(span, set_s, expected), expected) if pulse else say.PROPOSAL_NOTHING_MEASURED
    edges = None if isinstance(heart, Message) else heart
    motion = movement_of(recording, placement)
    active = () if motion is None else active_stretches(motion)
    edges = _with_movement(edges, active, expected)
    edges = _with_marks(edges, set_s, kind, expected, span)
    edges = edges or _stated(expected, span)
    if edges is None:
        return NotFound(_why(heart, set_s, active))
    return _phases(edges, set_s, expected, span)


def _why(heart: Edges | Message, set_s: tuple[float, ...], active: tuple[Span, ...]) -> Message:
    """Why nothing is proposed: what the best witness there is leaves open."""
    if set_s:
        return say.PROPOSAL_MARKS_UNCLEAR
    unseen = heart in (say.PROPOSAL_NO_ONSET, say.PROPOSAL_NOTHING_MEASURED)
    return say.PROPOSAL_SEVERAL_MOVEMENTS if (active and unseen) or not isinstance(heart, Message) else heart


def _named(recording: Recording, names: tuple[str, ...]) -> FoundPhases | None:
    """The phases that the laps are named for; None where none is called work."""
    found = from_laps(recording.marks, names)
    if found.work is None:
        return None
    edges = Edges(Edge(found.work[0], PRESS_SD_S, LAP), Edge(found.work[1], PRESS_SD_S, LAP))
    side = _side(edges.start)
    return FoundPhases(found.rest, found.work, found.recovery, LAP, side.within_s, edges.confidence, side, side)


def _span(recording: Recording) -> Span | None:
    """From the first sample of any stream to the end of the last [s]."""
    spans = [own_span(stream) for stream in recording.streams if len(stream) and stream.usable.any()]
    return (min(begin for begin, _ in spans), max(until for _, until in spans)) if spans else None


def _window(span: Span, set_s: tuple[float, ...], expected: Expected) -> Span:
    """The part of a long recording in which a trial can be [s]; of a short one all."""
    if span[1] - span[0] <= LONGEST_S or (expected.start_s is None and not set_s):
        return span
    first = set_s[0] if expected.start_s is None else expected.start_s - expected.start_within_s
    last = set_s[-1] if expected.start_s is None else expected.start_s + expected.start_within_s
    return max(first - AROUND_S, span[0]), min(last + (expected.work_s or AROUND_S) + AROUND_S, span[1])


def _effort(pulse: Stream, window: Span, expected: Expected) -> Edges | Message:
    """The ends that the heart rate shows, near what is expected if they are there, or why it shows none."""
    free = find_effort(pulse, *window)
    if expected.start_s is None and expected.work_s is None:
        return of_effort(free) if isinstance(free, Effort) else free
    if isinstance(free, Effort) and not _contradictions(free, expected):
        return _by_length(of_effort(free), expected)
    near = find_effort(pulse, *window, _limits(expected))
    near = near if isinstance(near, Effort) and not _contradictions(near, expected) else None
    if near is not None and (not isinstance(free, Effort) or near.strength >= free.strength * CONTRADICTED):
        return _by_length(of_effort(near), expected)
    if isinstance(free, Effort):
        return replace(of_effort(free), trust=CONTRADICTED, notes=_contradictions(free, expected))
    return free


def _by_length(edges: Edges, expected: Expected) -> Edges:
    """The ends moved towards the protocol's length, and that they were."""
    if expected.work_s is None:
        return edges
    moved = by_length(edges, expected.work_s)
    by_s = max(abs(moved.start.time_s - edges.start.time_s), abs(moved.end.time_s - edges.end.time_s))
    told = (say.proposal_by_length(float(round(by_s)), expected.work_s),) if by_s >= TOLD_S else ()
    return replace(moved, notes=(*moved.notes, *told))


def _limits(expected: Expected) -> Limits:
    """Where what is expected lies."""
    limits = Limits()
    if expected.start_s is not None:
        first, last = (expected.start_s + side * expected.start_within_s for side in (-1, 1))
        limits = replace(limits, earliest_s=first, latest_s=last)
    if expected.work_s is not None:
        room = max(TOLERANCE_S, TOLERANCE_SHARE * expected.work_s)
        limits = replace(limits, shortest_s=expected.work_s - room, longest_s=expected.work_s + room)
    return limits


def _contradictions(effort: Effort, expected: Expected) -> tuple[Message, ...]:
    """What the protocol or the time table says otherwise."""
    length = effort.end_s - effort.start_s
    found: list[Message] = []
    if expected.start_s is not None and abs(effort.start_s - expected.start_s) > expected.start_within_s:
        found.append(say.proposal_other_start(effort.start_s, expected.start_s))
    if expected.work_s is not None and not as_long_as(length, expected.work_s):
        found.append(say.proposal_other_length(length, expected.work_s))
    return tuple(found)


def _with_movement(edges: Edges | None, stretches: tuple[Span, ...], expected: Expected) -> Edges | None:
    """The ends as movement shows them, where it agrees with the heart rate or there is none."""
    if not stretches:
        return edges
    if edges is None:
        alone = one_work(stretches, expected.work_s)
        return None if alone is None else _unconfirmed(alone, MOVEMENT_SD_S, MOVEMENT)
    starts, ends = zip(*stretches, strict=True)
    found = replaced(edges, starts, ends, MOVEMENT, MOVEMENT_SD_S, REACH_S)
    if found is not None and found.start.how == found.end.how == MOVEMENT:
        return found
    whole = overlapping(edges, works(stretches))
    if whole is not None:
        return _both(edges, whole, MOVEMENT, MOVEMENT_SD_S)
    return found or replace(edges, notes=(*edges.notes, say.proposal_movement_elsewhere(starts[0], ends[-1])))


def _with_marks(
    edges: Edges | None, set_s: tuple[float, ...], kind: str, expected: Expected, span: Span
) -> Edges | None:
    """The ends as they were pressed, where that agrees with the rest or there is nothing else."""
    if not set_s:
        return edges
    if edges is None:
        pair = pair_of(set_s, expected.work_s, span[1])
        return None if pair is None else _unconfirmed(pair, PRESS_SD_S, kind)
    pair = overlapping(edges, tuple(pairwise(set_s))) if len(set_s) == 2 else None
    if pair is not None:
        return _both(edges, pair, kind, PRESS_SD_S)
    found = replaced(edges, set_s, set_s, kind, PRESS_SD_S, None, expected.work_s)
    return found or replace(edges, notes=(*edges.notes, say.proposal_marks_elsewhere(set_s[0], set_s[-1])))


def _both(edges: Edges, work: Span, how: str, sd_s: float) -> Edges:
    return replace(edges, start=Edge(work[0], sd_s, how), end=Edge(work[1], sd_s, how))


def _unconfirmed(work: Span, sd_s: float, how: str) -> Edges:
    return Edges(Edge(work[0], sd_s, how), Edge(work[1], sd_s, how), UNCONFIRMED, (say.PROPOSAL_MARKS_UNCONFIRMED,))


def _stated(expected: Expected, span: Span) -> Edges | None:
    """The ends by the start and the length that were stated; None where one of them was not, or nothing is left."""
    if expected.start_s is None or expected.work_s is None:
        return None
    begin, until = expected.start_s, expected.start_s + expected.work_s
    if min(until, span[1]) - max(begin, span[0]) < SHORTEST_REST_S:
        return None
    sd_s = expected.start_within_s / NINE_IN_TEN
    notes = (say.proposal_only_stated(begin),)
    return Edges(Edge(begin, sd_s, STATED), Edge(until, sd_s, STATED), ONLY_STATED, notes)


def _phases(edges: Edges, set_s: tuple[float, ...], expected: Expected, span: Span) -> FoundPhases | NotFound:
    """The phases around the work, clipped to what was measured."""
    within, hows = ceil(edges.within_s), {edges.start.how, edges.end.how}
    how = next(each for each in (BUTTON, LAP, MOVEMENT, HEART_RATE, STATED) if each in hows)
    if within > MOST_WITHIN_S and how != STATED:
        return NotFound(say.proposal_too_vague(within, MOST_WITHIN_S))
    begin, until = (float(round(edge.time_s)) for edge in (edges.start, edges.end))
    work = max(begin, span[0]), min(until, span[1])
    pressed = edges.start.how in (BUTTON, LAP) and edges.start.sd_s <= PRESS_SD_S
    margin = 0.0 if pressed else float(within)
    rest = _rest(begin, margin, set_s, expected, span[0])
    recovery = _recovery(until, set_s, expected, span[1])
    notes = [*edges.notes, *_clipped(begin, until, span)]
    notes += [] if how == STATED else _rests_on(edges)
    notes += [] if rest is not None else [say.PROPOSAL_NO_REST]
    sides = _side(edges.start), _side(edges.end)
    return FoundPhases(rest, work, recovery, how, float(within), edges.confidence, *sides, tuple(notes))


def _side(edge: Edge) -> Side:
    """An end with its ± in whole seconds."""
    return Side(edge.how, float(ceil(edge.within_s)))


def _rests_on(edges: Edges) -> list[Message]:
    """What the ends rest on, each on its own where they differ, and which of them is no more than a guess."""
    start, end = _side(edges.start), _side(edges.end)
    if start.how == end.how:
        found = [say.proposal_rests_on(start.how, max(start.within_s, end.within_s))]
    else:
        found = [
            say.proposal_start_rests_on(start.how, start.within_s),
            say.proposal_end_rests_on(end.how, end.within_s),
        ]
    found += [] if start.sure else [say.proposal_start_unsure(start.within_s)]
    return [*found, *([] if end.sure else [say.proposal_end_unsure(end.within_s)])]


def _clipped(begin: float, until: float, span: Span) -> tuple[Message, ...]:
    """A strap that was late, or taken off early."""
    late = (say.proposal_late_strap(begin, span[0]),) if begin < span[0] else ()
    return (*late, say.proposal_cut(until, span[1])) if until > span[1] else late


def _rest(begin: float, margin: float, set_s: tuple[float, ...], expected: Expected, first_s: float) -> Span | None:
    """The rest before the work, so far ahead of it that no work is in it; it begins at a press, if there is one.

    In whole seconds, inside what was measured.
    """
    end = begin - margin
    pressed = [each for each in set_s if each <= begin - MOST_REACH_S]
    first = pressed[-1] if pressed else begin - (expected.rest_s or LONGEST_REST_S)
    first = float(ceil(max(first, first_s)))
    return (first, end) if end - first >= SHORTEST_REST_S else None


def _recovery(until: float, set_s: tuple[float, ...], expected: Expected, last_s: float) -> Span | None:
    """The recovery behind the work; it ends at a press, if there is one."""
    pressed = [each for each in set_s if each >= until + MOST_REACH_S]
    last = pressed[0] if pressed else until + (expected.recovery_s or LONGEST_REST_S)
    last = float(floor(min(last, last_s)))
    return (until, last) if last - until >= SHORTEST_REST_S else None
