"""The numbers of a trace in rows, for whoever reads and does not look: a row a minute, or a round part of the view."""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..pictures.series import Series, length_within
from .lines import Line
from .trace import Trace, View

_STEPS_S = (*(1, 2, 5, 10, 15, 30), *(60, 120, 300, 600, 900, 1800), *(3600, 7200, 14400))
MOST_ROWS = 31
USUAL_S = 60.0
"""A row a minute where so many rows do not become too many [s]."""


@dataclass(frozen=True, slots=True)
class Row:
    """One stretch.

    from_s, until_s : on the recording's clock  [s]
    phase : the name of the phase that holds its middle, else None
    mean, low, high : heart rate over what was measured of it  [/min]; None: nothing was
    share : how much of it was measured  [%]
    strength : mean strength of movement  [g]; None: no value
    moving : how much of it there was movement  [%]; None: not told for all of it
    """

    from_s: float
    until_s: float
    phase: str | None
    mean: float | None
    low: float | None
    high: float | None
    share: float
    strength: float | None
    moving: float | None


def rows_of(trace: Trace, view: View) -> list[Row]:
    """Rows from the first to the last moment of the view, between round moments of the recording's clock."""
    edges = edges_of(view)
    return [_row(trace, begin, end) for begin, end in pairwise(edges)]


def edges_of(view: View) -> list[float]:
    """Where rows begin and end  [s]: the view's ends and the round moments between them, a row a minute if it fits."""
    length = view.length_s
    wanted = USUAL_S if length >= USUAL_S else length / (MOST_ROWS - 1)
    step = next((each for each in _STEPS_S if each >= wanted and length / each <= MOST_ROWS - 1), _STEPS_S[-1])
    first, last = math.floor(view.from_s / step) + 1, math.ceil(view.until_s / step) - 1
    return [view.from_s, *(float(step * place) for place in range(first, last + 1)), view.until_s]


def _row(trace: Trace, begin: float, end: float) -> Row:
    series = trace.series
    middle = (begin + end) / 2
    phase = next((name for name, (a, b) in series.phases.items() if a <= middle < b), None)
    mean, low, high, share = _pulse(series, begin, end)
    return Row(
        begin, end, phase, mean, low, high, share, _strength(trace.movement, begin, end), _moving(series, begin, end)
    )


def _pulse(series: Series, begin: float, end: float) -> tuple[float | None, float | None, float | None, float]:
    """Mean by time, least, most, and the share measured  [%]."""
    first = int(np.searchsorted(series.until_s, begin, side="right"))
    last = int(np.searchsorted(series.time_s, end, side="left"))
    bpm = series.bpm[first:last]
    held = np.minimum(series.until_s[first:last], end) - np.maximum(series.time_s[first:last], begin)
    there = np.isfinite(bpm) & (held > 0)
    whole = float(held[there].sum())
    if whole <= 0:
        return None, None, None, 0.0
    bpm, held = bpm[there], held[there]
    share = min(100.0 * whole / (end - begin), 100.0)
    return float((bpm * held).sum() / whole), float(bpm.min()), float(bpm.max()), share


def _strength(movement: Line, begin: float, end: float) -> float | None:
    part = slice(*np.searchsorted(movement.time_s, (begin, end), side="left").tolist())
    found = movement.value[part]
    return float(found.mean()) if len(found) else None


def _moving(series: Series, begin: float, end: float) -> float | None:
    """Share of the stretch with movement; None where movement was not measured for all of it, or left out."""
    if series.moving is None:
        return None
    unseen = length_within((*series.movement_unmeasured, *series.assisted), (begin, end))
    if unseen > 0:
        return None
    return 100.0 * length_within(series.moving, (begin, end)) / (end - begin)
