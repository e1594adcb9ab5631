"""GPX 1.0 and 1.1: heart rate from the extensions of track points.

The format itself has no heart rate. Programs write it as an element of a namespace of their own inside a
track point; the local name is what they agree on. Positions are not read.
"""

from itertools import pairwise

import numpy as np

from ..recording import Mark, Recording, Source
from ..span import span_of
from .points import Clock, Found, Layout, heart_rate, read_clock, root_name, walk

LAYOUT = Layout(
    point="trkpt",
    time="time",
    rates=frozenset({"hr", "heartrate", "heart_rate"}),  # common practice; no standard names it
    group="trkseg",
)


def sniff(head: bytes) -> bool:
    """Tell by the outermost element, whatever its namespace."""
    return root_name(head) == "gpx"


def read(data: bytes, source: Source) -> Recording:
    """Read heart rate, and a mark where a further segment begins.

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
    marks, ran_s = _segments(found, clock), span_of(clock.time_s)
    return Recording(streams=(stream,), start=clock.start, marks=marks, notes=notes, ran_s=ran_s)


def _segments(found: Found, clock: Clock) -> tuple[Mark, ...]:
    """A mark for the first timed point of every segment but the first; empty segments do not count."""
    edges = [group.first for group in found.groups] + [len(found.times)]
    begins = []
    for first, behind in pairwise(edges):
        times = clock.time_s[first:behind]
        begins += times[np.isfinite(times)][:1].tolist()
    return tuple(Mark(begin, "segment", f"segment {number}") for number, begin in enumerate(begins[1:], start=2))
