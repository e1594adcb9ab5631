"""One student's row of the plan: the files together, the protocol, the phases, and what is to look at in them."""

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from ...errors import OwnmarkError
from ...ingest.files import finished
from ...ingest.recording import Recording, Span
from ...words.message import Message, Quoted
from ..protocol import Protocol
from . import messages as say
from .by_clock import by_clock
from .phases_of import Phased, phases_of
from .seen import Seen, clock_at_start, needs_zone
from .sources import Sources
from .whose import Owner
from .worn_times import hours_off
from .written_work import Work, phases_written, work_in

LONGER_S = 20 * 60.0
"""A strap is put on early and taken off late; a file longer than the protocol by more than this is asked about [s]. Our
own choice."""
_UNKNOWN = Phased()
_HOURS_TOLD = frozenset({"day_plan.worn_hours_off", "day_plan.work_hours_off"})
"""What tells that a clock is off by whole hours before the start is looked at."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A row of the plan; empty checks: sure.

    files : where they lie
    on : the day that the files state, else that of most files, to be looked at
    notes : what was noted of the student on the form of the day
    """

    code: str | None
    protocol: str | None
    files: tuple[Path, ...]
    on: date | None = None
    phases: Phased = _UNKNOWN
    checks: tuple[Message, ...] = ()
    notes: str = ""

    @property
    def sure(self) -> bool:
        """Whether there is nothing to look at."""
        return not self.checks


@dataclass(frozen=True, slots=True)
class Given:
    """A file with its owner, as a part of a row."""

    seen: Seen
    owner: Owner


class Phases:
    """Phases that were found before, of the same files by the same times: finding them is most of a plan's work."""

    def __init__(self, most: int = 500) -> None:
        self._most = most
        self._found: OrderedDict[Hashable, tuple[Planned, list[Message]]] = OrderedDict()

    def of(self, key: Hashable, find: "Callable[[], tuple[Planned, list[Message]]]") -> tuple[Planned, list[Message]]:
        """What was found for the key; found now, where nothing was."""
        if key not in self._found:
            self._found[key] = find()
        self._found.move_to_end(key)
        if len(self._found) > self._most:
            self._found.popitem(last=False)
        return self._found[key]


def row_of(
    code: str | None,
    group: Sequence[Given],
    sources: Sources,
    most: date | None = None,
    before: Phases | None = None,
) -> Planned:
    """One student's row; ``code`` None: nobody knows whose the file is.

    most : the day of most files, proposed where this student's state none
    before : phases that were found in an earlier plan
    """
    checks = [_named(group, each, check) for each in group for check in _of_file(each, sources)]
    checks += _of_student(code, sources)
    name, asked = _protocol(code, sources)
    checks += asked
    pulses = [each.seen for each in group if each.seen.has_heart_rate]
    several = len({each.content or str(each.path) for each in pulses}) > 1  # one recording packed twice counts once
    if several:
        checks.append(say.day_plan_two_files(tuple(each.shown for each in pulses)))
    usable = [each for each in group if each.seen.recording is not None]
    row = Planned(code, name, tuple(each.seen.path for each in group), notes=sources.notes.get(code or "", ""))
    protocol = sources.protocols.get(name or "")
    written = bool(sources.works.get(code or "")) or sources.start_of(code) is not None
    if usable and (written or not several):  # what was written down holds whichever heart rate is right
        of_phases, more = (before or Phases()).of(
            _of_the_phases(row, usable, protocol, sources), lambda: _phased(row, usable, protocol, sources)
        )
        row = replace(row, phases=of_phases.phases)
        checks += more
    days = {on for each in usable if (on := each.seen.on(sources.zone)) is not None}
    on = next(iter(days)) if len(days) == 1 else None
    if usable and not days and most is not None and not any(_needs_zone(each, sources.zone) for each in usable):
        on, told = _day_among(usable, most)
        checks += told
    return replace(row, on=on, checks=tuple(dict.fromkeys(checks)))


def _of_the_phases(row: Planned, usable: Sequence[Given], protocol: Protocol | None, sources: Sources) -> Hashable:
    """All that the phases of a row hang on."""
    files = tuple(
        (each.seen.path, each.seen.sha256, each.seen.recording.shift_s if each.seen.recording else 0.0, each.owner)
        for each in usable
    )
    by = None if protocol is None else (protocol.name, protocol.version)
    written = sources.works.get(row.code or "", ""), sources.start_of(row.code)
    return row.code, files, by, written, sources.zone


def _day_among(usable: Sequence[Given], most: date) -> tuple[date | None, list[Message]]:
    """The day of most files for files that state none: sure where each one's date can be read as that day."""
    possible = [() if each.seen.recording is None else each.seen.recording.possible_days for each in usable]
    wrong = next((days for days in possible if days and most not in days), None)
    if wrong is not None:
        return None, [say.day_plan_neither_day(wrong, most)]
    return most, [] if any(possible) else [say.day_plan_no_day(most)]


def _needs_zone(each: Given, zone: str | None) -> bool:
    return each.seen.recording is not None and needs_zone(each.seen.recording, zone)


def without_file(code: str, sources: Sources) -> Planned:
    """The row of a student of whom there is no file."""
    protocol, _ = _protocol(code, sources)
    checks = (say.DAY_PLAN_NO_FILE, *_of_student(code, sources))
    return Planned(code, protocol, (), checks=checks, notes=sources.notes.get(code, ""))


def _phased(
    row: Planned, usable: Sequence[Given], protocol: Protocol | None, sources: Sources
) -> tuple[Planned, list[Message]]:
    """The row with its phases, and what to look at in them."""
    try:
        whole = _together(usable)
    except OwnmarkError as reason:
        return row, [say.day_plan_apart(Quoted(str(reason)))]
    checks = _undated(usable, sources.zone)
    if protocol is None:
        return row, checks
    work = work_in(sources.works.get(row.code or "", ""), whole, sources.zone)
    outside = [work] if isinstance(work, Message) else []
    start = sources.start_of(row.code)
    if not isinstance(work, Work):
        start, more = _start(start, protocol, usable, sources.zone, (*outside, *_worn_checks(usable)))
        outside += more
    window = next((each.owner.window for each in usable if each.owner.window is not None), None)
    if isinstance(work, Work):
        phases = phases_written(whole, protocol, work, start, window, sources.zone)
    else:
        phases = phases_of(whole, protocol, start, window, sources.zone)
        clockless = bool(sources.works.get(row.code or "")) and work is None and not needs_zone(whole, sources.zone)
        outside += [say.DAY_PLAN_NO_CLOCK] if clockless else []
    told = by_clock(phases.checks, clock_at_start(whole, sources.zone))
    return replace(row, phases=phases), [*checks, *outside, *told]


def _start(
    start: float | None, protocol: Protocol, usable: Sequence[Given], zone: str | None, told: Sequence[Message]
) -> tuple[float | None, list[Message]]:
    """The start that was written down, where it lies in the recording, and what to look at where it does not.

    told : of the same clock before; a clock that is off by so many hours is told of once
    """
    pulse = next((each.seen for each in usable if each.seen.has_heart_rate), usable[0].seen)
    span = pulse.clock_span(zone)
    if start is None or span is None or _begun_inside(start, protocol, span):
        return start, []
    hours, text = hours_off(start, span), Quoted(_hm(start))
    if hours is None:
        return None, [say.day_plan_start_outside(text)]
    again = any(each.code in _HOURS_TOLD and each["hours"] == hours for each in told)
    return None, [] if again else [say.day_plan_hours_off(text, hours)]


def _worn_checks(usable: Sequence[Given]) -> list[Message]:
    return [check for each in usable for check in each.owner.checks]


def _together(usable: Sequence[Given]) -> Recording:
    recordings = [each.seen.recording for each in usable]
    there = [each for each in recordings if each is not None]
    return there[0] if len(there) == 1 else finished(there)


def _undated(usable: Sequence[Given], zone: str | None) -> list[Message]:
    """Files without a clock beside one that has one: they are laid together from their starts, which nobody saw."""
    undated = [each for each in usable if each.seen.clock_span(zone) is None and not _needs_zone(each, zone)]
    if len(usable) == 1:
        return []
    if len(undated) == len(usable):
        return [say.DAY_PLAN_UNDATED]
    return [say.day_plan_of_file(each.seen.shown, say.DAY_PLAN_UNDATED) for each in undated]


def _begun_inside(start: float, protocol: Protocol, span: Span) -> bool:
    """Whether a trial that was begun then lies in a recording, at least the most part of its work."""
    begin = start + (protocol.rest_s or 0.0)
    end = begin + (protocol.work_s or 0.0)
    return min(end, span[1]) - max(begin, span[0]) > (end - begin) / 2 if end > begin else span[0] <= begin < span[1]


def _named(group: Sequence[Given], each: Given, check: Message) -> Message:
    """What is to look at in a file, with its name where the row has several."""
    return check if len(group) == 1 else say.day_plan_of_file(each.seen.shown, check)


def _of_file(each: Given, sources: Sources) -> tuple[Message, ...]:
    """What is to look at in one file."""
    handed = each.seen.handed
    found = [*each.owner.checks, *each.seen.checks]
    if handed:
        at_zero = None if each.seen.recording is None else clock_at_start(each.seen.recording, sources.zone)
        found += [say.DAY_PLAN_WORN_BY_TWO, *by_clock([one.message() for one in handed], at_zero)]
    found += [] if _fits_a_table(each.seen.path) else [say.DAY_PLAN_NAME]
    return (*found, *_long(each, sources))


def _fits_a_table(path: Path) -> bool:
    """Whether the column of files can hold a name: ``;`` ends one there, and spaces around it are not read."""
    text = str(path)
    return ";" not in text and all(part == part.strip() for part in path.parts) and text.isprintable()


def _long(each: Given, sources: Sources) -> list[Message]:
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
    last = None if code is None else sources.last(code)
    if last is not None:
        return last.protocol, [say.day_plan_last_protocol(Quoted(last.protocol), last.on)]
    return None, [say.DAY_PLAN_NO_PROTOCOL]


def _hm(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}"
