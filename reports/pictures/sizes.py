"""Sizes: a sheet of paper, lower where much else must stand on it, and a phone with fewer ticks, larger type."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

Width: TypeAlias = Literal["paper", "low", "phone"]


@dataclass(frozen=True, slots=True)
class Sizes:
    """Measures of a picture, all in points.

    width : of the whole; ``left`` is kept for the numbers of the upright axis
    type, small : height of letters
    panel, ribbon, cadence : heights of the parts
    """

    width: float
    left: float
    type: float
    small: float
    panel: float
    ribbon: float
    cadence: float

    @property
    def row(self) -> float:
        """A line of words with the air around it."""
        return 1.55 * self.type

    @property
    def small_row(self) -> float:
        """A line of small print."""
        return 1.45 * self.small


SIZES: dict[Width, Sizes] = {
    "paper": Sizes(width=170 / 25.4 * 72, left=27.0, type=8.2, small=7.6, panel=150.0, ribbon=13.0, cadence=52.0),
    "low": Sizes(width=170 / 25.4 * 72, left=27.0, type=8.2, small=7.6, panel=112.0, ribbon=13.0, cadence=44.0),
    # 360 px of CSS are 270 pt; 12 px, the least that is read with ease on a phone, are 9 pt
    "phone": Sizes(width=270.0, left=27.0, type=9.8, small=9.0, panel=176.0, ribbon=16.0, cadence=58.0),
}
