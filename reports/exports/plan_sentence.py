"""Two lines about a student, ready to paste into an education plan, and the method in a footnote.

The first line is the present level, the second the change against the own first tests. Plain units, one set of numbers:
where there is a comparison, both lines tell its numbers. Never a norm, a rank, a word for the student or a word of
statistics; no other student is told of. The texts stand in ``plan.toml`` of each language.
"""

import math
from collections.abc import Iterator, Mapping, Sequence

from ...errors import OwnmarkError
from ...metrics.figure import Figure
from ...records.change.limits import limits_of_trial
from ...records.change.messages import ON_BASIS, VERDICT_SIDES_DIFFER
from ...records.change.shapes import Comparison
from ...records.change.shown_numbers import ShownChange, shown_change, shown_sides
from ...records.change.verdict import BEYOND, NOT_COMPARABLE, NOT_GIVEN, WITHIN, Verdict, Withheld
from ...records.protocol import Protocol
from ...records.trial import Trial
from ...words.vocabulary import MOTION_FIGURES, ON_CHAIR
from ..refusals import refusal
from ..sheets.figure_text import capital, value_of
from ..words import Words
from .plan_health import told_difference
from .plan_method import method
from .plan_words import by_hand, of_figure, plain_amount, plain_label, plain_number, plan_texts

__all__ = ["plan_sentence", "plan_texts"]

Figures = Mapping[str, Figure]
_MODERATE_OR_MORE = ("time_moderate", "time_vigorous", "time_near_maximal")


def plan_sentence(
    trial: Trial,
    protocol: Protocol,
    comparison: Comparison | OwnmarkError | None = None,
    *,
    language: str = "en",
    with_health: bool = False,
) -> str:
    """A student's present level and change on one protocol: two lines, and the method as a third.

    Parameters
    ----------
    trial : the student's last one, with its sheet
    protocol : the version that it was done by
    comparison : with the own first tests, or why there is none although there are two trials
    with_health : with what is written down of health and medicines; a sheet is told as it comes
    """
    words = Words(language)
    figures: Figures = {} if trial.sheet is None else trial.sheet.figures
    beside = _beside(trial, protocol, figures, comparison, words)
    level = [*_primary(trial, protocol, figures, comparison, words), *beside.values()]
    first = " ".join([_level(trial, protocol, level, words), *_remarks(trial, protocol, figures, words)])
    second = " ".join(_change(comparison, words, described=bool(level), with_health=with_health))
    effort = "effort" in beside
    foot = method(trial, protocol, figures, comparison, words, effort=effort, with_health=with_health)
    return "\n".join(line for line in (first, second, foot) if line)


def _level(trial: Trial, protocol: Protocol, level: Sequence[str], words: Words) -> str:
    """When, what, how, with which help, and what was reached."""
    texts = plan_texts(words.language)
    device = trial.device_used or protocol.device or protocol.work_mode
    assistance = trial.assistance_given or protocol.assistance
    facts = [words.typed(device)] if device and device.lower() != "none" else []
    facts += [texts["helped"].format(assistance=words.typed(assistance))] if assistance else []
    return texts["level" if level else "level_nothing"].format(
        date=words.date(trial.on),
        title=words.typed(protocol.title).strip("«»"),
        set_up=texts["set_up"].format(facts="; ".join(facts)) if facts else "",
        code=trial.code,
        level="; ".join(level),
    )


def _primary(
    trial: Trial, protocol: Protocol, figures: Figures, found: Comparison | OwnmarkError | None, words: Words
) -> Iterator[str]:
    """What the protocol is judged by: with the number of the comparison, where there is one."""
    texts, name = plan_texts(words.language), protocol.primary_figure
    measure, value = protocol.hand_measure(name), ""
    if isinstance(found, Comparison) and found.primary_figure == name:
        value = _of_comparison(found, words)
    if not value and measure is not None:
        value = by_hand(trial, measure, words)
    elif not value and value_of(figures, name) is not None:
        value = of_figure(name, figures[name], words)
    if value:
        yield texts["figure"].format(label=plain_label(name, words), value=value)


def _of_comparison(found: Comparison, words: Words) -> str:
    """The value at the re-test as the second line has it; empty where the comparison has no numbers."""
    texts, name = plan_texts(words.language), found.primary_figure
    days = list(dict.fromkeys(each.on for each in found.counted(found.retests)))
    if found.sides:
        parts = [
            texts["side"].format(
                side=words.get(f"value.{side}"),
                value=plain_amount(name, shown.after, found.unit, words, places=shown.places),
            )
            for side, shown in shown_sides(found.sides).items()
        ]
        value = ", ".join(parts)
    elif found.baseline_value is None or found.retest_value is None:
        return ""
    else:
        shown = shown_change(found.baseline_value, found.retest_value, found.detectable_change)
        value = plain_amount(name, shown.after, found.unit, words, places=shown.places)
        value = texts["about"].format(value=value) if found.change_low != found.change_high else value
    return value if len(days) == 1 else texts["over"].format(value=value, dates=_days(days, words))


def _beside(
    trial: Trial, protocol: Protocol, figures: Figures, found: Comparison | OwnmarkError | None, words: Words
) -> dict[str, str]:
    """How long without a break, and how long at moderate effort or more: what effort is scored by.

    Where the comparison rests on the baseline's rest and maximum, the time at effort is not told beside its numbers:
    it rests on others.
    """
    texts, told = plan_texts(words.language), dict[str, str]()
    longest = figures.get("longest_moving")
    of_student = protocol.primary_figure != "longest_moving" and not _of_chair(trial)
    if of_student and longest is not None and longest.value is not None:
        told["moved"] = texts["moved"].format(value=of_figure("longest_moving", longest, words))
    other_basis = isinstance(found, Comparison) and any(note.code == ON_BASIS for note in found.notes)
    if trial.sheet is not None and trial.sheet.provenance.zones_by == "reserve" and not other_basis:
        begin, end = trial.sheet.provenance.phases.work
        whole = _together([figures.get(name) for name in _MODERATE_OR_MORE], end - begin)
        if whole is not None:
            told["effort"] = texts["effort"].format(value=of_figure("time_moderate", whole, words))
    return told


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


def _remarks(trial: Trial, protocol: Protocol, figures: Figures, words: Words) -> Iterator[str]:
    """What changes the meaning of the level: a practice trial, a figure that is missing, a chair's own movement."""
    texts, name = plan_texts(words.language), protocol.primary_figure
    if any(each.name == name for each in limits_of_trial(trial, protocol)):
        yield texts["limit"]
    if trial.practice:
        yield texts["practice"]
    if name in figures and figures[name].value is None:
        reason = figures[name].reason
        why = (None if reason is None else words.reason(reason)) or texts["untold"]
        yield texts["missing"].format(label=plain_label(name, words), why=why)
    if _of_chair(trial) and name in MOTION_FIGURES:
        yield texts["chair"]


def _change(
    found: Comparison | OwnmarkError | None, words: Words, *, described: bool, with_health: bool
) -> Iterator[str]:
    """The change against the own first tests."""
    texts = plan_texts(words.language)
    if found is None:
        yield texts["one_trial" if described else "one_trial_nothing"]
        return
    if isinstance(found, OwnmarkError):
        yield texts["no_comparison"].format(why=refusal(found, words) or texts["untold"])
        return
    dates = _days([each.on for each in found.counted(found.baselines)], words)
    if found.verdict == NOT_COMPARABLE:
        what = [told_difference(each, words, with_health=with_health) for each in found.differences if each.forbids]
        yield texts["not_comparable"].format(dates=dates, differences="; ".join(dict.fromkeys(what)))
        return
    if found.verdict == NOT_GIVEN and not found.sides:
        yield texts["not_given"].format(dates=dates, why=" ".join(map(words.message, found.sentences)))
        return
    yield from _verdict(found, dates, words)
    asked = [told_difference(each, words, with_health=with_health) for each in found.differences if each.asked]
    if asked:
        yield texts["ask"].format(differences="; ".join(dict.fromkeys(asked)))


def _verdict(found: Comparison, dates: str, words: Words) -> Iterator[str]:
    """From what to what, whether that is more than it varies, and whether it is for the better."""
    texts, name = plan_texts(words.language), plain_label(found.primary_figure, words)
    if not found.sides:
        before, after = found.baseline_value or 0.0, found.retest_value or 0.0
        shown = shown_change(before, after, found.detectable_change)
        yield texts["since"].format(dates=dates, moved=_moved(name, shown, found, words))
        yield texts["no_change" if shown.difference == 0 else _key(found.verdict, found.withheld)]
    elif VERDICT_SIDES_DIFFER in found.sentences:
        moved = _moved_sides(name, found, words)
        yield texts["since"].format(dates=dates, moved=moved)
        for each in found.sides:
            side = capital(words.get(f"value.{each.side}"))
            yield texts["of_side"].format(side=side, verdict=texts[_key(each.verdict, each.withheld)])
    else:
        yield texts["since"].format(dates=dates, moved=_moved_sides(name, found, words))
        withheld: Withheld | None = next((each.withheld for each in found.sides if each.withheld), None)
        yield texts[_key(found.verdict, withheld)]
    if found.for_the_better is not None:
        yield texts["better" if found.for_the_better else "not_better"]


def _key(verdict: Verdict, withheld: Withheld | None) -> str:
    """The text of a verdict."""
    if withheld is not None:
        return "was_going"
    return "beyond" if verdict in BEYOND else "within" if verdict == WITHIN else "cannot"


def _moved(name: str, shown: ShownChange, found: Comparison, words: Words) -> str:
    texts, figure = plan_texts(words.language), found.primary_figure
    after = plain_amount(figure, shown.after, found.unit, words, places=shown.places)
    if shown.difference == 0:
        return texts["same"].format(label=name, value=after)
    before = plain_number(figure, shown.before, found.unit, words, places=shown.places)
    return texts["moved_to"].format(label=name, before=before, after=after)


def _moved_sides(name: str, found: Comparison, words: Words) -> str:
    """Both sides, each from what to what."""
    texts = plan_texts(words.language)
    parts = [
        _moved(words.get(f"value.{side}"), shown, found, words) for side, shown in shown_sides(found.sides).items()
    ]
    return texts["both_sides"].format(label=name, sides=", ".join(parts))


def _days(days: Sequence[str], words: Words) -> str:
    return words.listed([words.date_of(day) for day in dict.fromkeys(days)])
