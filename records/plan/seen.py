"""The files of a day as they were read: what each holds, when it ran, and what is odd about it alone."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from os import sep
from pathlib import Path

from ...errors import EmptyFile, IngestError, NothingMeasured
from ...ingest.cleaning.judge import clean, with_heart_rate
from ...ingest.clock_times import on_the_wall, zone_from
from ...ingest.files import Refused, read_each
from ...ingest.recording import HEART_RATE, Hints, Recording, Span
from ...ingest.refusal_told import told as refusal_told
from ...metrics.hand_over import HandOver, hand_overs
from ...metrics.timeline import hold, own_span
from ...words.message import Message, Quoted
from ...words.plain import printable
from ..messages import share_trial
from . import messages as say

CUT = frozenset(
    {
        *("packed.damaged", "packed.cut_off", "edf.cut_off", "edf.cut_off_of", "points.cut_off"),
        *("fit.cut_off", "fit.cut_definition", "fit.cut_message"),
    }
)
"""What readers say of a file whose end is missing."""
_NOTHING = Message.of("day_plan.empty", why=Quoted(""))
"""A file that can be read, and holds no reading that can be used."""
Holders = Callable[[str], Sequence[tuple[int, str]]]


@dataclass(frozen=True, slots=True)
class Seen:
    """A file that was read.

    path : where it lies
    recording : cleaned; None: it cannot be used
    sha256, content : of the file as it lies there, and of what the recording is known by
    checks : what is odd about it
    handed : where it was possibly handed on
    """

    path: Path
    recording: Recording | None = None
    sha256: str = ""
    checks: tuple[Message, ...] = ()
    handed: tuple[HandOver, ...] = ()
    content: str = ""

    @property
    def shown(self) -> Quoted:
        """Its name for a person."""
        return Quoted(printable(self.path.name))

    @property
    def has_heart_rate(self) -> bool:
        """Whether it holds a heart rate that can be used."""
        return self.recording is not None and HEART_RATE in self.recording

    def on(self, zone: str | None) -> date | None:
        """The day on which it began; None: it states none."""
        start = None if self.recording is None else self.recording.start
        if start is None or (self.recording is not None and needs_zone(self.recording, zone)):
            return None
        return on_the_wall(start, zone).date()

    def clock_span(self, zone: str | None) -> Span | None:
        """From when until when it ran [s after the midnight before its start]; None: it states no clock."""
        found = self.recording
        begin = None if found is None else clock_at_start(found, zone)
        return None if found is None or begin is None else (begin + found.first_s, begin + found.last_s)


def clock_at_start(recording: Recording, zone: str | None) -> float | None:
    """The time of day at a recording's time 0 [s after midnight]; None: it states none, or UTC and no zone is known."""
    if recording.start is None:
        return recording.clock_s
    if needs_zone(recording, zone):
        return None
    wall = on_the_wall(recording.start, zone)
    return timedelta(
        hours=wall.hour, minutes=wall.minute, seconds=wall.second, microseconds=wall.microsecond
    ).total_seconds()


def needs_zone(recording: Recording, zone: str | None) -> bool:
    """Whether a recording states UTC, and nobody says in which zone the clock on the wall was."""
    start = recording.start
    return zone is None and start is not None and start.tzinfo is not None and not start.utcoffset()


def see(paths: Sequence[Path], zone: str | None, holders: Holders) -> Iterator[Seen]:
    """Read every file, in order; one that cannot be read stops no other.

    holders : number and student's code of every trial of a recording, by its SHA-256
    """
    for path in paths:
        yield with_holders(_seen(path, zone), holders)


def with_holders(seen: Seen, holders: Holders) -> Seen:
    """A file with the trials that its recording is in already as one thing more to look at."""
    names = dict.fromkeys(each for each in (seen.content, seen.sha256) if each)
    found = dict.fromkeys(each for name in names for each in holders(name))
    trials = tuple(share_trial(number, Quoted(code)) for number, code in found)
    return replace(seen, checks=(*seen.checks, say.day_plan_seen(trials))) if trials else seen


def measured_share(seen: Seen) -> float | None:
    """How much of a file its heart rate was measured [%]; None where it has none."""
    if seen.recording is None or HEART_RATE not in seen.recording:
        return None
    stream = seen.recording[HEART_RATE]
    first, last = own_span(stream)
    return 100 * hold(stream, first, last).measured_s / (last - first) if last > first else None


def _seen(path: Path, zone: str | None) -> Seen:
    found = list(read_each([path], Hints(zone=zone_from(zone))))
    good = [each for each in found if isinstance(each, Recording)]
    bad = [_refused(each.reason, path) for each in found if isinstance(each, Refused)]
    if len(good) > 1:
        return Seen(path, checks=(say.day_plan_many(len(good)), *bad))
    if not good:
        return Seen(path, checks=tuple(bad) or (_NOTHING,))
    try:
        recording = with_heart_rate(clean(good[0]))
    except IngestError as reason:
        return Seen(path, checks=(_refused(reason, path),))
    bad += [say.DAY_PLAN_NO_ZONE] if needs_zone(recording, zone) else []
    return _judged(path, recording, tuple(bad))


def _judged(path: Path, recording: Recording, bad: tuple[Message, ...]) -> Seen:
    """A recording that can be used, with what is odd about it."""
    source = recording.sources[0]
    handed = hand_overs(recording[HEART_RATE]) if HEART_RATE in recording else ()
    checks = [*bad, *(note for note in recording.notes if note.code in CUT)]
    if not any(len(stream) and stream.usable.any() for stream in recording.streams):
        checks.append(_NOTHING)
    return Seen(path, recording, source.sha256, tuple(checks), handed, source.recording)


def _refused(reason: IngestError, path: Path) -> Message:
    """Why a file cannot be used; it is called by its name, because the folder is nobody's business."""
    where = reason.where.removeprefix(f"{path.parent}{sep}")
    told = refusal_told(reason, printable(where))
    if isinstance(reason, EmptyFile | NothingMeasured):
        return say.day_plan_empty(told)
    return say.day_plan_unread(reason.code, told)
