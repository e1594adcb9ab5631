"""TCX, the training centre format: one heart rate a track point, and laps.

A track point counts wherever it stands; only its ``Time`` and ``HeartRateBpm/Value`` are read.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ...words.message import Message
from .. import messages as say
from ..recording import Mark, Recording, Source
from ..span import span_of
from .points import Group, Layout, as_number, heart_rate, read_clock, root_name, walk

LAYOUT = Layout(
    point="Trackpoint",
    time="Time",
    rates=frozenset({"value"}),
    rate_parent="HeartRateBpm",
    group="Lap",
    span="TotalTimeSeconds",
)


def sniff(head: bytes) -> bool:
    """Tell by the outermost element, whatever its namespace."""
    return root_name(head) == "TrainingCenterDatabase"


def read(data: bytes, source: Source) -> Recording:
    """Read heart rate and laps.

    The start is the earliest track point; a lap's own start may lie before it, and is then negative.

    Raises
    ------
    DamagedFile
        If nothing can be read before the damage, or the file declares entities or a document type.
    NothingMeasured
        If no track point holds a time and a heart rate.
    """
    found = walk(data, LAYOUT, source)
    clock = read_clock(found, source.hints.zone)
    stream, notes = heart_rate(found, clock, source)
    marks, lap_notes = _laps(found.groups, clock.group_s)
    ran_s = span_of(clock.time_s, [moment for mark in marks for moment in (mark.time_s, mark.until_s)])
    return Recording(streams=(stream,), start=clock.start, marks=marks, notes=notes + lap_notes, ran_s=ran_s)


def _laps(groups: Sequence[Group], start_s: NDArray[np.float64]) -> tuple[tuple[Mark, ...], tuple[Message, ...]]:
    """One mark a lap whose start can be read; numbers count every lap."""
    marks = []
    for number, (group, begin) in enumerate(zip(groups, start_s.tolist(), strict=True), start=1):
        if math.isnan(begin):
            continue
        length = as_number(group.span)
        until = begin + length if length >= 0 else None  # NaN is not
        marks.append(Mark(begin, "lap", f"lap {number}", until))
    lost = len(groups) - len(marks)
    return tuple(marks), (say.points_laps(lost, len(groups)),) if lost else ()
