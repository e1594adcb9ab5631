"""All that a kept trial's sheet is worked out of, ready to be sent to another process."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..errors import LogbookDamaged, OwnmarkError
from ..metrics.figure import EffortSheet
from .measuring import measure
from .protocol import Protocol
from .store.packing import Original
from .student import Student
from .trial import Trial

if TYPE_CHECKING:
    from .store.logbook import Logbook

PRELOAD = (
    "ownmark.records.sheet_facts",
    "ownmark.metrics.heart_rate_while_moving",
    "ownmark.metrics.motion_figures",
    "ownmark.metrics.rhythm_figures",
    "fitparse",
    "defusedxml.ElementTree",
    "pandas",
    "pyarrow.pandas_compat",
    "zstandard",
)
"""What a process loads before its first sheet. What only waveforms take, scipy and heartpy, waits for the first one."""


@dataclass(frozen=True, slots=True)
class SheetFacts:
    """A trial, and what it is measured with.

    trial : without its sheet, which no new one rests on
    originals : the trial's files, each under its name as given
    """

    trial: Trial
    student: Student
    protocol: Protocol
    originals: tuple[Original, ...]


def facts_of(logbook: "Logbook", trial: Trial) -> SheetFacts:
    """The facts of a trial, of one state of the logbook.

    Raises
    ------
    OwnmarkError
        If something of it is not there, or damaged.
    """
    with logbook.snapshot() as inside:
        student, protocol = _measured_with(inside, trial)
        files: list[Original] = []
        for file in trial.files:
            try:
                files.append(inside.packed_original(file.sha256, file.path))
            except LogbookDamaged as damage:
                raise _of_file(file.path, damage) from damage
        return SheetFacts(bare(trial), student, protocol, tuple(files))


def still_hold(inside: "Logbook", facts: SheetFacts) -> bool:
    """Whether the logbook still holds the facts as they are; its files lie under their hashes and cannot change.

    Raises
    ------
    OwnmarkError
        If the trial is gone, or something of it is.
    """
    now = bare(inside.trial(facts.trial.id or 0, with_sheet=False))
    return now == facts.trial and _measured_with(inside, now) == (facts.student, facts.protocol)


def sheet_of_facts(facts: SheetFacts) -> EffortSheet:
    """The sheet, worked out.

    Raises
    ------
    OwnmarkError
        If it cannot be worked out, or a file has changed on the disk.
    """
    originals: dict[str, bytes] = {}
    for file in facts.originals:
        try:
            originals[file.sha256] = file.content()
        except LogbookDamaged as damage:
            raise _of_file(file.name, damage) from damage
    return measure(facts.trial, facts.student, facts.protocol, originals)


def sheet_or_refusal(facts: SheetFacts | OwnmarkError) -> EffortSheet | OwnmarkError:
    """The work of an executor: the sheet, or why there is none; a trial that is refused already stays so."""
    if isinstance(facts, OwnmarkError):
        return facts
    try:
        return sheet_of_facts(facts)
    except OwnmarkError as refusal:
        return refusal


def bare(trial: Trial) -> Trial:
    """The trial as a person entered it, without what was worked out of it."""
    return trial.model_copy(update={"sheet": None, "computed_by": None})


def _measured_with(inside: "Logbook", trial: Trial) -> tuple[Student, Protocol]:
    return inside.student(trial.code), inside.protocol(trial.protocol, trial.protocol_version)


def _of_file(name: str, damage: LogbookDamaged) -> LogbookDamaged:
    return LogbookDamaged(damage.what, where=damage.where or name, mend=damage.mend)
