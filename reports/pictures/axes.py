"""What stands around the panels: names of phases, the time axis, the key, and small lines on what is missing."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ...words.numbers import clock
from ..palette import INK, PAPER, QUIET
from ..words import Words
from .board import DOTS, HATCH, STILL, STRIPES, Board, Panel, text_width, wrapped
from .label_spacing import spread
from .series import Series, Span
from .sizes import Sizes
from .ticks import time_ticks

Swatch = Literal["hatched", "bar", "striped", "dark", "light", "dots", "dashed", "thick", "ring", "disc", "band"]
SWATCH_PT, SWATCH_GAP_PT, ITEM_GAP_PT = 16.0, 4.0, 12.0


def draw_phases(board: Board, panel: Panel, phases: Sequence[tuple[str, Span]], sizes: Sizes) -> None:
    """A bracket with its name over each phase, and a fine line down the panel at each end."""
    if not phases:
        return
    y = panel.top + 4
    shown = [(text, panel.x(max(a, panel.from_x)), panel.x(min(b, panel.until_x))) for text, (a, b) in phases]
    shown = [each for each in shown if each[2] > each[1]]
    ends = sorted({round(end, 2) for _, a, b in shown for end in (a, b)})
    for end in ends:
        if panel.left + 1 < end < panel.right - 1:
            board.rule(end, panel.bottom, end, y, 0.6, halo=0.5, dash=(1.5, 1.5))
    brackets = [(np.array([a, a, b, b]), np.array([y - 3, y, y, y - 3])) for _, a, b in shown]
    board.line([(x + np.array([0.8, 0.8, -0.8, -0.8]), level) for x, level in brackets], 0.8, name="phases")
    widths = [text_width(text, sizes.small) for text, _, _ in shown]
    centres = spread([(a + b) / 2 for _, a, b in shown], widths, panel.left, board.width, 6)
    for (text, _, _), centre in zip(shown, centres, strict=True):
        board.text(centre, y + 0.72 * sizes.small, text, sizes.small, across="center")


def draw_time(board: Board, panel: Panel, series: Series | None, words: Words, sizes: Sizes, key: str) -> None:
    """Times from the start under the lowest panel, the clock below where it is known, and what they are."""
    size, moments = sizes.small, _moments(panel, series, sizes)
    y = panel.bottom - 3 - 0.7 * size
    labels = [[clock(each) for each in moments]]
    if series is not None and series.start is not None:
        labels.append(_clock_times(series, moments))
    for row, texts in enumerate(labels):
        for moment, text in zip(moments, texts, strict=True):
            x = panel.x(moment)
            if not row:
                board.rule(x, panel.bottom - 3, x, panel.bottom, colour=QUIET)
            board.text(x, y, text, size, across="center", colour=QUIET if row else INK)
        y -= 1.3 * size
    for text in _axis_words(panel, series, words, sizes, key):
        board.text(panel.left, y, text, size, colour=QUIET)
        y -= sizes.small_row


def time_height(panel: Panel, series: Series | None, words: Words, sizes: Sizes, key: str) -> float:
    """Room that ``draw_time`` needs under its panel [pt]."""
    rows = 2 if series is not None and series.start is not None else 1
    return 4 + rows * 1.3 * sizes.small + len(_axis_words(panel, series, words, sizes, key)) * sizes.small_row


def _axis_words(panel: Panel, series: Series | None, words: Words, sizes: Sizes, key: str) -> list[str]:
    text = words.get(f"{key}_hours" if panel.until_x >= 3600 else key)
    if series is not None and (start := series.moment(0)) is not None:
        zone = " (UTC)" if start.tzinfo is not None and not start.utcoffset() else ""
        text += words.get("picture.clock_below") + zone
    return wrapped(text, sizes.small, panel.width)


def _clock_times(series: Series, moments: Sequence[float]) -> list[str]:
    found = [moment for each in moments if (moment := series.moment(each)) is not None]
    whole = all(not each.second and not each.microsecond for each in found)
    return [f"{each:%H:%M}" if whole else f"{each:%H:%M:%S}" for each in found]


def _moments(panel: Panel, series: Series | None, sizes: Sizes) -> list[float]:
    """As many round moments as have room for their labels."""
    for most in range(12, 2, -1):
        found = time_ticks(panel.from_x, panel.until_x, most)
        texts = [clock(each) for each in found]
        if series is not None and series.start is not None:
            texts += _clock_times(series, found)
        widest = max((text_width(text, sizes.small) for text in texts), default=0.0)
        if len(found) < 2 or panel.x(found[1]) - panel.x(found[0]) >= widest + 0.9 * sizes.small:
            return found
    return time_ticks(panel.from_x, panel.until_x, 2)


@dataclass(frozen=True, slots=True)
class KeyItem:
    """A sample of what is drawn, and its name."""

    swatch: Swatch
    text: str

    def width(self, sizes: Sizes) -> float:
        """Room that it takes in a row [pt]."""
        return SWATCH_PT + SWATCH_GAP_PT + text_width(self.text, sizes.small)


def key_rows(items: Sequence[KeyItem], sizes: Sizes, width: float) -> list[list[KeyItem]]:
    """Items in rows no wider than so many points."""
    rows: list[list[KeyItem]] = []
    free = 0.0
    for item in items:
        need = item.width(sizes) + ITEM_GAP_PT
        if not rows or need > free + ITEM_GAP_PT:
            rows.append([])
            free = width
        rows[-1].append(item)
        free -= need
    return rows


def draw_key(board: Board, items: Sequence[KeyItem], sizes: Sizes, left: float, top: float) -> float:
    """The key from ``top`` down; where it ends [pt]."""
    y = top
    for row in key_rows(items, sizes, board.width - left):
        x, middle = left, y - sizes.row / 2
        for item in row:
            _swatch(board, item.swatch, x, middle, 0.8 * sizes.small)
            board.text(x + SWATCH_PT + SWATCH_GAP_PT, middle - 0.0, item.text, sizes.small)
            x += item.width(sizes) + ITEM_GAP_PT
        y -= sizes.row
    return y


def _swatch(board: Board, kind: Swatch, x: float, y: float, tall: float) -> None:
    low, high, span = y - tall / 2, y + tall / 2, [(x, x + SWATCH_PT)]
    if kind == "hatched":
        board.boxes(span, low, high, PAPER, hatch=HATCH)
        board.boxes(span, low, high, "none", edge=QUIET)
    elif kind in ("dark", "light", "dots"):
        board.boxes(span, low, high, INK if kind == "dark" else PAPER if kind == "dots" else STILL, hatch=_dots(kind))
        board.boxes(span, low, high, "none", edge=QUIET)
    elif kind == "band":
        board.boxes(span, low, high, STILL, edge=QUIET)
    elif kind in ("ring", "disc"):
        board.dot(x + SWATCH_PT / 2, y, 3.4, PAPER if kind == "ring" else INK)
    else:
        width, dash = {"bar": (3.2, ()), "striped": (3.2, STRIPES), "dashed": (1.0, DASH), "thick": (2.0, ())}[kind]
        board.rule(x, y, x + SWATCH_PT, y, width, dash=dash)


DASH = (4.0, 2.2)
"""Dashes of a baseline, in widths of its line."""


def _dots(kind: Swatch) -> str:
    return DOTS if kind == "dots" else ""


def draw_notes(board: Board, lines: Sequence[str], sizes: Sizes, left: float, top: float) -> float:
    """Small lines from ``top`` down; where they end [pt]."""
    for place, line in enumerate(lines):
        board.text(left, top - (place + 0.5) * sizes.small_row, line, sizes.small, colour=QUIET)
    return top - len(lines) * sizes.small_row
