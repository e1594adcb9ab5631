"""Mend what is known of a student: corrected, withdrawn or added; the figures that rest on it are worked out at once.

Ceilings count as they stand today, for every trial: whatever a page prints is held against the ceiling of the day on
which it is printed, never against one that was withdrawn.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..errors import OwnmarkError
from ..words.message import Json
from .ceiling_of_today import without_stale
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
    changes: "dict[str, object] | Callable[[Student], dict[str, object]]",
    *,
    why: str = "",
    progress: Callable[[int, int], None] | None = None,
) -> StudentMended:
    """Replace fields of a student, keep what stood there in the history, and work out the figures that depend on it.

    One transaction. A trial that cannot be worked out again keeps its figures, but those of another ceiling than
    today's, which are withheld.

    changes : fields to their new values; or what makes them of the student as kept at that moment. An entry that is
        added to a list has to be added there: another writer may have added one since the student was looked at
    progress : called with how many trials are done, and of how many

    Raises
    ------
    UnknownCode, NotAStudent
    """
    with logbook.within() as inside:
        before = inside.student(code)
        after = inside.edit_student(code, **(changes(before) if callable(changes) else changes))
        old, new = before.model_dump(mode="json"), after.model_dump(mode="json")
        changed = tuple(name for name in old if old[name] != new[name])
        if not changed:
            return StudentMended(after, ())
        former: dict[str, Json] = {name: old[name] for name in changed}
        remember(inside.connection, Change("student", after.code, after.code, "edited", why, former))
        if not FIGURED & set(changed):
            return StudentMended(after, changed)
        return StudentMended(after, changed, _worked_out(inside, after, progress or (lambda _done, _of: None)))


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
