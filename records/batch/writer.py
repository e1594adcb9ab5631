"""The one writer: what is measured goes into the logbook in the order of the rows, many trials in a transaction.

Plain is a trial whose recordings no other trial holds, and whose student and protocol are what it was measured with.
That is seen inside the transaction that stores it. Everything else goes the way of ``class add``, in a transaction of
its own, with what the logbook holds by then.
"""

import time
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import takewhile
from typing import TYPE_CHECKING, TypeAlias

from ...errors import DiskFull, LogbookDamaged, LogbookLocked, LogbookReadOnly, NoLogbook, OwnmarkError
from ..class_day import in_one_transaction, in_zone, outcome_of
from ..class_table import Row
from ..patience import Patience
from ..row_day import Days
from ..row_outcome import Outcome, failed, refusal
from ..store.adding import insert_entries
from ..store.failures import of_database
from ..store.measured_with import held_by_any, marks, stored_as, trial_of_key
from ..store.settings import zone_of
from .hearts import Hearts
from .job import Decided, Known, OrderOpen, Ready
from .there import There

if TYPE_CHECKING:
    from ..store.logbook import Logbook, Within

Result: TypeAlias = Outcome | Ready | Decided | Known | None

AT_ONCE, AT_ONCE_BYTES, AT_ONCE_S = 64, 32 * 2**20, 2.0
"""Trials, bytes and time that wait for one transaction at the most. Our own choice: a commit costs as much as some
trials, and what waits is lost if the program is killed."""
STOPS = (DiskFull, LogbookDamaged, LogbookLocked, LogbookReadOnly, NoLogbook)
"""What ends a batch: no further row can be stored."""


@dataclass(frozen=True, slots=True)
class How:
    """What holds for all rows, as ``class_day.add_class``.

    zone : that was asked for; None: the logbook's
    """

    day: date | None
    today: date
    zone: str | None = None
    correct: bool = False
    since: date | None = None


@dataclass(frozen=True, slots=True)
class Item:
    """A row whose turn it is.

    row : as the table has it
    result : what a worker made of it, or what was decided without one; None: the way of ``class add``
    mark : of what it was measured with (``measured_with.marks``)
    zone : with which it was measured; None: that of no logbook
    """

    row: Row
    days: Days
    result: Result
    mark: str = ""
    zone: str | None = None


@dataclass(frozen=True, slots=True)
class Stored:
    """Trials that were just written, to be found again where nobody knows whether the logbook kept them."""

    outcomes: tuple[Outcome, ...]
    keys: Mapping[int, tuple[str, str]]


class _TakeBack(Exception):
    """Ends a transaction that found out what becomes of rows, and has nothing to keep."""

    def __init__(self, outcomes: list[Outcome]) -> None:
        super().__init__()
        self.outcomes = outcomes


@dataclass(slots=True)
class Writer:
    """Takes rows in their order and gives what became of them, in that order."""

    logbook: "Logbook"
    how: How
    patience: Patience = field(default_factory=Patience)
    _waiting: list[Item] = field(default_factory=list)
    _weight: int = 0
    _since: float = 0.0
    _most: int = AT_ONCE
    _perhaps: Stored | None = None

    def take(self, item: Item) -> Iterator[Outcome]:
        """A row's turn; what of the rows so far is decided by now."""
        if not self._waiting:
            self._since = time.monotonic()
        self._waiting.append(item)
        if isinstance(item.result, Ready):
            self._weight += item.result.entry.weight
        late = time.monotonic() - self._since >= AT_ONCE_S
        full = late or len(self._waiting) >= AT_ONCE or self._weight >= AT_ONCE_BYTES
        return self.flush() if full else iter(())

    def let_go(self) -> None:
        """Forget what waits: it comes again."""
        self._waiting.clear()
        self._weight, self._most = 0, AT_ONCE

    def flush(self) -> Iterator[Outcome]:
        """Everything that waits: each outcome is given when it is in the logbook, before the next are written.

        Raises
        ------
        OwnmarkError
            If the logbook cannot take it: nothing of what waits still is in it.
        """
        while self._waiting:
            some = self.patience.until_done(self._some)
            del self._waiting[: len(some)]
            yield from some
        self._weight, self._most = 0, AT_ONCE

    def _some(self) -> list[Outcome]:
        """As many rows from the first on as one transaction takes; at least one."""
        if self._perhaps is not None:
            with self.logbook.reading() as connection:
                there = stored_as(connection, self._perhaps.keys)
            found, self._perhaps = self._perhaps, None
            if there == found.keys:  # the connection had ended after the logbook had kept them
                return list(found.outcomes)
        try:
            stored = self._plain()
        except STOPS:
            raise
        except OwnmarkError:  # one of them cannot be kept: each by itself
            stored, self._most = [], 1
        return stored or [self._as_class_add(self._waiting[0])]

    def _plain(self) -> list[Outcome]:
        """The rows until the first that is not plain, in one transaction; empty where the first is not."""
        if not any(isinstance(each.result, Ready) for each in self._next()):
            with self.logbook.snapshot() as inside:
                return [each for each in self._verdicts(inside) if isinstance(each, Outcome)]
        try:
            with self.logbook.within() as inside:
                verdicts = self._verdicts(inside)
                entries = [each.entry for each in verdicts if isinstance(each, Ready)]
                numbers = insert_entries(inside.connection, entries)
                outcomes = _outcomes(self._waiting, verdicts, numbers)
                if not entries:
                    raise _TakeBack(outcomes)
                keys = {number: (each.trial.code, each.same_as) for number, each in zip(numbers, entries, strict=True)}
                self._perhaps = Stored(tuple(outcomes), keys)
        except _TakeBack as found:
            return found.outcomes
        self._perhaps = None
        return outcomes

    def _next(self) -> list[Item]:
        """The rows that may be plain: until the first that is known not to be."""
        return list(takewhile(lambda each: each.result is not None, self._waiting[: self._most]))

    def _verdicts(self, inside: "Within") -> list[Outcome | Ready]:
        """What becomes of the rows until the first that is not plain."""
        items = self._next()
        measured = [(each, each.result) for each in items if isinstance(each.result, Ready | Decided)]
        now = marks(inside.connection, [pair_of(each.row) for each, _ in measured])
        zone = self._zone_in(inside)
        ready = [result for _, result in measured if isinstance(result, Ready)]
        hearts = Hearts(inside.connection, {key for each in ready for key in each.hearts})
        seen = set(held_by_any(inside.connection, {each for _, result in measured for each in result.hashes}))
        known = [each.result.recordings for each in items if isinstance(each.result, Known)]
        there = There(inside, {each for by_file in known for some in by_file for each in some})
        keys: set[tuple[str, str]] = set()
        found: list[Outcome | Ready] = []
        for item in items:
            verdict = self._verdict(inside, there, item, now, zone, seen)
            if isinstance(verdict, Ready):
                code = verdict.entry.trial.code
                if hearts.of_another(code, verdict.hearts):
                    break
                key = (verdict.entry.trial.code, verdict.entry.same_as)
                if key in keys or (not verdict.hashes and trial_of_key(inside.connection, *key) is not None):
                    break
                keys.add(key)
                seen |= verdict.hashes
                hearts.add(code, {each for file in verdict.entry.trial.files for each in file.heart_keys})
            if verdict is None:
                break
            found.append(verdict)
        return found

    def _verdict(
        self,
        inside: "Within",
        there: There,
        item: Item,
        now: Mapping[tuple[str, str], str],
        zone: str | None,
        seen: Collection[str],
    ) -> Outcome | Ready | None:
        """What becomes of a row; None where it is not plain."""
        result = item.result
        if isinstance(result, Known):
            return there.outcome(in_zone(item.row, zone), item.days, result.recordings, self.how.today)
        if not isinstance(result, Ready | Decided):
            return result
        if now[pair_of(item.row)] != item.mark or zone != item.zone:
            return None
        if result.hashes.isdisjoint(seen):
            return result if isinstance(result, Ready) else result.outcome
        if isinstance(result, Decided):
            return None
        again = There(inside, result.hashes)
        return again.outcome(in_zone(item.row, zone), item.days, result.recordings, self.how.today)

    def _as_class_add(self, item: Item) -> Outcome:
        """A row by the way of ``class add``, of one state of the logbook: what it rests on is stored with it."""
        try:
            return in_one_transaction(self.logbook, lambda inside: self._outcome_in(inside, item.row, item.days))
        except STOPS:
            raise
        except OwnmarkError as reason:  # the database refuses a value of it
            return refusal(item.row, reason)

    def _outcome_in(self, inside: "Within", row: Row, days: Days) -> Outcome:
        how = self.how
        try:
            found = outcome_of(
                *(inside, row, how.day, how.today, days), zone=how.zone, correct=how.correct, since=how.since
            )
        except Exception as fault:
            if isinstance(fault, OrderOpen) or of_database(fault):
                raise
            return failed(row, fault, written=False)
        return replace(found, kept=None, refused=found.refused)  # its sheet is stored, and held no longer

    def _zone_in(self, inside: "Within") -> str | None:
        return self.how.zone or zone_of(inside)


def pair_of(row: Row) -> tuple[str, str]:
    """Of which student and protocol a row is, as the logbook knows them."""
    return row.code.strip().upper(), row.texts.get("protocol", "")


def _outcomes(items: Sequence[Item], verdicts: Sequence[Outcome | Ready], numbers: Sequence[int]) -> list[Outcome]:
    """What became of the rows, whose trials have these numbers."""
    left = iter(numbers)
    found: list[Outcome] = []
    for item, each in zip(items, verdicts, strict=False):
        if isinstance(each, Outcome):
            found.append(each)
            continue
        number = next(left)
        found.append(Outcome(item.row, "added", f"trial {number}, {each.told}", each.refused, number=number))
    return found
