"""Where things lie on a trace: panels under each other in CSS pixels, time across in shares of the width."""

from dataclasses import dataclass

import numpy as np

from ..pictures.pulse_panel import value_range
from ..pictures.ribbon import cadence_range
from ..pictures.series import Floats, Span, merged
from .lines import Line
from .trace import Trace

UNITS = 1000.0
"""Lines are drawn in thousandths of the width, one column each: a browser stretches them to what there is."""
TITLE_PX, HEAD_PX, AIR_PX, AXIS_PX = 22.0, 30.0, 10.0, 45.0
PULSE_PX, RIBBON_PX, SMALL_PX = 230.0, 16.0, 60.0
PULSE, RIBBON, MOVEMENT, CADENCE = "pulse", "ribbon", "movement", "cadence"


@dataclass(frozen=True, slots=True)
class Panel:
    """A part of the trace with its own values, from the top down.

    top, height : [px]
    low, high : values at its lower and upper edge
    """

    name: str
    top: float
    height: float
    low: float
    high: float

    @property
    def bottom(self) -> float:
        """Its lower edge [px]."""
        return self.top + self.height

    def y(self, value: float | Floats) -> float | Floats:
        """Down from the picture's top [px]."""
        return self.bottom - (value - self.low) * (self.height / (self.high - self.low))


@dataclass(frozen=True, slots=True)
class Layout:
    """All panels, and how high the whole is [px]."""

    panels: tuple[Panel, ...]
    height: float

    def get(self, name: str) -> Panel | None:
        """The panel of that name."""
        return next((each for each in self.panels if each.name == name), None)


def layout_of(trace: Trace) -> Layout:
    """Panels of what the recording holds; each has its title above it, the first one names of phases too."""
    wanted: list[tuple[str, float, float, float]] = []
    if trace.series.has_pulse:
        wanted.append((PULSE, PULSE_PX, *value_range([trace.series])))
    if trace.series.moving is not None:
        wanted.append((RIBBON, RIBBON_PX, 0.0, 1.0))
    if len(trace.movement):
        wanted.append((MOVEMENT, SMALL_PX, *movement_range(trace.movement)))
    if len(trace.cadence):
        wanted.append((CADENCE, SMALL_PX, *cadence_range(trace.series)))
    if not wanted:
        wanted.append((RIBBON, 1.0, 0.0, 1.0))
    panels: list[Panel] = []
    y = HEAD_PX
    for name, height, low, high in wanted:
        y += TITLE_PX
        panels.append(Panel(name, y, height, low, high))
        y += height + AIR_PX
    return Layout(tuple(panels), y + AXIS_PX)


def movement_range(movement: Line) -> Span:
    """Least and most of the movement's axis  [g]: halves of 1 g, or tenths where it moves by no more than one.

    1 g, which is stillness, is always on it, and it is no shorter than two of its steps.
    """
    low, high = float(movement.value.min(initial=1.0)), float(movement.value.max(initial=1.0))
    parts = 2 if high - low > 1.0 else 10
    least, most = int(np.floor(low * parts)), int(np.ceil(high * parts))
    return least / parts, max(most, least + 2) / parts


def share(at_s: float, view: Span) -> float:
    """Where a moment lies in the view: 0 at its left edge, 1 at its right; beyond for what lies outside."""
    return (at_s - view[0]) / (view[1] - view[0])


def cut(spans: tuple[Span, ...], view: Span, least: float = 1 / UNITS) -> list[Span]:
    """Stretches as shares of the view: what is outside is left off, what lies closer than a column is one.

    None is narrower than a column, so that every one can be seen.
    """
    found: list[Span] = []
    for begin, end in merged(sorted(spans)):
        a, b = max(share(begin, view), 0.0), min(share(end, view), 1.0)
        if a >= b:
            continue
        b = min(max(b, a + least), 1.0)
        a = min(a, b - least)
        if found and a - found[-1][1] < least / 2:
            found[-1] = (found[-1][0], max(b, found[-1][1]))
        else:
            found.append((a, b))
    return found


def path_of(line: Line, view: Span, panel: Panel) -> str:
    """The ``d`` of a line in thousandths of the width: first, lowest, highest and last of each column, no gap bridged.

    A piece that is one point is a dot. Pieces inside one column are joined: nobody can see between them.
    """
    inside = line.within(view)
    if not len(inside):
        return ""
    x = (inside.time_s - view[0]) * (UNITS / (view[1] - view[0]))
    inside = Line(x, inside.value, inside.begins).thinned(1.0)
    x = inside.time_s
    column = np.floor(x)
    begins = inside.begins & (np.diff(column, prepend=column[0] - 1) != 0)
    y = panel.y(np.clip(inside.value, panel.low, panel.high)) - panel.top
    parts: list[str] = []
    alone = begins & np.append(begins[1:], True)
    for at, down, anew, dot in zip(x.tolist(), np.asarray(y).tolist(), begins.tolist(), alone.tolist(), strict=True):
        parts.append(f"{'M' if anew else 'L'}{_short(at)} {_short(down)}{'h0' if dot else ''}")
    return "".join(parts)


def _short(value: float) -> str:
    text = f"{value:.1f}"
    return text.removesuffix(".0")
