"""The footnote of a plan's two lines: how it was measured, what was not, and how a change is judged.

Everything that must be known and is no part of a plan's sentence stands here, so that the two lines stay plain.
"""

from collections.abc import Iterator, Mapping

from ...errors import OwnmarkError
from ...metrics.figure import Figure
from ...records.change.messages import ON_BASIS
from ...records.change.shapes import Comparison
from ...records.change.shown_numbers import places_of
from ...records.change.verdict import BEYOND, NOT_COMPARABLE, NOT_GIVEN
from ...records.protocol import Protocol
from ...records.rules import SHOULD
from ...records.trial import Trial
from ..sheets.figure_text import bounds_text, value_of, value_text
from ..words import Words
from .plan_health import told_difference
from .plan_words import plain_amount, plain_label, plan_texts

_REPEATS: Mapping[str, str] = {"own": "repeats_own", "borrowed": "repeats", "borrowed with own": "repeats_with_own"}


def method(
    trial: Trial,
    protocol: Protocol,
    figures: Mapping[str, Figure],
    found: Comparison | OwnmarkError | None,
    words: Words,
    *,
    effort: bool,
    with_health: bool,
) -> str:
    """The footnote in one line; empty where there is nothing to say.

    effort : the two lines tell the time at moderate effort or more
    with_health : with what is written down of health and medicines
    """
    parts = [*_measured(trial, protocol, figures, words)]
    if effort:
        predicted = trial.sheet is not None and trial.sheet.provenance.basis.maximum_see_bpm is not None
        parts.append(plan_texts(words.language)["effort_predicted" if predicted else "effort_by"])
    if isinstance(found, Comparison):
        parts += _judged(found, words, with_health=with_health)
    return plan_texts(words.language)["method"].format(parts=" ".join(parts)) if parts else ""


def _measured(trial: Trial, protocol: Protocol, figures: Mapping[str, Figure], words: Words) -> Iterator[str]:
    """By hand how, the shares that were measured, and between what a figure lies."""
    texts, name = plan_texts(words.language), protocol.primary_figure
    measure = protocol.hand_measure(name)
    if measure is not None and trial.hand_results and measure.how:
        yield texts["by_hand"].format(how=words.typed(measure.how.rstrip(".")) + ".")
    for share, key in (("coverage_heart_rate", "pulse_share"), ("coverage_motion", "motion_share")):
        if value_of(figures, share) is not None:
            yield texts[key].format(share=value_text(share, figures[share], words))
    if measure is None and name in figures:
        bounds = bounds_text(name, figures[name], words, family=True)
        if bounds:
            yield texts["bounds"].format(label=plain_label(name, words), bounds=bounds)


def _judged(found: Comparison, words: Words, *, with_health: bool) -> Iterator[str]:
    """From how much on a change counts and by whose repeats, on which basis, and what else was different."""
    texts = plan_texts(words.language)
    if any(note.code == ON_BASIS for note in found.notes):
        yield texts["same_basis"]
    if found.verdict in (NOT_COMPARABLE, NOT_GIVEN) and not found.sides:
        return
    percent = words.decimal(f"{found.percent:g}")
    repeats = texts[_REPEATS[found.error_source]] if found.error_source is not None else ""
    swings = [(each.side, each.detectable_change) for each in found.sides] or [(None, found.detectable_change)]
    values = []
    for side, swing in swings:
        if swing is not None:
            value = plain_amount(found.primary_figure, swing, found.unit, words, places=places_of(swing))
            values.append(texts["side"].format(side=words.get(f"value.{side}"), value=value) if side else value)
    if values and repeats:
        yield texts["detectable"].format(value=", ".join(values), percent=percent, repeats=repeats)
    else:
        yield texts["one_day"]
    if found.change_low != found.change_high and found.change_low is not None and found.change_high is not None:
        low, high = (
            plain_amount(found.primary_figure, end, found.unit, words, places=places_of(end))
            for end in (found.change_low, found.change_high)
        )
        yield texts["change_between"].format(low=low, high=high)
    if found.own_rhythm:
        yield texts["own_rhythm"]
    if found.shared_shift == "same way" and found.verdict in BEYOND:
        yield texts["of_days"]
    others = [
        told_difference(each, words, with_health=with_health)
        for each in found.differences
        if each.rule == SHOULD and not each.forbids
    ]
    if others and found.comparable:
        yield texts["also_different"].format(differences="; ".join(dict.fromkeys(others)))
