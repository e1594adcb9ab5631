"""How much one recording can hold: a day of it. What holds more is no recording of a trial, and is refused at once.

Without limits a file of 15 kB can unpack to eight million intervals, and reading them would take a school's computer
for a minute. Each is asked before the work that it bounds: lines and marks are counted in the bytes, not in what they
become.
"""

import re

from ..errors import TooLarge
from ..words.vocabulary import HIGHEST_BPM

LONGEST_H = 24
MOST_BEATS = int(LONGEST_H * 60 * HIGHEST_BPM)
"""A day of a heart at its highest rate: 331,200 intervals, or packets."""
MOST_RATES = LONGEST_H * 3600 * 10
"""Heart rates, at ten a second."""
MOST_POINTS = LONGEST_H * 3600 * 2
"""Track points of XML, at two a second."""
MOST_SAMPLES = LONGEST_H * 3600 * 200
"""Samples of movement or of a waveform, at 200 a second."""
EDGES_A_POINT, ATTRIBUTES_A_POINT = 20, 6
"""Begins and ends of elements, and attributes, in a track point; most have about fifteen and two [common practice]."""
LONGEST_TAG = 10_000
"""Bytes between < and >: a namespace or two take a few hundred."""

_LINES_A_VALUE = 2  # blank lines between
_OTHER_LINES = 1000  # a preamble
_LONG_TAG = re.compile(rb"<[^<>!?][^<>]{%d}" % (LONGEST_TAG - 1))


def refuse_many_lines(data: bytes, most: int, noun: str, where: str) -> None:
    """Refuse a text of more lines than so many values can take.

    Raises
    ------
    TooLarge
    """
    if max(data.count(b"\n"), data.count(b"\r")) > _LINES_A_VALUE * most + _OTHER_LINES:
        raise too_many(most, noun, where)


def refuse_many(count: int, most: int, noun: str, where: str) -> None:
    """Refuse more values than a recording holds.

    Raises
    ------
    TooLarge
    """
    if count > most:
        raise too_many(most, noun, where)


def refuse_endless_xml(data: bytes, where: str) -> None:
    """Refuse XML with more elements, or larger ones, than a day of track points has.

    Raises
    ------
    TooLarge
    """
    edges = data.count(b"<") + data.count(b"/>")  # an element that is empty begins and ends in one tag
    many = edges > EDGES_A_POINT * MOST_POINTS or data.count(b"=") > ATTRIBUTES_A_POINT * MOST_POINTS
    if many or _LONG_TAG.search(data):
        raise too_many(MOST_POINTS, "track points", where)


def too_many(most: int, noun: str, where: str) -> TooLarge:
    """The refusal."""
    return TooLarge(
        f"it holds more than a day of {noun}: the most is {most:,}.", where=where, mend="Check where it comes from."
    )
