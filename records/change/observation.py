"""What a comparison sees of a trial: its facts, the protocol version it used, its figures, and their basis."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ...metrics.figure import EffortSheet, Figure, MovementUsed
from ...metrics.messages.heart_rate import BASIS_MAXIMUM_MEASURED, BASIS_MAXIMUM_OF_BASELINE, MAXIMUM_PREDICTED
from ...words.message import Message, english_of_older
from ...words.numbers import rounded
from ..protocol import Protocol
from ..trial import Trial
from . import messages as say

if TYPE_CHECKING:
    from ...metrics.basis import Maximum

COUNTS = ("cadence_mean", "cycle_count")
"""Figures that hang on what is counted."""
OLDER = "by an older rule"
"""What a cadence counts on a sheet of the trunk that does not say it: steps, where they were alike."""
SAME_RATE_BPM = 0.005
"""Rests or maxima closer than this are the same one [/min]."""


@dataclass(frozen=True, slots=True)
class FigureSeen:
    """A figure's value with what unmeasured stretches allow.

    reason, notes : why it is not given, or remarks on it
    needs_rest, needs_maximum : what it rests on
    counts : what a cadence or a number of cycles counts, see ``counting``; None for every other figure
    own_rhythm_low, own_rhythm_high : what they allow a heart that kept its own rhythm in short gaps, where known
    """

    value: float | None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    source: str = ""
    reason: Message | None = None
    notes: tuple[Message, ...] = ()
    needs_rest: bool = False
    needs_maximum: bool = False
    counts: str | None = None
    own_rhythm_low: float | None = None
    own_rhythm_high: float | None = None


@dataclass(frozen=True, slots=True)
class BasisSeen:
    """Rest and maximum behind a sheet, as its provenance states them [/min]."""

    rest_bpm: float | None = None
    maximum_bpm: float | None = None
    maximum_from: Message | None = None
    maximum_see_bpm: float | None = None
    zones_by: str = "reserve"

    def maximum(self) -> "Maximum | None":
        """The maximum in the form in which the metrics take it, so that a re-test can reuse it as it is."""
        if self.maximum_bpm is None:
            return None
        from ...metrics.basis import Maximum

        how = self.maximum_from or BASIS_MAXIMUM_MEASURED
        predicted = how.code in MAXIMUM_PREDICTED or english_of_older(how).startswith("predicted")
        return Maximum(
            self.maximum_bpm,
            how,
            self.maximum_see_bpm,
            predicted=predicted,
            notes=(BASIS_MAXIMUM_OF_BASELINE,) if predicted else (),
        )


@dataclass(frozen=True, slots=True)
class TrialSeen:
    """One trial as a comparison sees it.

    work_s : length of the work phase that the figures are of [s]
    placement : where the movement sensor sat
    """

    trial: Trial
    protocol: Protocol
    figures: Mapping[str, FigureSeen] = field(default_factory=dict)
    basis: BasisSeen | None = None
    work_s: float | None = None
    conditions: tuple[str, ...] = ()
    cautions: tuple[Message, ...] = ()
    placement: str | None = None


def seen(trial: Trial, protocol: Protocol) -> TrialSeen:
    """A trial with the figures of its kept sheet; without a sheet only what was entered by hand is seen."""
    sheet = trial.sheet
    if sheet is None:
        return TrialSeen(trial, protocol)
    provenance = sheet.provenance
    begin, end = provenance.phases.work
    counted = _counted(provenance.movement)
    return TrialSeen(
        trial=trial,
        protocol=protocol,
        figures={name: _figure(each, counted if name in COUNTS else None) for name, each in sheet.figures.items()},
        basis=basis_of_baseline(sheet),
        work_s=end - begin,
        conditions=provenance.basis.conditions,
        cautions=sheet.cautions,
        placement=None if provenance.movement is None else provenance.movement.placement,
    )


def basis_of_baseline(sheet: EffortSheet) -> BasisSeen:
    """The rest, maximum and kind of zones that a re-test's sheet must be computed with to be compared with ``sheet``.

    Rest and maximum of the baseline are kept as numbers: neither a birthday nor a new resting pulse may change a
    result that the student did not change.
    """
    basis = sheet.provenance.basis
    return BasisSeen(
        rest_bpm=basis.rest_bpm,
        maximum_bpm=basis.maximum_bpm,
        maximum_from=basis.maximum_from,
        maximum_see_bpm=basis.maximum_see_bpm,
        zones_by=sheet.provenance.zones_by,
    )


def different_bases(trials: Sequence[TrialSeen], name: str) -> Message | None:
    """On which different bases figure ``name`` of these trials rests; None if it is the same one."""
    figures = [each.figures[name] for each in trials if name in each.figures]
    needs_rest = any(each.needs_rest for each in figures)
    needs_maximum = any(each.needs_maximum for each in figures)
    bases = [each.basis or BasisSeen() for each in trials]
    if needs_rest and _differ([each.rest_bpm for each in bases]):
        return say.apart_rest(_listed([each.rest_bpm for each in bases]))
    if needs_maximum and _differ([each.maximum_bpm for each in bases]):
        return say.apart_maximum(_listed([each.maximum_bpm for each in bases]))
    if needs_maximum and len({each.zones_by for each in bases}) > 1:
        return say.APART_ZONES
    return None


def _counted(movement: MovementUsed | None) -> str | None:
    """What the cadence counts; sheets that do not say it counted whole cycles but on the trunk."""
    if movement is not None and "counted" in movement.model_fields_set:
        return movement.counted
    return OLDER if movement is not None and movement.placement == "trunk" else "cycle"


def _figure(figure: Figure, counts: str | None) -> FigureSeen:
    older = "; ".join(map(english_of_older, figure.rests_on))
    rests_on = {each.code for each in figure.rests_on}
    return FigureSeen(
        value=figure.value,
        low=figure.low,
        high=figure.high,
        unit=figure.unit,
        source=figure.source,
        reason=figure.reason,
        notes=figure.notes,
        needs_rest="basis.rest" in rests_on or "rest " in older,
        needs_maximum=bool({"basis.maximum", "basis.maximum_see"} & rests_on) or "maximum " in older,
        counts=counts,
        own_rhythm_low=figure.own_rhythm_low,
        own_rhythm_high=figure.own_rhythm_high,
    )


def _differ(rates: Sequence[float | None]) -> bool:
    first = rates[0]
    return any((rate is None) != (first is None) or abs((rate or 0) - (first or 0)) > SAME_RATE_BPM for rate in rates)


def _listed(rates: Sequence[float | None]) -> tuple[Message, ...]:
    return tuple(
        dict.fromkeys(say.APART_NONE if rate is None else say.apart_rate(float(rounded(rate, 1))) for rate in rates)
    )
