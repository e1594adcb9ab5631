"""A file whose clock was wrong: how far off it was, as people write it, and the recording on the right clock.

A shift is what is added to the file's clock: +1:00:00 where it ran an hour behind, -37 where it ran 37 s ahead. It has
its sign always, because nobody can guess the direction, and hours where it has a colon, because 1:00 could be either.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import PurePath

from ..errors import NotOneTrial, UsageError
from .recording import Recording

NONE = "none"
"""What is typed where the clock was right after all."""
_DAY_S = 86_400.0
_SHIFT = re.compile(r"([+\-−–])\s*(?:(\d{1,6}):([0-5]\d):([0-5]\d(?:\.\d+)?)|(\d{1,9}(?:\.\d+)?)\s*s?)")
_MEND = "Write what is to be added to its clock: +1:00:00 where it ran an hour behind, -37 where it ran 37 s ahead."


def parse_shift(text: str) -> float:
    """A shift as written: ``+H:MM:SS`` or ``-H:MM:SS``, or seconds with their sign  [s].

    Raises
    ------
    UsageError
        If it is written otherwise.
    """
    found = _SHIFT.fullmatch(text.strip())
    if found is None:
        raise UsageError(f"“{text.strip()}” does not say how far a clock was off.", mend=_MEND)
    sign, hours, minutes, seconds, alone = found.groups()
    size = float(alone) if alone is not None else 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds)
    return size if sign == "+" else -size


def written_shift(seconds: float) -> str:
    """A shift as it is read again: ``+1:00:00``, ``-0:00:37``."""
    whole, part = divmod(round(abs(seconds) * 1000), 1000)
    behind = f".{part:03d}".rstrip("0") if part else ""
    sign = "-" if seconds < 0 else "+"
    return f"{sign}{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}{behind}"


def shifts_by_name(texts: Sequence[str], names: Sequence[str]) -> dict[str, float | None]:
    """By the file's name: what is added to its clock  [s]; None where nothing is any more.

    Parameters
    ----------
    texts : each ``FILE=SHIFT``, or ``SHIFT`` alone where there is only one file
    names : of the trial's files, as they are known to whoever calls; a file is also known by its bare name

    Raises
    ------
    UsageError
        If a text is none of these, or names no file or several.
    """
    found: dict[str, float | None] = {}
    for text in texts:
        given, equals, shift = text.rpartition("=")
        same = [name for name in names if given.strip() in (name, PurePath(name).name)] if equals else list(names)
        if len(same) != 1:
            has = ", ".join(PurePath(name).name for name in names)
            what = f"“{text.strip()}” does not say which file's clock was off."
            raise UsageError(what, mend=f"Write FILE=SHIFT; the files are {has}." if has else "There is no file.")
        found[same[0]] = None if shift.strip().lower() == NONE else parse_shift(shift)
    return found


def shifted(recording: Recording, seconds: float) -> Recording:
    """The recording with so much added to its clock  [s]; its samples stay where they are from its start.

    Raises
    ------
    NotOneTrial
        If it states no time of day, or would lie in no year.
    """
    if not seconds:
        return recording
    if recording.start is None and recording.clock_s is None:
        raise NotOneTrial(
            "it states no time of day, so there is no clock to put right.",
            where=recording.sources[0].path,
            mend="Say with --offset how many seconds into the trial it starts.",
        )
    try:
        start = None if recording.start is None else _later(recording.start, seconds)
    except OverflowError:
        raise NotOneTrial(
            "with its clock put right so, it would lie in no year that there is.",
            where=recording.sources[0].path,
            mend=_MEND,
        ) from None
    clock_s = None if recording.clock_s is None else (recording.clock_s + seconds) % _DAY_S
    return replace(
        recording, start=start, clock_s=clock_s, shift_s=seconds, stated=(recording.start, recording.clock_s)
    )


def unshifted(recording: Recording) -> Recording:
    """The recording on the clock that its file states, to the last bit."""
    if recording.stated is None:
        return recording
    start, clock_s = recording.stated
    return replace(recording, start=start, clock_s=clock_s, shift_s=0.0, stated=None)


def shift_of(path: str, shifts: Mapping[str, float]) -> float:
    """What is added to the clock of a recording, by the name of its file or of the archive that it lies in  [s]."""
    return next((seconds for name, seconds in shifts.items() if path == name or path.startswith(f"{name}/")), 0.0)


def _later(start: datetime, seconds: float) -> datetime:
    """So much later in true time: on the day on which clocks change, an hour by the wall is not an hour."""
    if start.tzinfo is None:
        return start + timedelta(seconds=seconds)
    return (start.astimezone(UTC) + timedelta(seconds=seconds)).astimezone(start.tzinfo)
