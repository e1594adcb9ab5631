"""The heart-rate part of a picture: classes of effort as bands, gaps, ceiling, and the line before them all."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from ..palette import INK, PAPER, QUIET, RAMP, contrast
from ..words import Words
from .board import HATCH, STRIPES, Board, Panel, text_width
from .decimation import thinned
from .label_spacing import free_place
from .series import Floats, Series, Span
from .sizes import Sizes
from .ticks import value_ticks

AIR_BPM = 6.0
LEAST_SPAN_BPM = 40.0
FAR_BPM = 25.0
"""A ceiling farther than this from every value is told beside the picture, not drawn: it would press the line flat."""
EDGES_APART_PT = 2.5
LINE_PT, HALO_PT, LEAST_BAR_PT = 1.2, 1.1, 0.7


def value_range(shown: Sequence[Series]) -> tuple[float, float]:
    """Lowest and highest heart rate of the upright axis, whole tens [/min]."""
    lows = [each.lowest for each in shown if each.lowest is not None]
    highs = [each.highest for each in shown if each.highest is not None]
    low, high = (min(lows), max(highs)) if lows and highs else (60.0, 140.0)
    for ceiling in {each.ceiling_bpm for each in shown if each.ceiling_bpm is not None}:
        if low - FAR_BPM <= ceiling <= high + FAR_BPM:
            low, high = min(low, ceiling), max(high, ceiling)
    short = max(LEAST_SPAN_BPM - (high - low), 0.0) / 2
    return 10 * math.floor((low - short - AIR_BPM) / 10), 10 * math.ceil((high + short + AIR_BPM) / 10)


def draw_bands(board: Board, panel: Panel, zones: Sequence[tuple[str, float, float]]) -> None:
    """Each class as a band, light to dark, with a line between neighbours that stands out from both."""
    for colour, (name, low, high) in zip(RAMP, zones, strict=True):
        bottom, top = max(low, panel.low), min(high, panel.high)
        if top > bottom:
            board.boxes([(panel.left, panel.right)], panel.y(bottom), panel.y(top), colour, name=f"zone-{name}")
    for below, above, (_, edge, _) in zip(RAMP, RAMP[1:], zones[1:], strict=False):
        if panel.low < edge < panel.high:
            board.rule(panel.left, panel.y(edge), panel.right, panel.y(edge), 0.5, colour=between(below, above))


def between(one: str, other: str) -> str:
    """Ink or paper, whichever stands out more from both colours."""
    return max((INK, PAPER), key=lambda colour: min(contrast(colour, one), contrast(colour, other)))


def draw_scale(board: Board, panel: Panel, sizes: Sizes, *, size: float | None = None) -> None:
    """The frame's left side with its round values."""
    size = size or sizes.small
    board.rule(panel.left, panel.bottom, panel.left, panel.top, colour=QUIET)
    board.rule(panel.left, panel.bottom, panel.right, panel.bottom, colour=QUIET)
    most = max(int(panel.height / (2.4 * size)), 2)
    for value in value_ticks(panel.low, panel.high, most):
        y = panel.y(value)
        board.rule(panel.left - 3, y, panel.left, y, colour=QUIET)
        board.text(panel.left - 5, y, f"{value:g}", size, across="right")


def draw_gaps(
    board: Board, panel: Panel, gaps: Sequence[Span], words: Words, sizes: Sizes, *, name: str, low: float, high: float
) -> None:
    """Hatch every unmeasured stretch over its exact time, and write into it what it is where there is room."""
    inside = [(panel.x(max(a, panel.from_x)), panel.x(min(b, panel.until_x))) for a, b in gaps]
    inside = [(a, b) for a, b in inside if b > a]
    board.boxes(inside, low, high, PAPER, hatch=HATCH, name=name)
    board.line([(np.full(2, x), np.array([low, high])) for x in _edges(inside)], 0.4, colour=QUIET)
    text, size = words.get("picture.not_measured"), sizes.small
    wide, tall = text_width(text, size) + 6, 1.7 * size
    for a, b in inside:
        if high - low >= 1.25 * size and b - a >= wide:
            board.text((a + b) / 2, (low + high) / 2, text, size, across="center", ground=True)
        elif high - low >= wide and b - a >= tall:
            board.text((a + b) / 2, (low + high) / 2, text, size, across="center", upright=True, ground=True)


def _edges(gaps: Sequence[Span]) -> list[float]:
    """Where gaps begin and end, at least so far apart that thousands of short ones do not grow into one dark field."""
    shown: list[float] = []
    for x in (end for gap in gaps for end in gap):
        if not shown or x - shown[-1] >= EDGES_APART_PT:
            shown.append(x)
    return shown


def line_runs(series: Series, panel: Panel) -> Iterator[tuple[Floats, Floats]]:
    """Points of each unbroken part of the line, at the picture's resolution [pt]."""
    for run in series.runs:
        time = np.append(series.time_s[run], series.until_s[run.stop - 1])
        bpm = np.append(series.bpm[run], series.bpm[run.stop - 1])
        seen = (time >= panel.from_x) & (time <= panel.until_x)
        if seen.any():
            yield thinned(panel.x(time[seen]), panel.y(bpm[seen]))


def draw_line(
    board: Board,
    panel: Panel,
    series: Series,
    *,
    name: str,
    width: float = LINE_PT,
    dash: Sequence[float] = (),
) -> None:
    """Heart rate, with paper on both sides so that it stands out from every band."""
    runs = list(line_runs(series, panel))
    cap = "butt" if dash else "round"
    board.line(runs, width, halo=HALO_PT, name=name, dash=dash, cap=cap)


def draw_ceiling(board: Board, panel: Panel, series: Series) -> None:
    """The therapist's limit as a long-dashed line, and a bar under the upper edge for each stretch above it.

    The bars stand apart from the limit: on it they would hide a heart rate that hovers there. Striped bars are readings
    above it that are in no figure, so that no line is drawn there.
    """
    ceiling = series.ceiling_bpm
    if ceiling is None:
        return
    if series.measured.any() and panel.low <= ceiling <= panel.high:
        y = panel.y(ceiling)
        board.rule(panel.left, y, panel.right, y, 1.0, dash=(7, 3), halo=0.8, name="ceiling")
    level = np.full(2, panel.top - 5.0)
    for spans, dash, name in ((series.crossings, (), "crossings"), (series.possible, STRIPES, "possible-crossings")):
        bars = [(np.array(bar), level) for bar in _bars(panel, spans)]
        board.line(bars, 3.6, halo=1.0, name=name, dash=dash)


def _bars(panel: Panel, spans: Sequence[Span]) -> list[tuple[float, float]]:
    """From where to where a bar goes for each stretch, none too short to be seen [pt]."""
    bars: list[tuple[float, float]] = []
    for begin, end in spans:
        a, b = panel.x(max(begin, panel.from_x)), panel.x(min(end, panel.until_x))
        if b > a:
            middle, half = (a + b) / 2, max(b - a, LEAST_BAR_PT) / 2
            first = middle - half
            if bars and first - bars[-1][1] < LEAST_BAR_PT / 2:  # nobody could see the space between the two
                first = bars.pop()[0]
            bars.append((first, middle + half))
    return bars


def margin_labels(series: Series, panel_of: tuple[float, float], words: Words) -> tuple[list[str], str]:
    """Texts of the right margin: names of the classes from low to high, and the ceiling's."""
    zones = [] if series.zones is None else [words.get(f"figure.time_{name}") for name, _, _ in series.zones]
    if series.ceiling_bpm is None:
        return zones, ""
    beyond = (
        "" if panel_of[0] <= series.ceiling_bpm <= panel_of[1] else (" ↑" if series.ceiling_bpm > panel_of[1] else " ↓")
    )
    return zones, words.get("picture.ceiling", bpm=words.number(series.ceiling_bpm)) + beyond


def draw_margin(board: Board, panel: Panel, series: Series, words: Words, sizes: Sizes) -> None:
    """Name the bands and the ceiling at the right edge; a band too low for its name goes without."""
    x, tall = panel.right + 5, 1.25 * sizes.small
    zones, ceiling = margin_labels(series, (panel.low, panel.high), words)
    taken: list[Span] = []
    if ceiling and series.ceiling_bpm is not None:
        y = panel.y(min(max(series.ceiling_bpm, panel.low), panel.high))
        y = min(max(y, panel.bottom + tall / 2), panel.top - tall / 2)
        board.text(x, y, ceiling, sizes.small, bold=True)
        taken.append((y - tall / 2, y + tall / 2))
    for text, (_, low, high) in zip(zones, series.zones or (), strict=True):
        bottom, top = panel.y(max(low, panel.low)), panel.y(min(high, panel.high))
        place = free_place(bottom, top, tall, taken) if top > bottom else None
        if place is not None:
            board.text(x, place, text, sizes.small)


def margin_width(texts: Sequence[str], sizes: Sizes, bold: str = "") -> float:
    """Room that the labels of the right margin need, and half of the last time under the panel [pt]."""
    widths = [text_width(each, sizes.small) + 9 for each in texts if each]
    widths += [text_width(bold, sizes.small, bold=True) + 9] if bold else []
    return max(*widths, text_width("00:00:00", sizes.small) / 2 + 2, 0.0)
