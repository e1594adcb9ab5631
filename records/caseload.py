"""The therapist's caseload: where each trial stands against the ceiling of today, and how many stand there.

What a trial's line needs is little, and its sheet is long: lines are kept by the seals of the rows that they were made
of, so that a sheet is read once and not for every look at the page.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from ..metrics.figure import Figure
from ..metrics.message_codes import code_of
from ..metrics.messages.heart_rate import WHY_NO_MAXIMUM, WHY_NO_MAXIMUM_SHORT
from ..words.message import Message
from ..words.numbers import clock
from .change.limits import Limit, limits_of_trial
from .protocol import Protocol
from .safety import Safety, safety_of
from .student import Ceiling

if TYPE_CHECKING:
    from .store.listing import Marked
    from .store.logbook import Logbook

GROUPS = ("crossed", "possible", "stale", "unmeasured", "partly", "none", "no_ceiling")
"""What the groups are of, in the order of the page."""
SHOWN = ("time_above_ceiling", "coverage_heart_rate", "recovery_60s")
NO_MAXIMUM = frozenset({WHY_NO_MAXIMUM.code, WHY_NO_MAXIMUM_SHORT.code})
WEEKS = timedelta(days=28)
"""So many days up to the last test are shown where no days are asked for."""


@dataclass(frozen=True, slots=True)
class CaseloadLine:
    """One trial.

    group : one of ``GROUPS``
    changed : why nothing is told of what stood above: the sheet rests on another ceiling than today's
    figures : those of ``SHOWN`` that the sheet has
    no_maximum : why a figure waits for a maximum, where one does
    limits : what is at the most that its test can show
    """

    code: str
    trial: int | None
    protocol: str
    on: date
    group: str
    ceiling: Ceiling | None
    changed: Message | None
    figures: Mapping[str, Figure]
    no_maximum: Message | None = None
    limits: tuple[Limit, ...] = ()


@dataclass(frozen=True, slots=True)
class Caseload:
    """The trials of some days by code and day, and who has none in them."""

    since: date
    until: date
    lines: tuple[CaseloadLine, ...]
    untested: tuple[str, ...]


def line_of(found: Safety, protocol: Protocol | None = None) -> CaseloadLine:
    """A trial's line; ``protocol``, the version that it was done by, tells what is at its limit."""
    trial = found.trial
    figures = {} if trial.sheet is None else trial.sheet.figures
    waiting = (each.reason for each in figures.values() if code_of(each.reason) in NO_MAXIMUM)
    return CaseloadLine(
        code=found.student.code,
        trial=trial.id,
        protocol=trial.protocol,
        on=trial.on,
        group=group_of(found),
        ceiling=found.student.ceiling,
        changed=found.changed,
        figures={name: found.figures[name] for name in SHOWN if name in found.figures},
        no_maximum=next(waiting, None),
        limits=() if protocol is None else limits_of_trial(trial, protocol),
    )


def group_of(found: Safety) -> str:
    """Where a trial stands on the page."""
    if found.student.ceiling is None:
        return "no_ceiling"
    if found.changed is not None:
        return "stale"
    if found.crossings:
        return "crossed"
    if found.possible:
        return "possible"
    above = found.figures.get("time_above_ceiling")
    if above is None or above.value is None:
        return "unmeasured"
    return "partly" if above.high is not None and clock(above.high) != clock(0) else "none"


def in_order(lines: Sequence[CaseloadLine]) -> tuple[CaseloadLine, ...]:
    """By code, day and number: students are never ranked."""
    return tuple(sorted(lines, key=lambda each: (each.code, each.on, each.trial or 0)))


def by_group(lines: Sequence[CaseloadLine]) -> dict[str, tuple[CaseloadLine, ...]]:
    """The lines of each group in the order of the page, the empty ones too."""
    ordered = in_order(lines)
    return {name: tuple(each for each in ordered if each.group == name) for name in GROUPS}


def usual_days(logbook: "Logbook") -> tuple[date, date] | None:
    """The four weeks up to the last test; None if there is none."""
    from .store.listing import last_day

    until = last_day(logbook)
    return None if until is None else (until - WEEKS + timedelta(days=1), until)


def days_asked(logbook: "Logbook", since: date | None, until: date | None) -> tuple[date, date] | None:
    """The days that are meant: no end is the last test, no begin four weeks before the end; None: there is no trial."""
    usual = usual_days(logbook)
    if usual is None:
        return None
    last = until or max(usual[1], since or usual[1])
    return since or last - WEEKS + timedelta(days=1), last


def caseload_of(logbook: "Logbook", since: date, until: date) -> Caseload:
    """Every trial of these days, practice too; both days included. Lines that still hold are not worked out again."""
    from .store.listing import marked_trials
    from .store.recent import student_codes

    def made(before: "dict[Marked, CaseloadLine] | None") -> dict["Marked", CaseloadLine]:
        known = before or {}
        marked = marked_trials(logbook, since, until)
        new = _worked_out(logbook, [each for each in marked if each not in known])
        return {each: line for each in marked if (line := known.get(each) or new.get(each)) is not None}

    lines = logbook.held.anew(("caseload", since, until), made).values()
    untested = student_codes(logbook) - {each.code for each in lines}
    return Caseload(since, until, in_order(tuple(lines)), tuple(sorted(untested)))


def _worked_out(logbook: "Logbook", marked: "Sequence[Marked]") -> dict["Marked", CaseloadLine]:
    """The lines of these trials; one whose student was forgotten in between has none."""
    from .store.listing import still_there

    versions: dict[tuple[str, int], Protocol] = {}
    found: dict[Marked, CaseloadLine] = {}
    by_number = {each.number: each for each in marked}
    for student, trial in still_there(logbook, tuple(by_number)):
        key = (trial.protocol, trial.protocol_version)
        if key not in versions:
            versions[key] = logbook.protocol(*key)
        found[by_number[trial.id or 0]] = line_of(safety_of(student, trial), versions[key])
    return found
