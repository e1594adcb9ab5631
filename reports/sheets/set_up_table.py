"""What was written down of how a trial was done, as rows of label and text. Only what is known stands there."""

from collections.abc import Iterator

from ...metrics.settings import Band
from ...records.protocol import FIELDS, Protocol
from ...records.student import Student
from ...records.trial import TRIAL_FIELDS, Trial
from ..words import Words
from .basis_rows import Row, basis_rows
from .figure_text import capital, unit_words

PLANNED = (
    *("work_mode", "device", "device_settings", "speed_setting", "resistance", "gear", "load_kg", "tyre_pressure_kpa"),
    *("surface", "course", "course_length_m", "gates", "cadence_target_per_min", "speed_target_m_per_s", "target"),
)
"""Facts of the set-up that decide what a figure means; the set-up card has all of them."""
DONE = (
    *("assistance_given", "medicines", "hours_since_medicine", "temperature_c", "footwear_orthoses", "sensor_used"),
    *("battery_start_percent", "battery_end_percent", "health", "tested_by", "practice_trials"),
)
BAND = "band"
"""In place of a unit: the value is a target band, so its percent are of the reserve."""


def facts(trial: Trial, student: Student, protocol: Protocol, words: Words, *, family: bool) -> tuple[Row, ...]:
    """Every fact that matters for reading a sheet: protocol, times, basis, set-up, help, conditions."""
    rows = [*_protocol(protocol, words), *_measured(trial, words, family=family)]
    for name in PLANNED:
        used = {"device": trial.device_used, "device_settings": trial.device_settings}
        value = used.get(name) or getattr(protocol, name, None)
        rows += fact_row(name, value, words, family=family)
    for name in DONE:
        value = getattr(trial, name)
        if name == "assistance_given" and value is None:
            rows += fact_row("assistance", protocol.assistance, words)
        else:
            rows += fact_row(name, value, words, family=family)
    rows += fact_row("distance_m", trial.distance_m, words, label="hand.distance_covered")
    rows += _sensor(protocol, words, moved=trial.sheet is None or trial.sheet.provenance.movement is not None)
    if trial.exertion is not None:
        scale = words.typed(trial.exertion_scale or "")
        rows.append((words.get("field.exertion"), f"{words.decimal(f'{trial.exertion:g}')} ({scale})"))
    if trial.stops:
        stops = "; ".join(f"{each.at}: {words.typed(each.why)}" for each in trial.stops)
        rows.append((words.get("field.stops"), stops))
    if trial.assisted:
        rows.append((words.get("field.assisted"), "; ".join(each.replace("-", "–") for each in trial.assisted)))
    if student.conditions:
        named = [words.get(f"condition.{each}") for each in student.conditions]
        rows.append((words.get("field.conditions"), "; ".join(named)))
    return tuple((capital(label), text) for label, text in rows)


def protocol_title(protocol: Protocol, words: Words) -> str:
    """The protocol's title; one that still is the catalogue's is known in every language."""
    return words.typed(protocol.title)


def written(value: object, unit: str, words: Words, *, family: bool = False) -> str:
    """A fact as text: numbers with their unit, words that are known in the language, others as a quotation."""
    if unit == "/min" and family:
        unit = words.get("unit.rhythm_family")
    if isinstance(value, tuple | list):
        return "; ".join(written(each, "", words) for each in value)
    if isinstance(value, int | float):
        if unit == "s":
            return words.duration(float(value))
        return f"{words.decimal(f'{value:g}')} {unit_shown(unit, words)}".strip()
    text = str(value)
    if unit == BAND:
        band = Band.of(text)
        behind = (
            unit_words("", band.unit, words, family=family) if band.unit == "/min" else words.get("unit.of_reserve")
        )
        return f"{words.get('form.range', low=words.shortest(band.low), high=words.shortest(band.high))} {behind}"
    return text if text[:1].isdigit() and not any(map(str.isalpha, text)) else words.typed(text)


def unit_shown(unit: str, words: Words) -> str:
    """The unit of a fact of the set-up as it is read."""
    return words.get(f"measure.{unit}") if words.known(f"measure.{unit}") else unit


def fact_row(name: str, value: object, words: Words, *, label: str = "", family: bool = False) -> Iterator[Row]:
    """A row, or none where nothing is known."""
    if value is None or value in ("", ()):
        return
    rule = FIELDS.get(name) or TRIAL_FIELDS.get(name)
    unit = BAND if name == "target" else rule.unit if rule else "%" if name.endswith("_percent") else ""
    yield words.get(label or f"field.{name}"), written(value, unit, words, family=family)


def _protocol(protocol: Protocol, words: Words) -> Iterator[Row]:
    """Which protocol, in which version."""
    text = words.get(
        "effort.version", title=protocol_title(protocol, words), name=protocol.name, version=protocol.version
    )
    yield words.get("effort.protocol"), text


def _sensor(protocol: Protocol, words: Words, *, moved: bool) -> Iterator[Row]:
    """Kind and site of the sensors; one for movement only where it recorded."""
    sensors = (("pulse_sensor", "pulse_site"), ("placement", "placement_side"))
    for kind, site in sensors if moved else sensors[:1]:
        parts = [words.typed(str(value)) for name in (kind, site) if (value := getattr(protocol, name)) is not None]
        if parts:
            yield words.get(f"field.{kind}"), ", ".join(parts)


def _measured(trial: Trial, words: Words, *, family: bool) -> Iterator[Row]:
    """Time of day, phases, rest and maximum."""
    if trial.time_of_day:
        yield words.get("field.time_of_day"), trial.time_of_day
    if trial.sheet is None:
        return
    yield from basis_rows(trial.sheet, words, family=family)
