"""A figure of a sheet as a reader sees it: label, value with unit, bounds, note. Sheets are rounded here only.

Figures come as the logbook's sheet has them, unrounded.
"""

from collections.abc import Iterable, Mapping

from ...metrics.figure import Figure
from ...metrics.message_codes import without
from ...words.message import Message
from ...words.numbers import clock
from ...words.render import LONG_S, joined
from ...words.vocabulary import ZONE_FIGURES, digits
from ..words import Words, rounded

RHYTHM = frozenset({"cadence_mean"})
TOLD_ONCE = frozenset({"note.one_error", "note.chair"})
"""Codes of notes that a page says once for all."""


def label(name: str, words: Words) -> str:
    """A figure's or a hand measure's name; one that no list knows stays as people wrote it."""
    if name in ZONE_FIGURES:
        return words.get("zone.label", zone=words.get(f"figure.{name}"))
    for section in ("figure", "hand"):
        if words.known(f"{section}.{name}"):
            return words.get(f"{section}.{name}")
    return words.typed(name.replace("_", " "))


def value_of(figures: Mapping[str, Figure], name: str) -> float | None:
    """A figure's value; None where it is not given or the sheet does not have it."""
    return figures[name].value if name in figures else None


def capital(text: str) -> str:
    """The text with a capital at its start."""
    return text[:1].upper() + text[1:]


def span(begin: float, until: float, words: Words) -> str:
    """A stretch by its clock on the recording."""
    return words.get("form.range", low=clock(begin), high=clock(until))


def unit_words(name: str, unit: str, words: Words, *, family: bool, one: bool = False) -> str:
    """The unit behind a number; empty for a plain one. A family reads “beats a minute”. ``one``: behind a 1."""
    if unit == "/min":
        kind = "rhythm" if name in RHYTHM else "beats"
        return words.get(f"unit.{kind}_family" if family else f"unit.{kind}")
    if unit in ("1", ""):
        return ""
    known = {"/m": "unit.per_metre", "%": "unit.percent", "mg": "unit.mg", "s": "unit.seconds"}
    if unit in known:
        return words.get(known[unit])
    sections = ("hand_unit_one", "hand_unit") if one else ("hand_unit",)
    key = next((f"{each}.{unit}" for each in sections if words.known(f"{each}.{unit}")), None)
    return words.get(key) if key else words.typed(unit)


def amount(name: str, value: float, unit: str, words: Words, *, family: bool = False) -> str:
    """A number with its unit."""
    if unit == "s":
        if name == "first_above_ceiling":
            return words.get("unit.at_clock", clock=clock(value), seconds=words.number(value))
        return words.duration(value)
    return _with_unit(words.number(value, digits(name, unit)), name, unit, words, family=family)


def _with_unit(text: str, name: str, unit: str, words: Words, *, family: bool) -> str:
    behind = unit_words(name, unit, words, family=family, one=text == "1")
    return f"{text} {behind}" if behind else text


def value_text(name: str, figure: Figure, words: Words, *, family: bool = False) -> str:
    """A figure's value with its unit; a dash where it is not given."""
    if figure.value is None:
        return words.get("form.dash")
    return amount(name, figure.value, figure.unit, words, family=family)


def bounds_text(name: str, figure: Figure, words: Words, *, family: bool = False) -> str:
    """The bounds where they say more than the value, else empty."""
    low, high, value, unit = figure.low, figure.high, figure.value, figure.unit
    if low is None or high is None or value is None:
        return ""
    places = digits(name, unit)
    shown = {rounded(each, places) for each in (low, high, value)}
    if len(shown) == 1:
        return ""
    if unit == "s":
        ends = {"from_s": words.number(low), "until_s": words.number(high)}
        clocks = {"from_clock": clock(low), "until_clock": clock(high)}
        if name == "first_above_ceiling":
            return words.get("unit.at_range", **ends, **clocks)
        if max(abs(low), abs(high)) > LONG_S:
            return words.get("unit.range_minutes", **ends, **clocks)
    both = words.get("form.range", low=words.number(low, places), high=words.number(high, places))
    return _with_unit(both, name, unit, words, family=family)


def own_rhythm_text(name: str, figure: Figure, words: Words, *, family: bool = False) -> str:
    """The narrower bounds of a mean and what they hang on; empty where they say no more."""
    low, high = figure.own_rhythm_low, figure.own_rhythm_high
    if low is None or high is None:
        return ""
    narrow = bounds_text(name, figure.model_copy(update={"low": low, "high": high}), words, family=family)
    if narrow == bounds_text(name, figure, words, family=family):
        return ""
    return words.get("effort.own_rhythm", bounds=narrow or value_text(name, figure, words, family=family))


def notes_beside(name: str, figure: Figure) -> tuple[Message, ...]:
    """What is remarked on a figure, without what the page says once for all."""
    return () if name.startswith("reserve_") else tuple(without(figure.notes, TOLD_ONCE))


def note_text(name: str, figure: Figure, words: Words, *, family: bool = False) -> str:
    """A figure's note, without what the page says once for all; empty where it cannot be said in this language."""
    told = told_together(notes_beside(name, figure), words)
    return plain_units(told or "", words, family=family)


def told_together(messages: Iterable[Message], words: Words) -> str | None:
    """Messages in a row; None where one cannot be said in this language."""
    told = [words.told(each) for each in messages]
    return None if None in told else joined(each for each in told if each)


def plain_units(text: str, words: Words, *, family: bool) -> str:
    """A sentence with its rates in words, for a family."""
    return text.replace(" /min", f" {words.get('unit.beats_family')}") if family else text
