"""The verdict in sentences: with numbers and units, and better or worse only as the protocol says."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ...words.message import Message
from ...words.numbers import rounded, shortest
from ..protocol import Better
from . import messages
from .differences import Difference
from .quantities import amount_with_unit
from .shown_numbers import places_of, shown_change
from .verdict import CANNOT_BE_TOLD, DECREASE, INCREASE, WITHIN, Judged


@dataclass(frozen=True, slots=True)
class Told:
    """What the sentences are made of.

    subject : a figure or hand measure, or one side of it; ``figure`` is its name
    repeats : whose repeats the error comes from
    own_rhythm : the verdict holds if the heart kept its own rhythm in short gaps
    """

    subject: Message
    figure: str
    unit: str
    before: float
    after: float
    judged: Judged
    repeats: Message | None
    better: Better
    why_no_direction: Message | None = None
    own_rhythm: bool = False

    def amount(self, value: float, *, places: int | None = None) -> Message:
        """A number with the unit of the figure."""
        return amount_with_unit(value, self.unit, self.figure, places=places)


def sentences(told: Told) -> tuple[Message, ...]:
    """How it moved, against day-to-day variation, and whether that is for the better."""
    return (_moved(told), *_against_variation(told), *_direction(told))


def for_the_better(judged: Judged, better: Better) -> bool | None:
    """Whether a change beyond variation goes the better way; None for any other verdict, or without a direction."""
    if better == "no direction" or judged.verdict not in (INCREASE, DECREASE):
        return None
    return (judged.verdict == INCREASE) == (better == "higher")


def repeats(judged: Judged, retests: int) -> Message | None:
    """Whose repeats the day-to-day error comes from; None without one. A borrowed one says so."""
    if judged.source is None:
        return None
    if judged.source == "own":
        return messages.REPEATS_OWN if retests == 1 else messages.REPEATS_OWN_BOTH
    own = judged.source == "borrowed with own"
    return (messages.repeats_borrowed_own if own else messages.repeats_borrowed)(judged.others)


def ask(found: Sequence[Difference]) -> tuple[Message, ...]:
    """What somebody who was there must say before the verdict holds, if anything."""
    what = tuple(each.message() for each in found if each.asked)
    return (messages.verdict_ask(what),) if what else ()


def say(value: float, *, places: int | None = None) -> str:
    """A number as a teacher would write it: three figures, four from a hundred on; or with so many decimals at most."""
    if math.isinf(value):
        return "any number"
    return shortest(float(rounded(value, places_of(value) if places is None else places))).replace("-", "−")


def _moved(told: Told) -> Message:
    """Which way it went; where the unmeasured stretches allow no change or the other way, what was measured only."""
    shown = shown_change(told.before, told.after, told.judged.detectable)
    before, after, change = (
        told.amount(value, places=shown.places) for value in (shown.before, shown.after, abs(shown.difference))
    )
    if shown.difference == 0:
        return messages.verdict_same(told.subject, before)
    if told.judged.low < told.judged.high and told.judged.low <= 0 <= told.judged.high:
        return messages.verdict_way_open(told.subject, before, after)
    return (messages.verdict_rose if shown.difference > 0 else messages.verdict_fell)(
        told.subject, before, after, change
    )


def _against_variation(told: Told) -> tuple[Message, ...]:
    judged = told.judged
    low, high = told.amount(judged.low), told.amount(judged.high)
    if judged.detectable is None or told.repeats is None:
        between = (messages.verdict_between(low, high),) if judged.low < judged.high else ()
        return (*between, messages.VERDICT_ONE_BASELINE)
    if judged.rising and judged.drift is not None:
        drift = told.amount(abs(judged.drift))
        return ((messages.verdict_rising if judged.drift > 0 else messages.verdict_falling)(drift),)
    places = shown_change(told.before, told.after, judged.detectable).places
    value = told.amount(judged.detectable, places=places)
    detectable = messages.verdict_detectable(value, judged.percent, told.repeats)
    if judged.verdict == WITHIN:
        return (messages.verdict_within(detectable),)
    if judged.verdict == CANNOT_BE_TOLD:
        return (messages.verdict_cannot(detectable, low, high),)
    if told.own_rhythm:
        return (messages.verdict_beyond_own_rhythm(detectable),)
    return ((messages.verdict_beyond_unmeasured if judged.low < judged.high else messages.verdict_beyond)(detectable),)


def _direction(told: Told) -> tuple[Message, ...]:
    good = for_the_better(told.judged, told.better)
    if good is None:
        beyond = told.judged.verdict in (INCREASE, DECREASE)
        return (told.why_no_direction,) if beyond and told.why_no_direction is not None else ()
    if told.better == "higher":
        return (messages.VERDICT_BETTER_HIGHER if good else messages.VERDICT_OTHER_HIGHER,)
    return (messages.VERDICT_BETTER_LOWER if good else messages.VERDICT_OTHER_LOWER,)
