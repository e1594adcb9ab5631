"""One entry of a student's lists is taken away, as somebody saw it: not the one that stands in its place by now."""

from collections.abc import Sequence

from ..errors import NotAStudent
from .refusal_messages import REFUSAL_ENTRY_GONE
from .student import Student

LISTS = ("ceilings", "rests", "maxima", "conditions", "answers")


def mark_of(entry: object) -> str:
    """What tells an entry of a list from any other there: all that it holds."""
    return entry if isinstance(entry, str) else entry.model_dump_json()  # type: ignore[attr-defined]


def taken_away(student: Student, name: str, mark: str) -> dict[str, object]:
    """The list without the entry of this mark, as a change of the student.

    Raises
    ------
    NotAStudent
        If there is none any more: somebody else has changed it since it was looked at.
    """
    if name not in LISTS:
        raise NotAStudent(REFUSAL_ENTRY_GONE)
    kept: Sequence[object] = getattr(student, name)
    places = [place for place, each in enumerate(kept) if mark_of(each) == mark]
    if not places:
        raise NotAStudent(REFUSAL_ENTRY_GONE)
    return {name: (*kept[: places[-1]], *kept[places[-1] + 1 :])}
