"""Lines of a trace: points in order of time, with the places where a line begins anew behind a gap."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...ingest.flags import REJECTING, Flag
from ...ingest.recording import Stream
from ..pictures.decimation import kept_places
from ..pictures.ribbon import cadence_runs
from ..pictures.series import Floats, Series, Span

Bools = NDArray[np.bool_]
LATE_S = 0.05
"""A step longer by so much than twice the usual one is a gap in movement [s]: a late sample is none."""


@dataclass(frozen=True, eq=False)
class Line:
    """Points of one quantity.

    time_s : ndarray, shape (n,), not decreasing  [s]
    value : ndarray, shape (n,), all finite
    begins : ndarray, shape (n,); True where nothing is drawn from the point before
    """

    time_s: Floats
    value: Floats
    begins: Bools

    def __post_init__(self) -> None:
        if not len(self.time_s) == len(self.value) == len(self.begins):
            raise ValueError("times, values and beginnings of a line differ in number")

    def __len__(self) -> int:
        return len(self.time_s)

    def within(self, span: Span) -> "Line":
        """The points inside a stretch, and one beyond each end, so that the line runs on to the picture's edge."""
        first = int(np.searchsorted(self.time_s, span[0], side="left"))
        last = int(np.searchsorted(self.time_s, span[1], side="right"))
        return self._at(slice(max(first - 1, 0), last + 1))

    def thinned(self, step_s: float) -> "Line":
        """Of each column of so many seconds the first, lowest, highest and last point.

        A point behind one that was left out begins anew if any that was left out did: no gap is bridged.
        """
        keep = kept_places(self.time_s, self.value, step_s)
        if len(keep) == len(self):
            return self
        begins = np.logical_or.reduceat(self.begins, np.append(0, keep[:-1] + 1)) if len(keep) else self.begins
        return Line(self.time_s[keep], self.value[keep], begins)

    def _at(self, part: slice) -> "Line":
        begins = self.begins[part].copy()
        begins[:1] = True
        return Line(self.time_s[part], self.value[part], begins)


def empty() -> Line:
    """A line without a point."""
    return line([], [])


def line(time_s: ArrayLike, value: ArrayLike, begins: ArrayLike = ()) -> Line:
    """A line out of plain numbers; without ``begins`` it is one piece."""
    time, values = np.asarray(time_s, np.float64), np.asarray(value, np.float64)
    anew = np.asarray(begins, bool) if np.size(begins) else np.zeros(len(time), bool)
    anew = anew.copy()
    anew[:1] = True
    return Line(time, values, anew)


def pulse_line(series: Series) -> Line:
    """Heart rate as the pictures draw it: a point where each value begins, and one where its run ends  [/min]."""
    parts: list[tuple[Floats, Floats]] = []
    for run in series.runs:
        end = series.until_s[run.stop - 1]
        parts.append((np.append(series.time_s[run], end), np.append(series.bpm[run], series.bpm[run.stop - 1])))
    if not parts:
        return empty()
    begins = np.zeros(sum(len(time) for time, _ in parts), bool)
    begins[np.cumsum([0, *(len(time) for time, _ in parts[:-1])])] = True
    return Line(np.concatenate([time for time, _ in parts]), np.concatenate([value for _, value in parts]), begins)


def movement_line(stream: Stream | None) -> Line:
    """How strong movement was: the length of the acceleration, which is 1 g in stillness  [g].

    Samples that a rule set aside are left out, and end the line.
    """
    if stream is None or not len(stream):
        return empty()
    single = (stream.flags & np.uint16(Flag.DUPLICATE_STAMP)) == 0
    time, flags = stream.time[single], stream.flags[single]
    strength = np.linalg.norm(stream.values[single].reshape(len(time), -1), axis=1)
    places = np.flatnonzero(np.isfinite(strength) & ((flags & np.uint16(REJECTING)) == 0))
    if not len(places):
        return empty()
    usual = float(np.median(np.diff(time))) if len(time) > 1 else 0.0
    broken = (np.diff(places) > 1) | (np.diff(time[places]) > 2 * usual + LATE_S)
    return Line(time[places], strength[places], np.append(True, broken))


def rate_line(series: Series) -> Line:
    """Cadence, broken where there was no rhythm  [/min]."""
    if not series.cadence:
        return empty()
    runs = cadence_runs(series)
    begins = np.concatenate([np.arange(len(time)) == 0 for time, _ in runs])
    return Line(np.concatenate([time for time, _ in runs]), np.concatenate([rate for _, rate in runs]), begins)
