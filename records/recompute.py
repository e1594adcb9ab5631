"""Work out every sheet again from the original files, and tell what changed."""

from collections.abc import Iterator
from dataclasses import dataclass

from ..errors import LogbookDamaged, OwnmarkError
from ..metrics.figure import EffortSheet, Figure
from .measuring import measure
from .store.logbook import Logbook
from .trial import Trial

_SAME = 1e-9
"""Two values closer than this share of themselves are the same: sums differ in their last digits between machines."""


@dataclass(frozen=True, slots=True)
class FigureChange:
    """One figure before and after; None: there was none."""

    name: str
    before: float | None
    after: float | None


@dataclass(frozen=True, slots=True)
class Recomputed:
    """What became of one trial.

    changed : figures whose value, bounds or unit are not what they were
    stored : the new sheet took the place of the old one
    refused : why the sheet could not be worked out; the old one, if there is one, stays
    """

    trial_id: int
    code: str
    changed: tuple[FigureChange, ...] = ()
    stored: bool = False
    refused: OwnmarkError | None = None


def recompute(
    logbook: Logbook, code: str | None = None, protocol: str | None = None, *, store: bool = True
) -> Iterator[Recomputed]:
    """Work out the sheet of every trial with files again, one by one; each is a transaction of its own.

    store : False only tells what would change

    Trials entered by hand have no sheet and are passed over. A sheet that has not changed but in the version that made
    it is stored too, so that it is known to be up to date.
    """
    for trial in logbook.trials(code, protocol):
        if trial.files:
            yield _again(logbook, trial, store=store)


def _again(logbook: Logbook, trial: Trial, *, store: bool) -> Recomputed:
    """One trial."""
    number = trial.id or 0
    try:
        sheet = new_sheet(logbook, trial)
    except OwnmarkError as refusal:
        return Recomputed(number, trial.code, refused=refusal)
    changed = differences(trial.sheet, sheet)
    differs = sheet != trial.sheet
    if store and differs:
        logbook.replace_sheet(number, sheet)
    return Recomputed(number, trial.code, changed, stored=store and differs)


def new_sheet(logbook: Logbook, trial: Trial) -> EffortSheet:
    """The sheet of a kept trial, worked out from its original files.

    Raises
    ------
    OwnmarkError
        If it cannot be worked out, or a file has changed on the disk.
    """
    originals: dict[str, bytes] = {}
    for file in trial.files:
        try:
            originals[file.sha256] = logbook.original(file.sha256)
        except LogbookDamaged as damage:
            raise LogbookDamaged(f"{file.path}: {damage.what}", where=damage.where, mend=damage.mend) from damage
    student, protocol = logbook.student(trial.code), logbook.protocol(trial.protocol, trial.protocol_version)
    return measure(trial, student, protocol, originals)


def differences(before: EffortSheet | None, after: EffortSheet) -> tuple[FigureChange, ...]:
    """The figures of two sheets that are not the same."""
    old, new = {} if before is None else before.figures, after.figures
    changed: list[FigureChange] = []
    for name in dict.fromkeys((*old, *new)):
        one, other = old.get(name), new.get(name)
        if not _same(one, other):
            changed.append(FigureChange(name, one and one.value, other and other.value))
    return tuple(changed)


def _same(old: Figure | None, new: Figure | None) -> bool:
    if old is None or new is None:
        return old is new
    pairs = ((old.value, new.value), (old.low, new.low), (old.high, new.high))
    return old.unit == new.unit and all(_equal(one, other) for one, other in pairs)


def _equal(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) <= _SAME * max(abs(one), abs(other), 1.0)
