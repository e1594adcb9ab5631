"""The numbers of a trace for a script that zooms: whole where they are few, else the lows and highs of fine columns.

Everything is whole numbers (milliseconds, tenths of a beat, thousandths of 1 g), times as steps from one to the next:
short to send and quick to read. Nothing is drawn finer than it was sent: then the script asks for a part.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np

from ..pictures.series import Span
from .lines import Line
from .scale import CADENCE, MOVEMENT, PULSE, cut
from .trace import Flagged, Trace, View

COLUMNS = 4096
"""Columns of a level: twice as many as a wide screen has across."""
AROUND = 1.0
"""How much beside the view is sent along, as a part of it, so that one can move on."""
PER: dict[str, int] = {PULSE: 10, MOVEMENT: 1000, CADENCE: 10}
"""Steps of one unit in which values are sent."""
_MS = 1000.0


def level(trace: Trace, view: View | None = None) -> dict[str, Any]:
    """What a script needs to draw a part, as JSON takes it.

    view : what is looked at, sent with as much on both sides; None: the whole recording

    ``from``, ``until`` [s], ``step``: width of a column [s]; ``exact``: no sample of the part was left out; ``lines``
    by panel: ``t`` [ms] as steps from 0, ``v`` in steps of one ``per``-th, ``b`` places where a line begins anew,
    ``all``: it is every sample of its line; ``spans`` by kind, each ``[from, until]`` [s], those closer than a column
    as one; ``flags``: ``t`` [ms], ``v`` (null: no value), ``r`` place of the rule, ``u`` used.
    """
    low, high = trace.whole
    begin, end = (low, high) if view is None else view.span
    if view is not None:
        more = AROUND * view.length_s
        begin, end = max(begin - more, low), min(end + more, high)
    part, step = (begin, end), (end - begin) / COLUMNS
    lines = {PULSE: trace.pulse, MOVEMENT: trace.movement, CADENCE: trace.cadence}
    inside = {name: line.within(part) for name, line in lines.items() if len(line)}
    sent = {name: line.thinned(step) for name, line in inside.items()}
    return {
        "from": begin,
        "until": end,
        "step": step,
        "exact": all(len(sent[name]) == len(line) for name, line in inside.items()),
        "lines": {
            name: _line(line, PER[name]) | {"all": len(line) == len(inside[name])} for name, line in sent.items()
        },
        "spans": _spans(trace, part),
        "flags": _flags(trace.flagged.within((begin, np.nextafter(end, np.inf))), step),
    }


def _line(line: Line, per: int) -> dict[str, Any]:
    time = np.round(line.time_s * _MS).astype(np.int64)
    return {
        "t": np.diff(time, prepend=0).tolist(),
        "v": np.round(line.value * per).astype(np.int64).tolist(),
        "b": np.flatnonzero(line.begins).tolist(),
        "per": per,
    }


def _spans(trace: Trace, part: Span) -> dict[str, list[list[float]]]:
    series = trace.series
    kinds: dict[str, Sequence[Span]] = {
        "gaps": series.unmeasured if series.has_pulse else (),
        "movement-gaps": series.movement_unmeasured,
        "moving": series.moving or (),
        "assisted": series.assisted,
        "crossings": series.crossings,
        "possible": series.possible,
    }
    length = part[1] - part[0]
    return {
        kind: [
            [round(part[0] + a * length, 3), round(part[0] + b * length, 3)]
            for a, b in cut(tuple(spans), part, least=1 / COLUMNS)
        ]
        for kind, spans in kinds.items()
    }


def _flags(flagged: Flagged, step: float) -> dict[str, list[Any]]:
    """Flagged samples; of one rule in one column the first, the lowest and the highest."""
    keep = np.zeros(len(flagged), bool)
    if len(flagged) > COLUMNS:
        column = np.floor(flagged.time_s / step).astype(np.int64)
        for order in (
            np.lexsort((flagged.time_s, flagged.rule, column)),
            np.lexsort((flagged.bpm, flagged.rule, column)),
            np.lexsort((-flagged.bpm, flagged.rule, column)),
        ):
            first = np.ones(len(order), bool)
            first[1:] = (np.diff(column[order]) != 0) | (np.diff(flagged.rule[order]) != 0)
            keep[order[first]] = True
    else:
        keep[:] = True
    bpm = [None if not np.isfinite(each) else round(each, 1) for each in flagged.bpm[keep].tolist()]
    return {
        "t": np.round(flagged.time_s[keep] * _MS).astype(np.int64).tolist(),
        "v": bpm,
        "r": flagged.rule[keep].tolist(),
        "u": flagged.used[keep].astype(int).tolist(),
    }
