"""Tables: CSV, TSV, semicolons, blanks; any header that names its columns, in several languages, or hints.

What stands where is decided in steps, each in a module of its own: ``text_bytes`` (encoding), ``table_layout``
(delimiter, header, first row), ``table_columns`` (what a column holds), ``table_cells`` (the bulk),
``table_time_column`` and ``table_times`` (times), ``table_streams`` (units and streams).

A unit is the header's; without one, the data's if they leave no doubt, and a note says so; else the table is
refused. An RR interval with a time stamp ended at that stamp, because a beat is reported when it has happened, so
it starts one interval before; without stamps, each interval starts where the one before it ends.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ...errors import DamagedFile, UnclearColumns
from ...words.message import Message
from .. import messages as say
from .. import refusal_messages as refused
from .. import rr_list
from ..limits import MOST_RATES, MOST_SAMPLES, refuse_many
from ..packets import reader as packets
from ..recording import ACCELERATION, ANGULAR_RATE, HEART_RATE, RR_INTERVAL, WAVEFORM, Hints, Recording, Source
from ..rr_intervals import lasting, starts_of, told_of_lost
from ..span import span_of
from ..text_encoding import decode, first_lines, head_lines
from .assignment import Columns, assign
from .axis import TimeAxis
from .cells import Cells, parse_cells
from .coarse_stamps import spread, spread_rows
from .columns import PARTS, listed, stream_of
from .layout import SAMPLE_LINES, Layout, find_layout, is_table
from .streams import Quantity, build, quantities, sparse_rows, unreadable
from .time_column import Candidate, candidates, time_axis

_FASTEST_FIRST = (WAVEFORM, ACCELERATION, ANGULAR_RATE, HEART_RATE, RR_INTERVAL)


@dataclass(frozen=True, slots=True, eq=False)
class _Read:
    """What is known once the cells are parsed."""

    columns: Columns
    ways: list[Candidate]
    cells: Cells
    found: list[Quantity]

    @property
    def stamped(self) -> bool:
        """Whether the table has times of its own."""
        return bool(self.ways)

    def times_written(self) -> list[NDArray[np.bool_]]:
        """For each column of times, which rows hold anything in it."""
        texts = [np.array([bool(cell) for cell in self.cells.texts[n]]) for way in self.ways for n in way.texts]
        numbers = [
            np.isfinite(self.cells.numbers[n]) | self.cells.unreadable[n] for way in self.ways for n in way.numbers
        ]
        return texts + numbers


def sniff(head: bytes) -> bool:
    """Tell whether a file is a table, and neither a list of RR intervals nor heart-rate packets.

    head : the first 4096 bytes. Rubbish is False, never an error.
    """
    lines = head_lines(head)
    return lines is not None and is_table(lines) and not packets.sniff(head) and not rr_list.sniff(head)


def headers_of(data: bytes) -> tuple[str, ...]:
    """The names of a table's columns; empty where no rows of numbers are found."""
    layout = find_layout(first_lines(decode(data)[0], SAMPLE_LINES))
    return () if layout is None else layout.names


def read(data: bytes, source: Source) -> Recording:
    """Read a table.

    Parameters
    ----------
    data : the whole file
    source : with hints: ``columns`` (a part of ``PARTS`` to a header or a column's number from 1), ``rate_hz`` for
        a table without times, ``zone`` for stamps that state none

    Returns
    -------
    Recording with a stream for each quantity that was found. A cell without a number is NaN; a row without a
    usable time is left out. Both are counted in the notes, with the first line.

    Raises
    ------
    UnclearColumns
        If it cannot be told which column is what, or in which unit.
    DamagedFile
        If there is no table, it has no rows, or no row has a time.
    TooLarge
        If it holds more than a day of rows: ten a second of heart rate, 200 a second of anything else.
    """
    text, notes = decode(data)
    layout = find_layout(first_lines(text, SAMPLE_LINES))
    if layout is None:
        raise DamagedFile(refused.FILE_NO_NUMBERS, where=source.name, mend=refused.MEND_EXPORT_CSV)
    columns = assign(layout.names, source.hints.columns, source.name, source.hints.elsewhere)
    if not columns.parts:
        raise _nothing_known(layout, source.name)
    slow = all(stream_of(part) in (HEART_RATE, RR_INTERVAL) for part in columns.parts)
    most = MOST_RATES if slow else MOST_SAMPLES
    if len(text) > most:  # else there are not so many lines either
        refuse_many(text.count("\n") - layout.first_line, most, "rows", source.name)
    ways = candidates(layout, columns, source.name)
    texts = [number for way in ways for number in way.texts]
    numbers = [column.number for column in columns.parts.values()] + [n for way in ways for n in way.numbers]
    cells = parse_cells(text, layout, numbers, texts, source.name, data)
    found, unit_notes = quantities(columns.parts, cells, source.name)
    axis = _axis(ways, cells, found, source)
    read_so_far = _Read(columns, ways, cells, found)
    return _recording(read_so_far, axis, source, (*notes, *axis.notes, *unit_notes))


def _axis(ways: list[Candidate], cells: Cells, found: list[Quantity], source: Source) -> TimeAxis:
    """Times from the table, from the rate that a hint gives, or from the RR intervals themselves."""
    hints: Hints = source.hints
    names = {quantity.name for quantity in found}
    if ways:
        fastest = next(name for name in _FASTEST_FIRST if name in names)
        axis = time_axis(ways, cells, fastest, hints.zone, source.name)
        if not np.isfinite(axis.time).any():
            raise DamagedFile(refused.FILE_NO_ROW_TIME, where=source.name, mend=refused.MEND_EXPORT)
        return replace(axis, notes=(*axis.notes, say.TABLE_RATE_UNUSED)) if hints.rate_hz else axis
    if hints.rate_hz and names != {RR_INTERVAL}:
        if not (np.isfinite(hints.rate_hz) and hints.rate_hz > 0):
            raise UnclearColumns("the given rate is not above 0.", where=source.name, mend="Give samples a second.")
        time = _without_footer(np.arange(len(cells)) / hints.rate_hz, found, cells)
        return TimeAxis(time, notes=(say.table_by_rate(hints.rate_hz),))
    intervals = next((quantity for quantity in found if quantity.name == RR_INTERVAL), None)
    if intervals is not None:
        lasts_s = lasting(intervals.values, intervals.filled)
        return TimeAxis(starts_of(lasts_s), notes=(say.TABLE_BY_INTERVALS, *told_of_lost(lasts_s, intervals.values)))
    raise UnclearColumns(refused.FILE_NO_TIMES, where=source.name, mend=refused.MEND_TIME_OR_RATE)


def _without_footer(time: NDArray[np.float64], found: list[Quantity], cells: Cells) -> NDArray[np.float64]:
    """Counted times without those of the rows at the very end that hold only text."""
    valued = np.logical_or.reduce([quantity.valued for quantity in found])
    written = np.logical_or.reduce([quantity.filled for quantity in found]) & ~valued
    after = len(cells) - int(np.argmax(~written[::-1])) if not written.all() else 0
    return np.where(np.arange(len(cells)) < after, time, np.nan)


def _recording(read_so_far: _Read, axis: TimeAxis, source: Source, notes: tuple[Message, ...]) -> Recording:
    """Streams of the rows that have a time."""
    cells, found = read_so_far.cells, read_so_far.found
    timed = np.isfinite(axis.time) & ~(cells.too_long & read_so_far.stamped)
    streams, told = [], [*notes, *(note for quantity in found for note in quantity.notes)]
    spanned = not read_so_far.stamped  # a stream of all rows spans what they span, which ``with_spans`` looks at
    for quantity in found:
        rows = timed
        kept = sparse_rows(quantity, [other for other in found if other is not quantity])
        if kept is not None:
            rows = timed & kept
            told.append(say.table_sparse(quantity.name, int(np.count_nonzero(rows)), len(cells)))
        if (quantity.valued & rows).any():
            ends, time = read_so_far.stamped, axis.time
            if quantity.name != RR_INTERVAL:
                time, coarse = _spread(axis.time, quantity.values, rows)
                told += [] if coarse is None else [say.read_coarse(quantity.name, coarse)]
                spanned = spanned or (rows is timed and time is axis.time)
            streams.append(build(quantity, time, rows, source.name, ends=ends))
        else:
            told.append(say.table_no_number(quantity.name))
    told += _losses(read_so_far, timed)
    if not streams:
        raise DamagedFile(refused.FILE_NO_CELLS, where=source.name, mend=refused.MEND_EXPORT)
    ran_s = None if spanned else span_of(axis.time[timed])
    return Recording(streams=tuple(streams), start=axis.start, clock_s=axis.clock_s, notes=tuple(told), ran_s=ran_s)


def _spread(
    time: NDArray[np.float64], values: NDArray[np.float64], rows: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], float | None]:
    """Times of the chosen rows without shared stamps, and how many shared one; no copy where all rows are chosen."""
    return spread(time, values) if rows.all() else spread_rows(time, values, rows)


def _losses(read_so_far: _Read, timed: NDArray[np.bool_]) -> list[Message]:
    """What could not be read, counted, with the first line."""
    cells, parts = read_so_far.cells, read_so_far.columns.parts.values()
    notes: list[Message] = []
    if cells.too_long.any():
        notes.append(say.unread_rows(*cells.lines.place(cells.too_long)))
    if not timed.all():
        filled = [quantity.filled for quantity in read_so_far.found]
        written = np.logical_or.reduce(filled + read_so_far.times_written())
        lost = written & ~timed & ~cells.too_long
        if lost.any():
            notes.append(say.table_untimed(*cells.lines.place(lost)))
    for column in parts:
        text = unreadable([column], cells)[0] & timed
        if text.any():
            notes.append(say.table_bad_cells(column.part, *cells.lines.place(text)))
    return notes


def _nothing_known(layout: Layout, where: str) -> UnclearColumns:
    """The refusal for a table of which no column is understood; it shows headers, never cells."""
    if layout.header is None:
        what = f"the table has {layout.width} columns and no header that names them."
        how = "Say what they are by number, for example `--column heart_rate=2`."
    else:
        what = f"no column is understood. The columns are {listed(layout.header)}."
        how = f"Say what they are, for example `--column heart_rate=HR`; parts are {', '.join(PARTS)}."
    return UnclearColumns(what, where=where, mend=how)
