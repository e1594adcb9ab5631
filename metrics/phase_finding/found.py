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


SURE_WITHIN_S = {BUTTON: 6.0, LAP: 6.0, MOVEMENT: 6.0, HEART_RATE: 22.0}
"""An end with a larger ± is shown as not sure [s]: of the others nine in ten lie within 15 s by heart rate alone, and
95 in 100 within 5 s by all else (``tests/bench/phase_accuracy.py``)."""


@dataclass(frozen=True, slots=True)
class Side:
    """One end of the work: what it rests on, and how good it is in nine cases of ten [s]."""

    how: str
    within_s: float

    @property
    def sure(self) -> bool:
        """Whether it is good enough to be shown as where the work begins or ends, not as a mere guess."""
        return self.within_s <= SURE_WITHIN_S.get(self.how, 0.0)


@dataclass(frozen=True, slots=True)
class FoundPhases:
    """Phases as a proposal, never as a fact.

    rest, work, recovery : from when until when  [s] from the recording's start; None: too little of it was measured
    how : ``BUTTON``, ``LAP``, ``MOVEMENT``, ``HEART_RATE`` or ``STATED``, the best that an end rests on
    within_s : both ends of the work are this good in nine cases of ten; half of a second at best  [s]
    confidence : 0 to 1, in how many such cases both ends of the work lie within 15 s
    start, end : each end of the work on its own
    notes : what a person should look at
    """

    rest: Span | None
    work: Span
    recovery: Span | None
    how: str
    within_s: float
    confidence: float
    start: Side
    end: Side
    notes: tuple[Message, ...] = ()

    @property
    def sure(self) -> bool:
        """Whether both ends are good enough to be more than a guess."""
        return self.start.sure and self.end.sure


@dataclass(frozen=True, slots=True)
class NotFound:
    """Why no phases are proposed."""

    reason: Message
