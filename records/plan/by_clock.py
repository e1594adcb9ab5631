"""Times of a recording, told by the clock on the wall where the recording knows one.

Nobody who was in the gym knows what was at 18:00 min of a recording, and a start before the recording would read −1:30.
"""

from collections.abc import Iterable

from ...words.message import CLOCK_AT_ZERO, Message

TIMED = frozenset(
    {
        *(f"proposal.{each}" for each in ("begun_before", "end_not_seen", "second", "marks_elsewhere", "other_start")),
        *(f"proposal.{each}" for each in ("movement_elsewhere", "only_stated", "late_strap", "cut")),
        *(f"hand_over.{each}" for each in ("contact", "gap", "leaps", "equal")),
        *("day_plan.start_differs", "day_plan.end_differs"),
    }
)
"""Messages that tell times of a recording."""


def by_clock(messages: Iterable[Message], at_zero: float | None) -> tuple[Message, ...]:
    """The messages, with the clock at the recording's time 0 beside their times.

    at_zero : [s after midnight]; None: the recording knows no clock, and they stay as they are
    """
    if at_zero is None:
        return tuple(messages)
    return tuple(
        Message(each.code, (*each.values, (CLOCK_AT_ZERO, at_zero))) if each.code in TIMED else each
        for each in messages
    )
