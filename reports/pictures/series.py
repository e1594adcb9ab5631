"""What a picture shows of one trial, as plain arrays and stretches: no files, no drawing."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...words.message import Message

Floats = NDArray[np.float64]
Span = tuple[float, float]
PHASES = ("rest", "work", "recovery")
_TINY_S = 1e-6


@dataclass(frozen=True, eq=False, kw_only=True)
class Series:
    """One trial on its own clock, in seconds from the recording's start.

    time_s, until_s, bpm : ndarray, shape (n,)  [s], [s], [/min]; each row stands from ``time_s`` to ``until_s``, rows
        lie end to end, and NaN is a stretch that no value stands for. Empty: there is no heart rate at all.
        ``tiled`` makes them
    begin_s, end_s : the recording; it begins before 0 where a second file does  [s]
    on : the trial's day, YYYY-MM-DD
    start : wall clock at time 0, ISO 8601; None where unknown
    phases : stretches by name of ``PHASES``; one that nobody stated is missing  [s]
    mean_bpm : mean at work as the sheet has it  [/min]; None where it gives none
    whole : nobody stated a work phase, so that the whole recording is taken for it
    zones : ``(name, from, until)`` of every class [/min], or None, and ``no_zones`` says why if anything does
    ceiling_bpm : the therapist's limit  [/min]
    crossings : stretches above it, each without a break  [s]
    above_s : how long it stood above in all, as (low, high)  [s]; None where nobody can say
    possible : stretches of readings above it that are in no figure  [s]
    moving : stretches with movement; None: no movement to show  [s]
    movement_unmeasured, assisted : stretches without movement values, and with someone else moving the student  [s]
    placement : where the movement sensor sat
    cadence : ``(time, per minute)``  [s], [/min]
    clocks_agree : heart rate and movement are known to lie together to within a few seconds
    """

    time_s: Floats
    until_s: Floats
    bpm: Floats
    end_s: float
    begin_s: float = 0.0
    on: str | None = None
    start: str | None = None
    phases: Mapping[str, Span] = field(default_factory=dict)
    mean_bpm: float | None = None
    whole: bool = False
    zones: tuple[tuple[str, float, float], ...] | None = None
    no_zones: Message | None = None
    ceiling_bpm: float | None = None
    crossings: tuple[Span, ...] = ()
    above_s: tuple[float, float] | None = None
    possible: tuple[Span, ...] = ()
    moving: tuple[Span, ...] | None = None
    movement_unmeasured: tuple[Span, ...] = ()
    assisted: tuple[Span, ...] = ()
    placement: str | None = None
    cadence: tuple[tuple[float, float], ...] = ()
    clocks_agree: bool = True

    def __post_init__(self) -> None:
        if not len(self.time_s) == len(self.until_s) == len(self.bpm):
            raise ValueError("times and values of heart rate differ in number")
        for part in (self.time_s, self.until_s, self.bpm):
            part.setflags(write=False)

    @property
    def has_pulse(self) -> bool:
        """Whether there is a heart-rate stream, measured or not."""
        return len(self.bpm) > 0

    @cached_property
    def measured(self) -> NDArray[np.bool_]:
        """Which rows hold a value, shape (n,)."""
        return np.isfinite(self.bpm)

    @cached_property
    def unmeasured(self) -> tuple[Span, ...]:
        """Stretches without heart rate, in order [s]."""
        gap = ~self.measured
        return tuple(zip(self.time_s[gap].tolist(), self.until_s[gap].tolist(), strict=True))

    @cached_property
    def runs(self) -> tuple[slice, ...]:
        """Rows between gaps: a line is drawn through each run and through nothing else."""
        edges = np.flatnonzero(np.diff(np.concatenate(([False], self.measured, [False]))))
        return tuple(slice(int(begin), int(end)) for begin, end in edges.reshape(-1, 2))

    @property
    def lowest(self) -> float | None:
        """Lowest value shown [/min]."""
        return float(self.bpm[self.measured].min()) if self.measured.any() else None

    @property
    def highest(self) -> float | None:
        """Highest value shown [/min]."""
        return float(self.bpm[self.measured].max()) if self.measured.any() else None

    def moment(self, seconds: float) -> datetime | None:
        """The wall clock at a moment."""
        return None if self.start is None else datetime.fromisoformat(self.start) + timedelta(seconds=seconds)


def from_work(series: Series) -> Series:
    """The trial counted from the start of its work, up to the end of its recovery, else of its work.

    Ceiling and movement are left out: in a pair only heart rate is shown.
    """
    work = series.phases.get("work", (0.0, series.end_s))
    begin, end = work[0], max(series.phases.get("recovery", work)[1], work[1])
    inside = (series.until_s > begin) & (series.time_s < end)
    return replace(
        series,
        time_s=np.maximum(series.time_s[inside], begin) - begin,
        until_s=np.minimum(series.until_s[inside], end) - begin,
        bpm=series.bpm[inside].copy(),
        begin_s=0.0,
        end_s=end - begin,
        start=None,
        phases={
            name: (a - begin, b - begin)
            for name, (a, b) in {**series.phases, "work": work}.items()
            if b > begin or name == "work"
        },
        ceiling_bpm=None,
        crossings=(),
        above_s=None,
        possible=(),
        moving=None,
        movement_unmeasured=(),
        assisted=(),
        cadence=(),
    )


def tiled(
    start_s: ArrayLike, held_s: ArrayLike, bpm: ArrayLike, *, from_s: float, until_s: float
) -> tuple[Floats, Floats, Floats]:
    """Rows end to end over a recording, with a NaN row in every gap.

    start_s, held_s, bpm : shape (n,); when a value begins, for how long it stands, and the value  [s], [s], [/min]
    from_s, until_s : the recording  [s]
    """
    start, bpm = np.asarray(start_s, np.float64), np.asarray(bpm, np.float64)
    end = start + np.asarray(held_s, np.float64)
    before, after = np.append(from_s, end), np.append(start, until_s)
    gap = after - before > _TINY_S
    count = len(start) + int(gap.sum())
    place = np.arange(len(start)) + np.cumsum(gap[:-1])
    rows = np.full((3, count), np.nan)
    rows[:, place] = start, end, bpm
    hole = np.setdiff1d(np.arange(count), place)
    rows[:2, hole] = before[gap], after[gap]
    return rows[0], rows[1], rows[2]


def merged(spans: Iterable[Span]) -> list[Span]:
    """Stretches in order of their begin, those that touch or overlap as one."""
    found: list[Span] = []
    for begin, end in spans:
        if found and begin <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((begin, end))
    return found


def length_within(spans: Iterable[Span], inside: Span) -> float:
    """How much of the stretches lies inside another [s]."""
    return float(sum(max(min(end, inside[1]) - max(begin, inside[0]), 0.0) for begin, end in spans))
