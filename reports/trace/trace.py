"""What a trace holds: the series of the pictures, the same as lines, and what the rules set aside."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ...ingest.flags import REJECTING, RULES, Flag
from ...ingest.recording import Stream
from ...metrics.phases import MARGIN_S, with_margin
from ..pictures.series import Floats, Series, Span
from .lines import Line, empty, pulse_line, rate_line

_SHOWN = tuple(flag for flag in Flag if flag != Flag.BACKWARD_STAMP)
"""A sample that was only put in order is as good as any."""
ANYWHERE = (float("-inf"), float("inf"))


@dataclass(frozen=True, eq=False)
class Flagged:
    """Samples of heart rate that a rule flagged.

    time_s : ndarray, shape (n,)  [s]
    bpm : ndarray, shape (n,); NaN where the file states no value  [/min]
    rule : ndarray, shape (n,); the first rule that set it aside, else the first that flagged it: its place in ``RULES``
    used : ndarray, shape (n,); True of those that are shown and used all the same
    """

    time_s: Floats
    bpm: Floats
    rule: NDArray[np.intp]
    used: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.time_s)

    def within(self, span: Span) -> "Flagged":
        """Those inside a stretch."""
        part = slice(*np.searchsorted(self.time_s, span, side="left").tolist())
        return Flagged(self.time_s[part], self.bpm[part], self.rule[part], self.used[part])


def flagged_of(pulse: Stream | None) -> Flagged:
    """The flagged samples of a stream, in order of time."""
    if pulse is None:
        return Flagged(np.empty(0), np.empty(0), np.empty(0, np.intp), np.empty(0, bool))
    rule = np.full(len(pulse), -1, np.intp)
    in_rank = sorted(_SHOWN, key=lambda flag: not flag & REJECTING)  # what sets a sample aside comes first
    for flag in reversed(in_rank):
        rule[(pulse.flags & np.uint16(flag)) != 0] = RULES.index(str(flag.name).lower())
    there = rule >= 0
    return Flagged(pulse.time[there], pulse.values[there], rule[there], pulse.usable[there])


@dataclass(frozen=True, eq=False, kw_only=True)
class Trace:
    """One recording to look into.

    series : as the pictures show it
    movement : strength of movement  [g]
    flagged : what rules said of samples of heart rate
    margin_s : how much before the first phase and behind the last one is kept  [s]
    beside : stretches beside the phases that belong to the trial, as one in which the chair stood still  [s]
    free : what no other trial of the recording holds; the margin never reaches out of it  [s]
    """

    series: Series
    movement: Line
    flagged: Flagged
    margin_s: float = MARGIN_S
    beside: tuple[Span, ...] = ()
    free: Span = ANYWHERE

    @cached_property
    def pulse(self) -> Line:
        """Heart rate  [/min]."""
        return pulse_line(self.series) if self.series.has_pulse else empty()

    @cached_property
    def cadence(self) -> Line:
        """Cadence  [/min]."""
        return rate_line(self.series)

    @property
    def whole(self) -> Span:
        """All of the recording; a second at the least  [s]."""
        return self.series.begin_s, max(self.series.end_s, self.series.begin_s + 1.0)

    @property
    def kept(self) -> Span | None:
        """What is kept with the trial, as far as the recording goes; None where nobody stated a phase  [s]."""
        if self.series.whole or "work" not in self.series.phases:
            return None
        begin, end = with_margin([*self.series.phases.values(), *self.beside], self.margin_s, self.free)
        low, high = self.whole
        return max(begin, low), min(end, high)


@dataclass(frozen=True, slots=True)
class View:
    """From when until when one looks  [s]."""

    from_s: float
    until_s: float

    @property
    def span(self) -> Span:
        """As a stretch  [s]."""
        return self.from_s, self.until_s

    @property
    def length_s(self) -> float:
        """How long it is  [s]."""
        return self.until_s - self.from_s


LEAST_VIEW_S = 5.0
"""Nobody needs to look at less [s]. Our own choice: five beats of a resting heart."""


def view_of(whole: Span, from_s: float | None = None, until_s: float | None = None) -> View:
    """A view inside a recording: what was asked for, moved and cut so that it lies in it, and is not too short.

    Parameters
    ----------
    whole : the recording  [s]
    from_s, until_s : what was asked for; None or not finite: the recording's end  [s]
    """
    low, high = whole
    begin = low if from_s is None or not np.isfinite(from_s) else from_s
    end = high if until_s is None or not np.isfinite(until_s) else until_s
    length = min(max(end - begin, LEAST_VIEW_S), high - low)
    begin = min(max(begin, low), high - length)
    return View(begin, begin + length)
