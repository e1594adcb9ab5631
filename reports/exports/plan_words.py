"""Numbers, units and names as an education plan has them: plain units, one number a fact, no word of statistics."""

from collections.abc import Mapping
from functools import lru_cache

from ...metrics.figure import Figure
from ...records.change.written_mean import written_mean
from ...records.protocol import HandMeasure
from ...records.trial import Trial
from ...words.numbers import rounded, shortest
from ...words.render import LONG_S
from ...words.render import texts as texts_of
from ...words.vocabulary import digits
from ..sheets.figure_text import bounds_text, label, unit_words
from ..words import Words

SIDES = ("left", "right", None)


@lru_cache
def plan_texts(language: str) -> Mapping[str, str]:
    """The texts of one language."""
    return {key.removeprefix("plan."): text for key, text in texts_of(language).items() if key.startswith("plan.")}


def plain_label(name: str, words: Words) -> str:
    """A figure's name without a word of statistics."""
    return plan_texts(words.language).get(f"label_{name}") or label(name, words)


def plain_number(name: str, value: float, unit: str, words: Words, *, places: int | None = None) -> str:
    """A number without its unit, as it stands before “to”; a time with its own.

    places : decimals at most; None: those of the figure. A short time keeps them too, so that it is the one of the
        change sheet: whole seconds would make 19.9 and 19.7 the same, and of 73.45, shown there as 73.5, 74
    """
    if unit == "s" and (places is None or abs(value) > LONG_S):
        return plain_time(value, words)
    shown = shortest(float(rounded(value, digits(name, unit) if places is None else places)))
    text = words.decimal(shown.replace("-", "−"))
    return plan_texts(words.language)["seconds"].format(seconds=text) if unit == "s" else text


def plain_amount(name: str, value: float, unit: str, words: Words, *, places: int | None = None) -> str:
    """A number with its unit in words; what the name says already is not said again."""
    shown = plain_number(name, value, unit, words, places=places)
    if unit in ("s", "/m"):
        return shown
    return f"{shown} {unit_words(name, unit, words, family=True, one=shown == '1')}".strip()


def plain_time(seconds: float, words: Words) -> str:
    """48 s, or 4 min 12 s."""
    whole = int(rounded(seconds, 0))
    texts = plan_texts(words.language)
    if abs(whole) <= LONG_S:
        return texts["seconds"].format(seconds=words.number(whole))
    minutes, rest = divmod(abs(whole), 60)
    sign = "−" if whole < 0 else ""
    return sign + texts["minutes" if rest else "whole_minutes"].format(minutes=minutes, seconds=rest)


def of_figure(name: str, figure: Figure, words: Words) -> str:
    """A figure's value; “about” where what was not measured leaves it open."""
    if figure.value is None:
        return words.get("form.dash")
    value = plain_amount(name, figure.value, figure.unit, words)
    return plan_texts(words.language)["about"].format(value=value) if bounds_text(name, figure, words) else value


def by_hand(trial: Trial, measure: HandMeasure, words: Words) -> str:
    """Results entered by hand, each side by itself; attempts together, as a comparison takes them."""
    texts, parts = plan_texts(words.language), list[str]()
    for side in SIDES:
        values = [one.value for one in trial.hand_results if one.name == measure.name and one.side == side]
        if not values and side is None and measure.name == "distance_covered" and trial.distance_m is not None:
            values = [trial.distance_m]
        if values:
            value = plain_amount(measure.name, written_mean(values), measure.unit, words, places=2)
            value = texts["attempts"].format(value=value, count=len(values)) if len(values) > 1 else value
            parts.append(texts["side"].format(side=words.get(f"value.{side}"), value=value) if side else value)
    return ", ".join(parts)
