"""When rest, work and recovery were: by the start that was written down, by presses or laps, else as a proposal."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil

from ...errors import OwnmarkError
from ...ingest.clock_times import resolve_span, zone_from
from ...ingest.excerpt.cut import cut
from ...ingest.recording import HEART_RATE, Recording, Span
from ...metrics.phase_finding import BUTTON, LAP, MOVEMENT, STATED, Expected, FoundPhases, NotFound, find_phases
from ...metrics.phase_finding.edges import NINE_IN_TEN
from ...metrics.phase_finding.from_marks import PRESS_SD_S
from ...metrics.phase_finding.from_movement import MOVEMENT_SD_S
from ...metrics.rest import MINIMUM_MEASURED_S
from ...words.message import Message
from ..guard_messages import guard_early_end, guard_late
from ..guards import SEEN_WITHIN_S, beyond, moment
from ..protocol import Protocol
from . import messages as say
from .seen import clock_at_start, needs_zone

DIFFERS_S = 30.0
"""Work that the recording shows further from the start written down, beyond its own ±, is asked about [s]. Our own
choice: a start is written down to the minute."""
PRESSED_S = ceil(NINE_IN_TEN * PRESS_SD_S)
"""Phases that are this good have both ends of the work pressed [s]."""
SHARP_S = ceil(NINE_IN_TEN * MOVEMENT_SD_S)
"""Phases that are this good have both ends of the work pressed or moved [s]."""
NO_DOUBT = frozenset({"proposal.rests_on", "proposal.start_rests_on", "proposal.end_rests_on"})
"""What is said of every proposal; how good it is, its ± says."""
_LONG_S = 8 * 3600.0  # where clock times and times from the start can be mistaken for each other


@dataclass(frozen=True, slots=True)
class Phased:
    """The phases as the table has them, and what to look at; empty checks: sure."""

    rest: str = ""
    work: str = ""
    recovery: str = ""
    checks: tuple[Message, ...] = ()


def phases_of(
    recording: Recording, protocol: Protocol, start: float | None, window: Span | None, zone: str | None
) -> Phased:
    """The phases of one student's recording.

    Parameters
    ----------
    start : when the trial began, with its rest if the protocol has one  [s after midnight]; None: nobody says
    window : within which the strap was worn, where others wore it too  [s after midnight]
    zone : of the school
    """
    at_start = clock_at_start(recording, zone)
    if window is not None and at_start is not None:
        recording = cut(recording, (window[0] - at_start, window[1] - at_start))
    stated = start - at_start if start is not None and at_start is not None else None
    work_s = None if stated is None else stated + (protocol.rest_s or 0.0)
    expected = Expected(protocol.rest_s, protocol.work_s, protocol.recovery_s, work_s)
    found = find_phases(recording, expected, placement=protocol.placement)
    if stated is not None and protocol.work_s is not None:
        return _stated(recording, protocol, stated, found, zone)
    checks = [say.DAY_PLAN_NO_LENGTH] if stated is not None else []
    unplaced = start is not None and stated is None and not needs_zone(recording, zone)
    checks += [say.DAY_PLAN_NO_CLOCK] if unplaced else []
    if isinstance(found, NotFound):
        return Phased(checks=(*checks, found.reason))
    checks += [] if pressed(found, protocol) and not checks else list(found.notes)
    return in_table(recording, (found.rest, found.work, found.recovery), tuple(checks), zone)


def pressed(found: FoundPhases, protocol: Protocol) -> bool:
    """Whether both ends of the work were pressed, it is as long as the protocol's, and nothing speaks against it."""
    if found.how not in (BUTTON, LAP) or found.within_s > PRESSED_S or protocol.work_s is None:
        return False
    as_planned = not beyond(found.work[1] - found.work[0], protocol.work_s)
    complete = found.rest is not None or protocol.rest_s is None
    return as_planned and complete and {note.code for note in found.notes} <= NO_DOUBT


def _sharp(found: FoundPhases, protocol: Protocol) -> bool:
    """Whether presses, laps or movement show all phases as long as the protocol's: better than a start by a watch."""
    pairs = ((found.rest, protocol.rest_s), (found.work, protocol.work_s), (found.recovery, protocol.recovery_s))
    as_planned = all(
        planned is None or (span is not None and not beyond(span[1] - span[0], planned)) for span, planned in pairs
    )
    clear = found.how in (BUTTON, LAP, MOVEMENT) and found.within_s <= SHARP_S
    return clear and as_planned and {note.code for note in found.notes} <= NO_DOUBT


def _stated(
    recording: Recording, protocol: Protocol, stated: float, found: FoundPhases | NotFound, zone: str | None
) -> Phased:
    """Phases by the start and the protocol's lengths; sure where the recording shows the work there too."""
    begin = stated + (protocol.rest_s or 0.0)
    end = begin + (protocol.work_s or 0.0)
    rest = (stated, begin) if protocol.rest_s else None
    recovery = (end, end + protocol.recovery_s) if protocol.recovery_s else None
    checks: list[Message] = []
    if isinstance(found, NotFound):
        checks.append(found.reason)
    elif found.how == STATED:
        checks += found.notes
    elif abs(found.work[0] - begin) > DIFFERS_S + found.within_s:
        checks.append(say.day_plan_start_differs(found.work[0], begin, found.within_s))
    elif _sharp(found, protocol):
        return in_table(recording, (found.rest, found.work, found.recovery), (), zone)
    else:
        checks += [note for note in found.notes if note.code == "proposal.other_length"]
    checks += unseen(recording, {"rest": rest, "work": (begin, end), "recovery": recovery}, zone)
    return in_table(recording, (enough(recording, rest), (begin, end), recovery), tuple(checks), zone)


def enough(recording: Recording, rest: Span | None) -> Span | None:
    """A rest of which enough was recorded for a heart rate; None otherwise: then a rest measured before may count."""
    first, last = _worn(recording)
    seen = 0.0 if rest is None else min(rest[1], last) - max(rest[0], first)
    return rest if seen >= MINIMUM_MEASURED_S else None


def unseen(recording: Recording, phases: Mapping[str, Span | None], zone: str | None) -> list[Message]:
    """What the strap did not see of the phases: of work all but seconds, of the others as much as is asked about."""
    first, last = _worn(recording)
    found: list[Message] = []
    for phase, span in phases.items():
        if span is None:
            continue
        if first >= span[1] or last <= span[0]:
            found.append(say.day_plan_phase_not_seen(phase))
            continue
        for missing, at, told in ((first - span[0], first, guard_late), (span[1] - last, last, guard_early_end)):
            length = span[1] - span[0]
            if missing > SEEN_WITHIN_S if phase == "work" else missing > 0 and beyond(length - missing, length):
                found.append(told(phase, missing, moment(at, recording, zone)))
    return found


def _worn(recording: Recording) -> Span:
    """From the first usable heart rate to the last [s]; without any, the whole recording."""
    for stream in recording.streams:
        if stream.name == HEART_RATE and stream.usable.any():
            measured = stream.time[stream.usable]
            return float(measured[0]), float(measured[-1])
    return recording.first_s, recording.last_s


def in_table(
    recording: Recording, spans: tuple[Span | None, Span, Span | None], checks: tuple[Message, ...], zone: str | None
) -> Phased:
    """The phases as a table has them."""
    rest, work, recovery = (_text(recording, span, zone) for span in spans)
    return Phased(rest, work, recovery, checks)


def _text(recording: Recording, span: Span | None, zone: str | None) -> str:
    """A span as the table has it: clock times where the recording knows a clock, else from its start; whole seconds."""
    if span is None:
        return ""
    at_start = clock_at_start(recording, zone)
    if at_start is not None and recording.last_s < _LONG_S:
        by_clock = "-".join(_hms(at_start + each) for each in span)
        if _reads(by_clock, recording, span, zone):
            return by_clock
    return "-".join(_hms(each) for each in span) if span[0] >= 0 else ""


def _reads(text: str, recording: Recording, span: Span, zone: str | None) -> bool:
    """Whether a text is read as the span that it stands for."""
    try:
        found = resolve_span(text, recording, zone_from(zone))
    except OwnmarkError:
        return False
    return all(abs(a - b) <= 1.0 for a, b in zip(found, span, strict=True))


def _hms(seconds: float) -> str:
    """A time as HH:MM:SS, which the reader takes by what lies inside the recording."""
    whole = round(seconds) % 86_400
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"
