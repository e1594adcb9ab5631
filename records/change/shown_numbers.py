"""The numbers of a change as they are shown: whoever subtracts one from the other finds the difference printed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from ...words.numbers import rounded

if TYPE_CHECKING:
    from .sides import SideChange, SideGap

_MORE = 3
"""Decimals that may be added where the usual ones would hide a change, or turn what is more into what is not."""


@dataclass(frozen=True, slots=True)
class ShownChange:
    """Two values rounded to ``places``, and their difference, signed."""

    before: float
    after: float
    difference: float
    places: int

    def three(self) -> tuple[float, float, float]:
        """Before, after and the difference."""
        return self.before, self.after, self.difference


def places_of(*values: float) -> int:
    """Decimals of a number as a teacher would write it: two below ten, one above; of several, as for the largest."""
    return 1 if max(map(abs, values)) >= 10 else 2


def shown_change(before: float, after: float, detectable: float | None = None) -> ShownChange:
    """How a change is shown.

    detectable : what is printed beside it; a change that is more than that is more as shown, too
    """
    change = abs(after - before)
    usual = places_of(before, after)
    shown = [_at(before, after, places) for places in range(usual, usual + _MORE + 1)]
    return next((each for each in shown if _true(each, change, detectable)), shown[0])


def shown_sides(sides: "Sequence[SideChange]") -> "dict[str, ShownChange]":
    """Left and right under each other, all with the same decimals."""
    each = {one.side: shown_change(one.baseline, one.retest, one.detectable_change) for one in sides}
    places = max((one.places for one in each.values()), default=0)
    return {one.side: _at(one.baseline, one.retest, places) for one in sides}


def shown_gap(gap: "SideGap", sides: "Sequence[SideChange]") -> ShownChange:
    """Left minus right; where both are shown, the difference of what is shown."""
    found = shown_sides([each for each in sides if each.figure == gap.figure])
    if len(found) < 2:
        return shown_change(gap.baseline, gap.retest)
    left, right = found["left"], found["right"]
    before, after = (_less(one, two, left.places) for one, two in zip(left.three()[:2], right.three()[:2], strict=True))
    return _at(before, after, left.places)


def _at(before: float, after: float, places: int) -> ShownChange:
    return ShownChange(
        float(rounded(before, places)), float(rounded(after, places)), _less(after, before, places), places
    )


def _less(value: float, other: float, places: int) -> float:
    """One value less the other, as they are shown."""
    return float(Decimal(rounded(value, places)) - Decimal(rounded(other, places)))


def _true(shown: ShownChange, change: float, detectable: float | None) -> bool:
    """Whether what is shown says the same as the numbers behind it."""
    if shown.difference == 0 and change > 0:
        return False
    if detectable is None or math.isinf(detectable):
        return True
    return (abs(shown.difference) > float(rounded(detectable, shown.places))) == (change > detectable)
