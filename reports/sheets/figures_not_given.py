"""Figures that are not given, together by the reason; what was merely not asked for is passed over."""

from collections.abc import Mapping, Sequence

from ...metrics.figure import Figure
from ...metrics.glossary import MOTION_FIGURES, NOT_ASKED, ZONE_FIGURES
from ...words.message import Message
from ...words.render import english
from ..words import Words
from .figure_text import capital, label, plain_units

_RESERVE = frozenset({"reserve_mean", "reserve_peak", "training_impulse", *ZONE_FIGURES})


def not_given(figures: Mapping[str, Figure], words: Words, *, family: bool) -> tuple[str, ...]:
    """A line for each reason."""
    reasons: dict[Message, list[str]] = {}
    for name, figure in figures.items():
        why = figure.reason
        if figure.value is None and why is not None and not any(mark in english(why) for mark in NOT_ASKED):
            reasons.setdefault(why, []).append(name)
    return tuple(reason_line(why, names, words, family=family) for why, names in reasons.items())


def reason_line(why: Message, names: Sequence[str], words: Words, *, family: bool) -> str:
    """Which figures, and why."""
    said = words.told(why)
    plain = words.get("effort.why_untold") if said is None else plain_units(said, words, family=family)
    plain = plain.removeprefix(f"{words.get('effort.not_given')}: ")
    return words.get("effort.not_given_item", figures=capital(_named(why, names, words)), why=plain)


def _named(why: Message, names: Sequence[str], words: Words) -> str:
    """The figures in words, whole groups by the group."""
    if english(why).endswith("no heart rate in the recording."):
        return words.get("effort.all_heart")
    if len(names) > 3 and set(names) <= set(MOTION_FIGURES):
        return words.get("effort.all_movement")
    rest = list(names)
    parts = []
    if {"reserve_mean", *ZONE_FIGURES} <= set(rest):
        parts.append(words.get("effort.reserve_figures"))
        rest = [name for name in rest if name not in _RESERVE]
    return words.listed(parts + [label(name, words) for name in rest])
