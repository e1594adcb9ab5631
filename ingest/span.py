"""From when until when a file ran, whatever of it was measured: its entries, its laps, its other streams."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .recording import RR_INTERVAL, Recording, Span, Stream

LONGEST_STEP_S = 10.0
"""No entry stands for longer, however seldom a device writes [common practice]."""
FURTHEST_S = 86_400.0
"""A lap or a session that reaches further than a day from what was written is a broken number."""
_SHORTER = 0.05  # the step that one in twenty is shorter than: what a lossless pair of entries is apart


def span_of(entries_s: ArrayLike, moments_s: Iterable[float | None] = ()) -> Span | None:
    """From the first entry to the end of the last one's step, and on to moments beyond; None without entries.

    Parameters
    ----------
    entries_s : array_like, shape (n,)  [s], in any order; points, records, rows, whether they hold a value or not
    moments_s : begins and ends of laps and sessions, presses of a button  [s]; None and NaN are passed over
    """
    entries = np.asarray(entries_s, np.float64)
    good = np.isfinite(entries)
    entries = entries if good.all() else entries[good]
    if not len(entries):
        return None
    steps = np.diff(entries)
    if (steps < 0).any():  # else they are in order
        entries = np.sort(entries)
        steps = np.diff(entries)
    steps = steps if (steps > 0).all() else steps[steps > 0]
    step_s = min(_low(steps), LONGEST_STEP_S) if len(steps) else 0.0
    first, last = float(entries[0]), float(entries[-1]) + step_s
    said = [moment for moment in moments_s if moment is not None and first - FURTHEST_S <= moment <= last + FURTHEST_S]
    return min([first, *said]), max([last, *said])


def _low(steps: NDArray[np.float64]) -> float:
    """The step that one in twenty is shorter than."""
    place = int(_SHORTER * (len(steps) - 1))
    return float(np.sort(steps)[place])  # quicker than np.partition where most steps are equal


def with_spans(recording: Recording) -> Recording:
    """The same recording, of which each stream knows from when until when the file ran that holds it.

    A part of a file knows it from the whole.
    """
    if recording.whole_s is not None:
        return recording
    ran_s = union([recording.ran_s, *map(extent, recording.streams)])
    if ran_s is None:
        return recording
    streams = tuple(replace(stream, ran_s=ran_s) for stream in recording.streams)
    return replace(recording, streams=streams, ran_s=ran_s)


def extent(stream: Stream) -> Span | None:
    """From when until when a stream holds samples [s]; None if it holds none.

    RR intervals begin at the end of the first one: it was reported when it had passed, and its beat may have been
    before anything else was written.
    """
    if not len(stream):
        return None
    if stream.name == RR_INTERVAL or stream.cover_s is not None:
        ends = stream.time + (0.0 if stream.cover_s is None else np.nan_to_num(stream.cover_s))
        return float(ends.min()), float(ends.max())
    return span_of(stream.time)


def union(spans: Iterable[Span | None]) -> Span | None:
    """From the earliest begin to the latest end; None if there is none."""
    known = [span for span in spans if span is not None]
    return (min(begin for begin, _ in known), max(end for _, end in known)) if known else None
