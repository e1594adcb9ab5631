"""Figures that are not given, together by the reason; what was merely not asked for is passed over."""

from collections.abc import Mapping, Sequence

from ...metrics.figure import Figure
from ...metrics.message_codes import code_of
from ...metrics.messages.heart_rate import NOT_ASKED, WHY_NO_HEART_RATE
from ...words.message import Message
from ...words.vocabulary import MOTION_FIGURES, ZONE_FIGURES
from ..words import Words
from .figure_text import capital, label, plain_units

_RESERVE = frozenset({"reserve_mean", "reserve_peak", "training_impulse", *ZONE_FIGURES})


def not_given(figures: Mapping[str, Figure], words: Words, *, family: bool) -> tuple[str, ...]:
    """A line for each reason."""
    reasons: dict[Message, list[str]] = {}
    for name, figure in figures.items():
        why = figure.reason
        if figure.value is None and why is not None and code_of(why) not in NOT_ASKED:
            reasons.setdefault(why, []).append(name)
    return tuple(reason_line(why, names, words, family=family) for why, names in reasons.items())


def reason_line(why: Message, names: Sequence[str], words: Words, *, family: bool) -> str:
    """Which figures, and why."""
    said = words.reason(why)
    plain = words.get("effort.why_untold") if said is None else plain_units(said, words, family=family)
    return words.get("effort.not_given_item", figures=capital(_named(why, names, words)), why=plain)


def _named(why: Message, names: Sequence[str], words: Words) -> str:
    """The figures in words, whole groups by the group."""
    if code_of(why) == WHY_NO_HEART_RATE.code:
        return words.get("effort.all_heart")
    if len(names) > 3 and set(names) <= set(MOTION_FIGURES):
        return words.get("effort.all_movement")
    rest = list(names)
    parts = []
    if {"reserve_mean", *ZONE_FIGURES} <= set(rest):
        parts.append(words.get("effort.reserve_figures"))
        rest = [name for name in rest if name not in _RESERVE]
    return words.listed(parts + [label(name, words) for name in rest])
