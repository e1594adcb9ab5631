"""Lists of RR intervals: one a line, in ms or s; header lines above, blank lines and # comments are no intervals.

Source of the unit: the median interval. 0.2 to 3 can only be s, 200 to 3000 only ms.
"""

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import DamagedFile, UnclearColumns
from . import packets
from .intervals import LONGEST_S, cover_of, starts_of, unit_of_intervals
from .recording import RR_INTERVAL, WAVEFORM, Recording, Source, Stream
from .table_columns import recognise
from .table_units import Unit
from .text_bytes import decode, head_lines

_NUMBER = re.compile(r"[-+]?(?:\d{1,9}(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d{1,2})?")
_SHARE_OF_NUMBERS = 0.8
_SHARE_BELOW_HEADER = 0.5
_FEWEST = 2
_ONLY_RISING = 10
_LONGEST_LINE = 80
_RATE_FITS = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """Cells of a list in the order of the file, with the line, from 1, on which each stands.

    ``above`` counts the lines of text before the first number; ``header`` is the last of them.
    """

    above: int
    header: str
    cells: list[str]
    numbers: list[int]


def sniff(head: bytes) -> bool:
    """Tell whether a file is a list of numbers, one a line, whose header, if it has one, names no other quantity.

    head : the first 4096 bytes. Rubbish is False, never an error.
    """
    lines = head_lines(head)
    if lines is None or any(len(line) > _LONGEST_LINE and not line.startswith("#") for line in lines):
        return False
    found = _lines(lines)
    values = [cell for cell in found.cells if _is_number(cell)]
    column = recognise(found.header) if found.header else None
    if column is not None and column.part != RR_INTERVAL:
        return False
    fewest, share = (1, _SHARE_BELOW_HEADER) if column else (_FEWEST, _SHARE_OF_NUMBERS)
    if found.above > 1 or len(values) < fewest or len(values) < share * len(found.cells):
        return False
    return not _two_columns(found.header, values) and not packets.sniff(head)


def read(data: bytes, source: Source) -> Recording:
    """Read a list of RR intervals.

    Time begins at 0 and each interval starts where the one before it ends; ``cover_s`` is the interval. A line of
    text is an interval without a value (NaN); it, and a 0 or a negative number, takes no time (``cover_s`` 0),
    because nobody knows how long it was, so that all later ones are early by it. Both are counted in the notes.
    Where a hint says that the only column is a waveform, it is read as one, with the hint's rate.

    Raises
    ------
    DamagedFile
        If there is no number, the median fits neither ms nor s, or the numbers only rise, as times of beats do.
    UnclearColumns
        If a hint calls the list a waveform and gives no rate.
    """
    text, notes = decode(data)
    found = _lines(text.split("\n"))
    values = np.array([_float(cell) for cell in found.cells], np.float64)
    if not np.isfinite(values).any():
        raise DamagedFile("no line holds a number.", where=source.name, mend="Export it again, one interval a line.")
    told = [*notes, *_unreadable(values, found)]
    if source.hints.columns.get(WAVEFORM) in ("1", found.header or "1"):
        return _waveform(values, source, told)
    unit = _unit(values, found.header, source.name)
    rr_s = values * unit.times / unit.over
    rr_s[np.abs(rr_s) > LONGEST_S] = np.nan
    empty = np.flatnonzero(rr_s <= 0)
    if len(empty):
        first = found.numbers[empty[0]]
        told.append(f"Intervals that are not above 0 take no time: {len(empty)}, the first on line {first}.")
    told.append(f"RR intervals were read as {unit.symbol}, which their median shows.")
    stream = Stream.from_samples(RR_INTERVAL, starts_of(rr_s), rr_s, cover_s=cover_of(rr_s), source=source.name)
    return Recording(streams=(stream,), notes=tuple(told))


def _lines(lines: list[str]) -> _Lines:
    """Part header, comments and blank lines from the list; text above the first number is no interval."""
    cells = [(number, line.strip().strip('"').strip()) for number, line in enumerate(lines, 1)]
    cells = [(number, cell) for number, cell in cells if cell and not cell.startswith("#")]
    above = next((at for at, (_, cell) in enumerate(cells) if _is_number(cell)), len(cells))
    header = cells[above - 1][1] if above else ""
    below = cells[above:]
    return _Lines(above, header, [cell for _, cell in below], [number for number, _ in below])


def _is_number(cell: str) -> bool:
    """Tell whether a line is one number."""
    return len(cell) <= 24 and _NUMBER.fullmatch(cell) is not None


def _float(cell: str) -> float:
    """A number with a point or a comma, NaN for anything else."""
    return float(cell.replace(",", ".")) if _is_number(cell) else np.nan


def _two_columns(header: str, values: list[str]) -> bool:
    """Tell whether commas part two columns, and are no decimal commas.

    They do where the header has one too, where what stands before them rises like a time, where interval and heart
    rate fit each other (812,74: 60000 / 812 = 73.9), and where the numbers would be no intervals.
    """
    pairs = [value.split(",") for value in values if "," in value]
    if len(pairs) < max(1, len(values) / 2):
        return False
    before = np.array([float(pair[0]) if pair[0].strip("+-") else 0.0 for pair in pairs])
    after = np.array([float(pair[1].lower().partition("e")[0] or 0) for pair in pairs])
    rising = len(pairs) > 1 and bool((np.diff(before) > 0).all())
    fitting = bool(np.median(np.abs(before * after / 60_000 - 1)) < _RATE_FITS)
    no_intervals = unit_of_intervals(np.array([_float(value) for value in values])) is None
    return "," in header or rising or fitting or no_intervals


def _unreadable(values: NDArray[np.float64], found: _Lines) -> list[str]:
    """Count lines that hold no number."""
    lost = np.flatnonzero(np.isnan(values))
    if not len(lost):
        return []
    return [f"Lines that hold no number have no value: {len(lost)}, the first on line {found.numbers[lost[0]]}."]


def _unit(values: NDArray[np.float64], header: str, where: str) -> Unit:
    """The unit that the median shows, which the header must not contradict."""
    known = values[np.isfinite(values)]
    if len(known) >= _ONLY_RISING and (np.diff(known) > 0).all():
        raise DamagedFile(
            "the numbers only rise: they are times of beats, not intervals between them.",
            where=where,
            mend="Export the RR intervals, one a line.",
        )
    unit = unit_of_intervals(values)
    if unit is None:
        raise DamagedFile(
            "the numbers are no RR intervals: their median is neither 0.2 to 3 (s) nor 200 to 3000 (ms).",
            where=where,
            mend="If it is a pulse wave or an ECG, say `--column waveform=1` and give its samples a second.",
        )
    column = recognise(header) if header else None
    if column is not None and column.unit is not None and column.unit != unit:
        raise DamagedFile(
            f"the header says {column.unit.symbol}, but the numbers can only be {unit.symbol}.",
            where=where,
            mend="Correct the header.",
        )
    return unit


def _waveform(values: NDArray[np.float64], source: Source, notes: list[str]) -> Recording:
    """The only column as a waveform."""
    rate_hz = source.hints.rate_hz
    if rate_hz is None or not (np.isfinite(rate_hz) and rate_hz > 0):
        raise UnclearColumns(
            "the list is called a waveform, and its samples a second are not given.",
            where=source.name,
            mend="Give them, for example `--rate 250`.",
        )
    stream = Stream.from_samples(WAVEFORM, np.arange(len(values)) / rate_hz, values, source=source.name)
    return Recording(streams=(stream,), notes=tuple(notes))
