"""A trial's kept files to its sheet: the same path for a first look, a logbook, and the day when all is done anew.

Nothing is opened here: bytes come in, a sheet goes out.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, TypedDict

from ..errors import BasisError, NotATrial, NothingMeasured, OwnmarkError
from ..ingest.clock_times import on_the_wall, resolve_span, wall_of, zone_from
from ..ingest.combine import combine, distinct, laid
from ..ingest.files import Refused, finished, parts_of
from ..ingest.messages import unread_file
from ..ingest.recording import Hints, Placing, Recording, Span
from ..metrics import Asked, Band, Basis, EffortSheet, Phases, align, choose_basis, effort
from ..metrics.basis import why_forbidden
from ..metrics.messages.heart_rate import WHY_NO_MAXIMUM_OF_BASELINE
from ..metrics.messages.trial import taken_other_day
from ..metrics.phases import MARGIN_S
from ..metrics.settings import DIP_S, PAUSE_S, STOP_S
from ..words.render import english_date
from .opened import Opened, opened
from .protocol import Protocol
from .student import Student
from .trial import Trial

if TYPE_CHECKING:
    from .change.observation import BasisSeen

NO_LIMITS: Mapping[str, Span] = MappingProxyType({})
OFTEN_ARMS = frozenset({"arms"})
CARRIED = frozenset({"gait-trainer-walk"})
"""Entries of the catalogue in which a device carries the body."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What of a trial's files belongs to it.

    recording : all of it on one clock, cleaned
    parts : what each file has of it, uncleaned and on its own clock
    """

    recording: Recording
    phases: Phases
    parts: tuple[Recording, ...]


def measured(
    trial: Trial,
    student: Student,
    protocol: Protocol,
    originals: Sequence[tuple[str, bytes]],
    *,
    basis: "BasisSeen | None" = None,
) -> tuple[EffortSheet | None, tuple[Refused, ...]]:
    """The sheet of a trial, and the files that could not be read.

    Parameters
    ----------
    trial : what was written down of it; its phases are times as typed
    student : as known on the trial's day (``Student.as_of`` is called here)
    protocol : the version by which it was done
    originals : name and bytes of each file; None is given back where there is none, or none can be read
    basis : rest and maximum to use instead of the student's own, so that a re-test is held against its baseline

    Raises
    ------
    OwnmarkError
        If times, rates or files contradict each other; the sentence names the trial's student.
    """
    files = files_of(trial, originals)
    found = sheet_of(trial, student, protocol, files, basis=basis)
    return (None if found is None else found[0]), files.refused


def sheet_of(
    trial: Trial,
    student: Student,
    protocol: Protocol,
    files: Opened,
    *,
    basis: "BasisSeen | None" = None,
    free: Mapping[str, Span] = NO_LIMITS,
) -> tuple[EffortSheet, Seen] | None:
    """The sheet of a trial whose files are open, and what of them it rests on; None where there is nothing to read.

    free : by the SHA-256 of a recording, what no other trial of it holds, on its own clock  [s]

    Raises
    ------
    OwnmarkError
        As ``measured``.
    """
    if not files.recordings:
        return None
    try:
        found = seen(trial, files, free)
        return _sheet(trial, student.as_of(trial.on), protocol, found, files.refused, basis), found
    except OwnmarkError as reason:
        if reason.where:
            raise
        where = f"{student.code}, {english_date(trial.on)}"
        raise type(reason)(reason.what, where=where, mend=reason.mend) from None


def measure(
    trial: Trial,
    student: Student,
    protocol: Protocol,
    originals: Mapping[str, bytes],
    *,
    basis: "BasisSeen | None" = None,
) -> EffortSheet:
    """The sheet of a trial that names its files; ``originals`` holds their bytes by hash.

    Raises
    ------
    OwnmarkError
        As ``measured``; the first file's refusal where none can be read.
    """
    named = [(file.path, originals[file.sha256]) for file in trial.files]
    sheet, refused = measured(trial, student, protocol, named, basis=basis)
    if sheet is not None:
        return sheet
    if refused:
        raise refused[0].reason
    raise NothingMeasured("the trial has no file.", where=f"{student.code}, {english_date(trial.on)}")


def recording_of(trial: Trial, originals: Sequence[tuple[str, bytes]]) -> Recording:
    """A trial's kept files as one cleaned recording, by the same steps as its sheet.

    Raises
    ------
    OwnmarkError
        The first file's refusal where none can be read; if the trial has no file.
    """
    files = files_of(trial, originals)
    if files.recordings:
        return seen(trial, files).recording
    if files.refused:
        raise files.refused[0].reason
    raise NothingMeasured("the trial has no file.", where=f"{trial.code}, {english_date(trial.on)}")


def seen(trial: Trial, files: Opened, free: Mapping[str, Span] = NO_LIMITS) -> Seen:
    """What of a trial's files belongs to it: its phases with a margin, and nothing of before or after.

    free : by the SHA-256 of a recording, what no other trial of it holds, on its own clock  [s]

    Raises
    ------
    OwnmarkError
        If its times and files contradict each other.
    """
    recordings, offsets, hints = files.recordings, files.offsets, hints_of(trial)
    aligned = align(recordings, offsets)
    whole = combine(recordings, offsets, aligned)
    phases = _phases(trial, whole, hints)
    texts = (*trial.assisted, *([trial.floor] if trial.floor else []))
    margin_s = MARGIN_S if trial.margin_s is None else trial.margin_s
    others = [resolve_span(text, whole, hints.zone) for text in texts]
    span = phases.span(others, margin_s, _limits(files, aligned, free))
    each_once, twice = distinct(recordings)
    if span is None:
        return Seen(_in_zone(finished(recordings, offsets, aligned), trial), phases, tuple(each_once))
    parts = parts_of(recordings, span, offsets, aligned)
    return Seen(_in_zone(finished(parts, offsets, aligned).with_notes(twice), trial), phases, tuple(parts))


def _in_zone(recording: Recording, trial: Trial) -> Recording:
    """The recording with its start as the school's clock shows it, so that whatever tells a time tells that one."""
    start = recording.start
    return recording if start is None else replace(recording, start=on_the_wall(start, trial.zone))


def phases_on_files(trial: Trial, files: Opened) -> list[tuple[Recording, Span]]:
    """Each recording of a trial, and from the trial's first phase to its last on its own clock; none without phases.

    Raises
    ------
    OwnmarkError
        If its times and files contradict each other.
    """
    recordings, offsets = files.recordings, files.offsets
    aligned = align(recordings, offsets)
    phases = _phases(trial, combine(recordings, offsets, aligned), hints_of(trial))
    span = phases.span(margin_s=0.0)
    if span is None:
        return []
    kept, _ = distinct(recordings)
    return [(each, at.on_file(span)) for each, at in zip(kept, laid(kept, offsets, aligned), strict=True)]


def _limits(files: Opened, aligned: Mapping[str, Placing], free: Mapping[str, Span]) -> Span:
    """What the margins may reach on the trial's clock; infinite where nothing limits them  [s]."""
    kept, _ = distinct(files.recordings)
    low, high = -math.inf, math.inf
    for recording, placing in zip(kept, laid(kept, files.offsets, aligned), strict=True):
        begin, end = free.get(recording.sources[0].recording, (-math.inf, math.inf))
        low = max(low, float(placing.on_trial(begin))) if math.isfinite(begin) else low
        high = min(high, float(placing.on_trial(end))) if math.isfinite(end) else high
    return low, high


def asked_of(trial: Trial, student: Student, protocol: Protocol, recording: Recording) -> Asked:
    """What protocol, trial and plan state, as on the trial's sheet."""
    return _asked(trial, student.as_of(trial.on), protocol, recording, hints_of(trial), None)


def files_of(trial: Trial, originals: Sequence[tuple[str, bytes]]) -> Opened:
    """What a trial's files hold, under names that say nothing of a person."""
    return opened(originals, hints_of(trial), trial.offsets, trial.clock_shifts)


def hints_of(trial: Trial) -> Hints:
    """What was written down of how a trial's files are to be read."""
    return Hints(trial.columns, trial.rate_hz, zone_from(trial.zone), trial.file_columns)


def _sheet(
    trial: Trial,
    student: Student,
    protocol: Protocol,
    found: Seen,
    refused: Sequence[Refused],
    basis: "BasisSeen | None",
) -> EffortSheet:
    """The basis, and the figures."""
    recording, hints = found.recording, hints_of(trial)
    notes = [unread_file(each.reason.code, str(each.reason)) for each in refused]
    if recording.start is not None and abs((recording.start.date() - trial.on).days) > 1:
        notes.append(taken_other_day(recording.start.date(), trial.on))
    chosen = _basis(student, protocol, trial) if basis is None else _borrowed(student, protocol, trial, basis)
    return effort(
        recording.with_notes(notes),
        chosen,
        found.phases,
        _asked(trial, student, protocol, recording, hints, basis),
    )


def _basis(student: Student, protocol: Protocol, trial: Trial) -> Basis:
    """Rest and maximum by the rules of the trade, from what is on record."""
    highest = student.maximum(protocol.work_mode)
    return choose_basis(
        rest_bpm=None if trial.rest_phase or student.rest is None else student.rest.bpm,
        measured_max_bpm=None if highest is None else highest.bpm,
        age_years=student.age_on(trial.on),
        equation=protocol.equation,
        **_person(student, protocol),
    )


class _Person(TypedDict):
    conditions: tuple[str, ...]
    arms_only: bool
    power_chair: bool
    walking: bool
    sex: str | None


def _person(student: Student, protocol: Protocol) -> _Person:
    return {
        "conditions": student.conditions,
        "arms_only": protocol.work_mode in OFTEN_ARMS,
        "power_chair": protocol.work_mode == "power chair",
        "walking": protocol.work_mode == "legs" and not _carried(protocol),
        "sex": student.sex,
    }


def _carried(protocol: Protocol) -> bool:
    """Whether a device carries the body or a part of it, so that walking is not what it is on one's own feet."""
    return protocol.from_catalogue in CARRIED or (protocol.body_weight_support_percent or 0) > 0


def _borrowed(student: Student, protocol: Protocol, trial: Trial, basis: "BasisSeen") -> Basis:
    """The baseline's rest and maximum; the student's conditions still decide what they may be used for."""
    own, top = _basis(student, protocol, trial), basis.maximum()
    if top is None:
        return replace(
            own, rest_bpm=basis.rest_bpm, maximum=None, no_reserve=own.no_reserve or WHY_NO_MAXIMUM_OF_BASELINE
        )
    legs = not (own.arms_only or own.power_chair)
    blocked = why_forbidden(own.conditions, predicted=top.predicted, legs=legs)
    return replace(own, rest_bpm=basis.rest_bpm, maximum=None if blocked else top, no_reserve=blocked)


def _phases(trial: Trial, recording: Recording, hints: Hints) -> Phases:
    """Phases as typed, in seconds."""
    spans = {
        name: resolve_span(text, recording, hints.zone) if text else None
        for name, text in (("rest", trial.rest_phase), ("work", trial.work), ("recovery", trial.recovery))
    }
    return Phases(spans["rest"], spans["work"], spans["recovery"], wall=wall_of(recording, hints.zone))


def _asked(
    trial: Trial,
    student: Student,
    protocol: Protocol,
    recording: Recording,
    hints: Hints,
    basis: "BasisSeen | None",
) -> Asked:
    """What protocol, trial and plan state."""
    ceiling = student.ceiling
    floor = resolve_span(trial.floor, recording, hints.zone) if trial.floor else None
    try:
        return Asked(
            distance_m=trial.distance_m,
            target=Band.of(protocol.target) if protocol.target else None,
            ceiling_bpm=None if ceiling is None else ceiling.bpm,
            zones_by="maximum" if basis is not None and basis.zones_by == "maximum" else "reserve",
            placement=protocol.placement,
            floor_span=floor,
            assisted=tuple(resolve_span(text, recording, hints.zone) for text in trial.assisted),
            pulse_sensor=protocol.pulse_sensor,
            pause_s=PAUSE_S if protocol.pause_s is None else protocol.pause_s,
            stop_s=STOP_S if protocol.stop_s is None else protocol.stop_s,
            dip_s=DIP_S if protocol.dip_s is None else protocol.dip_s,
        )
    except BasisError as wrong:
        raise NotATrial(wrong.what, mend=wrong.mend) from None
