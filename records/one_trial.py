"""One trial of a student, by its number or the last one: loads nothing of how trials are compared."""

from typing import TYPE_CHECKING

from ..errors import UnknownTrial
from .trial import Trial

if TYPE_CHECKING:
    from .store.logbook import Logbook


def one_trial(logbook: "Logbook", code: str, number: int | None) -> Trial:
    """A student's trial by its number, or the last one, with its sheet.

    Raises
    ------
    UnknownTrial
        If the student has none, or not this one.
    """
    found = list(logbook.trials(code, with_sheets=False))
    if not found:
        raise UnknownTrial(f"{code} has no trial in the logbook.", mend="Add one with `ownmark trial add`.")
    numbers = [each.id for each in found]
    if number is None:
        return logbook.trial(found[-1].id or 0)
    if number not in numbers:
        mend = f"{code} has trial {', '.join(str(each) for each in numbers)}."
        raise UnknownTrial(f"trial {number} is not one of {code}.", mend=mend)
    return logbook.trial(number)
