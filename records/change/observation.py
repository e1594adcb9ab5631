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
_REST = frozenset({"basis.rest"})
_MAXIMUM = frozenset({"basis.maximum", "basis.maximum_see"})
SAME_RATE_BPM = 0.005
"""Rests or maxima closer than this are the same one [/min]."""


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
    counted : what a cadence or a number of cycles counts, see ``counting``
    """

    trial: Trial
    protocol: Protocol
    figures: Mapping[str, Figure] = field(default_factory=dict[str, Figure])
    basis: BasisSeen | None = None
    work_s: float | None = None
    conditions: tuple[str, ...] = ()
    cautions: tuple[Message, ...] = ()
    placement: str | None = None
    counted: str | None = None


def seen(trial: Trial, protocol: Protocol) -> TrialSeen:
    """A trial with the figures of its kept sheet; without a sheet only what was entered by hand is seen."""
    sheet = trial.sheet
    if sheet is None:
        return TrialSeen(trial, protocol)
    provenance = sheet.provenance
    begin, end = provenance.phases.work
    return TrialSeen(
        trial=trial,
        protocol=protocol,
        figures=sheet.figures,
        basis=basis_of_baseline(sheet),
        work_s=end - begin,
        conditions=provenance.basis.conditions,
        cautions=sheet.cautions,
        placement=None if provenance.movement is None else provenance.movement.placement,
        counted=_counted(provenance.movement),
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
    rest, maximum = any(map(rests_on_rest, figures)), any(map(rests_on_maximum, figures))
    bases = [each.basis or BasisSeen() for each in trials]
    if rest and _differ([each.rest_bpm for each in bases]):
        return say.apart_rest(_listed([each.rest_bpm for each in bases]))
    if maximum and _differ([each.maximum_bpm for each in bases]):
        return say.apart_maximum(_listed([each.maximum_bpm for each in bases]))
    if maximum and len({each.zones_by for each in bases}) > 1:
        return say.APART_ZONES
    return None


def _counted(movement: MovementUsed | None) -> str | None:
    """What the cadence counts; sheets that do not say it counted whole cycles but on the trunk."""
    if movement is not None and "counted" in movement.model_fields_set:
        return movement.counted
    return OLDER if movement is not None and movement.placement == "trunk" else "cycle"


def rests_on_rest(figure: Figure) -> bool:
    """Whether a figure was worked out with the rest."""
    return _rests_on(figure, _REST, "rest ")


def rests_on_maximum(figure: Figure) -> bool:
    """Whether a figure was worked out with the maximum."""
    return _rests_on(figure, _MAXIMUM, "maximum ")


def _rests_on(figure: Figure, codes: frozenset[str], older: str) -> bool:
    """By the codes; a sheet of the schema before has sentences only."""
    return any(each.code in codes or older in english_of_older(each) for each in figure.rests_on)


def _differ(rates: Sequence[float | None]) -> bool:
    first = rates[0]
    return any((rate is None) != (first is None) or abs((rate or 0) - (first or 0)) > SAME_RATE_BPM for rate in rates)


def _listed(rates: Sequence[float | None]) -> tuple[Message, ...]:
    return tuple(
        dict.fromkeys(say.APART_NONE if rate is None else say.apart_rate(float(rounded(rate, 1))) for rate in rates)
    )
