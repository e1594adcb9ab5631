"""Numbers with their unit and names of figures, as messages."""

import math

from ...words.message import Message, Quoted
from ...words.numbers import rounded
from ...words.vocabulary import FIGURES, ZONE_FIGURES
from . import messages as say
from .shown_numbers import places_of

_UNITS = {"": "plain", "1": "plain", "/m": "per_metre", "%": "percent", "mg": "mg", "s": "seconds"}


def amount_with_unit(value: float, unit: str, figure: str, *, places: int | None = None) -> Message:
    """A number as a teacher would write it, with the unit of a figure or a hand measure.

    places : so many decimals at most; else two below ten and one above
    """
    if math.isinf(value):
        return say.AMOUNT_ANY
    shown = float(rounded(value, places_of(value) if places is None else places))
    if unit == "/min":
        return say.amount_of(shown, "beats" if figure in FIGURES and not figure.startswith("cadence") else "rhythm")
    return say.amount_of(shown, _UNITS[unit]) if unit in _UNITS else say.amount_by_hand(shown, Quoted(unit))


def subject_of(figure: str) -> Message:
    """What a figure, or a hand measure by its name, is called."""
    if figure in ZONE_FIGURES:
        return say.subject_zone(figure)
    return say.subject_figure(figure) if figure in FIGURES else say.subject_hand(Quoted(figure.replace("_", " ")))
