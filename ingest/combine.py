"""Several files of one trial on one time line.

Files that state a wall clock are placed by it. Files that do not are laid where something both saw says so
(``metrics.placing``), else at the trial's start, and a note says so. Two streams of one kind that follow each other
are joined (a file that was split reads as the whole); two that overlap stay apart, and the file named first is the one
that figures are taken from.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from ..errors import NotOneTrial
from ..words.message import Message, Quoted
from ..words.numbers import nearest
from . import messages as say
from .clock_shift import written_shift
from .recording import ASSUMED, CLOCK, FIRST, GIVEN, TIME_OF_DAY, Mark, Placing, Recording, Span, Stream
from .span import union

JOINED_GAP_S = 60.0
"""Files that follow each other more closely than this are parts of one; further apart they may be two students'. Common
practice, no source."""
FURTHEST_S = 12 * 3600.0
"""A school day: files that start further apart than this are not of one trial."""


def combine(
    recordings: Sequence[Recording],
    offsets_s: Mapping[str, float] | None = None,
    aligned: Mapping[str, Placing] | None = None,
) -> Recording:
    """One recording out of several, uncleaned, in the order given.

    ``offsets_s`` says by path how much later than the trial a file starts, whatever its own clock says [s].
    ``aligned`` says by path how a file lies where something that it saw told it (``metrics.placing``).

    Raises
    ------
    NotOneTrial
        If two files start more than twelve hours apart.
    """
    kept, notes = distinct(recordings)
    notes += [
        say.placed_shifted(each.sources[0].path, Quoted(written_shift(each.shift_s))) for each in kept if each.shift_s
    ]
    if len(kept) == 1:
        return kept[0].with_notes(notes)
    _, start, clock_s = placings(kept, offsets_s)
    found = laid(kept, offsets_s, aligned)
    streams: list[Stream] = []
    marks: list[Mark] = []
    for recording, placing in zip(kept, found, strict=True):
        streams.extend(stream.placed(placing) for stream in recording.streams)
        marks.extend(_placed(mark, placing) for mark in recording.marks)
        notes.extend(say.read_of_file(recording.sources[0].path, note) for note in recording.notes)
    joined, join_notes = _joined(streams)
    return Recording(
        streams=tuple(joined),
        start=start,
        clock_s=clock_s,
        marks=tuple(sorted(marks, key=lambda mark: mark.time_s)),
        notes=(*notes, *(note for each in found for note in each.notes), *join_notes),
        sources=tuple(source for recording in kept for source in recording.sources),
        placings=tuple(found),
        ran_s=union(placing.span_on_trial(each.ran_s) for each, placing in zip(kept, found, strict=True)),
        whole_s=_whole(kept, found),
    )


def _whole(kept: Sequence[Recording], found: Sequence[Placing]) -> Span | None:
    """From when until when the whole files held samples, on the trial's clock; None where none was cut."""
    if all(each.whole_s is None for each in kept):
        return None
    return union(placing.span_on_trial((each.first_s, each.last_s)) for each, placing in zip(kept, found, strict=True))


def _placed(mark: Mark, placing: Placing) -> Mark:
    """The mark on the trial's clock."""
    until = None if mark.until_s is None else float(placing.on_trial(mark.until_s))
    return replace(mark, time_s=float(placing.on_trial(mark.time_s)), until_s=until)


def distinct(recordings: Sequence[Recording]) -> tuple[list[Recording], list[Message]]:
    """Drop a file that was named twice, by its content."""
    seen: dict[tuple[str, Span | None], str] = {}
    kept: list[Recording] = []
    notes: list[Message] = []
    for recording in recordings:
        source = recording.sources[0]
        content = (source.recording, source.part_s)
        if source.recording and content in seen:
            notes.append(say.read_same_file(source.path, seen[content]))
            continue
        seen[content] = source.path
        kept.append(recording)
    return kept, notes


def laid(
    recordings: Sequence[Recording],
    offsets_s: Mapping[str, float] | None = None,
    aligned: Mapping[str, Placing] | None = None,
) -> list[Placing]:
    """How each of these files lies on the trial's clock: as a person said, as something both saw, as its clock says."""
    found, _, _ = placings(recordings, offsets_s)
    return [each if each.how == GIVEN else (aligned or {}).get(each.path, each) for each in found]


def placings(
    recordings: Sequence[Recording], offsets_s: Mapping[str, float] | None = None
) -> tuple[list[Placing], datetime | None, float | None]:
    """How each file lies on one clock, the wall clock at its time 0, and the time of day there.

    Raises
    ------
    NotOneTrial
        If two files start more than twelve hours apart.
    """
    found, start, clock_s = _by_date(recordings)
    for place, recording in enumerate(recordings):
        path = recording.sources[0].path
        if offsets_s and path in offsets_s:
            offset = offsets_s[path] - recording.first_s
            found[place] = Placing(path, offset, GIVEN, notes=(say.placed_given(path, offset),))
    return found, start, clock_s


def _by_date(recordings: Sequence[Recording]) -> tuple[list[Placing], datetime | None, float | None]:
    """Place files by the moments they state."""
    starts = [recording.start for recording in recordings]
    known = [start for start in starts if start is not None]
    aware = [start for start in known if start.tzinfo is not None]
    placed = aware or known
    if not placed:
        return _by_clock(recordings)
    first = min(placed, key=_instant)
    found = []
    for recording, start in zip(recordings, starts, strict=True):
        path = recording.sources[0].path
        if start is None or (start.tzinfo is None) != (first.tzinfo is None):
            found.append(Placing(path, 0.0, ASSUMED, notes=(say.placed_no_zone(path),)))
            continue
        offset = _instant(start) - _instant(first)
        if offset > FURTHEST_S:
            raise NotOneTrial(
                f"they start {nearest(offset / 3600)} hours apart.",
                where=f"{recordings[starts.index(first)].sources[0].path} and {path}",
                mend="Give only the files of one trial in one call.",
            )
        found.append(Placing(path, offset, CLOCK))
    return found, first, None


def _by_clock(recordings: Sequence[Recording]) -> tuple[list[Placing], None, float | None]:
    """Place files that know at most the time of day."""
    first = min((recording.clock_s for recording in recordings if recording.clock_s is not None), default=None)
    found = []
    for place, recording in enumerate(recordings):
        path = recording.sources[0].path
        if first is not None and recording.clock_s is not None:
            found.append(Placing(path, recording.clock_s - first, TIME_OF_DAY))
        elif first is None and place == 0:
            found.append(Placing(path, 0.0, FIRST))
        else:
            found.append(Placing(path, 0.0, ASSUMED, notes=(say.placed_no_time(path),)))
    return found, None, first


def _instant(moment: datetime) -> float:
    """Seconds on one line for aware moments, and on another for naive ones."""
    return (moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)).timestamp()


def _joined(streams: Sequence[Stream]) -> tuple[list[Stream], list[Message]]:
    """Join streams of one kind that follow each other; keep apart, and tell, those that overlap."""
    result: list[Stream] = []
    notes: list[Message] = []
    for name in dict.fromkeys(stream.name for stream in streams):
        same = [stream for stream in streams if stream.name == name and len(stream)]
        kept: list[Stream] = []
        for stream in same:
            behind = next((index for index, other in enumerate(kept) if _apart(stream, other)), None)
            if behind is not None and not any(_overlap(stream, other) for other in kept):
                notes.append(say.read_joined(name, stream.source, kept[behind].source))
                kept[behind] = _concatenated(kept[behind], stream)
            else:
                kept.append(stream)
        notes += [say.read_overlap(name, kept[0].source, other.source, JOINED_GAP_S) for other in kept[1:]]
        result += kept
    return result, notes


def _overlap(one: Stream, other: Stream) -> bool:
    """Tell whether two streams share time."""
    return bool(one.time[-1] > other.time[0] and other.time[-1] > one.time[0])


def _apart(one: Stream, other: Stream) -> bool:
    """Tell whether one stream ends before the other begins, and not long before."""
    gap = max(other.time[0] - one.time[-1], one.time[0] - other.time[-1])
    return bool(0 <= gap <= JOINED_GAP_S)


def _concatenated(one: Stream, other: Stream) -> Stream:
    """Two streams of one kind as one, in order of time."""
    covers = None
    if one.cover_s is not None and other.cover_s is not None:
        covers = np.concatenate((one.cover_s, other.cover_s))
    source = one.source if one.source == other.source else f"{one.source} + {other.source}"
    return Stream.from_samples(
        one.name,
        np.concatenate((one.time, other.time)),
        np.concatenate((one.values, other.values)),
        cover_s=covers,
        flags=np.concatenate((one.flags, other.flags)),
        source=source,
        kind=one.kind if one.kind == other.kind else "",
        ran_s=union([one.ran_s, other.ran_s]),
    )
