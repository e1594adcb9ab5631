"""Movement as a ribbon, and cadence as a thin line of its own."""

import numpy as np

from ...words.vocabulary import ON_CHAIR
from ..palette import INK, PAPER, QUIET
from ..words import Words
from .axes import KeyItem
from .board import DOTS, STILL, Board, Panel
from .decimation import thinned
from .pulse_panel import draw_gaps, draw_scale
from .series import Series, Span
from .sizes import Sizes

BREAK = 1.6
"""Values of cadence farther apart than so many of their usual steps are not joined."""


def draw_ribbon(board: Board, panel: Panel, series: Series, words: Words, sizes: Sizes) -> None:
    """Moving dark, still light, unmeasured hatched, assisted dotted."""
    low, high = panel.bottom, panel.top
    board.boxes([(panel.left, panel.right)], low, high, STILL, name="still")
    board.boxes(_inside(panel, series.moving or ()), low, high, INK, name="moving")
    board.boxes(_inside(panel, series.assisted), low, high, PAPER, hatch=DOTS, name="assisted")
    draw_gaps(board, panel, series.movement_unmeasured, words, sizes, name="movement-not-measured", low=low, high=high)
    board.boxes([(panel.left, panel.right)], low, high, "none", edge=QUIET)


def _inside(panel: Panel, spans: tuple[Span, ...]) -> list[Span]:
    cut = [(panel.x(max(a, panel.from_x)), panel.x(min(b, panel.until_x))) for a, b in spans]
    return [(a, b) for a, b in cut if b > a]


def movement_title(series: Series, words: Words) -> str:
    """What the ribbon shows: on the chair's frame it is the chair that moves."""
    return words.get("picture.chair_title" if series.placement in ON_CHAIR else "picture.movement_title")


def movement_key(series: Series, words: Words) -> list[KeyItem]:
    """Samples of the ribbon's surfaces."""
    if series.moving is None:
        return []
    chair = "chair_" if series.placement in ON_CHAIR else ""
    items = [
        KeyItem("dark", words.get(f"picture.{chair}moving")),
        KeyItem("light", words.get(f"picture.{chair}still")),
    ]
    if series.assisted:
        items.append(KeyItem("dots", words.get("picture.assisted")))
    return items


def cadence_range(series: Series) -> tuple[float, float]:
    """Lowest and highest cadence of its axis, whole tens [/min]."""
    rate = np.array([each for _, each in series.cadence])
    low, high = 10 * np.floor((rate.min() - 2) / 10), 10 * np.ceil((rate.max() + 2) / 10)
    return float(max(low, 0.0)), float(max(high, low + 20))


def cadence_runs(series: Series) -> list[tuple[np.ndarray, np.ndarray]]:
    """Cadence between its gaps  [s], [/min]."""
    time, rate = np.array(series.cadence, dtype=np.float64).reshape(-1, 2).T
    step = np.diff(time)
    usual = float(np.median(step)) if len(step) else 0.0
    cuts = np.flatnonzero(step > BREAK * usual) + 1
    return list(zip(np.split(time, cuts), np.split(rate, cuts), strict=True))


def draw_cadence(board: Board, panel: Panel, series: Series, sizes: Sizes) -> None:
    """The line, broken where there was no rhythm; a single value is a dot."""
    draw_scale(board, panel, sizes)
    runs = [thinned(panel.x(time), panel.y(rate)) for time, rate in cadence_runs(series)]
    runs = [(np.repeat(x, 2), np.repeat(y, 2)) if len(x) == 1 else (x, y) for x, y in runs]
    board.line(runs, 0.9, name="cadence", cap="round")
