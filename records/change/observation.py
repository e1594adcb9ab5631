"""What a comparison sees of a trial: its facts, the protocol version it used, its figures, and their basis."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ...words.numbers import rounded
from ..protocol import Protocol
from ..trial import Trial

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

    needs_rest, needs_maximum : what it rests on
    counts : what a cadence or a number of cycles counts, see ``counting``; None for every other figure
    own_rhythm_low, own_rhythm_high : what they allow a heart that kept its own rhythm in short gaps, where known
    """

    value: float | None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    note: str | None = None
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
    maximum_how: str | None = None
    maximum_see_bpm: float | None = None
    zones_by: str = "reserve"

    def maximum(self) -> "Maximum | None":
        """The maximum in the form in which the metrics take it, so that a re-test can reuse it as it is."""
        if self.maximum_bpm is None:
            return None
        from ...metrics.basis import Maximum

        how = self.maximum_how or "measured"
        predicted = how.startswith("predicted")
        return Maximum(
            self.maximum_bpm,
            how,
            self.maximum_see_bpm,
            predicted=predicted,
            note="The maximum is predicted, not measured, and is that of the baseline." if predicted else "",
        )


@dataclass(frozen=True, slots=True)
class TrialSeen:
    """One trial as a comparison sees it. ``work_s``: length of the work phase that the figures are of [s]."""

    trial: Trial
    protocol: Protocol
    figures: Mapping[str, FigureSeen] = field(default_factory=dict)
    basis: BasisSeen | None = None
    work_s: float | None = None
    conditions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def seen(trial: Trial, protocol: Protocol) -> TrialSeen:
    """A trial with the figures of its kept sheet; without a sheet only what was entered by hand is seen."""
    sheet = trial.sheet
    if sheet is None:
        return TrialSeen(trial, protocol)
    provenance = sheet["provenance"]
    begin, end = provenance["phases"]["work"]
    counted = _counted(provenance.get("movement") or {})
    return TrialSeen(
        trial=trial,
        protocol=protocol,
        figures={name: _figure(each, counted if name in COUNTS else None) for name, each in sheet["figures"].items()},
        basis=basis_of_baseline(sheet),
        work_s=end - begin,
        conditions=tuple(provenance["basis"]["conditions"]),
        cautions=tuple(sheet["cautions"]),
    )


def basis_of_baseline(sheet: Mapping[str, Any]) -> BasisSeen:
    """The rest, maximum and kind of zones that a re-test's sheet must be computed with to be compared with ``sheet``.

    Rest and maximum of the baseline are kept as numbers: neither a birthday nor a new resting pulse may change a
    result that the student did not change.
    """
    basis = sheet["provenance"]["basis"]
    return BasisSeen(
        rest_bpm=basis["rest_bpm"],
        maximum_bpm=basis["maximum_bpm"],
        maximum_how=basis["maximum_how"],
        maximum_see_bpm=basis["maximum_see_bpm"],
        zones_by=sheet["provenance"]["zones_by"],
    )


def different_bases(trials: Sequence[TrialSeen], name: str) -> str:
    """Why figure ``name`` of these trials rests on different bases, in words; empty if it rests on the same one."""
    figures = [each.figures[name] for each in trials if name in each.figures]
    needs_rest = any(each.needs_rest for each in figures)
    needs_maximum = any(each.needs_maximum for each in figures)
    bases = [each.basis or BasisSeen() for each in trials]
    if needs_rest and _differ([each.rest_bpm for each in bases]):
        return f"rest of {_listed([each.rest_bpm for each in bases])} /min"
    if needs_maximum and _differ([each.maximum_bpm for each in bases]):
        return f"maximum of {_listed([each.maximum_bpm for each in bases])} /min"
    if needs_maximum and len({each.zones_by for each in bases}) > 1:
        return "zones by reserve in one and by maximum in another"
    return ""


def _counted(movement: Mapping[str, Any]) -> str | None:
    """What the cadence counts; sheets that do not say it counted whole cycles but on the trunk."""
    return movement.get("counted", OLDER if movement.get("placement") == "trunk" else "cycle")


def _figure(figure: Mapping[str, Any], counts: str | None) -> FigureSeen:
    basis = figure.get("basis") or ""
    return FigureSeen(
        value=figure["value"],
        low=figure.get("low"),
        high=figure.get("high"),
        unit=figure.get("unit", ""),
        note=figure.get("note"),
        needs_rest="rest " in basis,
        needs_maximum="maximum " in basis,
        counts=counts,
        own_rhythm_low=figure.get("own_rhythm_low"),
        own_rhythm_high=figure.get("own_rhythm_high"),
    )


def _differ(rates: Sequence[float | None]) -> bool:
    first = rates[0]
    return any((rate is None) != (first is None) or abs((rate or 0) - (first or 0)) > SAME_RATE_BPM for rate in rates)


def _listed(rates: Sequence[float | None]) -> str:
    texts = dict.fromkeys("none" if rate is None else f"{rounded(rate, 1)}" for rate in rates)
    return " and ".join(texts)
