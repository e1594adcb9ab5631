"""What a file held: the immutable ``Recording`` and its parts. Values are what the file says; flags judge them.

Readers build streams with ``Stream.from_samples``, which puts samples in order of time. Nothing here knows a
file format.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta, tzinfo

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..words.message import Message
from ..words.render import english, joined
from .cleaning.heart_rate import NO_VALUE_BPM
from .flags import REJECTING, Flag
from .messages import EITHER_DAY
from .second_run import STEP_BACK_S, refuse_second_run

HEART_RATE = "heart_rate"
RR_INTERVAL = "rr_interval"
ACCELERATION = "acceleration"
ANGULAR_RATE = "angular_rate"
WAVEFORM = "waveform"
ECG, PULSE = "ECG", "pulse wave"
CLOCK, TIME_OF_DAY, FIRST, GIVEN, ASSUMED = "clock", "time of day", "first file", "given", "assumed"
TAPS, MOVEMENT, EVENTS, HEART_ONSET = "taps", "movement", "events", "heart rate"

UNITS: Mapping[str, str] = {
    HEART_RATE: "/min",
    RR_INTERVAL: "s",
    ACCELERATION: "g",
    ANGULAR_RATE: "deg/s",
    WAVEFORM: "1",
}


Span = tuple[float, float]
"""From when until when [s]."""


@dataclass(frozen=True, slots=True)
class Hints:
    """What a person adds to a file that does not say it itself.

    ``columns`` maps a stream's part (``time``, ``heart_rate``, ``rr_interval``, ``acceleration_x`` ...) to a
    column's header. ``rate_hz`` is for a table without a time column. ``zone`` is for clock times without one.
    ``by_file`` are columns of one file alone, by its name. ``elsewhere`` are parts whose column another of the files
    has: a file without it is read by its own header (``column_choices``).
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    rate_hz: float | None = None
    zone: tzinfo | None = None
    by_file: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    elsewhere: frozenset[str] = frozenset()

    def of(self, name: str) -> "Hints":
        """What holds for the file of that name: its own columns stand before those of all files, and must be there."""
        own = self.by_file.get(name)
        if own is None:
            return self
        return replace(self, columns={**self.columns, **own}, by_file={}, elsewhere=self.elsewhere - own.keys())


@dataclass(frozen=True, slots=True)
class Source:
    """Where the bytes come from. ``name`` is used in sentences and provenance.

    sha256 : of the file as it was given
    content_sha256 : of what it unpacks to; None where it is not packed
    """

    name: str
    sha256: str = ""
    size: int = 0
    hints: Hints = field(default_factory=Hints)
    content_sha256: str | None = None

    @property
    def recording(self) -> str:
        """The SHA-256 by which the recording is known, however its file is packed."""
        return self.content_sha256 or self.sha256


@dataclass(frozen=True, slots=True)
class Provenance:
    """Which file, and what read it. ``part_s``: the span that was cut out of it, None of a whole file  [s].

    ``sha256`` and ``content_sha256`` as in ``Source``.
    """

    path: str
    sha256: str
    format: str
    reader: str
    part_s: Span | None = None
    content_sha256: str | None = None

    @property
    def recording(self) -> str:
        """The SHA-256 by which the recording is known, however its file is packed."""
        return self.content_sha256 or self.sha256


@dataclass(frozen=True, slots=True)
class Mark:
    """A lap, a press of the button, a start or a stop, in seconds from the recording's start.

    ``until_s`` is the end of a lap, ``None`` for a moment.
    """

    time_s: float
    kind: str
    label: str = ""
    until_s: float | None = None


@dataclass(frozen=True, slots=True)
class Placing:
    """How a file's own clock was laid on the trial's.

    path : the file
    offset_s : what is added to its times  [s]
    how : one of ``CLOCK``, ``TIME_OF_DAY``, ``FIRST`` (its start is the trial's), ``GIVEN``, ``ASSUMED`` (nobody
        knows: laid at the start), or what both files saw: ``TAPS``, ``MOVEMENT``, ``EVENTS``, ``HEART_ONSET``
    within_s : the offset is this good  [s]; None if nobody can say
    confidence : 0 to 1, by how much the best offset leads; None where nothing was compared
    drift_ppm : by how much its clock is slow, in millionths; None if not told
    anchor_s : moment of its clock at which ``offset_s`` holds, where there is a drift  [s]
    notes : what the reader should know
    """

    path: str
    offset_s: float
    how: str
    within_s: float | None = None
    confidence: float | None = None
    drift_ppm: float | None = None
    anchor_s: float = 0.0
    notes: tuple[Message, ...] = ()

    @property
    def note(self) -> str:
        """The notes in English."""
        return joined(map(english, self.notes))

    def on_trial(self, time_s: ArrayLike) -> NDArray[np.float64]:
        """Times of the file on the trial's clock, shape as given [s]."""
        time = np.asarray(time_s, dtype=np.float64)
        moved = time + self.offset_s
        return moved if not self.drift_ppm else moved + self.drift_ppm * 1e-6 * (time - self.anchor_s)

    def on_file(self, span: Span) -> Span:
        """A stretch of the trial on the file's own clock [s]."""
        rate = (self.drift_ppm or 0.0) * 1e-6
        begin, end = ((at - self.offset_s + rate * self.anchor_s) / (1.0 + rate) for at in span)
        return begin, end

    def span_on_trial(self, span: Span | None) -> Span | None:
        """A stretch of the file on the trial's clock [s]."""
        return None if span is None else (float(self.on_trial(span[0])), float(self.on_trial(span[1])))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Stream:
    """One measured quantity.

    time : ndarray, shape (n,)  [s] from the recording's start, not decreasing
    values : ndarray, shape (n,) or (n, 3)  [unit]; NaN where the file says "no value"
    flags : ndarray of uint16, shape (n,); bits of ``Flag``
    cover_s : ndarray, shape (n,) or None  [s]; how long from ``time`` on a sample stands, where the file says so
        (an RR interval stands for itself); None: it stands until the next one, if that comes in time
    source : name of the file
    derived_from : name of the stream it was worked out from, None if the file holds it
    kind : what a waveform shows, ``ECG`` or ``PULSE``, where the file says so
    ran_s : from when until when the file that holds it ran, measured or not  [s]; None if nobody says
    """

    name: str
    unit: str
    time: NDArray[np.float64]
    values: NDArray[np.float64]
    flags: NDArray[np.uint16]
    cover_s: NDArray[np.float64] | None = None
    source: str = ""
    derived_from: str | None = None
    kind: str = ""
    ran_s: Span | None = None

    def __post_init__(self) -> None:
        count = len(self.time)
        for part in (self.values, self.flags) + ((self.cover_s,) if self.cover_s is not None else ()):
            if len(part) != count:
                raise ValueError(f"{self.name}: {len(part)} entries beside {count} time stamps")
        for part in (self.time, self.values, self.flags, self.cover_s):
            if part is not None:
                part.setflags(write=False)

    def __len__(self) -> int:
        return len(self.time)

    @classmethod
    def from_samples(
        cls,
        name: str,
        time: ArrayLike,
        values: ArrayLike,
        *,
        cover_s: ArrayLike | None = None,
        flags: ArrayLike | None = None,
        source: str = "",
        kind: str = "",
        ran_s: Span | None = None,
    ) -> "Stream":
        """Build a stream from samples in the order of the file.

        Samples are put in order of time; one that stood behind a later one is flagged ``BACKWARD_STAMP``. Of
        several with one time stamp the highest value stands (a 0 or 255 beside a value is a dropout) and the others
        are flagged ``DUPLICATE_STAMP``, so that the order in the file decides nothing. Of movement and waveforms,
        where no value is better than another, the last complete sample stands, and the order of the file is kept.
        Samples without a finite time cannot be placed and must be left out (and reported) by the reader. Arrays
        that are not writeable are kept as they are, others are copied.

        Raises
        ------
        ValueError
            If lengths differ or a time is not finite.
        DamagedFile
            If the clock runs over the same time twice (``second_run``).
        """
        time_s, value = _kept(time), _kept(values)
        flag = np.full(len(time_s), Flag.UNCHECKED, np.uint16) if flags is None else np.array(flags, np.uint16)
        cover = None if cover_s is None else np.array(cover_s, dtype=np.float64)
        if not np.isfinite(time_s).all():
            raise ValueError(f"{name}: a time stamp is not finite")
        step = np.diff(time_s)
        if len(step) and step.min() <= 0:
            better = value if name in (HEART_RATE, RR_INTERVAL) else _complete(value)
            better = np.where(np.isin(value, NO_VALUE_BPM), np.nan, value) if name == HEART_RATE else better
            if step.min() < -STEP_BACK_S:
                refuse_second_run(time_s, value, better > 0, source)
            time_s, value, flag, cover = _in_order(time_s, value, flag, cover, better)
        return cls(
            name=name,
            unit=UNITS[name],
            time=time_s,
            values=value,
            flags=flag,
            cover_s=cover,
            source=source,
            kind=kind,
            ran_s=ran_s,
        )

    @property
    def usable(self) -> NDArray[np.bool_]:
        """Which samples may enter a figure, shape (n,)."""
        return (self.flags & np.uint16(REJECTING)) == 0

    def flag_counts(self) -> dict[str, int]:
        """How many samples each rule flagged, by the rule's name; rules that found nothing are left out."""
        some = int(np.bitwise_or.reduce(self.flags))  # most rules found nothing
        found = [flag for flag in Flag if some & flag]
        return {str(flag.name).lower(): int(np.count_nonzero(self.flags & np.uint16(flag))) for flag in found}

    def placed(self, placing: "Placing") -> "Stream":
        """The same stream on the trial's clock."""
        if placing.offset_s == 0 and not placing.drift_ppm:
            return self
        return replace(self, time=placing.on_trial(self.time), ran_s=placing.span_on_trial(self.ran_s))


def _kept(numbers: ArrayLike) -> NDArray[np.float64]:
    """A copy that nobody else writes to; the numbers themselves where nobody can."""
    found = np.asarray(numbers, dtype=np.float64)
    return found.copy() if found.flags.writeable else found


def _complete(value: NDArray[np.float64]) -> NDArray[np.float64]:
    """1 where every axis of a sample has a value, else 0, shape (n,)."""
    known = np.isfinite(value).reshape(len(value), -1)
    return np.where(known.all(axis=1), 1.0, 0.0)


def _in_order(
    time_s: NDArray[np.float64],
    value: NDArray[np.float64],
    flag: NDArray[np.uint16],
    cover: NDArray[np.float64] | None,
    better: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.uint16], NDArray[np.float64] | None]:
    """Sort by time, then by which is better; flag what stood backward and all but the last of each equal stamp."""
    behind = time_s < np.maximum.accumulate(time_s)
    flag = flag | np.where(behind, Flag.BACKWARD_STAMP, 0).astype(np.uint16)
    order = np.lexsort((np.nan_to_num(better, nan=-np.inf), time_s))  # keeps the order of equals
    time_s, value, flag = time_s[order], value[order], flag[order]
    twin = np.append(time_s[1:] == time_s[:-1], False)
    flag = flag | np.where(twin, Flag.DUPLICATE_STAMP, 0).astype(np.uint16)
    return time_s, value, flag, None if cover is None else cover[order]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Recording:
    """All that one file, or the several files of one trial, held.

    ``start`` is the wall clock at time 0, aware where the file states a zone, naive where it states a clock
    without one, None where it states none. ``clock_s`` is the time of day at time 0 in seconds after midnight
    where only that is known. ``placings`` says how each of several files was laid on one clock. ``ran_s`` is from
    when until when its files ran, measured or not: entries without a value, laps and sessions count. ``whole_s`` is
    from when until when the whole file held samples, where only a part of it is left [s]. ``shift_s`` is what a person
    added to the file's clock, ``start`` and ``clock_s`` hold it already, and ``stated`` is what they were. No name,
    position or device serial is ever kept.
    """

    streams: tuple[Stream, ...]
    start: datetime | None = None
    clock_s: float | None = None
    marks: tuple[Mark, ...] = ()
    notes: tuple[Message, ...] = ()
    sources: tuple[Provenance, ...] = ()
    placings: tuple[Placing, ...] = ()
    ran_s: Span | None = None
    whole_s: Span | None = None
    shift_s: float = 0.0
    stated: tuple[datetime | None, float | None] | None = None

    def __getitem__(self, name: str) -> Stream:
        for stream in self.streams:
            if stream.name == name:
                return stream
        raise KeyError(name)

    def __contains__(self, name: object) -> bool:
        return any(stream.name == name for stream in self.streams)

    def all(self, name: str) -> tuple[Stream, ...]:
        """Every stream of that name, in the order of the files."""
        return tuple(stream for stream in self.streams if stream.name == name)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the streams, each once."""
        return tuple(dict.fromkeys(stream.name for stream in self.streams))

    @property
    def possible_days(self) -> tuple[date, ...]:
        """The days that its date may be where the file leaves open which number is the day; empty where it does not."""
        for note in self.notes:
            days = note["days"] if note.code == EITHER_DAY else ()
            if isinstance(days, tuple) and days:
                clock_s = None if self.stated is None else self.stated[1]
                moved = timedelta(days=((clock_s or 0.0) + self.shift_s) // 86_400.0)
                return tuple(day + moved for day in days if isinstance(day, date))
        return ()

    @property
    def first_s(self) -> float:
        """When the whole file's first sample of any stream was [s]; an RR interval before time 0 does not count."""
        if self.whole_s is not None:
            return self.whole_s[0]
        return max(min((float(stream.time[0]) for stream in self.streams if len(stream)), default=0.0), 0.0)

    @property
    def last_s(self) -> float:
        """When the whole file ended: at its last sample of any stream, or later where it ran on [s]."""
        if self.whole_s is not None:
            return self.whole_s[1]
        last = max((float(stream.time[-1]) for stream in self.streams if len(stream)), default=0.0)
        return last if self.ran_s is None else max(last, self.ran_s[1])

    def with_notes(self, notes: Sequence[Message]) -> "Recording":
        """The same recording with more notes."""
        return replace(self, notes=self.notes + tuple(notes)) if notes else self
