"""Baseline and re-test over each other, from the start of work."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from ..palette import PAPER, PLUM, QUIET
from ..words import Words
from .alt_text import said_of_pair, why_no_zones
from .axes import DASH, KeyItem, draw_key, draw_notes, draw_time, key_rows, time_height
from .board import HATCH, STILL, Board, Panel, wrapped
from .line_labels import draw_names
from .picture import Drawn, finished
from .pulse_panel import draw_bands, draw_line, draw_margin, draw_scale, margin_labels, margin_width, value_range
from .series import Series, from_work
from .sizes import SIZES, Sizes, Width

if TYPE_CHECKING:
    from matplotlib.figure import Figure

AXIS = "picture.time_axis_work"
NAMES = ("baseline", "retest")
LINES: tuple[tuple[float, tuple[float, ...]], ...] = ((1.1, DASH), (2.0, ()))
"""Width [pt] and dashes of baseline and re-test: told apart without any colour."""
STRIP_PT = 8.0


def pair_picture(first: Series, last: Series, words: Words, width: Width = "paper") -> Drawn:
    """Draw two trials over each other.

    Parameters
    ----------
    first, last : baseline and re-test; the classes of effort shown are the baseline's
    """
    both = from_work(first), from_work(last)
    return finished(pair_figure(first, last, words, width).figure, said_of_pair(both, _dated(both, words), words))


@dataclass(frozen=True, slots=True)
class MadePair:
    """A drawing of two trials, with its scales."""

    figure: "Figure"
    pulse: Panel
    strips: tuple[Panel, Panel]


def pair_figure(first: Series, last: Series, words: Words, width: Width = "paper") -> MadePair:
    """Lay out from the bottom, then draw from back to front."""
    sizes, both = SIZES[width], (from_work(first), from_work(last))
    first = both[0]
    rates = value_range(both)
    names = [words.get(f"picture.{name}") for name in NAMES]
    zones, _ = margin_labels(first, rates, words)
    margin = margin_width([*zones, *names], sizes)
    end = max(*(each.end_s for each in both), 1.0)

    def panel(bottom: float, height: float, low: float, high: float) -> Panel:
        return Panel(sizes.left, bottom, sizes.width - sizes.left - margin, height, 0.0, end, low, high)

    key, notes = _key(both, words), _notes(first, words, sizes)
    under = time_height(panel(0, 1, 0, 1), None, words, sizes, AXIS)
    below = 2 + len(notes) * sizes.small_row + len(key_rows(key, sizes, sizes.width - sizes.left)) * sizes.row + under
    strips = panel(below + 1.3 * sizes.small, STRIP_PT, 0, 1), panel(below, STRIP_PT, 0, 1)
    pulse = panel(strips[0].top + 1.6 * sizes.row, sizes.panel, *rates)
    board = Board(sizes.width, pulse.top + sizes.row + 0.5 * sizes.small)
    if first.zones is not None:
        draw_bands(board, pulse, first.zones)
    if any(each.measured.any() for each in both):
        draw_scale(board, pulse, sizes)
    draw_margin(board, pulse, first, words, sizes)
    board.text(0, board.height - sizes.row / 2, words.get("picture.heart_rate_title"), sizes.type, colour=PLUM)
    for each, name, (thick, dash) in zip(both, NAMES, LINES, strict=True):
        draw_line(board, pulse, each, name=name, width=thick, dash=dash)
    draw_names(board, pulse, both, names if width == "phone" else _dated(both, words), sizes)
    board.text(0, strips[0].top + 0.55 * sizes.row, words.get("picture.pair_strips"), sizes.type, colour=PLUM)
    for strip, each, name in zip(strips, both, names, strict=True):
        _draw_strip(board, strip, each)
        board.text(strip.right + 5, (strip.bottom + strip.top) / 2, name, sizes.small)
    draw_time(board, strips[1], None, words, sizes, AXIS)
    y = draw_key(board, key, sizes, sizes.left, strips[1].bottom - under)
    draw_notes(board, notes, sizes, sizes.left, y)
    return MadePair(board.figure, pulse, strips)


def _draw_strip(board: Board, strip: Panel, series: Series) -> None:
    """The work phase of one trial: light where heart rate was measured, hatched where not."""
    _, end = series.phases["work"]
    spans = [(max(a, 0.0), min(b, end)) for a, b in series.unmeasured] if series.has_pulse else [(0.0, end)]
    work = [(strip.x(0.0), strip.x(end))]
    board.boxes(work, strip.bottom, strip.top, STILL)
    board.boxes([(strip.x(a), strip.x(b)) for a, b in spans if b > a], strip.bottom, strip.top, PAPER, hatch=HATCH)
    board.boxes(work, strip.bottom, strip.top, "none", edge=QUIET)


def _dated(both: Sequence[Series], words: Words) -> list[str]:
    """Baseline and re-test with their days where these are known."""
    return [
        words.get(f"picture.{name}")
        if each.on is None
        else words.get(f"picture.{name}_on", date=words.date(date.fromisoformat(each.on)))
        for name, each in zip(NAMES, both, strict=True)
    ]


def _key(both: Sequence[Series], words: Words) -> list[KeyItem]:
    baseline, retest = _dated(both, words)
    items = [KeyItem("dashed", baseline), KeyItem("thick", retest), KeyItem("light", words.get("picture.measured"))]
    unseen = any(each.unmeasured or not each.has_pulse for each in both)
    return items + ([KeyItem("hatched", words.get("picture.not_measured"))] if unseen else [])


def _notes(first: Series, words: Words, sizes: Sizes) -> list[str]:
    note = words.get("picture.zones_of_baseline") if first.zones is not None else why_no_zones(first, words)
    return wrapped(note, sizes.small, sizes.width - sizes.left - 4)
