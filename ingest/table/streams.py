"""From a table's columns to streams: units, axes, sparse rows. Values are what the file says, in the stream's unit."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...errors import UnclearColumns
from ...words.message import Message
from ...words.render import english
from .. import messages as say
from ..recording import ACCELERATION, ANGULAR_RATE, HEART_RATE, RR_INTERVAL, WAVEFORM, Stream
from ..rr_intervals import cover_of, lasting, unit_of_intervals
from ..waveform.channel_words import kind_of_words
from .cells import Cells
from .columns import AXES, Column, example, quoted, stream_of, words_of
from .header_words import WITHOUT_GRAVITY
from .units import DEGREE_PER_SECOND, GRAVITY, METRE_PER_SECOND_SQUARED, MILLIGRAVITY, Unit

HEART_RATES = (20.0, 300.0)
"""Median [/min] outside of which a column is no heart rate [common practice]."""

AT_REST_G = (0.7, 1.3)
"""Median length [g] of an acceleration that contains gravity: a sensor is mostly slow [common practice]."""

MOST_G = 16.0
MOST_RADIAN_PER_SECOND = 40.0
"""Limits of usual body sensors: 16 g; 2000 deg/s is 34.9 rad/s, so more than 40 cannot be rad/s [common practice]."""


@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """One stream's values for every row, before rows are chosen.

    values : ndarray, shape (n,) or (n, 3), in the stream's unit; NaN where there is none
    filled : ndarray of bool, shape (n,): a cell of it holds something, readable or not
    kind : of a waveform, as its header says, '' where it does not
    """

    name: str
    values: NDArray[np.float64]
    filled: NDArray[np.bool_]
    notes: tuple[Message, ...] = ()
    kind: str = ""

    @property
    def valued(self) -> NDArray[np.bool_]:
        """Which rows hold a number of it, shape (n,); axis by axis, which is quicker than along short rows."""
        if self.values.ndim == 1:
            return np.isfinite(self.values)
        found = np.isfinite(self.values[:, 0])
        for axis in self.values.T[1:]:
            found |= np.isfinite(axis)
        return found


def quantities(parts: Mapping[str, Column], cells: Cells, where: str) -> tuple[list[Quantity], list[Message]]:
    """Every stream that the columns hold, in its own unit, and notes on what could not be used.

    A stream without a unit, whose unit the data do not show, is left out with a note if others remain and nobody
    asked for it.

    Raises
    ------
    UnclearColumns
        If nothing remains, or what a hint asks for cannot be given.
    """
    found: list[Quantity] = []
    refused: list[UnclearColumns] = []
    makers = (
        (HEART_RATE, _heart_rate),
        (RR_INTERVAL, _intervals),
        (ACCELERATION, _acceleration),
        (ANGULAR_RATE, _angular_rate),
        (WAVEFORM, _waveform),
    )
    for name, make in makers:
        columns = [column for part, column in parts.items() if stream_of(part) == name]
        if not columns:
            continue
        try:
            found.append(make(sorted(columns, key=lambda column: column.part), cells, where))
        except UnclearColumns as reason:
            if any(column.hinted for column in columns):
                raise
            refused.append(reason)
    if refused and not found:
        raise refused[0]
    return found, [say.table_left_out(_in_english(reason.what)) for reason in refused]


def _in_english(what: str | Message) -> str:
    return what if isinstance(what, str) else english(what)


def sparse_rows(quantity: Quantity, others: list[Quantity]) -> NDArray[np.bool_] | None:
    """Rows to keep where a slower quantity shares a table with a faster one, None to keep all.

    A cell is empty for two reasons: the sensor gave nothing, which must stay a sample without a value, or the row
    belongs to another sensor. It is the second where most of the column is empty and nearly all (90 %) of those
    rows hold something else. A row whose cell holds text is kept.
    """
    empty = ~quantity.filled
    if 2 * np.count_nonzero(empty) <= len(empty) or not others:
        return None
    elsewhere = np.logical_or.reduce([other.filled for other in others])
    if np.count_nonzero(elsewhere & empty) < 0.9 * np.count_nonzero(empty):
        return None
    return quantity.filled


def build(quantity: Quantity, time: NDArray[np.float64], rows: NDArray[np.bool_], source: str, *, ends: bool) -> Stream:
    """A stream of the chosen rows. ``ends`` says that the times of RR intervals are their ends, not their starts."""
    stamps, values = (time, quantity.values) if rows.all() else (time[rows], quantity.values[rows])
    for part in (stamps, values):
        part.setflags(write=False)  # a stream keeps it, in place of another copy
    if quantity.name != RR_INTERVAL:
        return Stream.from_samples(quantity.name, stamps, values, source=source, kind=quantity.kind)
    cover = cover_of(values) if ends else lasting(quantity.values, quantity.filled)[rows]
    return Stream.from_samples(quantity.name, stamps - cover if ends else stamps, values, cover_s=cover, source=source)


def _columns(columns: list[Column], cells: Cells) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Numbers of the columns, shape (n,) or (n, k), and which rows hold anything."""
    numbers = [np.asarray(cells.numbers[column.number], np.float64) for column in columns]
    filled = np.isfinite(numbers[0])
    for more in [*map(np.isfinite, numbers[1:]), *(cells.unreadable[column.number] for column in columns)]:
        filled |= more
    values = np.array(numbers).T if len(numbers) > 1 else numbers[0].copy()  # each axis in one piece of memory
    if cells.too_long.any():
        values[cells.too_long] = np.nan
        filled &= ~cells.too_long
    return values, filled


def unreadable(columns: Iterable[Column], cells: Cells) -> list[NDArray[np.bool_]]:
    """For each column, which rows hold something in it that is no number."""
    return [cells.unreadable[column.number] & ~cells.too_long for column in columns]


def _scaled(values: NDArray[np.float64], unit: Unit) -> NDArray[np.float64]:
    """Values in the stream's unit."""
    return values if unit.times == unit.over == 1 else values * unit.times / unit.over


def _heart_rate(columns: list[Column], cells: Cells, where: str) -> Quantity:
    """Heart rate [/min]; a column that cannot be one is refused, unless a hint says that it is."""
    column = columns[0]
    values, filled = _columns(columns, cells)
    asked = values[np.isfinite(values) & (values != 0)]
    if len(asked) and not column.hinted and not HEART_RATES[0] <= np.median(asked) <= HEART_RATES[1]:
        raise UnclearColumns(
            "the numbers in the column for heart rate are not heart rates.",
            where=where,
            mend=f"If {quoted(column.header)} is a pulse wave or an ECG, say `--column waveform={example(column)}`.",
        )
    return Quantity(HEART_RATE, values, filled)


def _intervals(columns: list[Column], cells: Cells, where: str) -> Quantity:
    """RR intervals [s]."""
    column = columns[0]
    values, filled = _columns(columns, cells)
    unit, notes = column.unit, ()
    if unit is None:
        unit = unit_of_intervals(values)
        if unit is None and np.isfinite(values).any():
            raise _no_unit("RR intervals", column, "ms", where)
        notes = () if unit is None else (say.table_intervals_unit(unit.symbol),)
    return Quantity(RR_INTERVAL, _scaled(values, unit) if unit else values, filled, notes)


def _waveform(columns: list[Column], cells: Cells, _where: str) -> Quantity:
    """A waveform in whatever unit it has."""
    values, filled = _columns(columns, cells)
    return Quantity(WAVEFORM, values, filled, kind=kind_of_words(columns[0].words))


def _acceleration(columns: list[Column], cells: Cells, where: str) -> Quantity:
    """Acceleration [g], shape (n, 3). Without a stated unit, gravity shows it: its length is 1 g, 9.81 m/s²."""
    unit = _common_unit(columns, ACCELERATION, where)
    values, filled = _columns(columns, cells)
    notes: tuple[Message, ...] = ()
    if unit is None:
        unit, notes = _unit_by_gravity(values, columns, where)
    if any(column.words & WITHOUT_GRAVITY for column in columns):
        notes = (*notes, say.TABLE_NO_GRAVITY)
    return Quantity(ACCELERATION, _scaled(values, unit), filled, notes)


def _unit_by_gravity(
    values: NDArray[np.float64], columns: list[Column], where: str
) -> tuple[Unit, tuple[Message, ...]]:
    """The unit in which the median length is that of gravity; g where none is but the numbers can be g."""
    length = np.linalg.norm(values, axis=1)
    known = length[np.isfinite(length)]
    middle = float(np.median(known)) if len(known) else 0.0
    for unit in (GRAVITY, METRE_PER_SECOND_SQUARED, MILLIGRAVITY):
        if AT_REST_G[0] <= middle / unit.over <= AT_REST_G[1]:
            return unit, (say.table_acceleration_unit(unit.symbol),)
    bare = all(column.words <= set(AXES) and not column.hinted for column in columns)
    if bare or middle > MOST_G:
        raise _no_unit("acceleration", columns[0], "g", where)
    return GRAVITY, (say.TABLE_ACCELERATION_ASSUMED,)


def _angular_rate(columns: list[Column], cells: Cells, where: str) -> Quantity:
    """Angular rate [deg/s], shape (n, 3). Without a stated unit, numbers too large for rad/s must be deg/s."""
    unit = _common_unit(columns, ANGULAR_RATE, where)
    values, filled = _columns(columns, cells)
    notes: tuple[Message, ...] = ()
    if unit is None:
        size = np.abs(values[np.isfinite(values)])
        if not len(size) or np.percentile(size, 99) <= MOST_RADIAN_PER_SECOND:
            raise _no_unit("angular rate", columns[0], "deg/s", where)
        unit = DEGREE_PER_SECOND
        notes = (say.TABLE_TURNING_UNIT,)
    return Quantity(ANGULAR_RATE, _scaled(values, unit), filled, notes)


def _common_unit(columns: list[Column], name: str, where: str) -> Unit | None:
    """The unit of three axes; all three must be there, and agree."""
    missing = [axis for axis in AXES if f"{name}_{axis}" not in {column.part for column in columns}]
    if missing:
        raise UnclearColumns(
            f"{words_of(name)} needs three columns, and {' and '.join(missing)} could not be found.",
            where=where,
            mend=f"Name it, for example `--column {name}_{missing[0]}=4`.",
        )
    units = {column.unit for column in columns}
    if len(units) > 1:
        raise UnclearColumns(
            f"the three columns of {words_of(name)} do not give the same unit.",
            where=where,
            mend="Write the same unit into the three headers.",
        )
    return units.pop()


def _no_unit(what: str, column: Column, unit: str, where: str) -> UnclearColumns:
    """The refusal for a quantity whose unit nothing tells."""
    return UnclearColumns(
        f"the unit of the {what} is not given, and the numbers do not show it.",
        where=where,
        mend=f"Write the unit into the header, for example '{column.header.strip()[:40] or what} ({unit})'.",
    )
