"""What a sheet counts above the ceiling is held against the ceiling of today, or withheld: never one that is stale."""

import typing
from collections.abc import Iterator, Sequence

from ..errors import OwnmarkError
from ..metrics.figure import EffortSheet, Figure
from ..metrics.messages.heart_rate import WHY_NO_CEILING, why_ceiling_not_counted
from ..words.message import Message
from ..words.vocabulary import CEILING_FIGURES
from .measuring import measure
from .protocol import Protocol
from .student import Student
from .trial import Trial


class Kept(typing.Protocol):
    """What is asked of a logbook here."""

    def students(self) -> Sequence[Student]:
        """All students."""
        ...

    def trials(self, code: str | None = None) -> Iterator[Trial]:
        """Trials with their sheets."""
        ...

    def original(self, sha256: str) -> bytes:
        """The bytes of a kept file."""
        ...

    def protocol(self, name: str, version: int | None = None) -> Protocol:
        """A protocol."""
        ...

    def replace_sheet(self, number: int, sheet: EffortSheet) -> None:
        """Put a sheet in the place of a trial's."""
        ...


def count_anew(logbook: Kept) -> None:
    """Hold every sheet against the ceiling of today, in a logbook that held each against the one of its day."""
    for student in logbook.students():
        now = None if student.ceiling is None else student.ceiling.bpm
        for trial in logbook.trials(student.code):
            if trial.sheet is not None and trial.sheet.provenance.ceiling_bpm != now:
                logbook.replace_sheet(trial.id or 0, _counted(logbook, student, trial, trial.sheet))


def _counted(logbook: Kept, student: Student, trial: Trial, sheet: EffortSheet) -> EffortSheet:
    """A sheet as it was, but for what it counts above the ceiling."""
    try:
        originals = {file.sha256: logbook.original(file.sha256) for file in trial.files}
        new = measure(trial, student, logbook.protocol(trial.protocol, trial.protocol_version), originals)
    except OwnmarkError:
        return without_stale(sheet, student)
    figures = {**sheet.figures, **{name: new.figures[name] for name in CEILING_FIGURES if name in new.figures}}
    names = ("above_ceiling", "possible_crossings", "recording_unmeasured", "ceiling_bpm")
    counted = {name: getattr(new.provenance, name) for name in names}
    made = sheet.provenance.model_copy(update=counted)
    return sheet.model_copy(update={"figures": figures, "provenance": made})


def without_stale(sheet: EffortSheet, student: Student) -> EffortSheet:
    """A sheet that cannot be worked out again, without what it counts above a ceiling that is not today's."""
    now, made = student.ceiling, sheet.provenance
    if made.ceiling_bpm == (None if now is None else now.bpm):
        return sheet
    reason = WHY_NO_CEILING if now is None else why_ceiling_not_counted(now.bpm)
    figures = {
        name: _withheld(figure, reason) if name in CEILING_FIGURES else figure for name, figure in sheet.figures.items()
    }
    used = None if now is None else made.ceiling_bpm
    gone = {"above_ceiling": (), "possible_crossings": (), "ceiling_bpm": used}
    return sheet.model_copy(update={"figures": figures, "provenance": made.model_copy(update=gone)})


def _withheld(figure: Figure, reason: Message) -> Figure:
    """The figure without its number."""
    return Figure(name=figure.name, value=None, unit=figure.unit, source=figure.source, reason=reason)
