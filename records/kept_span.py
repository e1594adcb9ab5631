"""Phases that are moved must lie in what is kept of a recording: of a shared or long file that is the trial's part."""

from ..errors import NotATrial
from ..ingest.clock_times import span_told, wall_of, zone_from
from ..ingest.recording import Recording, Span
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
    """A stretch of a recording by the wall clock where it has one, and in seconds."""
    return span_told(span, wall_of(recording, zone_from(trial.zone)))
