"""Mend what is known of a student: corrected, withdrawn or added; the figures that rest on it are worked out at once.

Ceilings count as they stand today, for every trial: whatever a page prints is held against the ceiling of the day on
which it is printed, never against one that was withdrawn.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..errors import OwnmarkError
from ..metrics.figure import EffortSheet, Figure
from ..metrics.messages.heart_rate import WHY_NO_CEILING, why_ceiling_not_counted
from ..words.message import Json, Message
from ..words.vocabulary import CEILING_FIGURES
from .recompute import Recomputed, differences, new_sheet
from .store.history import Change, remember
from .student import Student
from .trial import Trial

if TYPE_CHECKING:
    from .store.logbook import Logbook, Within

FIGURED = frozenset({"born", "sex", "conditions", "rests", "maxima", "ceilings"})
"""What of a student the figures of the trials depend on."""


@dataclass(frozen=True, slots=True)
class StudentMended:
    """A student as known now.

    fields : what was changed; empty if it was so already
    trials : what became of each trial whose figures depend on it
    """

    student: Student
    fields: tuple[str, ...]
    trials: tuple[Recomputed, ...] = ()


def edit_student(
    logbook: "Logbook",
    code: str,
    changes: dict[str, object],
    *,
    why: str = "",
    progress: Callable[[int, int], None] | None = None,
) -> StudentMended:
    """Replace fields of a student, keep what stood there in the history, and work out the figures that depend on it.

    One transaction. A trial that cannot be worked out again keeps its figures, but those of another ceiling than
    today's, which are withheld.

    progress : called with how many trials are done, and of how many

    Raises
    ------
    UnknownCode, NotAStudent
    """
    with logbook.within() as inside:
        before = inside.student(code)
        after = inside.edit_student(code, **changes)
        old, new = before.model_dump(mode="json"), after.model_dump(mode="json")
        changed = tuple(name for name in old if old[name] != new[name])
        if not changed:
            return StudentMended(after, ())
        former: dict[str, Json] = {name: old[name] for name in changed}
        remember(inside.connection, Change("student", after.code, after.code, "edited", why, former))
        if not FIGURED & set(changed):
            return StudentMended(after, changed)
        return StudentMended(after, changed, _worked_out(inside, after, progress or (lambda _done, _of: None)))


def count_anew(inside: "Within") -> None:
    """Hold every sheet against the ceiling of today, in a logbook that held each against the one of its day."""
    for student in inside.students():
        now = None if student.ceiling is None else student.ceiling.bpm
        for trial in inside.trials(student.code):
            if trial.sheet is not None and trial.sheet.provenance.ceiling_bpm != now:
                inside.replace_sheet(trial.id or 0, _counted(inside, student, trial, trial.sheet))


def _counted(inside: "Within", student: Student, trial: Trial, sheet: EffortSheet) -> EffortSheet:
    """A sheet as it was, but for what it counts above the ceiling."""
    try:
        new = new_sheet(inside, trial)
    except OwnmarkError:
        return without_stale(sheet, student)
    figures = {**sheet.figures, **{name: new.figures[name] for name in CEILING_FIGURES if name in new.figures}}
    names = ("above_ceiling", "possible_crossings", "recording_unmeasured", "ceiling_bpm")
    counted = {name: getattr(new.provenance, name) for name in names}
    made = sheet.provenance.model_copy(update=counted)
    return sheet.model_copy(update={"figures": figures, "provenance": made})


def _worked_out(inside: "Within", student: Student, progress: Callable[[int, int], None]) -> tuple[Recomputed, ...]:
    """Every trial of a student that has a sheet."""
    known = [trial for trial in inside.trials(student.code) if trial.sheet is not None]
    found: list[Recomputed] = []
    for done, trial in enumerate(known, 1):
        found.append(_again(inside, student, trial))
        progress(done, len(known))
    return tuple(found)


def _again(inside: "Within", student: Student, trial: Trial) -> Recomputed:
    """One trial: its sheet worked out again, or else without what would be stale."""
    number, refused = trial.id or 0, None
    if trial.sheet is None:
        return Recomputed(number, trial.code)
    try:
        sheet = new_sheet(inside, trial)
    except OwnmarkError as reason:
        refused, sheet = reason, without_stale(trial.sheet, student)
    stored = sheet != trial.sheet
    if stored:
        inside.replace_sheet(number, sheet)
    return Recomputed(number, trial.code, differences(trial.sheet, sheet), stored, refused)


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
