"""How far off a strap's clock was, by the checks against the screen: a suggestion, with how good it is.

A strap with a display shows a time. One without has its button pressed, or is tapped three times, when the screen
flashes: then the recording holds the moment by its own clock, among other presses, and the shift is the one that lays
every check on such a moment.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from .happened import Check

WITHIN_S = 2.5
"""A hand answers a flash within so much [s]: people press 0.2 to 0.8 s after a signal; strap and screen keep whole
seconds. Our own choice."""
NEAR_S = 15 * 60.0
"""A single check is believed where one moment alone lies as near as this [s]. Our own choice."""
RIGHT_S = 2.0
"""A clock that is off by less is right: presses and clocks keep whole seconds [s]."""
_DAY_S = 86_400.0


@dataclass(frozen=True, slots=True)
class Shift:
    """What is to be added to a strap's clock [s].

    sure : two checks agree, or a display showed it; else somebody looks at it first
    """

    seconds: float
    sure: bool


def shift_of(checks: Sequence[Check], pressed: Sequence[float], tapped: Sequence[float]) -> Shift | None:
    """What is to be added to the clock of one recording; None: the checks do not say.

    Parameters
    ----------
    checks : of its strap
    pressed, tapped : moments in the recording by its own clock  [s after midnight]
    """
    shown = [_wrapped(_of_day(each) - each.shown_s) for each in checks if each.shown_s is not None]
    if shown:
        return _alike(shown)
    by_how = (("button", pressed), ("taps", tapped))
    pairs = [([_of_day(each) for each in checks if each.how == how], moments) for how, moments in by_how]
    flashes, moments = max(pairs, key=lambda each: len(each[0]))
    if len(flashes) > 1:
        return _of_several(sorted(flashes), moments)
    return _of_one(flashes[0], moments) if flashes else None


def _alike(shifts: Sequence[float]) -> Shift | None:
    """The middle one of shifts that agree."""
    middle = median(shifts)
    return Shift(middle, True) if all(abs(each - middle) <= WITHIN_S for each in shifts) else None


def _of_several(flashes: Sequence[float], moments: Sequence[float]) -> Shift | None:
    """The one shift by which every flash has a moment of its own; None where none has, or several that differ."""
    found: list[float] = []
    for moment in moments:
        tried = _wrapped(flashes[0] - moment)
        near = [min((_wrapped(each - other) - tried for other in moments), key=abs) for each in flashes]
        if all(abs(each) <= WITHIN_S for each in near):
            found.append(tried + median(near))
    return _alike(found) if found else None


def _of_one(flash: float, moments: Sequence[float]) -> Shift | None:
    """The shift by the only moment that is near."""
    near = [shift for each in moments if abs(shift := _wrapped(flash - each)) <= NEAR_S]
    return Shift(near[0], False) if len(near) == 1 else None


def _of_day(check: Check) -> float:
    """When the screen flashed [s after midnight]."""
    at = check.at
    return at.hour * 3600.0 + at.minute * 60.0 + at.second


def _wrapped(seconds: float) -> float:
    """The shorter way round the clock, which says no day: within half a day to either side."""
    return (seconds + _DAY_S / 2) % _DAY_S - _DAY_S / 2
