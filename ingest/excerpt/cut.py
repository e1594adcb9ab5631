"""A recording cut to a span: nothing that was measured outside it is left."""

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..recording import Mark, Recording, Span, Stream


def cut(recording: Recording, span: Span) -> Recording:
    """The part of an uncleaned recording from the first moment of a span up to its last, on the same clock.

    A sample at the end is not in it, so that two spans that meet share none; what stands for a time of its own, as an
    RR interval does, is in it where it ends inside. A lap that reaches over an edge ends there. Times, start and time
    of day are not moved, so that a time which was counted from the start of the whole file still means the same
    moment. A cut of a cut is a cut.

    Parameters
    ----------
    span : from when until when  [s] from the recording's start

    Raises
    ------
    ValueError
        If the span ends before it begins.
    """
    if not span[0] <= span[1]:
        raise ValueError("a span ends where it begins, or later")
    streams = tuple(part for part in (_stream(stream, span) for stream in recording.streams) if len(part))
    return replace(
        recording,
        streams=streams,
        marks=tuple(part for part in (_mark(mark, span) for mark in recording.marks) if part is not None),
        ran_s=_both(recording.ran_s, span),
        whole_s=(recording.first_s, recording.last_s),
        sources=tuple(replace(each, part_s=_both(each.part_s, span) or span) for each in recording.sources),
    )


def outside_s(recording: Recording, span: Span) -> float:
    """How long the file ran outside a span, before and after it together [s]."""
    if recording.ran_s is None:
        return 0.0
    begin, end = recording.ran_s
    return max(min(span[0], end) - begin, 0.0) + max(end - max(span[1], begin), 0.0)


def _stream(stream: Stream, span: Span) -> Stream:
    begin, end = span
    ran_s = _both(stream.ran_s, span)
    if stream.cover_s is None:
        first, last = np.searchsorted(stream.time, span).tolist()  # times do not decrease
        if (first, last) == (0, len(stream)):
            return replace(stream, ran_s=ran_s)
        inside = slice(first, last)
    else:
        ends = stream.time + np.nan_to_num(stream.cover_s)
        inside = (stream.time >= begin) & (stream.time < end) & (ends <= end)
        if inside.all():
            return replace(stream, ran_s=ran_s)
    return replace(
        stream,
        time=_part(stream.time, inside),
        values=_part(stream.values, inside),
        flags=_part(stream.flags, inside),
        cover_s=None if stream.cover_s is None else _part(stream.cover_s, inside),
        ran_s=ran_s,
    )


def _part(values: NDArray[Any], inside: slice | NDArray[np.bool_]) -> NDArray[Any]:
    """A copy: a view would keep the whole file in memory."""
    return values[inside].copy() if isinstance(inside, slice) else values[inside]


def _mark(mark: Mark, span: Span) -> Mark | None:
    begin, end = span
    if mark.until_s is None:
        return mark if begin <= mark.time_s < end else None
    if mark.until_s <= begin or mark.time_s >= end:
        return None
    return replace(mark, time_s=max(mark.time_s, begin), until_s=min(mark.until_s, end))


def _both(one: Span | None, other: Span) -> Span | None:
    """What two spans share; None where they share nothing."""
    if one is None:
        return None
    begin, end = max(one[0], other[0]), min(one[1], other[1])
    return (begin, end) if begin <= end else None
