"""Lists of RR intervals: one a line, in ms or s; header lines above, blank lines and # comments are no intervals.

Source of the unit: the median interval. 0.2 to 3 can only be s, 200 to 3000 only ms.
"""

import math
import re
from array import array
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ..errors import DamagedFile, UnclearColumns
from ..words.message import Message
from . import messages as say
from .limits import MOST_BEATS, MOST_SAMPLES, refuse_many, refuse_many_lines
from .packets import reader as packets
from .recording import RR_INTERVAL, WAVEFORM, Recording, Source, Stream
from .rr_intervals import LONGEST_S, lasting, starts_of, told_of_lost, unit_of_intervals
from .table.columns import recognise
from .table.units import Unit
from .text_encoding import decode, each_line, head_lines

_NUMBER = re.compile(r"[-+]?(?:\d{1,9}(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d{1,2})?")
_SHARE_OF_NUMBERS = 0.8
_SHARE_BELOW_HEADER = 0.5
_FEWEST = 2
_ONLY_RISING = 10
_LONGEST_LINE = 80
_RATE_FITS = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class _List:
    """The lines of a list in the order of the file.

    above : how many lines of text stand before the first number; ``header`` is the last of them
    values : ndarray, shape (n,), NaN for a line of text below
    lines : ndarray of int, shape (n,), the line of each, from 1
    """

    above: int
    header: str
    values: NDArray[np.float64]
    lines: NDArray[np.int64]


@lru_cache(maxsize=4)  # tables ask it too
def sniff(head: bytes) -> bool:
    """Tell whether a file is a list of numbers, one a line, whose header, if it has one, names no other quantity.

    head : the first 4096 bytes. Rubbish is False, never an error.
    """
    lines = head_lines(head)
    if lines is None or any(len(line) > _LONGEST_LINE and not line.startswith("#") for line in lines):
        return False
    found = _listed(lines)
    values = [cell for cell in map(_cell, lines) if _is_number(cell)]
    column = recognise(found.header) if found.header else None
    if column is not None and column.part != RR_INTERVAL:
        return False
    fewest, share = (1, _SHARE_BELOW_HEADER) if column else (_FEWEST, _SHARE_OF_NUMBERS)
    if found.above > 1 or len(values) < fewest or len(values) < share * len(found.values):
        return False
    return not _two_columns(found.header, values) and not packets.sniff(head)


def read(data: bytes, source: Source) -> Recording:
    """Read a list of RR intervals.

    Time begins at 0 and each interval starts where the one before it ends; ``cover_s`` is the interval. A line of
    text is an interval without a value (NaN). It, a 0 and a negative number are no heart beats: each takes as long
    as the intervals around it (``lasting``) and is a dropout, so that coverage falls. All are counted in the notes.
    Where a hint says that the only column is a waveform, it is read as one, with the hint's rate.

    Raises
    ------
    DamagedFile
        If there is no number, the median fits neither ms nor s, or the numbers only rise, as times of beats do.
    UnclearColumns
        If a hint calls the list a waveform and gives no rate.
    TooLarge
        If it holds more than a day of intervals (a waveform: at 200 a second).
    """
    most, noun = (MOST_SAMPLES, "samples") if WAVEFORM in source.hints.columns else (MOST_BEATS, "RR intervals")
    refuse_many_lines(data, most, noun, source.name)
    text, notes = decode(data)
    found = _listed(each_line(text))
    values = found.values
    refuse_many(len(values), most, noun, source.name)
    if not np.isfinite(values).any():
        raise DamagedFile("no line holds a number.", where=source.name, mend="Export it again, one interval a line.")
    told = [*notes, *_unreadable(found)]
    if source.hints.columns.get(WAVEFORM) in ("1", found.header or "1"):
        return _waveform(values, source, told)
    unit = _unit(values, found.header, source.name)
    rr_s = values * unit.times / unit.over
    none = np.flatnonzero((rr_s <= 0) | (rr_s > LONGEST_S))
    if len(none):
        first = int(found.lines[none[0]])
        told.append(say.intervals_none(len(none), first))
    rr_s[np.abs(rr_s) > LONGEST_S] = np.nan
    lasts_s = lasting(rr_s)
    told += told_of_lost(lasts_s, rr_s)
    told.append(say.intervals_unit(unit.symbol))
    stream = Stream.from_samples(RR_INTERVAL, starts_of(lasts_s), rr_s, cover_s=lasts_s, source=source.name)
    return Recording(streams=(stream,), notes=tuple(told))


def _listed(lines: Iterable[str]) -> _List:
    """Part header, comments and blank lines from the list; text above the first number is no interval."""
    above, header = 0, ""
    values, places = array("d"), array("q")
    for number, line in enumerate(lines, 1):
        cell = _cell(line)
        if not cell or cell.startswith("#"):
            continue
        value = _float(cell)
        if values or not math.isnan(value):
            values.append(value)
            places.append(number)
        else:
            above, header = above + 1, cell
    return _List(above, header, np.array(values, np.float64), np.array(places, np.int64))


def _cell(line: str) -> str:
    """What a line holds, without blanks and quotes."""
    return line.strip().strip('"').strip()


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


def _unreadable(found: _List) -> list[Message]:
    """Count lines that hold no number."""
    lost = np.flatnonzero(np.isnan(found.values))
    if not len(lost):
        return []
    return [say.intervals_bad_lines(len(lost), int(found.lines[lost[0]]))]


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
            "the numbers cannot be RR intervals: their median is neither 0.2 to 3 (s) nor 200 to 3000 (ms).",
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


def _waveform(values: NDArray[np.float64], source: Source, notes: list[Message]) -> Recording:
    """The only column as a waveform."""
    rate_hz = source.hints.rate_hz
    if rate_hz is None or not (np.isfinite(rate_hz) and rate_hz > 0):
        raise UnclearColumns(
            "the list is called a waveform, but its samples a second are not given.",
            where=source.name,
            mend="Give them, for example `--rate 250`.",
        )
    stream = Stream.from_samples(WAVEFORM, np.arange(len(values)) / rate_hz, values, source=source.name)
    return Recording(streams=(stream,), notes=tuple(notes))
