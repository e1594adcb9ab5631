"""Phases that are written as laps or presses of a button: ``lap 2``, ``button 1-button 2``, to times from the start."""

import re
from collections.abc import Sequence

from ..errors import NotATrial
from ..ingest.combine import combine
from ..ingest.recording import Mark, Recording
from .opened import Opened
from .trial import Trial

FIELDS = ("rest_phase", "work", "recovery")
_LAP = re.compile(r"lap\s*(\d{1,4})", re.IGNORECASE)
_PRESSES = re.compile(r"button\s*(\d{1,4})\s*[-–]\s*button\s*(\d{1,4})", re.IGNORECASE)


def with_times(trial: Trial, files: Opened) -> Trial:
    """A trial whose phases stand as times, where they were written as marks of its recordings.

    Raises
    ------
    NotATrial
        If a recording has no such mark, or a lap does not say when it ended.
    """
    written = {name: text for name in FIELDS if (text := getattr(trial, name)) and is_marked(text)}
    if not written:
        return trial
    whole = combine(files.recordings, files.offsets)
    return trial.model_copy(update={name: _times(text, whole) for name, text in written.items()})


def is_marked(text: str) -> bool:
    """Whether a phase is written as a lap or as presses."""
    return bool(_LAP.fullmatch(text.strip()) or _PRESSES.fullmatch(text.strip()))


def _times(text: str, whole: Recording) -> str:
    return "-".join(map(_minutes, span_of_marks(text, whole)))


def span_of_marks(text: str, whole: Recording) -> tuple[float, float]:
    """From when until when a lap or two presses were  [s].

    Raises
    ------
    NotATrial
        If the recording has no such mark, or a lap does not say when it ended.
    """
    lap, presses = _LAP.fullmatch(text.strip()), _PRESSES.fullmatch(text.strip())
    if lap is not None:
        laps = [mark for mark in whole.marks if mark.kind == "lap"]
        number = int(lap[1])
        begin = _mark(laps, number, "lap")
        until = laps[number].time_s if number < len(laps) else begin.until_s
        if until is None:
            raise NotATrial(f"lap {number} does not say when it ended.", mend="Write the times instead.")
        return begin.time_s, until
    if presses is None:
        raise NotATrial(f"“{text}” is neither a lap nor two presses.", mend="Write lap 2, or button 1-button 2.")
    buttons = [mark for mark in whole.marks if mark.kind == "button"]
    first, second = (_mark(buttons, int(each), "press of a button").time_s for each in presses.groups())
    return first, second


def _mark(marks: Sequence[Mark], number: int, what: str) -> Mark:
    if not 1 <= number <= len(marks):
        raise NotATrial(
            f"the recording has no {what} number {number}.",
            mend=f"It has {len(marks)}: `ownmark look` shows them. Or write the times instead.",
        )
    return marks[number - 1]


def _minutes(seconds: float) -> str:
    """MM:SS.mmm, with as many minutes as it takes."""
    minutes, rest = divmod(round(seconds * 1000), 60_000)
    text = f"{minutes:02d}:{rest / 1000:06.3f}"
    return text.removesuffix(".000")
