"""HL7 FHIR R4: an Observation for each figure and hand result, and one a trial that holds them together.

Newline-delimited JSON, one resource a line, as the FHIR Bulk Data guide has it: it can be written and read as a
stream, while a Bundle of a district would have to fit into memory. Every resource is an Observation, so one file is
enough. The student is an identifier and no more. What was typed as notes stays in the logbook.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import IO, Any

from ...ingest.clock_times import on_the_wall
from ...metrics.figure import EffortSheet, Figure
from ...metrics.message_codes import code_of
from ...metrics.messages.heart_rate import BASIS_REST_ENTERED
from ...records.change.limits import limits_of_trial
from ...records.protocol import Protocol
from ...records.trial import HandResult
from ...words.message import Message
from ...words.render import english
from ...words.vocabulary import CEILING_FIGURES, MOTION_FIGURES
from .fhir_codes import (
    CATEGORIES,
    OWN_HAND,
    OWN_PART,
    OWN_STUDENT,
    OWN_TRIAL,
    RESTING,
    concept,
    figure_concept,
    loinc,
    unit_fields,
    why_absent,
)
from .rows import Record, own_cautions, unit_of
from .selection import Asked

_WHOLE_RECORDING = frozenset({"recovery_60s", *CEILING_FIGURES})
"""Figures that are not of the work phase alone: they carry the day, not the span of the work."""
_MADE_ONCE = 4096
"""Parts of resources that are kept as text: most repeat from trial to trial, and a district has a million resources."""
_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode


def files(path: Path) -> tuple[Path, ...]:
    """The files of an export to ``path``."""
    return (path,)


class Writer:
    """Writes record after record to the handle."""

    def __init__(self, handles: Sequence[IO[bytes]], asked: Asked) -> None:  # noqa: ARG002 as every writer
        self._handle = handles[0]

    def add(self, record: Record) -> None:
        """Write a trial's resources."""
        lines = "".join(f"{each}\n" for each in observations(record))
        self._handle.write(lines.encode("utf-8", "backslashreplace"))

    def close(self) -> None:
        """Nothing is left to be written."""

    def drop(self) -> None:
        """Nothing is held."""


def observations(record: Record) -> Iterator[str]:
    """A trial's resources as JSON, the one that holds them together last; none if nothing was observed."""
    trial, sheet = record.trial, record.trial.sheet
    members: list[str] = []
    shared = _of_student(trial.code)
    day = f'{shared},"effectiveDateTime":"{trial.on.isoformat()}"'
    notes = ("A practice trial: it never counts as baseline.",) if trial.practice else ()
    limits = {each.name: english(each.message()) for each in limits_of_trial(trial, record.protocol)}
    if sheet is not None:
        period = work_period(record)
        work = f"{shared},{_inner({'effectivePeriod': period})}" if period else day
        notes += tuple(own_cautions(sheet))
        devices = _devices(sheet, record.protocol)
        for name, figure in sheet.figures.items():
            members.append(f"t{trial.id}-{name.replace('_', '-')}")
            when = day if name in _WHOLE_RECORDING else work
            told = (*([limits[name]] if name in limits else []), *notes)
            yield _figure(members[-1], name, figure, when, devices[name in MOTION_FIGURES], told)
        basis = sheet.provenance.basis
        if (
            basis.rest_bpm is not None and code_of(basis.rest_from) != BASIS_REST_ENTERED.code
        ):  # one that was entered is of another day
            members.append(f"t{trial.id}-rest")
            yield _rest(members[-1], basis.rest_bpm, basis.rest_how, day)
    for number, one in enumerate(trial.hand_results, start=1):
        members.append(f"t{trial.id}-hand-{number}")
        yield _hand(members[-1], one, record, day, (*([limits[one.name]] if one.name in limits else []), *notes))
    if members:
        yield _together(record, members, day, notes)


def _figure(number: str, name: str, figure: Figure, shared: str, device: str, notes: tuple[str, ...]) -> str:
    """A figure with its bounds, or the reason why there is none."""
    value, note, unit = figure.value, figure.note, figure.unit
    parts = [_code(name), shared]
    if value is None:
        parts.append(_absent(figure.reason))
    else:
        parts += [f'"valueQuantity":{_quantity(value, unit)}', device]
        parts.append(_notes((note, figure.basis, *notes)))
    parts.append(_method(figure.source))
    parts_of = (("low", figure.low, unit), ("high", figure.high, unit), ("coverage", figure.coverage, "%"))
    bounds = [
        f'{{{_part(part)},"valueQuantity":{_quantity(found, of)}}}' for part, found, of in parts_of if found is not None
    ]
    if bounds:
        parts.append(f'"component":[{",".join(bounds)}]')
    return _resource(number, parts)


def _rest(number: str, bpm: float, how: str | None, shared: str) -> str:
    """The resting rate, as it was measured in this trial."""
    code = concept(OWN_PART, "rest", "resting heart rate behind the figures", loinc(RESTING))
    value = f'"valueQuantity":{_quantity(bpm, "/min")}'
    return _resource(number, [_inner({"code": code}), shared, value, _method(how) if how else ""])


def _hand(number: str, one: HandResult, record: Record, shared: str, notes: tuple[str, ...]) -> str:
    """An attempt that was entered by hand."""
    measure = record.protocol.hand_measure(one.name)
    code = _inner({"code": concept(OWN_HAND, one.name, one.name.replace("_", " "))})
    parts = [code, shared, f'"valueQuantity":{_quantity(one.value, unit_of(record.protocol, one.name) or "")}']
    parts.append(f'"component":[{{{_part("attempt")},"valueInteger":{one.attempt}}}]')
    parts += [_inner({"bodySite": {"text": one.side}})] if one.side else []
    parts += [_method(measure.how)] if measure and measure.how else []
    return _resource(number, [*parts, _notes(notes)])


def _together(record: Record, members: Sequence[str], shared: str, notes: tuple[str, ...]) -> str:
    """The trial: which observations belong to it, by which protocol, with all its cautions."""
    trial, protocol = record.trial, record.protocol
    cautions = () if trial.sheet is None else map(english, trial.sheet.cautions)
    told = (*notes, *cautions, *protocol.cautions)
    title = f"{protocol.title} ({trial.protocol}, version {trial.protocol_version})"
    found = {
        "code": concept(OWN_PART, "trial", title),
        "identifier": [{"system": OWN_TRIAL, "value": str(trial.id)}],
        "hasMember": [{"reference": f"Observation/{each}"} for each in members],
    }
    return _resource(f"t{trial.id}", [_inner(found), shared, _notes(tuple(dict.fromkeys(told)))])


def work_period(record: Record) -> dict[str, str] | None:
    """When the work phase was, by the recorder's clock, as a FHIR Period.

    None where the clock states no offset from UTC, which FHIR asks for, or shows another day than the one that the
    person wrote: then only the day is told.
    """
    sheet = record.trial.sheet
    if sheet is None or not sheet.provenance.start:
        return None
    start = on_the_wall(datetime.fromisoformat(sheet.provenance.start), record.trial.zone)
    if start.utcoffset() is None or start.date() != record.trial.on:
        return None
    begin, end = (start + timedelta(seconds=each) for each in sheet.provenance.phases.work)
    return {"start": begin.isoformat(timespec="milliseconds"), "end": end.isoformat(timespec="milliseconds")}


def _resource(number: str, parts: Sequence[str]) -> str:
    """One line. Every part is the inside of a JSON object, or empty."""
    inside = ",".join(part for part in parts if part)
    return f'{{"resourceType":"Observation","id":"{number}","status":"final",{inside}}}'


def _inner(found: Mapping[str, Any]) -> str:
    """The inside of a JSON object."""
    return _encode(found)[1:-1]


def _quantity(value: float, unit: str) -> str:
    """A Quantity; every digit of the number is written."""
    behind = _unit(unit)
    return f'{{"value":{value!r}{behind}}}'


@lru_cache(_MADE_ONCE)
def _unit(unit: str) -> str:
    found = unit_fields(unit)
    return f",{_inner(found)}" if found else ""


@lru_cache(_MADE_ONCE)
def _of_student(code: str) -> str:
    category = {"coding": [{"system": CATEGORIES, "code": "activity"}]}
    subject = {"type": "Patient", "identifier": {"system": OWN_STUDENT, "value": code}}
    return _inner({"category": [category], "subject": subject})


@lru_cache(_MADE_ONCE)
def _notes(texts: tuple[str | None, ...]) -> str:
    told = [{"text": each} for each in texts if each]
    return _inner({"note": told}) if told else ""


@lru_cache(_MADE_ONCE)
def _absent(reason: Message | None) -> str:
    return _inner({"dataAbsentReason": why_absent(reason)})


@lru_cache(_MADE_ONCE)
def _method(text: str) -> str:
    return _inner({"method": {"text": text}})


def _devices(sheet: EffortSheet, protocol: Protocol) -> tuple[str, str]:
    """The sensors of heart rate and of movement, by kind and place, without make or number."""
    movement, pulse = sheet.provenance.movement, protocol.pulse_sensor
    place = None if movement is None else movement.placement
    return _device(f"{pulse} heart-rate sensor" if pulse else ""), _device(f"sensor on the {place}" if place else "")


@lru_cache(_MADE_ONCE)
def _device(shown: str) -> str:
    return _inner({"device": {"display": shown}}) if shown else ""


@lru_cache
def _code(name: str) -> str:
    return _inner({"code": figure_concept(name)})


@lru_cache
def _part(name: str) -> str:
    """The code of a component: low, high, coverage or attempt."""
    return _inner({"code": {"coding": [{"system": OWN_PART, "code": name}]}})
