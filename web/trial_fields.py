"""What is written down of a trial as fields of a form, and the edit out of what was changed of them.

A field sends beside its text what it showed (``was:NAME``): only what a person changed is changed, and two windows do
not undo each other's work.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import get_args

from ..ingest.clock_shift import written_shift
from ..records.mending import Edit
from ..records.protocol import Assistance, Protocol
from ..records.trial import EXERTION_RANGES, TRIAL_FIELDS, Trial
from ..records.typed_texts import parts_of_header, result_header, result_texts, typed_text
from ..reports.sheets.figure_text import unit_words
from ..reports.sheets.hand_results import row_label
from ..reports.words import Words
from .forms import Form
from .trace import phase_texts
from .trial_history import field_label

WAS, RESULT, SHIFT = "was:", "result:", "shift:"
GROUPS: Mapping[str, tuple[str, ...]] = {
    "happened": (
        *("notes", "stops", "assistance_given", "exertion", "exertion_scale", "distance_m"),
        *("battery_start_percent", "battery_end_percent", "practice"),
    ),
    "conditions": (
        *("health", "medicines", "hours_since_medicine", "footwear_orthoses", "device_used", "device_settings"),
        *("sensor_used", "tested_by", "temperature_c", "humidity_percent", "assistance_usual", "prompts_per_min"),
        "practice_trials",
    ),
    "when": ("on", "time_of_day", "zone", "assisted", "floor", "margin_s"),
}
LONG = frozenset({"notes", "health", "medicines", "stops"})
CHOICES: Mapping[str, tuple[str, ...]] = {
    "exertion_scale": tuple(EXERTION_RANGES),
    "assistance_given": get_args(Assistance),
    "assistance_usual": get_args(Assistance),
    "practice": ("yes", "no"),
}


@dataclass(frozen=True, slots=True)
class Field:
    """One field.

    kind : ``text``, ``long``, ``number``, ``date`` or ``choice``
    choices : value and name of each
    """

    name: str
    label: str
    text: str
    was: str
    kind: str = "text"
    choices: tuple[tuple[str, str], ...] = ()


def groups_of(trial: Trial, protocol: Protocol, words: Words, form: Form) -> list[tuple[str, list[Field]]]:
    """Fields in their groups; what a form was sent with stands in them again."""
    found = [(group, [_field(trial, name, words, form) for name in names]) for group, names in GROUPS.items()]
    results = _results(trial, protocol, words, form)
    return [*([("results", results)] if results else []), *found, *_files(trial, words, form)]


def _field(trial: Trial, name: str, words: Words, form: Form) -> Field:
    return field_of(name, typed_text(trial, name), words, form)


def field_of(name: str, was: str, words: Words, form: Form) -> Field:
    """The field of a trial's form that is typed as ``name``; ``was``: what stands in it."""
    rule = TRIAL_FIELDS.get(name)
    unit = (
        ""
        if name == "time_of_day"
        else rule.unit
        if rule
        else "%"
        if name.endswith("_percent")
        else "m"
        if name == "distance_m"
        else ""
    )
    label = field_label(name, words)
    label = words.get("web_trial.with_unit", name=label, unit=unit) if unit else label
    choices = tuple((each, _choice(name, each, words)) for each in CHOICES.get(name, ()))
    kind = "choice" if choices else "long" if name in LONG else "date" if name == "on" else "text"
    return Field(name, label, _sent(form, name, was), was, kind, choices)


def _choice(name: str, value: str, words: Words) -> str:
    return words.get(f"web_trial.{value}") if name == "practice" else words.typed(value)


def _sent(form: Form, name: str, was: str) -> str:
    return form.text(name) if name in form.fields else was


def _results(trial: Trial, protocol: Protocol, words: Words, form: Form) -> list[Field]:
    return result_fields(protocol, result_texts(trial), words, form)


def result_fields(protocol: Protocol, there: Mapping[str, str], words: Words, form: Form) -> list[Field]:
    """A field for each attempt of each side, and for each result that is there beyond them.

    there : results as they are typed, by their columns
    """
    wanted = [
        (each.name, side, attempt)
        for each in protocol.hand_measures
        for side in (("left", "right") if each.sides else (None,))
        for attempt in range(1, each.attempts + 1)
    ]
    headers = {result_header(*each): each for each in wanted}
    headers |= {each: key for each in there if each not in headers and (key := parts_of_header(each)) is not None}
    units = {each.name: each.unit for each in protocol.hand_measures}
    found: list[Field] = []
    for header, (name, side, attempt) in headers.items():
        unit = unit_words(name, units.get(name, ""), words, family=False)
        label = words.get("web_trial.with_unit", name=row_label(name, side, attempt, words), unit=unit)
        was = there.get(header, "")
        found.append(Field(RESULT + header, label, _sent(form, RESULT + header, was), was, "number"))
    return found


def _files(trial: Trial, words: Words, form: Form) -> list[tuple[str, list[Field]]]:
    """By how much each file's clock was off."""
    found: list[Field] = []
    for each in trial.files:
        shift = trial.clock_shifts.get(each.path)
        was, name = written_shift(shift) if shift else "", SHIFT + each.path
        found.append(Field(name, words.get("web_trial.shift_of", file=each.path), _sent(form, name, was), was))
    return [("files", found)] if found else []


def edit_of(trial: Trial, form: Form) -> Edit:
    """What a person changed.

    Raises
    ------
    HalfPhase
        If a phase has one end only.
    """
    sent = {name: form.text(name) for name in form.fields}
    texts = phase_texts(sent)
    changed = {
        name: text
        for name, text in sent.items()
        if f"{WAS}{name}" in sent and _plain(text) != _plain(sent[f"{WAS}{name}"])
    }
    typed = {name: text for name, text in changed.items() if not name.startswith((RESULT, SHIFT))}
    results = {name.removeprefix(RESULT): text for name, text in changed.items() if name.startswith(RESULT)}
    shifts = {name.removeprefix(SHIFT): text for name, text in changed.items() if name.startswith(SHIFT)}
    kept = {each.path for each in trial.files}
    return Edit(
        texts={**texts, **typed},
        results=tuple(f"{header}={text or 'none'}" for header, text in results.items()),
        clock_shifts=tuple(f"{file}={text or 'none'}" for file, text in shifts.items() if file in kept),
        take_out=tuple(each for each in form.all("take_out") if each in kept),
        answers=form.all("answer"),
    )


def _plain(text: str) -> str:
    """A browser sends lines of a text with other ends than it was given."""
    return "\n".join(text.split("\r\n")).strip()
