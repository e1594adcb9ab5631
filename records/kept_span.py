"""Phases that are moved must lie in what is kept of a recording: of a shared or long file that is the trial's part."""

from datetime import datetime, timedelta

from ..errors import NotATrial
from ..ingest.clock_times import on_the_wall
from ..ingest.recording import Recording, Span
from ..words.numbers import clock
from .measuring import phases_on_files
from .opened import Opened
from .trial import Trial


def refuse_outside(trial: Trial, files: Opened) -> None:
    """Refuse phases of which a part was not kept.

    Raises
    ------
    NotATrial
        With what is kept, by the wall clock and in seconds, and how more of it is kept.
    """
    parts = [each for each in files.recordings if each.sources[0].part_s is not None]
    if not parts:
        return
    if trial.work is None:
        raise _outside(trial, parts[0], files, "all of the recording would be work")
    for recording, (begin, end) in phases_on_files(trial, files):
        kept = recording.sources[0].part_s
        if kept is not None and not (kept[0] <= begin and end <= kept[1]):
            raise _outside(trial, recording, files, f"its phases would take {_span((begin, end), recording, trial)}")


def _outside(trial: Trial, recording: Recording, files: Opened, what: str) -> NotATrial:
    """The refusal."""
    source = recording.sources[0]
    low, high = source.part_s or (recording.first_s, recording.last_s)
    held = (max(low, recording.first_s), min(high, recording.last_s))
    name = files.given.get(source.path, source.path)
    return NotATrial(
        f"{what}, and of {name} only {_span(held, recording, trial)} is kept.",
        where=f"trial {trial.id}",
        mend=f"Give the whole file again beside the new times (--add-file {name}): more of it is kept then.",
    )


def _span(span: Span, recording: Recording, trial: Trial) -> str:
    """A stretch of a recording in its own time, and on the wall clock where it has one."""
    begin, end = span
    seconds = f"{clock(begin)} to {clock(end)}"
    if recording.start is not None:
        start: datetime = on_the_wall(recording.start, trial.zone)
        first, last = (start + timedelta(seconds=each) for each in span)
        return f"{first:%H:%M:%S} to {last:%H:%M:%S} (in the recording {seconds})"
    return seconds
