"""The verdict as a sentence for a teacher: with numbers and units, and better or worse only as the protocol says."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ...metrics.glossary import FIGURES, ZONE_FIGURES
from ...words.numbers import rounded, shortest
from ..protocol import Better
from .differences import Difference
from .shown_numbers import ShownChange, places_of, shown_change
from .verdict import CANNOT_BE_TOLD, DECREASE, INCREASE, WITHIN, Judged


@dataclass(frozen=True, slots=True)
class Told:
    """What a sentence is made of.

    subject : in words, as in “heart rate rise (left)”
    own_rhythm : the verdict holds if the heart kept its own rhythm in short gaps
    """

    subject: str
    unit: str
    before: float
    after: float
    judged: Judged
    error_from: str
    better: Better
    why_no_direction: str = ""
    own_rhythm: bool = False


def sentence(told: Told) -> str:
    """The whole sentence."""
    parts = [f"{_moved(told)} {_against_variation(told)}", _direction(told)]
    return " ".join(part for part in parts if part)


def for_the_better(judged: Judged, better: Better) -> bool | None:
    """Whether a change beyond variation goes the better way; None for any other verdict, or without a direction."""
    if better == "no direction" or judged.verdict not in (INCREASE, DECREASE):
        return None
    return (judged.verdict == INCREASE) == (better == "higher")


def error_from(judged: Judged, retests: int) -> str:
    """Whose repeats the day-to-day error comes from, in words; empty without one. A borrowed one says so."""
    if judged.source is None:
        return ""
    if judged.source == "own":
        return "own baselines" if retests == 1 else "own baselines and re-tests"
    others = f"borrowed from {judged.others} other students on the same protocol"
    return f"{others}, with the student's own repeats" if judged.source == "borrowed with own" else others


def ask(found: Sequence[Difference]) -> str:
    """What somebody who was there must say before the verdict holds; empty where nothing is asked."""
    what = ", ".join(f"{each.label} ({each.baseline}; {each.retest})" for each in found if each.asked)
    return f"Ask first whether this was the same: {what}. If it was not, the two cannot be compared." if what else ""


def say(value: float, unit: str = "", *, places: int | None = None) -> str:
    """A number as a teacher would write it: three figures, four from a hundred on; or with so many decimals at most."""
    if math.isinf(value):
        return "any number"
    text = shortest(float(rounded(value, places_of(value) if places is None else places)))
    return f"{text.replace('-', '−')} {unit}".strip()


def in_words(name: str) -> str:
    """A figure's name in words; a hand measure's as it is written."""
    if name in ZONE_FIGURES:
        return f"time at {FIGURES[name].title} effort"
    return FIGURES[name].title if name in FIGURES else name.replace("_", " ")


def _moved(told: Told) -> str:
    subject = told.subject[:1].upper() + told.subject[1:]
    shown = _shown(told)
    before, after, change = (
        say(value, told.unit, places=shown.places) for value in (shown.before, shown.after, abs(shown.difference))
    )
    if shown.difference == 0:
        return f"{subject} was {before} both times."
    verb = "rose" if shown.difference > 0 else "fell"
    return f"{subject} {verb} from {before} to {after}, by {change}."


def _shown(told: Told) -> ShownChange:
    return shown_change(told.before, told.after, told.judged.detectable)


def _against_variation(told: Told) -> str:
    judged = told.judged
    if judged.detectable is None:
        between = ""
        if judged.low < judged.high:
            between = (
                f"With the stretches that were not measured the change lies between {say(judged.low, told.unit)} and"
                f" {say(judged.high, told.unit)}. "
            )
        return (
            f"{between}One baseline cannot tell a change from day-to-day variation: two or more baselines on different"
            " days can, or the variation of other students on the same protocol."
        )
    if judged.rising and judged.drift is not None:
        way = "rising" if judged.drift > 0 else "falling"
        return (
            f"The baselines were {way} already, by about {say(abs(judged.drift), told.unit)} from one to the next, so"
            " it cannot be told whether this is more than that going on."
        )
    detectable = (
        f"{say(judged.detectable, told.unit, places=_shown(told).places)} ({judged.percent:g} %, {told.error_from})"
    )
    if judged.verdict in (INCREASE, DECREASE):
        room = " whatever the unmeasured stretches held" if judged.low < judged.high else ""
        if told.own_rhythm:
            room = ", if the heart kept its own rhythm in the short unmeasured stretches"
        return f"That is more than day-to-day variation explains, which is up to {detectable}{room}."
    if judged.verdict == WITHIN:
        return f"Day-to-day variation alone explains up to {detectable}, so no change is shown."
    if judged.verdict == CANNOT_BE_TOLD:
        return (
            f"Day-to-day variation explains up to {detectable}, and with the stretches that were not measured the"
            f" change lies between {say(judged.low, told.unit)} and {say(judged.high, told.unit)}: it cannot be told"
            " apart."
        )
    return ""


def _direction(told: Told) -> str:
    good = for_the_better(told.judged, told.better)
    if good is None:
        return told.why_no_direction if told.judged.verdict in (INCREASE, DECREASE) else ""
    return f"The protocol calls {told.better} better, so this is {'for the better' if good else 'the other way'}."
