"""What is known beforehand of a trial's phases, and what was found of them."""

from dataclasses import dataclass

from ...words.message import Message
from ..phases import Span

BUTTON, LAP, MOVEMENT, HEART_RATE, STATED = "button", "lap", "movement", "heart_rate", "stated"
"""What the phases rest on, best first; *stated*: nothing but a start and lengths that were given."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What the protocol and the time table say; None: nothing.

    rest_s, work_s, recovery_s : lengths  [s]
    start_s : when the work was to begin, from the recording's start  [s]
    start_within_s : how good that is: clocks differ, and a class is seldom on the minute  [s]
    """

    rest_s: float | None = None
    work_s: float | None = None
    recovery_s: float | None = None
    start_s: float | None = None
    start_within_s: float = 90.0


@dataclass(frozen=True, slots=True)
class FoundPhases:
    """Phases as a proposal, never as a fact.

    rest, work, recovery : from when until when  [s] from the recording's start; None: too little of it was measured
    how : ``BUTTON``, ``LAP``, ``MOVEMENT``, ``HEART_RATE`` or ``STATED``
    within_s : both ends of the work are this good in nine cases of ten; half of a second at best  [s]
    confidence : 0 to 1, in how many such cases both ends of the work lie within 15 s
    notes : what a person should look at
    """

    rest: Span | None
    work: Span
    recovery: Span | None
    how: str
    within_s: float
    confidence: float
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class NotFound:
    """Why no phases are proposed."""

    reason: Message
