"""Sheets that differ in a few values from one that ownmark made: through JSON, as the logbook reads them."""

from collections.abc import Mapping
from typing import Any

from ownmark.metrics.figure import EffortSheet, MovementUsed
from ownmark.records.trial import Trial

from tests.makers.sheets import altered, with_figure

FRAME = MovementUsed(
    file="frame.csv",
    placement="frame",
    rate_hz=50.0,
    threshold_mg=None,
    floor_mg=None,
    moving=(),
    unmeasured=(),
    assisted=(),
    cadence=(),
    turns=(),
).model_dump(mode="json")
"""Movement of a sensor on the chair."""


def changed(
    sheet: EffortSheet, figures: Mapping[str, Mapping[str, Any]] | None = None, **provenance: Any
) -> EffortSheet:
    """The sheet with other values of some figures and of its provenance."""
    for name, values in (figures or {}).items():
        sheet = with_figure(sheet, name, **values)
    return altered(sheet, lambda page: page["provenance"].update(provenance)) if provenance else sheet


def with_sheet(trial: Trial, figures: Mapping[str, Mapping[str, Any]] | None = None, **provenance: Any) -> Trial:
    """The trial with its sheet changed so."""
    assert trial.sheet is not None
    return trial.model_copy(update={"sheet": changed(trial.sheet, figures, **provenance)})
