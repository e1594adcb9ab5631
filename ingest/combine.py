"""Several files of one trial on one time line.

Files that state a wall clock are placed by it. Files that do not are laid at the trial's start, and a note
says so. Two streams of one kind that follow each other are joined (a file that was split reads as the whole);
two that overlap stay apart, and the file named first is the one that figures are taken from.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from ..errors import NotOneTrial
from .recording import Mark, Recording, Stream

JOINED_GAP_S = 60.0
"""Files that follow each other more closely than this are parts of one; further apart they may be two students'. Common
practice, no source."""
FURTHEST_S = 12 * 3600.0
"""A school day: files that start further apart than this are not of one trial."""


def combine(recordings: Sequence[Recording], offsets_s: Mapping[str, float] | None = None) -> Recording:
    """One recording out of several, uncleaned, in the order given.

    ``offsets_s`` says by path how much later than the trial a file starts, whatever its own clock says [s].

    Raises
    ------
    NotOneTrial
        If two files start more than twelve hours apart.
    """
    distinct, notes = _distinct(recordings)
    if len(distinct) == 1:
        return distinct[0].with_notes(notes)
    offsets, start, clock_s, clock_notes = _offsets(distinct)
    for place, recording in enumerate(distinct):
        if offsets_s and recording.sources[0].path in offsets_s:
            offsets[place] = offsets_s[recording.sources[0].path] - _first_sample(recording)
            clock_notes = [note for note in clock_notes if not note.startswith(f"{recording.sources[0].path} ")]
            clock_notes.append(f"{recording.sources[0].path} is laid {offsets[place]:g} s into the trial, as given.")
    streams: list[Stream] = []
    marks: list[Mark] = []
    for recording, offset in zip(distinct, offsets, strict=True):
        streams.extend(stream.shifted(offset) for stream in recording.streams)
        marks.extend(
            replace(
                mark,
                time_s=mark.time_s + offset,
                until_s=None if mark.until_s is None else mark.until_s + offset,
            )
            for mark in recording.marks
        )
        notes.extend(f"{recording.sources[0].path}: {note}" for note in recording.notes)
    joined, join_notes = _joined(streams)
    return Recording(
        streams=tuple(joined),
        start=start,
        clock_s=clock_s,
        marks=tuple(sorted(marks, key=lambda mark: mark.time_s)),
        notes=tuple(notes + clock_notes + join_notes),
        sources=tuple(source for recording in distinct for source in recording.sources),
    )


def _first_sample(recording: Recording) -> float:
    """Time of the first sample of any stream [s]; an RR interval before time 0 does not count."""
    return max(min((float(stream.time[0]) for stream in recording.streams if len(stream)), default=0.0), 0.0)


def _distinct(recordings: Sequence[Recording]) -> tuple[list[Recording], list[str]]:
    """Drop a file that was named twice, by its content."""
    seen: dict[str, str] = {}
    kept, notes = [], []
    for recording in recordings:
        source = recording.sources[0]
        if source.sha256 and source.sha256 in seen:
            notes.append(f"{source.path} is the same file as {seen[source.sha256]}: counted once.")
            continue
        seen[source.sha256] = source.path
        kept.append(recording)
    return kept, notes


def _offsets(
    recordings: Sequence[Recording],
) -> tuple[list[float], datetime | None, float | None, list[str]]:
    """Seconds by which to move each file, the common start, the common clock, and what was assumed."""
    starts = [recording.start for recording in recordings]
    known = [start for start in starts if start is not None]
    aware = [start for start in known if start.tzinfo is not None]
    placed = aware or known
    if not placed:
        return _by_clock(recordings)
    first = min(placed, key=_instant)
    offsets, adrift = [], []
    for recording, start in zip(recordings, starts, strict=True):
        if start is None or (start.tzinfo is None) != (first.tzinfo is None):
            offsets.append(0.0)
            adrift.append(recording.sources[0].path)
            continue
        offset = _instant(start) - _instant(first)
        if offset > FURTHEST_S:
            raise NotOneTrial(
                f"they start {offset / 3600:.0f} hours apart.",
                where=f"{recordings[starts.index(first)].sources[0].path} and {recording.sources[0].path}",
                mend="Give only the files of one trial in one call.",
            )
        offsets.append(offset)
    notes = [
        f"{path} does not say at what time of which zone it starts: it is laid at the start of the trial."
        for path in adrift
    ]
    return offsets, first, None, notes


def _by_clock(
    recordings: Sequence[Recording],
) -> tuple[list[float], datetime | None, float | None, list[str]]:
    """Place files that know at most the time of day."""
    clocks = [recording.clock_s for recording in recordings if recording.clock_s is not None]
    if clocks:
        first = min(clocks)
        offsets = [0.0 if recording.clock_s is None else recording.clock_s - first for recording in recordings]
        return offsets, None, first, []
    note = "The files state no time of day: all are taken to count from the same moment."
    return [0.0] * len(recordings), None, None, [note]


def _instant(moment: datetime) -> float:
    """Seconds on one line for aware moments, and on another for naive ones."""
    return (moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)).timestamp()


def _joined(streams: Sequence[Stream]) -> tuple[list[Stream], list[str]]:
    """Join streams of one kind that follow each other; keep apart, and tell, those that overlap."""
    result: list[Stream] = []
    notes: list[str] = []
    for name in dict.fromkeys(stream.name for stream in streams):
        same = [stream for stream in streams if stream.name == name and len(stream)]
        kept: list[Stream] = []
        for stream in same:
            behind = next((index for index, other in enumerate(kept) if _apart(stream, other)), None)
            if behind is not None and not any(_overlap(stream, other) for other in kept):
                notes.append(_join_note(name, kept[behind], stream))
                kept[behind] = _concatenated(kept[behind], stream)
            else:
                kept.append(stream)
        notes += [
            f"{_words(name)}: figures use {kept[0].source}. {other.source} overlaps it, or lies more than "
            f"{JOINED_GAP_S:.0f} s from it as another student's would, and is not used: give the files of one student."
            for other in kept[1:]
        ]
        result += kept
    return result, notes


def _overlap(one: Stream, other: Stream) -> bool:
    """Tell whether two streams share time."""
    return bool(one.time[-1] > other.time[0] and other.time[-1] > one.time[0])


def _apart(one: Stream, other: Stream) -> bool:
    """Tell whether one stream ends before the other begins, and not long before."""
    gap = max(other.time[0] - one.time[-1], one.time[0] - other.time[-1])
    return bool(0 <= gap <= JOINED_GAP_S)


def _words(name: str) -> str:
    return name.replace("_", " ")


def _join_note(name: str, one: Stream, other: Stream) -> str:
    """Say that two files were taken for one."""
    return f"{_words(name)}: {other.source} follows {one.source} closely and is read as its other part."


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
    )
