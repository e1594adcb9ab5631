"""What is exported: a trial with its protocol, read in batches, and the flat rows of both tables.

Values are what the logbook holds, unrounded. What is not known is None, and empty text counts as not written down.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

from ...metrics.conditions import GENERAL_CAUTIONS
from ...metrics.figure import EffortSheet, Figure
from ...records.change.limits import limits_of_trial
from ...records.protocol import Protocol
from ...records.trial import Trial
from ...words.render import english
from ...words.vocabulary import FIGURES
from ..refusals import refusal
from ..words import Words
from .without_health import without_health

if TYPE_CHECKING:
    from ...records.change.shapes import Comparison
    from ...records.store.logbook import Logbook

Cell: TypeAlias = str | int | float | bool | date | None
Row: TypeAlias = tuple[Cell, ...]
_NO_CHANGE: Row = (None,) * 12


@dataclass(frozen=True)
class Record:
    """A trial with its sheet and the protocol version it was done by. ``change``: cells of the comparison, if asked."""

    trial: Trial
    protocol: Protocol
    change: Row = ()

    @cached_property
    def row(self) -> Row:
        """The trial as one flat row, in the order of ``columns.trial_columns``; made once for all forms."""
        return (*about_cells(self), *basis_cells(self), *self.change, *_figure_cells(self.trial.sheet))


def records(
    logbook: "Logbook",
    since: date | None = None,
    until: date | None = None,
    protocol: str | None = None,
    *,
    change: bool = False,
    with_health: bool = False,
) -> Iterator[Record]:
    """Trials in order of day and number, some hundred at a time: memory does not grow with the logbook.

    since, until : both included
    change : with the comparison of each student's last trial; its twelve cells alone are held for every student
    with_health : with conditions, their cautions, and what they do to a figure

    Raises
    ------
    UnknownProtocol
    """
    if protocol is not None:
        logbook.protocol(protocol)
    verdicts = changes(logbook, protocol) if change else {}
    known: dict[tuple[str, int], Protocol] = {}
    for trial in logbook.trials(protocol=protocol, since=since, until=until):
        key = (trial.protocol, trial.protocol_version)
        if key not in known:
            known[key] = logbook.protocol(*key)
        if trial.sheet is not None and not with_health:
            trial = trial.model_copy(update={"sheet": without_health(trial.sheet)})  # noqa: PLW2901
        yield Record(trial, known[key], verdicts.get(trial.id or 0, _NO_CHANGE) if change else ())


def rows(
    logbook: "Logbook",
    since: date | None = None,
    until: date | None = None,
    protocol: str | None = None,
    *,
    change: bool = False,
) -> Iterator[Row]:
    """The table of trials, a row each, in the order of ``columns.trial_columns(change)``."""
    for record in records(logbook, since, until, protocol, change=change):
        yield record.row


def changes(logbook: "Logbook", protocol: str | None) -> dict[int, Row]:
    """Cells of the comparison, by the number of the trial that they stand on: the last of each student and protocol."""
    from ...errors import OwnmarkError
    from ...records.judging import judge_all

    words = Words("en")
    found: dict[int, Row] = {}
    for name in [protocol] if protocol else [each.name for each in logbook.protocols()]:
        last = {each.code: each.id for each in logbook.outline(name) if not each.practice}
        for code, judged in judge_all(logbook, name):
            if isinstance(judged, OwnmarkError):
                if code in last:
                    found[last[code]] = (*(None,) * 9, refusal(judged, words), None, None)
            else:
                number = judged.retests[-1].trial
                found[number or 0] = _change_cells(judged)
    return found


def _change_cells(found: "Comparison") -> Row:
    return (
        found.comparable,
        found.verdict,
        found.baseline_value,
        found.retest_value,
        found.change,
        found.change_low,
        found.change_high,
        found.detectable_change,
        found.unit or None,
        None,
        found.for_the_better,
        found.days_between,
    )


def about_cells(record: Record) -> Row:
    """What is known of the trial, in the order of ``columns.ABOUT``."""
    trial, protocol = record.trial, record.protocol
    return (
        trial.id,
        trial.code,
        trial.protocol,
        trial.protocol_version,
        protocol.title,
        protocol.component,
        trial.on,
        trial.time_of_day,
        trial.practice,
        protocol.primary_figure,
        protocol.better,
        trial.assistance_given,
        trial.assistance_usual,
        trial.prompts_per_min,
        trial.exertion,
        trial.exertion_scale,
        trial.distance_m,
        trial.temperature_c,
        "; ".join(f"{stop.at} {stop.why}" for stop in trial.stops) or None,
        trial.notes or None,
        ", ".join(each.name for each in limits_of_trial(trial, protocol)) or None,
    )


def basis_cells(record: Record) -> Row:
    """What the figures rest on, in the order of ``columns.BASIS``."""
    sheet = record.trial.sheet
    if sheet is None:
        return (*(None,) * 8, record.trial.computed_by, None, None, None)
    made, basis = sheet.provenance, sheet.provenance.basis
    begin, end = made.phases.work
    given, not_given = figure_notes(sheet.figures)
    return (
        end - begin,
        basis.rest_bpm,
        basis.rest_how,
        basis.maximum_bpm,
        basis.maximum_how,
        basis.maximum_see_bpm,
        made.zones_by,
        None if made.movement is None else made.movement.placement,
        record.trial.computed_by,
        " ".join(own_cautions(sheet)) or None,
        not_given or None,
        given or None,
    )


def own_cautions(sheet: EffortSheet) -> list[str]:
    """The cautions of a sheet that are not the general ones, in English."""
    general = set(map(english, GENERAL_CAUTIONS))
    return [each for each in map(english, sheet.cautions) if each not in general]


def figure_notes(figures: Mapping[str, Figure]) -> tuple[str, str]:
    """Notes of the figures that are given, and why the others are not: each once, with the figures it concerns."""
    found: tuple[dict[str, list[str]], dict[str, list[str]]] = ({}, {})
    for name, figure in figures.items():
        missing = figure.value is None
        note = figure.note or ("Not given." if missing else "")
        if note:
            found[missing].setdefault(note, []).append(name)
    given, not_given = (" | ".join(f"{', '.join(names)}: {note}" for note, names in notes.items()) for notes in found)
    return given, not_given


def _figure_cells(sheet: EffortSheet | None) -> Iterator[Cell]:
    figures = {} if sheet is None else sheet.figures
    for name in FIGURES:
        figure = figures.get(name)
        yield from (None, None, None) if figure is None else (figure.value, figure.low, figure.high)


def hand_rows(record: Record) -> list[Row]:
    """The results that were entered by hand, in the order of ``columns.HAND``."""
    trial = record.trial
    start = (trial.id, trial.code, trial.protocol, trial.protocol_version, trial.on, trial.practice)
    return [
        (*start, one.name, one.side, one.attempt, one.value, unit_of(record.protocol, one.name))
        for one in trial.hand_results
    ]


def unit_of(protocol: Protocol, name: str) -> str | None:
    """The unit of a hand measure, as the protocol states it."""
    measure = protocol.hand_measure(name)
    return measure.unit if measure else None
