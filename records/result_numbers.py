"""Numbers that are typed for a trial: what they can be, and the value of a hand measure out of its text."""

from ..errors import NotATrial
from ..words.numbers import two_readings, typed_number
from .protocol import HandMeasure

MOST = 1e6
"""No count, time, distance or temperature of a trial is larger, in any unit that is used."""
FROM_BELOW_ZERO = frozenset({"range by ruler", "range by tape", "other"})
"""Kinds of hand measures that can be negative: a reach that ends before the zero of the tape. Nothing is counted,
timed or covered less than not at all."""


def number_of(name: str, text: str, unit: str = "") -> float:
    """A number as people write it, with a point or a comma, and its unit behind it or not.

    unit : the unit that may stand behind it; a field that ends in percent may have its sign

    Raises
    ------
    NotATrial
        If it is none, can be read in two ways (1,234), or is larger than anything that is measured.
    """
    said = name.replace("_", " ")
    sign = "%" if name.endswith("percent") else unit
    plain = text.strip()
    alone = plain.removesuffix(sign).strip() if sign else plain
    if two_readings(alone):
        raise NotATrial(
            f"“{text}” can be read in two ways for {said}.",
            mend=f"Write {alone.replace(',', '')}, or {alone.replace(',', '.', 1)} with a point.",
        )
    try:
        found = typed_number(alone)
    except ValueError:
        in_unit = f" in {unit}" if unit else ""
        raise NotATrial(f"“{text}” is not a number for {said}.", mend=f"Write it alone{in_unit}.") from None
    if abs(found) > MOST:
        raise NotATrial(f"“{text}” is too large for {said}.", mend="Look at it: one of its digits may be too many.")
    return found


def measured(measure: HandMeasure, text: str) -> float:
    """What was measured by hand, in the measure's unit.

    Raises
    ------
    NotATrial
        As ``number_of``; and where it is less than nothing, or more than the test lets it be.
    """
    said = measure.name.replace("_", " ")
    found = number_of(measure.name, text, measure.unit)
    if found < 0 and measure.kind not in FROM_BELOW_ZERO:
        raise NotATrial(f"“{text}” is below zero for {said}.", mend="Look at what was written down.")
    if measure.limit is not None and found > measure.limit:
        raise NotATrial(
            f"“{text}” is more than the {measure.limit:g} {measure.unit} at which {said} ends.",
            mend="Look at what was written down, or at the protocol.",
        )
    return found + 0.0  # minus zero is zero
