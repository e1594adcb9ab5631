"""Which column, or pair of columns, gives a table its times, and the times themselves.

A date and a clock time in two columns are read as one stamp. Of several columns that could give the time, those
that tell rows apart go before those that do not, and those that know the date before those that count from zero;
the others are not used, except that a date-time still gives its start to a column that knows no date.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta, tzinfo
from itertools import pairwise

import numpy as np

from ...errors import UnclearColumns
from .. import messages as say
from .assignment import Columns
from .axis import TimeAxis
from .cells import Cells
from .columns import Column, example, listed
from .layout import Layout, is_number
from .stamps import DAY, HALF_DAY, LOCAL, LONG, SHORT, UNREADABLE, ZONED, read_stamps
from .time_numbers import EPOCH_S, times_of_numbers
from .times import times_of_text

_NUMBERS = -1
_SAMPLE_ROWS = 120
_RANK = {ZONED: 5, LOCAL: 4, HALF_DAY: 3, LONG: 2, SHORT: 1, _NUMBERS: 1}


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way to the time of a row: a column, or a date column and a clock column."""

    column: Column
    date: Column | None
    kind: int
    rank: int
    coarse: bool

    @property
    def texts(self) -> tuple[int, ...]:
        """Columns that must be kept as text."""
        if self.kind == _NUMBERS:
            return ()
        return (self.column.number,) if self.date is None else (self.date.number, self.column.number)

    @property
    def numbers(self) -> tuple[int, ...]:
        """Columns that must be read as numbers."""
        return (self.column.number,) if self.kind == _NUMBERS else ()


def candidates(layout: Layout, columns: Columns, where: str) -> list[Candidate]:
    """Ways to the time, the best first; empty where the table has none.

    A column without a header is one if it holds date-times or clock times. At most the best, and the best that
    knows the date, are given.

    Raises
    ------
    UnclearColumns
        If two are equally good.
    """
    found = [_candidate(layout, column) for column in columns.times or _nameless(layout, columns)]
    dates = [_candidate(layout, column) for column in columns.dates]
    ways = [way for way in found + dates if way and way.kind in _RANK]
    days = [way.column for way in dates if way and way.kind == DAY]
    if len(days) == 1:
        ways = [_with_date(way, days[0]) if way.kind in (LONG, SHORT, HALF_DAY) else way for way in ways]
    if not ways:
        return []
    best = max((way.column.hinted, not way.coarse, way.rank) for way in ways)
    same = [way for way in ways if (way.column.hinted, not way.coarse, way.rank) == best]
    plain = [way for way in same if way.column.plain]
    if len(same) > 1 and len(plain) != 1:
        raise UnclearColumns(
            f"more than one column could be the time: {listed(way.column.header for way in same)}.",
            where=where,
            mend=f"Say which one, for example `--column time={example(same[0].column)}`.",
        )
    chosen = (plain if len(same) > 1 else same)[0]
    dated = [way for way in ways if way.rank >= _RANK[LOCAL] and way is not chosen]
    return [chosen, *(dated[:1] if chosen.rank < _RANK[LOCAL] else [])]


def time_axis(ways: Sequence[Candidate], cells: Cells, fastest: str, zone: tzinfo | None, where: str) -> TimeAxis:
    """Times of every row, by the best way; errors as in ``table_times``."""
    axis = _axis(ways[0], cells, fastest, zone, where)
    if len(ways) < 2 or axis.start is not None:
        return axis
    dated = _axis(ways[1], cells, fastest, zone, where)
    both = np.isfinite(axis.time) & np.isfinite(dated.time)
    if dated.start is None or not both.any():
        return axis
    row = int(np.argmax(both))
    start = dated.start + timedelta(seconds=round(float(dated.time[row] - axis.time[row]), 6))
    note = say.table_two_times(ways[0].column.number + 1, ways[1].column.number + 1)
    return replace(axis, start=start, clock_s=None, notes=(*axis.notes, note))


def _axis(way: Candidate, cells: Cells, fastest: str, zone: tzinfo | None, where: str) -> TimeAxis:
    """Times by one way."""
    column = way.column
    if way.kind == _NUMBERS:
        return times_of_numbers(cells.numbers[column.number], unit=column.unit, fastest=fastest, where=where)
    texts = cells.texts[column.number]
    if way.date is not None:
        pairs = zip(cells.texts[way.date.number], texts, strict=True)
        texts = [f"{day} {clock}" if day and clock else "" for day, clock in pairs]
    words = column.words | (way.date.words if way.date else frozenset())
    return times_of_text(texts, words=words, zone=zone, where=where)


def _candidate(layout: Layout, column: Column) -> Candidate | None:
    """What the first cells of a column show; None where they are no stamps."""
    cells = [row[column.number] for row in layout.sample[:_SAMPLE_ROWS] if row[column.number]]
    numbers = [cell for cell in cells if is_number(cell)]
    coarse = sum(one == other for one, other in pairwise(cells)) > len(cells) / 2
    if not cells:
        return None
    if 2 * len(numbers) > len(cells):
        middle = float(numbers[len(numbers) // 2].replace(",", "."))
        over = column.unit.over if column.unit else 1.0
        epoch = middle / over >= EPOCH_S[0]
        return Candidate(column, None, _NUMBERS, _RANK[ZONED] if epoch else _RANK[_NUMBERS], coarse)
    counts = np.bincount(read_stamps(cells).kind, minlength=DAY + 1)
    counts[UNREADABLE] = 0
    kind = int(np.argmax(counts))
    if not counts[kind]:
        return Candidate(column, None, LONG, 0, coarse=True) if column.hinted else None
    return Candidate(column, None, kind, _RANK.get(kind, 0), coarse)


def _with_date(way: Candidate, day: Column) -> Candidate:
    """A clock time with the date beside it."""
    return replace(way, date=day, kind=LOCAL, rank=_RANK[LOCAL])


def _nameless(layout: Layout, columns: Columns) -> list[Column]:
    """The first column without a name, outside the used ones, whose cells are date-times or clock times."""
    used = {column.number for column in columns.parts.values()}
    for number in range(layout.width):
        if number in used or layout.names[number]:
            continue
        cells = [row[number] for row in layout.sample[:_SAMPLE_ROWS] if row[number]]
        if any(is_number(cell) for cell in cells):
            continue
        kinds = read_stamps(cells).kind
        if len(kinds) and np.isin(kinds, (LOCAL, ZONED, LONG, HALF_DAY, SHORT)).mean() > 0.5:
            return [Column(number, "", "time")]
    return []
