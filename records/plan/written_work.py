"""Phases by the work that was written down while it happened, held against the recording and the protocol."""

from dataclasses import dataclass

from ...errors import NotATrial
from ...ingest.excerpt.cut import cut
from ...ingest.recording import Recording, Span
from ...metrics.phase_finding import STATED, Expected, FoundPhases, NotFound, find_phases
from ...words.message import Message, Quoted
from ..guards import beyond
from ..marked_phases import is_marked, span_of_marks
from ..protocol import Protocol
from . import messages as say
from .phases_of import DIFFERS_S, PRESSED_S, Phased, enough, in_table, pressed, unseen
from .seen import clock_at_start
from .worn_times import hours_off
from .written import clock_span


@dataclass(frozen=True, slots=True)
class Work:
    """The work as it was written down.

    span : [s] from the recording's start
    text : as it stands in the table, where it is presses or a lap; empty: the span is written
    """

    span: Span
    text: str = ""


def work_in(text: str, recording: Recording, zone: str | None) -> Work | Message | None:
    """The work in a recording, or why it cannot be there; None: nothing is written, or the recording knows no clock."""
    if not text:
        return None
    if is_marked(text):
        try:
            return Work(span_of_marks(text, recording), text)
        except NotATrial as reason:
            return say.day_plan_work_unread(Quoted(text), Quoted(str(reason)))
    at_start, span = clock_at_start(recording, zone), clock_span(text)
    if at_start is None or span is None:
        return None
    begin, end = (each - at_start for each in span)
    if begin < recording.last_s and end > recording.first_s:
        return Work((begin, end))
    hours = hours_off(span[0], (at_start + recording.first_s, at_start + recording.last_s))
    return (
        say.day_plan_work_outside(Quoted(text)) if hours is None else say.day_plan_work_hours_off(Quoted(text), hours)
    )


def phases_written(
    recording: Recording, protocol: Protocol, work: Work, start: float | None, window: Span | None, zone: str | None
) -> Phased:
    """The phases around the work that was written down; sure where the recording and the protocol say nothing else.

    start, window, zone : as in ``phases_of.phases_of``
    """
    at_start = clock_at_start(recording, zone)
    if window is not None and at_start is not None:
        recording = cut(recording, (window[0] - at_start, window[1] - at_start))
    begin, end = work.span
    stated = start - at_start if start is not None and at_start is not None else None
    expected = Expected(protocol.rest_s, end - begin, protocol.recovery_s, begin)
    found = find_phases(recording, expected, placement=protocol.placement)
    rest, asked = _rest(protocol, work.span, stated, found)
    recovery = (end, end + protocol.recovery_s) if protocol.recovery_s else None
    checks = [*_against(found, work.span), *_lengths(protocol, rest, work.span), *asked]
    checks += unseen(recording, {"rest": rest, "work": work.span, "recovery": recovery}, zone)
    phased = in_table(recording, (enough(recording, rest), work.span, recovery), tuple(checks), zone)
    return Phased(phased.rest, work.text or phased.work, phased.recovery, phased.checks)


def _against(found: FoundPhases | NotFound, work: Span) -> list[Message]:
    """Where the recording shows the work otherwise than it was written down, or does not show it."""
    if isinstance(found, NotFound):
        return [found.reason]
    if found.how == STATED:
        return list(found.notes)
    pairs = zip((say.day_plan_start_differs, say.day_plan_end_differs), found.work, work, strict=True)
    return [
        differs(shown, stated, found.within_s)
        for differs, shown, stated in pairs
        if abs(shown - stated) > DIFFERS_S + found.within_s
    ]


def _lengths(protocol: Protocol, rest: Span | None, work: Span) -> list[Message]:
    """Where what was written down is of another length than the protocol says."""
    pairs = (("rest", rest, protocol.rest_s), ("work", work, protocol.work_s))
    return [
        say.day_plan_other_length(phase, span[1] - span[0], planned)
        for phase, span, planned in pairs
        if span is not None and planned and beyond(span[1] - span[0], planned)
    ]


def _rest(
    protocol: Protocol, work: Span, stated: float | None, found: FoundPhases | NotFound
) -> tuple[Span | None, list[Message]]:
    """The rest from the start that was written down, at most until the work; else that before the work, to look at."""
    begin = work[0]
    if stated is not None and (stated > begin or (stated == begin and protocol.rest_s)):
        return None, [say.DAY_PLAN_START_AFTER_WORK]
    if not protocol.rest_s:
        return None, []
    if stated is not None:
        return (stated, min(stated + protocol.rest_s, begin)), []
    if isinstance(found, FoundPhases) and pressed(found, protocol) and abs(found.work[0] - begin) <= PRESSED_S:
        return found.rest, []
    return (begin - protocol.rest_s, begin), [say.day_plan_rest_unwritten(protocol.rest_s)]
