"""Pictures for a page out of the logbook: drawn from the kept originals, or a reason why there is none."""

from typing import TYPE_CHECKING

from ...errors import OwnmarkError
from ..page import Picture
from ..refusals import refusal
from ..words import Words

if TYPE_CHECKING:
    from ...metrics.figure import EffortSheet
    from ...records.change.shapes import Comparison
    from ...records.protocol import Protocol
    from ...records.store.logbook import Logbook
    from ...records.student import Student
    from ...records.trial import Trial
    from ..pictures import Drawn, Series


def trial_drawn(
    logbook: "Logbook",
    trial: "Trial",
    student: "Student",
    protocol: "Protocol",
    words: Words,
    *,
    phone: bool = True,
    low: bool = False,
) -> tuple[Picture | None, str]:
    """The picture of a trial, or None and why. ``phone``: with one for a narrow screen; ``low``: of less height."""
    if trial.sheet is None:
        return None, ""
    from ..pictures import trial_picture

    try:
        series = _series(logbook, trial, trial.sheet, student, protocol)
    except OwnmarkError as reason:
        return None, refusal(reason, words) or words.get("effort.why_untold")
    narrow = trial_picture(series, words, width="phone") if phone else None
    return _shown(trial_picture(series, words, width="low" if low else "paper"), narrow), ""


def pair_drawn(
    logbook: "Logbook", found: "Comparison", words: Words, *, phone: bool = True
) -> tuple[Picture | None, Picture | None]:
    """Pictures of the last baseline and re-test over each other, and of left and right; None where none fits."""
    from ..pictures import sides_picture

    sides = None
    if found.sides:
        narrow = sides_picture(found, words, width="phone") if phone else None
        sides = _shown(sides_picture(found, words), narrow)
    return _pair(logbook, found, words, phone=phone), sides


def _pair(logbook: "Logbook", found: "Comparison", words: Words, *, phone: bool) -> Picture | None:
    """The two trials over each other; None where one has no recording, or one that can no longer be read."""
    from ..pictures import pair_picture

    student = logbook.student(found.code)
    trials = [logbook.trial(each.trial) for each in (found.baselines[-1], found.retests[-1]) if each.trial is not None]
    pair = [(each, each.sheet) for each in trials if each.sheet is not None]
    if len(pair) < 2:
        return None
    protocols = [logbook.protocol(each.protocol, each.protocol_version) for each in trials]
    try:
        first, last = (
            _series(logbook, each, sheet, student, plan) for (each, sheet), plan in zip(pair, protocols, strict=True)
        )
    except OwnmarkError:
        return None  # the effort sheet of that trial tells why; the verdict needs no picture
    narrow = pair_picture(first, last, words, width="phone") if phone else None
    return _shown(pair_picture(first, last, words), narrow)


def _series(
    logbook: "Logbook", trial: "Trial", sheet: "EffortSheet", student: "Student", protocol: "Protocol"
) -> "Series":
    from ..pictures import series_of

    originals = [(file.path, logbook.original(file.sha256)) for file in trial.files]
    return series_of(trial, student, protocol, originals, sheet)


def _shown(paper: "Drawn", phone: "Drawn | None") -> Picture:
    """For a page; the heading above it says what it is."""
    return Picture(paper.svg, paper.alt, "", phone.svg if phone else None)
