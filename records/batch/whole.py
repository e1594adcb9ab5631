"""A whole batch: jobs out of the tables, results in the order of the rows, a report at the end of each table."""

import time
from collections import Counter, deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from ...errors import OwnmarkError, ReaderFault
from ...executors import Executor, Lost
from ...ingest.files import Refused
from ...words.plain import printable
from ...words.render import english
from ..address import read_anywhere
from ..class_day import REASONS, in_zone, set_aside
from ..class_table import Row
from ..intake import gathered
from ..row_day import order_in, stated_in
from ..row_outcome import Outcome, at_once, failed, refusal
from ..store.measured_with import Facts, facts_of
from ..store.outputs import refuse_own
from ..store.settings import zone_of
from .job import Done, Job, Order, OrderOpen, Undecided, days_of
from .report import Report, TableReport
from .stop import Stop
from .tables import Table, read_table
from .unused import name_of
from .work import done, recorded
from .writer import STOPS, Item, Writer

if TYPE_CHECKING:
    pass

Place = tuple[int, int]
"""Of a row: its table's, and its own in the table."""
END = -1
FACTS_AT_ONCE = 64
"""Rows whose students are looked up together. What changes after that is seen when they are stored."""


@dataclass(frozen=True, slots=True)
class _Turn:
    """A row whose turn comes, or the end of a table.

    item : without a result where a worker is asked
    """

    table: int
    row: int
    item: Item | None = None
    asked: bool = False


@dataclass(slots=True)
class _Open:
    """A table that is being gone through."""

    rows: tuple[Row, ...]
    stated: Counter[date]
    zone: str | None
    report: TableReport
    order: Order = "open"
    facts: dict[tuple[str, str], Facts | None] = field(default_factory=dict)
    facts_until: int = 0


class Batch:
    """Goes through tables, one after the other; a table is held no longer than its rows are under way.

    Parameters
    ----------
    named : by ``name_of``, each table that was read, its list of straps, and the files of its rows
    on_row : told of each row that is decided
    on_table : told of each table that is gone through, the last one perhaps not to its end
    """

    def __init__(
        self,
        executor: Executor,
        writer: Writer,
        tables: Sequence[Table],
        *,
        stop: Stop | None = None,
        on_row: Callable[[], object] = lambda: None,
        on_table: Callable[[TableReport], object] = lambda _: None,
    ) -> None:
        self.executor, self.writer, self.tables = executor, writer, tables
        self.how, self.logbook = writer.how, writer.logbook
        self.stop = stop or Stop()
        self.on_row, self.on_table = on_row, on_table
        self.report = Report()
        self.named: set[str] = set()
        self._open: dict[int, _Open] = {}
        self._turns: deque[_Turn] = deque()
        self._given: deque[Place] = deque()  # of the rows that the writer holds

    def run(self) -> Report:
        """Go through all of it, or as far as it goes; what is in the logbook then, the report says."""
        began, start = time.monotonic(), (0, 0)
        try:
            while start is not None:
                start = self._from(start)
        except KeyboardInterrupt:
            self.report.by_hand = True
            if not self.stop.pressed_again:
                self._store_what_is_measured()
        except STOPS as reason:
            self.report.stopped = reason
        except OwnmarkError as reason:  # the workers are gone
            self.report.stopped = reason
            self._store_what_is_measured()
        for place in sorted(self._open):
            if self._open[place].report.counts:  # others were only read ahead
                self._close(place)
        self.report.seconds = time.monotonic() - began
        return self.report

    def _store_what_is_measured(self) -> None:
        with suppress(KeyboardInterrupt, OrderOpen, *STOPS):
            self._enter(self.writer.flush())

    def _from(self, start: Place) -> Place | None:
        """From a row on to the end; or to a row of whose day its whole table has to be asked first, and that one."""
        self._turns.clear()
        results = self.executor.map(done, self._jobs(start))
        try:
            again = self._through(results)
        except OrderOpen:  # of the first row that the writer holds
            again = self._given[0]
            self.writer.let_go()
            self._given.clear()
        finally:
            close = getattr(results, "close", None)
            if close is not None:
                close()
        if again is not None:
            self._ask_the_table(again[0])
        return again

    def _through(self, results: Iterator[Done | Lost]) -> Place | None:
        """Takes result after result; ends before one that says that the whole table is to be asked."""
        while True:
            with self.stop.waiting():
                result = next(results, None)
            self._take_turns()
            if result is None:
                self._enter(self.writer.flush())
                return None
            turn = self._turns.popleft()
            if turn.item is None:
                raise AssertionError("the end of a table has no result")
            if isinstance(result, Undecided):
                self._enter(self.writer.flush())
                return turn.table, turn.row
            found = _lost(turn.item.row, result) if isinstance(result, Lost) else result
            self._give(turn, replace(turn.item, result=found))
            self._take_turns()

    def _jobs(self, start: Place) -> Iterator[Job]:
        """A job for each row that a worker is asked of; the turn of every row is remembered."""
        for table in range(start[0], len(self.tables)):
            found = self._opened(table)
            first = start[1] if table == start[0] else 0
            for number in range(first, len(found.rows)):
                job, item = self._job(found, number)
                self._turns.append(_Turn(table, number, item, asked=job is not None))
                if job is not None:
                    yield job
            self._turns.append(_Turn(table, END))

    def _opened(self, place: int) -> _Open:
        """A table's rows; none where it is refused, which its report says."""
        if place not in self._open:
            table, rows = self.tables[place], ()
            report = TableReport(table.path, aside=table.aside)
            try:
                rows = read_table(table)
                straps = [table.straps] if table.straps else []
                inputs = [table.path, *straps, *(file for row in rows for file in row.files)]
                refuse_own(self.logbook, [table.aside / REASONS], inputs)
                self.named.update(map(name_of, inputs))
            except OwnmarkError as reason:
                if isinstance(reason, STOPS):
                    raise
                report.refused, rows = reason, ()
            except Exception as fault:  # noqa: BLE001 whatever it is, the other tables go on
                what = f"ownmark itself failed at this table ({type(fault).__name__}); the other tables go on."
                report.refused = ReaderFault(what, where=str(table.path), mend="Please report it with the table.")
                rows = ()
            zone = self.how.zone or self.writer.patience.until_done(lambda: zone_of(self.logbook))
            report.rows = len(rows)
            self._open[place] = _Open(rows, stated_in(rows), zone, report)
        return self._open[place]

    def _job(self, found: _Open, number: int) -> tuple[Job | None, Item]:
        """What a worker is asked of a row, or what becomes of it without one."""
        row = found.rows[number]
        days = days_of(found.stated, found.order)
        decided = at_once(row)
        if decided is not None:
            return None, Item(row, days, decided)
        facts = self._facts_of(found, number)
        if facts is None:
            return None, Item(row, days, None)
        if isinstance(facts.protocol, OwnmarkError):
            return None, Item(row, days, refusal(row, facts.protocol))
        stated = Counter[date]() if "on" in row.texts else found.stated  # it is asked only of a row that states none
        files = None if self._reads(row) else gathered(row.files)
        job = Job(
            *(in_zone(row, found.zone), files, facts.student, facts.protocol, facts.mark, facts.held),
            *(self.how.day, self.how.today, stated, found.order, self.how.correct, self.how.since),
        )
        return job, Item(row, days, None, facts.mark, found.zone)

    def _reads(self, row: Row) -> bool:
        """Whether whoever works can read a row's files by their names."""
        return self.executor.shares_disk or read_anywhere(row.files)

    def _facts_of(self, found: _Open, number: int) -> Facts | None:
        """What a row is measured with, looked up for the next rows together; None: class add tells why it is not."""
        row = found.rows[number]
        pair = (row.code, row.texts["protocol"])
        if pair not in found.facts or number >= found.facts_until:
            ahead = found.rows[number : number + FACTS_AT_ONCE]
            pairs = [(each.code, each.texts["protocol"]) for each in ahead if at_once(each) is None]
            found.facts = self._looked_up(pairs) or self._looked_up([pair]) or {pair: None}
            found.facts_until = number + FACTS_AT_ONCE
        return found.facts[pair]

    def _looked_up(self, pairs: Sequence[tuple[str, str]]) -> dict[tuple[str, str], Facts | None]:
        """Facts by pair; empty where one holds a sign that no logbook can hold."""
        try:
            return dict(self.writer.patience.until_done(lambda: facts_of(self.logbook, pairs)))
        except STOPS:
            raise
        except OwnmarkError:
            return {}

    def _take_turns(self) -> None:
        """The rows whose turn it is until the next that a worker is asked of."""
        while self._turns and not self._turns[0].asked:
            turn = self._turns.popleft()
            if turn.item is not None:
                self._give(turn, turn.item)
                continue
            self._enter(self.writer.flush())
            self._close(turn.table)

    def _give(self, turn: _Turn, item: Item) -> None:
        self._given.append((turn.table, turn.row))
        self._enter(self.writer.take(item))

    def _enter(self, outcomes: Iterable[Outcome]) -> None:
        """Outcomes of the first rows that the writer held, each entered before the next one is stored."""
        for outcome in outcomes:
            table, _ = self._given.popleft()
            self._open[table].report.enter(outcome)
            self.on_row()

    def _ask_the_table(self, place: int) -> None:
        """Which day is meant by the open dates of a table, by what the files of its rows state."""
        found = self._open[place]
        asked = [row for row in found.rows if row.days]
        looks = ((in_zone(row, found.zone), None if self._reads(row) else gathered(row.files)) for row in asked)
        results: dict[int, date | None] = {}
        for row, result in zip(asked, self.executor.map(recorded, looks), strict=True):
            results[row.number] = None if isinstance(result, Lost) else result
        found.order = order_in(asked, found.stated, lambda row: results[row.number], self.how.today)

    def _close(self, place: int) -> None:
        """The end of a table: its bad files are put aside, its report is told."""
        found = self._open.pop(place)
        report = found.report
        bad = [each for each in report.open_rows if each.refused]
        try:
            report.copies = set_aside(bad, self.tables[place].aside, self.tables[place].inside)
        except OwnmarkError as reason:
            report.not_aside = reason
        self.report.tables.append(report)
        self.on_table(report)


def _lost(row: Row, lost: Lost) -> Outcome:
    """A row whose work never came back: it is refused, and its files are put aside."""
    if lost.fault is not None:
        return failed(row, lost.fault, written=False)
    why = english(lost.reason)
    mend = "Look at its files; the other rows go on."
    refused = tuple(Refused(printable(str(path)), ReaderFault(why, where=path.name, mend=mend)) for path in row.files)
    return Outcome(row, "refused", f"{why} Nothing of it was added. {mend}", refused, code=ReaderFault.code)
