"""Rests, maxima, ceilings and abilities of a student, each from a day on: one is added, corrected or withdrawn."""

from collections.abc import Sequence
from datetime import date
from typing import TypeVar

from ..errors import NotAStudent
from ..words.render import english_date
from .student import Answers, Ceiling, MeasuredRate

_Entry = TypeVar("_Entry", MeasuredRate, Ceiling, Answers)


def with_entry(kept: Sequence[_Entry], new: _Entry) -> tuple[_Entry, ...]:
    """The entries with a new one, which takes the place of one of the same day and kind.

    A rate or a ceiling without a day takes no place, because it may have been measured on another day than the last.

    Raises
    ------
    NotAStudent
        If a ceiling or an ability without a day comes beside one with a day, which would go on to count.
    """
    of = _day(new)
    dated = max((each for each in map(_day, kept) if each is not None), default=None)
    if not isinstance(new, MeasuredRate) and of is None and dated is not None:
        what = "a ceiling was set" if isinstance(new, Ceiling) else "what the student can do was said"
        raise NotAStudent(
            f"{what} on {english_date(dated)}, and counts before one without a day.",
            mend="Say from when the new one counts: --from YYYY-MM-DD.",
        )
    undated = of is None and not isinstance(new, Answers)
    stay = [each for each in kept if undated or _day(each) != of or _kind(each) != _kind(new)]
    return (*stay, new)


def withdrawn(kept: Sequence[_Entry], since: date | None) -> tuple[_Entry, ...]:
    """The entries without those of a day or later; without a day, none."""
    return tuple(each for each in kept if since is not None and (_day(each) or date.min) < since)


def _day(entry: MeasuredRate | Ceiling | Answers) -> date | None:
    return entry.set_on if isinstance(entry, Ceiling) else entry.on


def _kind(entry: MeasuredRate | Ceiling | Answers) -> str | None:
    """What an entry is of: a maximum of one kind of exercise says nothing of another."""
    return entry.exercise if isinstance(entry, MeasuredRate) else None
