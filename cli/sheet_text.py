"""An effort sheet as text: short sentences and small tables, every number with what it rests on."""

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

from ..ingest.clock_times import clock_text
from ..metrics.messages.heart_rate import NOT_ASKED, WHY_NO_HEART_RATE
from ..metrics.older_sheets import code_of, without
from ..words.message import Message
from ..words.numbers import nearest, rounded
from ..words.render import Words, english, joined
from ..words.vocabulary import CEILING_FIGURES, FIGURES, MOTION_FIGURES, ON_CHAIR

if TYPE_CHECKING:
    from ..metrics import EffortSheet, Figure

_WIDTH = 100
_MOST_POSSIBLE = 6
_LABELS = {
    "heart_rate_mean": "mean",
    "heart_rate_peak": "peak",
    "heart_rate_rise": "rise over rest",
    "share_above_125_rest": "time above 1.25 × rest",
    "share_above_150_rest": "time above 1.50 × rest",
    "beats_total": "beats",
    "beats_above_rest": "beats above rest",
    "beats_per_metre": "beats per meter",
    "cost_index": "cost index",
    "recovery_60s": "recovery in 60 s",
    "reserve_mean": "mean",
    "reserve_peak": "peak",
    "time_very_light": "very light",
    "time_light": "light",
    "time_moderate": "moderate",
    "time_vigorous": "vigorous",
    "time_near_maximal": "near-maximal",
    "training_impulse": "training impulse",
    "time_on_target": "time in the band",
    "longest_on_target": "longest stay",
    "time_above_ceiling": "time above it",
    "longest_above_ceiling": "longest stay above it",
    "first_above_ceiling": "first above it, at",
    "possible_above_ceiling": "possibly above it",
    "coverage_motion": "movement measured",
    "moving_time": "moving",
    "longest_moving": "longest without a break",
    "stop_count": "stops",
    "cadence_mean": "cadence",
    "cadence_variation": "cadence variation",
    "cycle_count": "cycles",
    "motion_level": "motion level",
    "turns_left": "turns to the left",
    "turns_right": "turns to the right",
    "heart_rate_moving_rise": "heart rate rise, moving",
}
WORDS = Words("en")
_MOVEMENT = "Movement at work"
_CEILING = "The therapist's ceiling"
_BY_RESERVE = "Against the student's own heart-rate reserve"
_GROUPS = (
    (
        "Heart rate at work (needs no maximum)",
        (
            "heart_rate_mean",
            "heart_rate_peak",
            "heart_rate_rise",
            "share_above_125_rest",
            "share_above_150_rest",
            "beats_total",
            "beats_above_rest",
            "beats_per_metre",
            "cost_index",
            "recovery_60s",
        ),
    ),
    (
        _BY_RESERVE,
        (
            "reserve_mean",
            "reserve_peak",
            "time_very_light",
            "time_light",
            "time_moderate",
            "time_vigorous",
            "time_near_maximal",
            "training_impulse",
        ),
    ),
    (_MOVEMENT, MOTION_FIGURES),
    ("Target band", ("time_on_target", "longest_on_target")),
    (_CEILING, CEILING_FIGURES),
)
_TOLD_ONCE = frozenset({"note.one_error", "note.chair"})
"""Codes of notes that the head of a group or the table of shifts says for all."""


def sheet_text(sheet: "EffortSheet") -> str:
    """The whole sheet."""
    parts = [_head(sheet)]
    for title, names in _GROUPS:
        given = [sheet.figures[name] for name in names if name in sheet.figures and _shown(sheet.figures[name])]
        if given:
            more = _possible(sheet) if title == _CEILING else []
            parts.append("\n".join([_title(title, sheet), *(_row(figure) for figure in given), *more]))
    parts += [
        part
        for part in (_own_rhythm_meant(sheet), _shift(sheet), _missing(sheet), _notes(sheet), _sources(sheet))
        if part
    ]
    parts.append("\n".join(["Cautions", *(_wrapped(f"- {english(caution)}") for caution in sheet.cautions)]))
    return "\n\n".join(parts)


def _title(title: str, sheet: "EffortSheet") -> str:
    """A group's title, which says what a figure is not."""
    if title == _BY_RESERVE and sheet.provenance.zones_by == "maximum":
        return "Zones by % of the student's own maximum"
    if title == _MOVEMENT and sheet.provenance.movement and sheet.provenance.movement.placement in ON_CHAIR:
        return "The chair moving (floor, speed and motor: not the student's effort)"
    return title


def _head(sheet: "EffortSheet") -> str:
    """Files, phases, coverage and basis."""
    made = sheet.provenance
    files = ", ".join(f"{Path(each.path).name} ({each.format})" for each in made.files)
    started = f", started {made.start.replace('T', ' ')}" if made.start else ""
    begin, end = made.phases.work
    lines = [
        f"{files}{started}",
        f"Work {clock_text(begin)} to {clock_text(end)}, {clock_text(end - begin)} long ({made.phases.how}). "
        + _measured(sheet),
    ]
    lines += [f"{name.capitalize()} {_span(span)}." for name in ("rest", "recovery") if (span := _phase(sheet, name))]
    basis = (
        [f"rest {rounded(made.basis.rest_bpm, 1)} /min ({made.basis.rest_how})"] if made.basis.rest_bpm else ["no rest"]
    )
    if made.basis.maximum_bpm:
        error = f", standard error {made.basis.maximum_see_bpm:g} /min" if made.basis.maximum_see_bpm else ""
        basis.append(f"maximum {rounded(made.basis.maximum_bpm, 1)} /min ({made.basis.maximum_how}{error})")
    else:
        basis.append("no maximum")
    if made.basis.conditions:
        basis.append(", ".join(made.basis.conditions))
    lines.append(f"Basis: {'; '.join(basis)}.")
    return "\n".join(_wrapped(line) for line in lines)


def _measured(sheet: "EffortSheet") -> str:
    """How much of the work phase was measured, and where it was not."""
    covered = sheet.figures["coverage_heart_rate"].value
    if covered is None:
        return "No heart rate was measured."
    gaps = sorted(sheet.provenance.unmeasured, key=lambda gap: gap[0] - gap[1])
    named = ", ".join(_span(gap) for gap in sorted(gaps[:3]))
    more = f" and shorter stretches ({len(gaps) - 3})" if len(gaps) > 3 else ""
    missing = f"; missing {named}{more}" if gaps else ""
    return f"Heart rate measured {rounded(covered, 1)} % of it{missing}."


def _phase(sheet: "EffortSheet", name: str) -> tuple[float, float] | None:
    return getattr(sheet.provenance.phases, name)


def _span(span: tuple[float, float]) -> str:
    return f"{clock_text(span[0])} to {clock_text(span[1])}"


def _shown(figure: "Figure") -> bool:
    """Figures that were given; the others are told in a list of their own."""
    return figure.value is not None


def _row(figure: "Figure") -> str:
    """One figure: label, value with unit, then bounds where they say more, and its note."""
    low, high = _value(figure, figure.low), _value(figure, figure.high)
    line = f"  {_LABELS[figure.name]:<24}{_value(figure, figure.value):>9} {_unit(figure):<6}"
    bounds = "" if low == high or "" in (low, high) else f"{low} to {high}"
    beside = "; ".join(part for part in (bounds, _own_rhythm(figure), _own_note(figure)) if part)
    hang = " " * len(line)
    return textwrap.fill(beside, _WIDTH, initial_indent=line, subsequent_indent=hang) if beside else line.rstrip()


def _own_rhythm(figure: "Figure") -> str:
    """The narrower bounds of a mean, where they are narrower as shown."""
    low, high = _value(figure, figure.own_rhythm_low), _value(figure, figure.own_rhythm_high)
    if "" in (low, high) or (low, high) == (_value(figure, figure.low), _value(figure, figure.high)):
        return ""
    return f"own rhythm {low if low == high else f'{low} to {high}'}"


def _own_rhythm_meant(sheet: "EffortSheet") -> str:
    """What the narrower bounds hang on, once, where any are shown."""
    if not any(_own_rhythm(figure) for figure in sheet.figures.values() if _shown(figure)):
        return ""
    from ..metrics.kinetics import LONGEST_GAP_S  # arrays are loaded only where they were used

    return _wrapped(
        f"Own rhythm: bounds of a mean if the heart kept its own rhythm in the gaps of up to {LONGEST_GAP_S:g} s. A "
        "run of another rhythm, or a pause, inside one of them is not covered."
    )


def _possible(sheet: "EffortSheet") -> list[str]:
    """Where the ceiling may have been passed, by readings that are in no other figure, and why they are in none."""
    found, words = sheet.provenance.possible_crossings, Words("en", terminal=True)
    lines = []
    for each in found[:_MOST_POSSIBLE]:
        why = words.listed([words.get(f"rule.{rule}") for rule in each.rules])
        text = f"possibly {_span((each.from_s, each.until_s))}, up to {nearest(each.highest_bpm)} /min: {why}"
        lines.append(textwrap.fill(text, _WIDTH, initial_indent="    ", subsequent_indent="      "))
    if len(found) > _MOST_POSSIBLE:
        lines.append(f"    and {len(found) - _MOST_POSSIBLE} stretches more")
    return lines


def _own_note(figure: "Figure") -> str:
    """A figure's note, unless the head or the table of shifts says it for all."""
    if figure.name.startswith("reserve_"):
        return ""
    return joined(map(english, without(figure.notes, _TOLD_ONCE)))


def _value(figure: "Figure", number: float | None) -> str:
    """A number as a person reads it."""
    if number is None:
        return ""
    if figure.unit == "s":
        return clock_text(number)
    if figure.unit == "/m" or figure.name == "training_impulse":
        return f"{rounded(number, 2)}"
    return f"{nearest(number)}" if figure.unit in ("/min", "1") else f"{rounded(number, 1)}"


def _unit(figure: "Figure") -> str:
    return "" if figure.unit in ("s", "1") else figure.unit


def _shift(sheet: "EffortSheet") -> str:
    """How zone times move with a predicted maximum."""
    lower = sheet.provenance.zones_if_maximum_is_one_see_lower
    higher = sheet.provenance.zones_if_maximum_is_one_see_higher
    if lower is None or higher is None:
        return ""
    lines = [
        "Because the maximum is predicted, the zones could as well be",
        f"  {'with a maximum of':<24}{lower.maximum_bpm:>9.0f}{higher.maximum_bpm:>10.0f} /min",
    ]
    for name, low in lower.times_s.items():
        lines.append(f"  {_LABELS[name]:<24}{clock_text(low):>9}{clock_text(higher.times_s[name]):>10}")
    note = sheet.figures["reserve_mean"].note
    return "\n".join([*lines, *([_wrapped(note)] if note else [])])


def _missing(sheet: "EffortSheet") -> str:
    """Figures that are not given, grouped by the reason; what was merely not asked for in one line."""
    reasons: dict[Message, list[str]] = {}
    for figure in sheet.figures.values():
        if figure.reason is not None:
            reasons.setdefault(figure.reason, []).append(figure.name)
    lines, words = [], Words("en", terminal=True)
    for reason, names in reasons.items():
        code = code_of(reason)
        if code in NOT_ASKED:
            continue
        none = code == WHY_NO_HEART_RATE.code
        named = "all figures of heart rate" if none else ", ".join(said(name) for name in names)
        lines.append(_wrapped(f"- {named}: {words.reason(words.message(reason))}"))
    return "\n".join(["Not given", *lines]) if lines else ""


def _notes(sheet: "EffortSheet") -> str:
    """What the reader and the rules found."""
    lines = [_wrapped(f"- {english(note)}") for note in sheet.provenance.notes]
    for stream, rules in sheet.flags.items():
        if rules:
            lines.append(f"- Samples flagged in {stream.replace('_', ' ')}:")
            lines += [
                textwrap.fill(
                    f"{count} {rule.replace('_', ' ')} ({WORDS.get(f'rule_finds.{rule}')})",
                    _WIDTH,
                    initial_indent="    ",
                    subsequent_indent="      ",
                )
                for rule, count in rules.items()
            ]
    return "\n".join(["Notes on the recording", *lines]) if lines else ""


def _sources(sheet: "EffortSheet") -> str:
    """Where the formulas come from, each source once; common practice has none."""
    by_source: dict[str, list[str]] = {}
    for figure in sheet.figures.values():
        if figure.value is not None:
            by_source.setdefault(figure.source, []).append(said(figure.name))
    lines = [_wrapped(f"- {source}: {', '.join(names)}") for source, names in by_source.items()]
    return "\n".join(["Sources of the formulas", *lines])


def said(name: str) -> str:
    """A figure's name where its group's title does not stand above it."""
    return FIGURES[name].title if name in FIGURES else name.replace("_", " ")


def _wrapped(text: str) -> str:
    """Wrapped for a terminal; lists hang."""
    hang = "  " if text.startswith("- ") else ""
    return textwrap.fill(text, _WIDTH, subsequent_indent=hang, break_on_hyphens=False)
