"""Names written beside their own line, where no other line passes."""

from collections.abc import Sequence

import numpy as np

from .board import Board, Panel, text_width
from .pulse_panel import line_runs
from .series import Floats, Series
from .sizes import Sizes

AIR_PT = 3.5
FAR_PT = 14.0
"""Another line that is this far away makes a place as good as can be."""
Box = tuple[float, float, float, float]


def draw_names(board: Board, panel: Panel, lines: Sequence[Series], names: Sequence[str], sizes: Sizes) -> list[Box]:
    """Write each name over or under a level part of its line; one without such a place stands in the key only.

    Gives back the boxes used: left, bottom, right, top  [pt].
    """
    columns = [_columns(series, panel) for series in lines]
    taken: list[Box] = []
    for place, name in enumerate(names):
        others = [each for index, each in enumerate(columns) if index != place]
        box = _place(
            panel,
            columns[place],
            others,
            (text_width(name, sizes.small, bold=place > 0) + 4, sizes.small * 1.35),
            taken,
        )
        if box is not None:
            taken.append(box)
            x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
            board.text(x, y, name, sizes.small, across="center", bold=place > 0, ground=True)
    return taken


def _columns(series: Series, panel: Panel) -> tuple[Floats, Floats]:
    """Lowest and highest point of a line in each column of one point, NaN where it has none, shape (width,)  [pt]."""
    count = int(panel.width) + 1
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    for x, y in line_runs(series, panel):
        across = np.concatenate((x, np.arange(np.ceil(x[0]), x[-1])))
        upward = np.interp(across, x, y)
        column = np.clip((across - panel.left).astype(np.int64), 0, count - 1)
        np.minimum.at(low, column, upward)
        np.maximum.at(high, column, upward)
    empty = ~np.isfinite(low)
    low[empty] = high[empty] = np.nan
    return low, high


def _place(
    panel: Panel,
    own: tuple[Floats, Floats],
    others: Sequence[tuple[Floats, Floats]],
    size: tuple[float, float],
    taken: Sequence[Box],
) -> Box | None:
    """The best free place along a line, or None."""
    wide, tall = size
    best: tuple[float, Box] | None = None
    for begin in range(4, int(panel.width - wide) - 4, 3):
        window = slice(begin, begin + int(np.ceil(wide)) + 1)
        if np.isnan(own[0][window]).any():
            continue
        bottom, top = float(own[0][window].min()), float(own[1][window].max())
        for low in (top + AIR_PT, bottom - AIR_PT - tall):
            box = (panel.left + begin, low, panel.left + begin + wide, low + tall)
            if low < panel.bottom + 2 or low + tall > panel.top - 2 or any(_touch(box, each) for each in taken):
                continue
            away = min((_distance(each, window, box) for each in others), default=FAR_PT)
            if away > AIR_PT:
                cost = (top - bottom) - min(away, FAR_PT)
                best = min(best, (cost, box)) if best else (cost, box)
    return None if best is None else best[1]


def _distance(line: tuple[Floats, Floats], window: slice, box: Box) -> float:
    """How far a line stays from a box in its columns, below 0 if it passes through  [pt]."""
    low, high = line[0][window], line[1][window]
    seen = np.isfinite(low)
    if not seen.any():
        return FAR_PT
    return float(np.maximum(low[seen] - box[3], box[1] - high[seen]).min())


def _touch(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
