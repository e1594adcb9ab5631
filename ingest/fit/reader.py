"""FIT: the binary format that most straps and watches write.

What it reads: heart rate from ``record`` and ``hr`` messages, RR intervals from ``hrv``, movement (``fit_motion``),
laps, and presses of the button, starts and stops from ``event``. Several files chained in one, a file cut off
anywhere, and a wrong checksum keep every message before the damage and say so.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone

import numpy as np
from numpy.typing import NDArray

from ...errors import DamagedFile, NothingMeasured
from ...words.message import Message
from .. import messages as say
from .. import refusal_messages as refused
from ..limits import LONGEST_H, MOST_BEATS, MOST_RATES, refuse_many
from ..recording import ACCELERATION, ANGULAR_RATE, HEART_RATE, RR_INTERVAL, Mark, Recording, Source, Stream
from ..span import FURTHEST_S, span_of
from . import heart_rate as fit_heart
from . import marks as fit_marks
from . import motion as fit_motion
from .chain import parts
from .columns import Clock, message_number
from .heart_rate import Samples
from .scan import Part, header

EPOCH = datetime(1989, 12, 31, tzinfo=UTC)
_FIRST_WALL_CLOCK_S = 0x10000000  # smaller stamps count seconds since the device was switched on
_MOST_MARKS = LONGEST_H * 3600  # one a second
_MOST = {
    "record": MOST_RATES,
    "hr": MOST_RATES,
    "hrv": MOST_BEATS,
    "lap": _MOST_MARKS,
    "session": _MOST_MARKS,
    "event": _MOST_MARKS,
}
_PLACES = 6  # a double holds 35 years of seconds to a tenth of a microsecond
_FAR_S = 7 * 86_400  # a stamp this far from the middle one is a broken stamp, not a long lesson


def sniff(head: bytes) -> bool:
    """Tell a FIT file by the signature in its header."""
    return header(head, 0) is not None


@dataclass(slots=True)
class _Found:
    """What the chained parts held together, with time stamps in seconds since the format's epoch."""

    notes: list[Message] = field(default_factory=list)
    records: list[Samples] = field(default_factory=list)
    events: list[Samples] = field(default_factory=list)
    rr: list[Samples] = field(default_factory=list)
    motion: list[fit_motion.Motion] = field(default_factory=list)
    unplaced: list[NDArray[np.float64]] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    others: list[NDArray[np.float64]] = field(default_factory=list)
    sessions: list[float] = field(default_factory=list)
    offset: timedelta | None = None
    messages: int = 0
    stamped: bool = False


def read(data: bytes, source: Source) -> Recording:
    """Decode a whole file.

    ``source.hints.rate_hz`` places heart rates in time where the file states no time at all.

    Raises
    ------
    DamagedFile
        If not one message could be read.
    NothingMeasured
        If it holds neither heart rate nor RR intervals nor movement, or none that can be placed in time.
    TooLarge
        If it holds more than a day of messages of a kind.
    """
    found = _Found()
    for part in parts(data, found.notes):
        _refuse_endless(part, source.name)
        _collect(data, part, found)
    if not found.messages:
        raise DamagedFile(refused.FILE_FIT_DAMAGED, where=source.name, mend=refused.MEND_EXPORT_DEVICE)
    return _recording(found, source)


def _refuse_endless(part: Part, where: str) -> None:
    """Refuse more messages of a kind than a day has, before one of them is decoded."""
    for message, most in _MOST.items():
        number = message_number(message)
        count = sum(len(group) for group in part.groups if group.layout.message == number)
        refuse_many(count, most, f"{message} messages", where)


def _collect(data: bytes, part: Part, found: _Found) -> None:
    """Add one part's samples and marks."""
    clock = Clock(data, part)
    found.messages += sum(len(group) for group in part.groups)
    records, unread = fit_heart.record_heart_rate(data, part, clock)
    if unread:
        found.notes.append(say.unread_heart_rate(unread))
    _keep(records, found.records, found)
    _keep(fit_heart.event_heart_rate(data, part), found.events, found)
    rr = fit_heart.rr_intervals(data, part, clock)
    if len(rr[0]):
        found.stamped = found.stamped or clock.first is not None
        found.rr.append(rr)
    found.motion.extend(fit_motion.motion(data, part, clock, found.notes))
    found.stamped = found.stamped or bool(found.motion)
    found.marks.extend(fit_marks.marks(data, part, clock))
    found.others.append(fit_heart.other_records(data, part, clock))
    found.sessions.extend(fit_marks.sessions(data, part, clock))
    found.offset = found.offset or fit_marks.clock_offset(data, part)


def _keep(samples: Samples, kept: list[Samples], found: _Found) -> None:
    """Keep the samples that have a time stamp, and put the others aside."""
    time, bpm = samples
    stamped = np.isfinite(time)
    if stamped.all():
        kept += [samples] if len(time) else []
    else:
        found.unplaced.append(bpm[~stamped])
        kept += [(time[stamped], bpm[stamped])] if stamped.any() else []
    found.stamped = found.stamped or bool(stamped.any())


def _recording(found: _Found, source: Source) -> Recording:
    """Turn stamps into seconds from the start, and samples into streams."""
    _place_by_rate(found, source.hints.rate_hz)
    near = _near(_held(found), found.notes)
    unplaced = sum(len(bpm) for bpm in found.unplaced)
    if unplaced:
        found.notes.append(say.fit_unplaced(unplaced))
    if not near:
        raise _nothing(found, unplaced, source)
    entries = _entries(found, near)
    origin = float(entries.min())
    marks = _placed_marks(found, origin)
    start = _start(found, origin)
    streams = tuple(_stream(kind, samples, origin, source) for kind, samples in near.items())
    said = [moment for mark in marks for moment in (mark.time_s, mark.until_s)]
    ran_s = span_of(entries - origin, [*said, *(moment - origin for moment in found.sessions)])
    return Recording(streams=streams, start=start, marks=marks, notes=tuple(found.notes), ran_s=ran_s)


def _entries(found: _Found, near: dict[str, Samples]) -> NDArray[np.float64]:
    """Time stamps of all that was measured, and of the records beside it that hold none of it.

    Those of a file whose heart rate is placed otherwise, or further than a day off, say nothing of it.
    """
    held = np.concatenate([time for time, _ in near.values()])
    others = np.concatenate([*found.others, np.empty(0)]) if found.stamped else np.empty(0)
    close = (others >= held.min() - FURTHEST_S) & (others <= held.max() + FURTHEST_S)
    return np.concatenate((held, others[close]))


def _held(found: _Found) -> dict[str, Samples]:
    """What becomes a stream each: records, events, RR intervals, the parts of a chain joined.

    Records without a single heart rate stand in files whose strap sends events or RR intervals instead. As a
    stream they would hide that heart rate is there.
    """
    pieces = {"records": found.records, "events": found.events, "rr": found.rr}
    for kind in (ACCELERATION, ANGULAR_RATE):
        pieces[kind] = [(stream.time, stream.values) for stream in found.motion if stream.name == kind]
    held = {kind: _joined(piece) for kind, piece in pieces.items() if piece}
    own = "events" in held or "rr" in held
    if own and "records" in held and np.isnan(held["records"][1]).all():
        found.others.append(held["records"][0])
        empty = len(held.pop("records")[0])
        found.notes.append(say.fit_empty_records(empty))
    return held


def _joined(pieces: list[Samples]) -> Samples:
    """Chained parts as one pair of arrays."""
    if len(pieces) == 1:
        return pieces[0]
    times, values = zip(*pieces, strict=True)
    return np.concatenate(times), np.concatenate(values)


def _near(held: dict[str, Samples], notes: list[Message]) -> dict[str, Samples]:
    """Leave out samples whose stamp lies more than a week from the middle one, and say how many."""
    if not held:
        return held
    every = np.concatenate([time for time, _ in held.values()])
    if every.max() - every.min() <= _FAR_S:
        return held
    middle = np.partition(every, len(every) // 2)[len(every) // 2]
    lost = int(np.count_nonzero(np.abs(every - middle) > _FAR_S))
    notes.append(say.fit_far_samples(lost))
    kept = {}
    for kind, (time, values) in held.items():
        close = np.abs(time - middle) <= _FAR_S
        if close.any():
            kept[kind] = time[close], values[close]
    return kept


def _stream(kind: str, samples: Samples, origin: float, source: Source) -> Stream:
    """A stream of one kind of samples; an RR interval stands for its own length."""
    time, values = samples
    since = np.round(time - origin, _PLACES)
    if kind == "rr":
        return Stream.from_samples(RR_INTERVAL, since, values, cover_s=values, source=source.name)
    if kind in (ACCELERATION, ANGULAR_RATE):
        return Stream.from_samples(kind, since, values, source=source.name)
    return Stream.from_samples(HEART_RATE, since, values, source=source.name)


def _place_by_rate(found: _Found, rate_hz: float | None) -> None:
    """Give unstamped heart rates a time at a given rate, if nothing in the file carries a stamp."""
    if found.stamped or not found.unplaced or rate_hz is None or not rate_hz > 0:
        return
    bpm = np.concatenate(found.unplaced)
    found.records, found.unplaced = [(np.arange(len(bpm)) / rate_hz, bpm)], []
    found.notes.append(say.fit_by_rate(rate_hz))


def _nothing(found: _Found, unplaced: int, source: Source) -> NothingMeasured:
    """The refusal of a file that holds nothing to work with; a rate would help one that only lacks the time."""
    notes = tuple(found.notes)
    what = refused.file_no_heart_rate_because(notes) if notes else refused.FILE_NO_HEART_RATE_IN_TIME
    mend = refused.MEND_RATE if unplaced and not found.stamped else refused.MEND_PAIRED
    return NothingMeasured(what, where=source.name, mend=mend)


def _placed_marks(found: _Found, origin: float) -> tuple[Mark, ...]:
    """Marks in seconds from the start, laps numbered through; far ones are left out and counted."""
    placed, laps = [], 0
    for mark in sorted(found.marks, key=lambda mark: mark.time_s):
        if abs(mark.time_s - origin) > _FAR_S:
            continue
        laps += mark.kind == "lap"
        until = mark.until_s if mark.until_s is not None and abs(mark.until_s - origin) <= _FAR_S else None
        placed.append(
            Mark(
                round(mark.time_s - origin, _PLACES),
                mark.kind,
                f"lap {laps}" if mark.kind == "lap" else mark.label,
                None if until is None else round(until - origin, _PLACES),
            )
        )
    lost = len(found.marks) - len(placed)
    if lost:
        found.notes.append(say.fit_far_marks(lost))
    return tuple(placed)


def _start(found: _Found, origin: float) -> datetime | None:
    """The wall clock at time 0, in the device's own zone where it states one."""
    if origin >= _FIRST_WALL_CLOCK_S:
        return (EPOCH + timedelta(seconds=origin)).astimezone(timezone(found.offset or timedelta(0)))
    if found.stamped:
        found.notes.append(say.FIT_NO_CLOCK)
    elif found.rr:
        found.notes.append(say.FIT_NO_TIME)
    return None
