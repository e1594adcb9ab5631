"""The plan: each student's files, protocol, day and phases, and all that somebody has to look at before it goes in."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from ...errors import OwnmarkError
from ...ingest.files import finished
from ...ingest.recording import Recording, Span
from ...words.message import Message, Quoted
from ..protocol import Protocol
from . import messages as say
from .names import clearly_numbered, is_number, words_in
from .phases_of import Phased, phases_of
from .seen import Seen
from .sources import Sources
from .whose import Owner, hours_off, owners_of

LONGER_S = 20 * 60.0
"""A strap is put on early and taken off late; a file longer than the protocol by more than this is asked about [s]. Our
own choice."""


_UNKNOWN = Phased()


@dataclass(frozen=True, slots=True)
class Planned:
    """A row of the plan; empty checks: sure.

    files : where they lie
    on : the day that the files state
    """

    code: str | None
    protocol: str | None
    files: tuple[Path, ...]
    on: date | None = None
    phases: Phased = _UNKNOWN
    checks: tuple[Message, ...] = ()

    @property
    def sure(self) -> bool:
        """Whether there is nothing to look at."""
        return not self.checks


@dataclass(frozen=True, slots=True)
class Plan:
    """The rows of a day, sure ones first, and what belongs to no row."""

    rows: tuple[Planned, ...]
    remarks: tuple[Message, ...] = ()
    zone: str | None = None

    @property
    def to_look_at(self) -> bool:
        """Whether somebody must look at something."""
        return bool(self.remarks) or not all(row.sure for row in self.rows)


@dataclass(frozen=True, slots=True)
class _Given:
    """A file with its owner, as a part of a row."""

    seen: Seen
    owner: Owner


def plan_day(seen: Sequence[Seen], sources: Sources) -> Plan:
    """Propose a row for each student, and one for each file of which nobody knows whose it is."""
    most, twins = _most(seen, sources.zone), _twins(seen)
    seen = [replace(each, checks=(*each.checks, *twins.get(each.path, ()))) for each in seen]
    by_code: dict[str, list[_Given]] = {}
    alone: list[_Given] = []
    owned: set[str] = set()
    for each in seen:
        for owner in owners_of(each, sources):
            if owner.code is None:
                alone.append(_Given(each, owner))
            else:
                by_code.setdefault(owner.code, []).append(_Given(each, owner))
                owned.add(owner.code)
    groups = [*by_code.items(), *((None, [each]) for each in alone)]
    rows = [_row(code, group, sources, most) for code, group in groups]
    rows += [_without_file(each.code, sources) for each in sources.roster if each.code not in owned]
    order = {each.code: place for place, each in enumerate(sources.roster)}
    rows.sort(key=lambda row: (not row.sure, order.get(row.code or "", len(order)), row.code or "~"))
    return Plan(tuple(rows), _straps_without_file(seen, sources), sources.zone)


def _most(seen: Sequence[Seen], zone: str | None) -> date | None:
    """The day of most files; None where two days have as many, or none has a date."""
    days = Counter(on for each in seen if (on := each.on(zone)) is not None).most_common(2)
    return days[0][0] if days and (len(days) == 1 or days[0][1] > days[1][1]) else None


def _twins(seen: Sequence[Seen]) -> dict[Path, tuple[Message, ...]]:
    """What is said of recordings that are there under several names: of each, because nobody knows which counts."""
    by_hash: dict[str, list[Seen]] = {}
    for each in seen:
        by_hash.setdefault(each.sha256, []).append(each)
    return {
        each.path: tuple(say.day_plan_twice(other.shown) for other in group if other is not each)
        for sha256, group in by_hash.items()
        if sha256 and len(group) > 1
        for each in group
    }


def _straps_without_file(seen: Sequence[Seen], sources: Sources) -> tuple[Message, ...]:
    """Straps of the list that no file is named after."""
    found = {
        each.strap for each in sources.worn if not any(_belongs(file, each.strap, each.files, sources) for file in seen)
    }
    return tuple(say.day_plan_strap_without_file(Quoted(strap)) for strap in sorted(found))


def _belongs(file: Seen, strap: str, files: tuple[str, ...], sources: Sources) -> bool:
    stem = file.path.stem
    labels = [each.strap for each in sources.worn]
    return (
        file.path.name in files
        or strap in words_in(stem, labels)
        or (is_number(strap) and clearly_numbered(stem, strap))
    )


def _without_file(code: str, sources: Sources) -> Planned:
    protocol, _ = _protocol(code, sources)
    return Planned(code, protocol, (), checks=(say.DAY_PLAN_NO_FILE,))


def _row(code: str | None, group: Sequence[_Given], sources: Sources, most: date | None) -> Planned:
    """One student's row."""
    checks = [_named(group, each, check) for each in group for check in _of_file(each, sources, most)]
    checks += _of_student(code, sources)
    name, asked = _protocol(code, sources)
    checks += asked
    pulses = [each.seen for each in group if each.seen.has_heart_rate]
    if len(pulses) > 1:
        checks.append(say.day_plan_two_files(tuple(each.shown for each in pulses)))
    usable = [each for each in group if each.seen.recording is not None]
    row = Planned(code, name, tuple(each.seen.path for each in group))
    protocol = sources.protocols.get(name or "")
    if usable and len(pulses) <= 1:
        row, more = _phased(row, usable, protocol, sources)
        checks += more
    days = {on for each in usable if (on := each.seen.on(sources.zone)) is not None}
    return replace(row, on=days.pop() if len(days) == 1 else None, checks=tuple(dict.fromkeys(checks)))


def _phased(
    row: Planned, usable: Sequence[_Given], protocol: Protocol | None, sources: Sources
) -> tuple[Planned, list[Message]]:
    """The row with its phases, and what to look at in them."""
    try:
        whole = _together(usable)
    except OwnmarkError as reason:
        return row, [say.day_plan_apart(Quoted(str(reason)))]
    if protocol is None:
        return row, []
    start, checks = sources.start_of(row.code), list[Message]()
    pulse = next((each.seen for each in usable if each.seen.has_heart_rate), usable[0].seen)
    span = pulse.clock_span(sources.zone)
    if start is not None and span is not None and not _begun_inside(start, protocol, span):
        hours = hours_off(start, span)
        text = Quoted(_hm(start))
        checks.append(say.day_plan_start_outside(text) if hours is None else say.day_plan_hours_off(text, hours))
        start = None
    window = next((each.owner.window for each in usable if each.owner.window is not None), None)
    phases = phases_of(whole, protocol, start, window, sources.zone)
    return replace(row, phases=phases), [*checks, *phases.checks]


def _together(usable: Sequence[_Given]) -> Recording:
    recordings = [each.seen.recording for each in usable]
    there = [each for each in recordings if each is not None]
    return there[0] if len(there) == 1 else finished(there)


def _begun_inside(start: float, protocol: Protocol, span: Span) -> bool:
    """Whether a trial that was begun then lies in a recording, at least the most part of its work."""
    begin = start + (protocol.rest_s or 0.0)
    end = begin + (protocol.work_s or 0.0)
    return min(end, span[1]) - max(begin, span[0]) > (end - begin) / 2 if end > begin else span[0] <= begin < span[1]


def _named(group: Sequence[_Given], each: _Given, check: Message) -> Message:
    """What is to look at in a file, with its name where the row has several."""
    return check if len(group) == 1 else say.day_plan_of_file(each.seen.shown, check)


def _of_file(each: _Given, sources: Sources, most: date | None) -> tuple[Message, ...]:
    """What is to look at in one file."""
    found = [*each.owner.checks, *each.seen.checks]
    on = each.seen.on(sources.zone)
    if on is not None and most is not None and on != most:
        found.append(say.day_plan_other_day(on, most))
    if each.seen.handed:
        found += [say.DAY_PLAN_WORN_BY_TWO, *(handed.message() for handed in each.seen.handed)]
    found += _long(each, sources)
    return tuple(found)


def _long(each: _Given, sources: Sources) -> list[Message]:
    """That a file runs much longer than its student's protocol."""
    name, _ = _protocol(each.owner.code, sources)
    protocol, recording = sources.protocols.get(name or ""), each.seen.recording
    if protocol is None or recording is None or protocol.work_s is None:
        return []
    planned = (protocol.rest_s or 0.0) + protocol.work_s + (protocol.recovery_s or 0.0)
    length = recording.last_s - recording.first_s
    return [say.day_plan_long(length, planned)] if length > planned + LONGER_S else []


def _of_student(code: str | None, sources: Sources) -> list[Message]:
    """What is to look at in a student."""
    if code is None:
        return []
    found = [say.day_plan_other_class(Quoted(code))] if sources.roster and sources.listed(code) is None else []
    return [*found, *([say.day_plan_not_in_logbook(Quoted(code))] if code not in sources.known else [])]


def _protocol(code: str | None, sources: Sources) -> tuple[str | None, list[Message]]:
    """A student's protocol: the roster's, else the last one as a proposal."""
    listed = None if code is None else sources.listed(code)
    if listed is not None and listed.protocol:
        known = listed.protocol in sources.protocols
        return listed.protocol, [] if known else [say.day_plan_unknown_protocol(Quoted(listed.protocol))]
    last = sources.last.get(code or "")
    if last is not None:
        return last.protocol, [say.day_plan_last_protocol(Quoted(last.protocol), last.on)]
    return None, [say.DAY_PLAN_NO_PROTOCOL]


def _hm(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}"
