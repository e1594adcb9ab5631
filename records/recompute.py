"""Work out every sheet again from the original files, and tell what changed."""

import time
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

from ..errors import LogbookLocked, NoLogbook, OwnmarkError, ReaderFault
from ..executors import Executor, Lost
from ..executors.serial import Serial
from ..metrics.figure import EffortSheet, Figure
from .patience import Patience
from .sheet_facts import SheetFacts, facts_of, sheet_of_facts, sheet_or_refusal, still_hold
from .store.logbook import Logbook, Within
from .trial import Trial

_AWAY = (NoLogbook, LogbookLocked)
"""What is of the logbook, and of no trial."""
_SAME = 1e-9
"""Two values closer than this share of themselves are the same: sums differ in their last digits between machines."""
_AT_ONCE = 32
"""So many trials are stored in one transaction."""
_LONGEST_S = 1.0
"""So long a sheet waits for others [s]."""


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
    logbook: Logbook,
    code: str | None = None,
    protocol: str | None = None,
    *,
    store: bool = True,
    executor: Executor | None = None,
    patience: Patience | None = None,
) -> Iterator[Recomputed]:
    """Work out the sheet of every trial with files again, and tell of each in order; what is told is stored.

    Parameters
    ----------
    store : False only tells what would change
    executor : who works them out; None: this process, one by one
    patience : waits for a logbook that is away for a while

    Trials entered by hand have no sheet and are passed over. A sheet that has not changed but in the version that made
    it is stored too, so that it is known to be up to date. Whatever ends this, Ctrl-C too, what is worked out is stored
    before.

    Raises
    ------
    WorkersGone
        If the workers are gone and do not come back.
    NoLogbook, LogbookLocked
        If the logbook is away for too long.
    """
    patience = patience or Patience()
    waiting = _Waiting(logbook, store=store)
    try:
        for one in _worked_out(_Source(logbook, code, protocol, patience), executor or Serial()):
            waiting.add(one)
            if waiting.due():
                yield from waiting.stored(patience)
        yield from waiting.stored(patience)
    except (Exception, KeyboardInterrupt):
        waiting.stored(Patience(most_s=0.0))
        raise


def new_sheet(logbook: Logbook, trial: Trial) -> EffortSheet:
    """The sheet of a kept trial, worked out from its original files.

    Raises
    ------
    OwnmarkError
        If it cannot be worked out, or a file has changed on the disk.
    """
    return sheet_of_facts(facts_of(logbook, trial))


@dataclass(frozen=True, slots=True)
class _WorkedOut:
    """A trial as it was read, and what came out.

    facts : without the files; None: they could not be read
    differs : there is a sheet to store
    """

    trial: Trial
    facts: SheetFacts | None
    found: EffortSheet | OwnmarkError
    differs: bool


@dataclass(frozen=True, slots=True)
class _Source:
    """Trials, and what each is worked out of, from a logbook that may be away for a while."""

    logbook: Logbook
    code: str | None
    protocol: str | None
    patience: Patience

    def trials(self) -> Iterator[Trial]:
        """Each in order; where the list broke off, it goes on behind the last."""
        last: Trial | None = None
        rest = self._behind(last)

        def following() -> Trial | None:
            nonlocal rest
            try:
                return next(rest, None)
            except OwnmarkError:
                rest = self._behind(last)
                raise

        while (trial := self.patience.until_done(following)) is not None:
            last = trial
            yield trial

    def facts(self, trial: Trial) -> SheetFacts:
        """As ``facts_of``."""
        return self.patience.until_done(lambda: facts_of(self.logbook, trial))

    def _behind(self, last: Trial | None) -> Iterator[Trial]:
        if last is None:
            return self.logbook.trials(self.code, self.protocol)
        those = self.logbook.trials(self.code, self.protocol, since=last.on)
        return (each for each in those if _place(each) > _place(last))


def _place(trial: Trial) -> tuple[date, int]:
    """Where a trial stands among all."""
    return trial.on, trial.id or 0


def _worked_out(source: _Source, executor: Executor) -> Iterator[_WorkedOut]:
    """Each trial with files, and its new sheet."""
    sent: deque[tuple[Trial, SheetFacts | None]] = deque()

    def jobs() -> Iterator[SheetFacts | OwnmarkError]:
        for trial in source.trials():
            if not trial.files:
                continue
            try:
                facts = source.facts(trial)
            except _AWAY:
                raise
            except OwnmarkError as refusal:
                sent.append((trial, None))
                yield refusal
            else:
                sent.append((trial, replace(facts, originals=())))
                yield facts

    for found in executor.map(sheet_or_refusal, jobs()):
        trial, facts = sent.popleft()
        sheet = _refused(found) if isinstance(found, Lost) else found
        yield _WorkedOut(trial, facts, sheet, not isinstance(sheet, OwnmarkError) and sheet != trial.sheet)


def _refused(lost: Lost) -> OwnmarkError:
    """A sheet that never came costs its trial alone, like a file that stops its reader."""
    refusal = ReaderFault(lost.reason)
    refusal.__cause__ = lost.fault
    return refusal


class _Waiting:
    """What is worked out and not stored yet: many sheets in one transaction, because each forces the disk to write."""

    def __init__(self, logbook: Logbook, *, store: bool) -> None:
        self._logbook, self._store = logbook, store
        self._some: list[_WorkedOut] = []
        self._since = time.monotonic()

    def add(self, one: _WorkedOut) -> None:
        """One more, in order."""
        if not self._some:
            self._since = time.monotonic()
        self._some.append(one)

    def due(self) -> bool:
        """Whether these are to be stored now: there is nothing to store, it is enough, or has waited long."""
        full = len(self._some) >= _AT_ONCE or time.monotonic() - self._since >= _LONGEST_S
        return full or not (self._store and any(each.differs for each in self._some))

    def stored(self, patience: Patience) -> list[Recomputed]:
        """Store them, in one transaction, and tell what became of each."""
        some, self._some = self._some, []
        if not (self._store and any(each.differs for each in some)):
            return [_told(each, each.found, stored=False) for each in some]

        def put() -> list[Recomputed]:
            with self._logbook.within() as inside:
                return [_put(inside, each) for each in some]

        try:
            return patience.until_done(put)
        except KeyboardInterrupt:  # it was taken back, and is tried once more
            self._some = some
            raise


def _put(inside: Within, one: _WorkedOut) -> Recomputed:
    """Store one sheet, if the logbook still holds what it was worked out of; else that of now."""
    found = one.found
    if not one.differs or one.facts is None or isinstance(found, OwnmarkError):
        return _told(one, found, stored=False)
    number = one.trial.id or 0
    try:
        if not still_hold(inside, one.facts):
            found = new_sheet(inside, inside.trial(number, with_sheet=False))
    except _AWAY:
        raise
    except OwnmarkError as refusal:
        return _told(one, refusal, stored=False)
    inside.replace_sheet(number, found)
    return _told(one, found, stored=True)


def _told(one: _WorkedOut, found: EffortSheet | OwnmarkError, *, stored: bool) -> Recomputed:
    number, code = one.trial.id or 0, one.trial.code
    if isinstance(found, OwnmarkError):
        return Recomputed(number, code, refused=found)
    return Recomputed(number, code, differences(one.trial.sheet, found), stored)


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
