"""Sentences about a student, ready to paste into an education plan.

Present level, how it was tested, how much of it was measured, and the change against the own baseline with day-to-day
variation, all with units. Never a norm, a rank or a word for the student: a figure is compared with the student's own
and nobody else's. The texts stand in ``plan.toml`` of each language.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from ...errors import OwnmarkError
from ...metrics.figure import Figure
from ...records.change.messages import ON_BASIS
from ...records.change.shapes import Comparison
from ...records.protocol import HandMeasure, Protocol
from ...records.rules import SHOULD
from ...records.trial import Trial
from ...words.numbers import rounded, shortest
from ...words.render import texts as texts_of
from ...words.vocabulary import MOTION_FIGURES, ON_CHAIR
from ..refusals import refusal
from ..sheets.figure_text import bounds_text, label, unit_words, value_of, value_text
from ..sheets.set_up_words import difference_label
from ..sheets.verdict_words import verdict_sentence
from ..words import Words

Figures = Mapping[str, Figure]
_MODERATE_OR_MORE = ("time_moderate", "time_vigorous", "time_near_maximal")
_SIDES = ("left", "right", None)


def plan_sentence(
    trial: Trial, protocol: Protocol, comparison: Comparison | OwnmarkError | None = None, *, language: str = "en"
) -> str:
    """A student's present level on one protocol, as sentences in one paragraph.

    Parameters
    ----------
    trial : the student's last one, with its sheet
    protocol : the version that it was done by
    comparison : with the own baseline, or why there is none although there are two trials
    """
    words, texts = Words(language), plan_texts(language)
    figures: Figures = {} if trial.sheet is None else trial.sheet.figures
    level = [*_primary(trial, protocol, figures, words, texts), *_beside(trial, protocol, figures, words, texts)]
    sentences = [_opening(trial, protocol, level, words, texts)]
    sentences += [texts["practice"]] if trial.practice else []
    sentences += _missing(protocol, figures, words, texts)
    sentences += _how_measured(trial, protocol, figures, words, texts)
    sentences += _compared(comparison, words, texts, described=bool(level))
    return " ".join(sentences)


@lru_cache
def plan_texts(language: str) -> Mapping[str, str]:
    """The texts of one language."""
    return {key.removeprefix("plan."): text for key, text in texts_of(language).items() if key.startswith("plan.")}


def _opening(trial: Trial, protocol: Protocol, level: list[str], words: Words, texts: Mapping[str, str]) -> str:
    """When, how, with which help, who, and what was reached."""
    device = trial.device_used or protocol.device or protocol.work_mode
    assistance = trial.assistance_given or protocol.assistance
    facts = [words.typed(device)] if device and device.lower() != "none" else []
    facts += [texts["helped"].format(assistance=words.typed(assistance))] if assistance else []
    return texts["opening" if level else "opening_nothing"].format(
        date=words.date(trial.on),
        title=words.typed(protocol.title).strip("«»"),
        set_up=texts["set_up"].format(facts="; ".join(facts)) if facts else "",
        code=trial.code,
        level="; ".join(level),
    )


def _primary(
    trial: Trial, protocol: Protocol, figures: Figures, words: Words, texts: Mapping[str, str]
) -> Iterator[str]:
    """What the protocol is judged by."""
    name = protocol.primary_figure
    measure = protocol.hand_measure(name)
    if measure is not None:
        value = _by_hand(trial, measure, words, texts)
    elif value_of(figures, name) is not None:
        value = _with_bounds(name, figures[name], words, texts)
    else:
        return
    if value:
        yield texts["figure"].format(label=label(name, words), value=value)


def _by_hand(trial: Trial, measure: HandMeasure, words: Words, texts: Mapping[str, str]) -> str:
    """Results entered by hand, each side by itself; attempts by their mean, as a comparison takes them."""
    parts = []
    for side in _SIDES:
        values = [one.value for one in trial.hand_results if one.name == measure.name and one.side == side]
        if not values and side is None and measure.name == "distance_covered" and trial.distance_m is not None:
            values = [trial.distance_m]
        if values:
            mean = math.fsum(values) / len(values)
            shown = shortest(float(rounded(mean, 2)))
            unit = unit_words(measure.name, measure.unit, words, family=False, one=shown == "1")
            text = f"{words.decimal(shown)} {unit}".strip()
            text = texts["mean_of"].format(value=text, count=len(values)) if len(values) > 1 else text
            parts.append(texts["side"].format(side=words.get(f"value.{side}"), value=text) if side else text)
    return ", ".join(parts)


def _with_bounds(name: str, figure: Figure, words: Words, texts: Mapping[str, str]) -> str:
    """A figure with its unit, and its bounds where they say more."""
    value, bounds = value_text(name, figure, words), bounds_text(name, figure, words)
    if figure.unit == "/m":  # the name says it already
        behind = f" {unit_words(name, '/m', words, family=False)}"
        value, bounds = value.removesuffix(behind), bounds.removesuffix(behind)
    return texts["bounds"].format(value=value, bounds=bounds) if bounds else value


def _beside(
    trial: Trial, protocol: Protocol, figures: Figures, words: Words, texts: Mapping[str, str]
) -> Iterator[str]:
    """How long without a break, and how long at moderate effort or more: what effort is scored by."""
    if protocol.primary_figure != "longest_moving" and not _of_chair(trial):
        longest = figures.get("longest_moving")
        if longest is not None and longest.value is not None:
            yield texts["moved"].format(value=_with_bounds("longest_moving", longest, words, texts))
    if trial.sheet is not None and trial.sheet.provenance.zones_by == "reserve":
        begin, end = trial.sheet.provenance.phases.work
        whole = _together([figures.get(name) for name in _MODERATE_OR_MORE], end - begin)
        if whole is not None:
            key = "effort_predicted" if trial.sheet.provenance.basis.maximum_see_bpm is not None else "effort"
            yield texts[key].format(value=_with_bounds("time_moderate", whole, words, texts))


def _together(zones: Sequence[Figure | None], work_s: float) -> Figure | None:
    """The time in several zones; what was not measured lay in one of them at most once. None if one is not given."""
    bounded = []
    for zone in zones:
        if zone is None or zone.value is None:
            return None
        low, high = (zone.value if end is None else end for end in (zone.low, zone.high))
        bounded.append((zone.value, low, high))
    value, low, high = map(math.fsum, zip(*bounded, strict=True))
    unmeasured = max(high - low for _, low, high in bounded)
    high = max(value, min(high, low + unmeasured, work_s))
    return Figure(name="time_moderate", value=value, unit="s", low=low, high=high, source="")


def _of_chair(trial: Trial) -> bool:
    movement = None if trial.sheet is None else trial.sheet.provenance.movement
    return movement is not None and movement.placement in ON_CHAIR


def _missing(protocol: Protocol, figures: Figures, words: Words, texts: Mapping[str, str]) -> Iterator[str]:
    """Why the figure that counts is not there."""
    name = protocol.primary_figure
    if name in figures and figures[name].value is None:
        reason = figures[name].reason
        why = (None if reason is None else words.told(reason)) or texts["untold"]
        yield texts["missing"].format(label=label(name, words), why=why)


def _how_measured(
    trial: Trial, protocol: Protocol, figures: Figures, words: Words, texts: Mapping[str, str]
) -> Iterator[str]:
    """Measured shares, by hand how, and what a sensor on a chair does not show."""
    measure = protocol.hand_measure(protocol.primary_figure)
    if measure is not None and trial.hand_results and measure.how:
        yield texts["by_hand"].format(how=words.typed(measure.how.rstrip(".")) + ".")
    for name, key in (("coverage_heart_rate", "pulse_share"), ("coverage_motion", "motion_share")):
        if value_of(figures, name) is not None:
            yield texts[key].format(share=value_text(name, figures[name], words))
    if _of_chair(trial) and protocol.primary_figure in MOTION_FIGURES:
        yield texts["chair"]


def _compared(
    found: Comparison | OwnmarkError | None, words: Words, texts: Mapping[str, str], *, described: bool
) -> Iterator[str]:
    """The change against the own baseline."""
    if found is None:
        yield texts["one_trial" if described else "one_trial_nothing"]
        return
    if isinstance(found, OwnmarkError):
        yield texts["no_comparison"].format(why=refusal(found, words) or texts["untold"])
        return
    dates = words.listed([words.date_of(day) for day in dict.fromkeys(each.on for each in found.baselines)])
    verdict = verdict_sentence(found, words)
    yield texts["compared"].format(dates=dates, verdict=verdict)
    if any(note.code == ON_BASIS for note in found.notes):
        yield texts["same_basis"]
    others = [
        texts["differed"].format(
            label=difference_label(each, words),
            before=words.message(each.before),
            after=words.message(each.after),
        )
        for each in found.differences
        if each.rule == SHOULD and not each.forbids
    ]
    if others and found.comparable:
        yield texts["also_different"].format(differences="; ".join(others))
