"""Times of records, and marks, out of the annotation channels of EDF+.

A record's bytes there are lists ``+onset [0x15 duration] 0x14 text 0x14 text ... 0x14 0x00``; the first of the first
channel has an empty text and tells when the record began. edfio gives marks but no times of records, and stops at
the first byte that is wrong: so they are read here, record by record.

Source: Kemp and Olivan (2003), from memory; trade tables 11.14.
"""

import re
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..recording import Mark
from .header import Header

_LIST = re.compile(
    rb"([+-]\d{1,9}(?:\.\d{0,12})?)(?:\x15(\d{1,9}(?:\.\d{0,12})?))?((?:\x14[^\x00\x14\x15]*)+)\x14?\x00"
)
FURTHEST_S = 7 * 86_400.0
"""Times of one recording lie within a week [common practice: a school trial takes minutes]."""
_MOST_MARKS = 10_000
_LONGEST = 80
_NEAR_S = 1e-3


class Noted(NamedTuple):
    """What the annotation channels say: when each record began [s], NaN where it cannot be read; and the marks."""

    onset_s: NDArray[np.float64]
    marks: list[Mark]
    lost: int


def annotations(data: bytes, header: Header, records: int) -> Noted:
    """Read every record's annotations. ``lost`` counts records of which the time cannot be read.

    A time more than a week from the middle one is broken, and is not read.
    """
    onset_s = np.full(records, np.nan)
    marks: list[Mark] = []
    for turn, channel in enumerate(header.annotated):
        for record in range(records):
            begin = header.size + record * header.record_size + channel.offset
            found = list(_LIST.finditer(data, begin, begin + 2 * channel.samples))
            if turn == 0 and found and found[0].start() == begin and found[0][3].startswith(b"\x14"):
                onset_s[record] = float(found[0][1])
            if len(marks) < _MOST_MARKS:
                marks += [mark for entry in found for mark in _marks_of(entry)]
    known = onset_s[np.isfinite(onset_s)]
    if len(known):
        onset_s[np.abs(onset_s - np.partition(known, len(known) // 2)[len(known) // 2]) > FURTHEST_S] = np.nan
    return Noted(onset_s, marks, int(np.count_nonzero(np.isnan(onset_s))))


def _marks_of(entry: re.Match[bytes]) -> list[Mark]:
    """One mark for each text of a list."""
    begin_s = float(entry[1])
    until_s = begin_s + float(entry[2]) if entry[2] else None
    return [Mark(begin_s, "annotation", label, until_s) for text in entry[3].split(b"\x14") if (label := _label(text))]


def _label(text: bytes) -> str:
    """A text for people: UTF-8, printable, not endless."""
    words = text.decode("utf-8", "replace")[:_LONGEST]
    return "".join(sign if sign.isprintable() else " " for sign in words).strip()


def record_times(onset_s: NDArray[np.float64], record_s: float) -> tuple[NDArray[np.float64], bool]:
    """When each record began [s] from the first, shape (n,), and whether they follow each other without a hole.

    A record whose time cannot be read follows the one before it.
    """
    count = np.arange(len(onset_s), dtype=np.float64)
    even = count * record_s
    known = np.isfinite(onset_s)
    if not known.any():
        return even, True
    last = np.maximum.accumulate(np.where(known, np.arange(len(onset_s)), -1))
    first = int(np.argmax(known))
    last = np.where(last < 0, first, last)
    times = onset_s[last] + (count - last) * record_s
    times = times - times[0]
    if np.abs(times - even).max() <= _NEAR_S:
        return even, True
    return times, False
