"""What was written on the day's form while it happened: when each student worked, and what was noted.

Every time on the form is read off a clock, so ``9:10-9:18`` is a stretch of the day there; presses and laps are named
as in a class table.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from ...errors import NotATrial, UsageError
from ...ingest.clock_times import parse_span
from ...ingest.recording import Span
from ..class_table import read_named
from ..guards import at_clock
from ..marked_phases import is_marked

WORK, NOTES, START = "work", "notes", "start"
_AS_IN = "Write it as in 9:10-9:18, by the clock, or as presses or a lap of the recording: button 1-button 2, lap 2."


@dataclass(frozen=True, slots=True)
class Written:
    """What the form says, by a student's code.

    works : as ``clock_span`` takes it, or presses and laps as ``marked_phases`` does
    notes : of a student with several lines, those of all
    """

    works: Mapping[str, str] = field(default_factory=dict[str, str])
    notes: Mapping[str, str] = field(default_factory=dict[str, str])


def clock_span(text: str) -> Span | None:
    """From when until when the work was [s after midnight]; None: it is written as presses or a lap.

    Raises
    ------
    UsageError
        If it is no stretch of time, or ends before it begins.
    """
    if is_marked(text):
        return None
    begin, end = (each.seconds for each in parse_span(at_clock(text)))
    if not begin < end:
        raise UsageError(f"“{text}” ends before it begins.", mend=_AS_IN)
    return begin, end


def read_written(paths: Sequence[Path]) -> Written:
    """What the tables say of work and notes; of two that say it of a student, the first counts.

    Only a table with a column start or work is a form: the notes of a plain list of a class are about the students, and
    go into no trial.

    Raises
    ------
    UnreadableFile, NotATrial
    """
    works: dict[str, str] = {}
    notes: dict[str, str] = {}
    for path in dict.fromkeys(paths):
        rows = read_named(path)
        if any(START in row or WORK in row for row in rows):
            works = {**_works(path, rows), **works}
            notes = {**_notes(rows), **notes}
    return Written(works, notes)


def _works(path: Path, rows: Sequence[Mapping[str, str]]) -> dict[str, str]:
    found: dict[str, str] = {}
    for row in rows:
        code, text = row.get("code", "").upper(), row.get(WORK, "")
        if not code or not text:
            continue
        try:
            clock_span(text)
        except UsageError as reason:
            raise NotATrial(f"{code} worked at {reason.what}", where=str(path), mend=_AS_IN) from None
        if found.setdefault(code, text) != text:
            raise NotATrial(f"{code} has two different times of work.", where=str(path), mend="Leave one of them.")
    return found


def _notes(rows: Sequence[Mapping[str, str]]) -> dict[str, str]:
    found: dict[str, dict[str, None]] = {}
    for row in rows:
        if row.get("code") and row.get(NOTES):
            found.setdefault(row["code"].upper(), {})[row[NOTES]] = None
    return {code: " ".join(each) for code, each in found.items()}
