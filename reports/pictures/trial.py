"""The picture of one trial: heart rate, movement and cadence over one time axis."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..palette import PLUM
from ..words import Words
from .alt_text import said_of_trial, why_no_zones
from .axes import KeyItem, draw_key, draw_notes, draw_phases, draw_time, key_rows, time_height
from .board import Board, Panel, wrapped
from .picture import Drawn, finished
from .pulse_panel import (
    draw_bands,
    draw_ceiling,
    draw_gaps,
    draw_line,
    draw_margin,
    draw_scale,
    margin_labels,
    margin_width,
    value_range,
)
from .ribbon import cadence_range, draw_cadence, draw_ribbon, movement_key, movement_title
from .series import PHASES, Series
from .sizes import SIZES, Sizes, Width

if TYPE_CHECKING:
    from matplotlib.figure import Figure

AXIS = "picture.time_axis"
_THINNEST = 400
"""A stretch shorter than this part of the trial is thinner than a line, and no key explains it."""


def trial_picture(series: Series, words: Words, width: Width = "paper") -> Drawn:
    """Draw one trial.

    Parameters
    ----------
    width : ``paper`` is 170 mm, and so is ``low``, of less height; ``phone`` is 360 px with fewer ticks and larger type
    """
    return finished(trial_figure(series, words, width).figure, said_of_trial(series, words))


@dataclass(frozen=True, slots=True)
class Made:
    """A drawing with its scales: what tests and overlays need to find a place on it."""

    figure: "Figure"
    pulse: Panel | None
    movement: Panel | None
    cadence: Panel | None


def trial_figure(series: Series, words: Words, width: Width = "paper") -> Made:
    """Lay the parts under each other from the top, then draw them from back to front."""
    sizes = SIZES[width]
    spots = _Spots(series, words, sizes)
    board, pulse, movement, cadence = Board(sizes.width, spots.height), spots.pulse, spots.movement, spots.cadence
    if pulse is not None:
        _draw_pulse(board, pulse, series, words, sizes)
    if movement is not None:
        draw_ribbon(board, movement, series, words, sizes)
    if cadence is not None:
        draw_cadence(board, cadence, series, sizes)
    for panel, title in spots.titles:
        board.text(0, spots.title_y(panel), title, sizes.type, colour=PLUM)
    draw_phases(board, spots.first, spots.phases, sizes)
    if pulse is not None:
        draw_ceiling(board, pulse, series)
        draw_line(board, pulse, series, name="heart-rate")
    draw_time(board, spots.lowest, series, words, sizes, AXIS)
    y = draw_key(board, spots.key, sizes, spots.lowest.left, spots.lowest.bottom - spots.under)
    draw_notes(board, spots.notes, sizes, spots.lowest.left, y)
    return Made(board.figure, pulse, movement, cadence)


def _draw_pulse(board: Board, panel: Panel, series: Series, words: Words, sizes: Sizes) -> None:
    if series.zones is not None:
        draw_bands(board, panel, series.zones)
    draw_gaps(
        board,
        panel,
        series.unmeasured,
        words,
        sizes,
        name="heart-rate-not-measured",
        low=panel.bottom,
        high=panel.top,
    )
    if series.measured.any():
        draw_scale(board, panel, sizes)
        draw_margin(board, panel, series, words, sizes)


class _Spots:
    """Where each part lies: reckoned downward from the top, then turned, since the board's height follows from it."""

    def __init__(self, series: Series, words: Words, sizes: Sizes) -> None:
        self._series, self._words, self._sizes = series, words, sizes
        self.phases = _phases(series, words)
        self.key = _key(series, words)
        rates = value_range([series])
        zones, ceiling = margin_labels(series, rates, words) if series.measured.any() else ([], "")
        margin = margin_width(zones, sizes, ceiling)
        self._across = (
            sizes.left,
            sizes.width - sizes.left - margin,
            series.begin_s,
            max(series.end_s, series.begin_s + 1.0),
        )
        self._over = sizes.row if self.phases else 0.5 * sizes.small if series.has_pulse or series.cadence else 0.0
        depth, wanted = sizes.row + self._over, []
        if series.has_pulse:
            wanted.append((depth, sizes.panel, rates, words.get("picture.heart_rate_title")))
            depth += sizes.panel + 0.5 * sizes.row
        if series.moving is not None:
            depth += sizes.row if wanted else 0.0
            wanted.append((depth, sizes.ribbon, (0.0, 1.0), movement_title(series, words)))
            depth += sizes.ribbon + 0.5 * sizes.row
        if series.cadence:
            depth += sizes.row + 0.5 * sizes.small if wanted else 0.0
            wanted.append((depth, sizes.cadence, cadence_range(series), words.get("picture.cadence_title")))
            depth += sizes.cadence + 0.5 * sizes.row
        if not wanted:  # nothing but the time that passed
            wanted.append((depth, 1.0, (0.0, 1.0), words.get("picture.nothing_title")))
            depth += 1.0 + 0.5 * sizes.row
        depth -= 0.5 * sizes.row
        probe = self._panel(0.0, 1.0, (0.0, 1.0))
        self.under = time_height(probe, series, words, sizes, AXIS)
        self.notes = _notes(series, words, sizes)
        depth += self.under + len(key_rows(self.key, sizes, sizes.width - sizes.left)) * sizes.row
        self.height = depth + len(self.notes) * sizes.small_row + 2
        panels = [self._panel(self.height - top - tall, tall, values) for top, tall, values, _ in wanted]
        self.titles = [(panel, each[3]) for panel, each in zip(panels, wanted, strict=True)]
        self.first, self.lowest = panels[0], panels[-1]
        held = iter(panels)
        self.pulse = next(held) if series.has_pulse else None
        self.movement = next(held) if series.moving is not None else None
        self.cadence = next(held) if series.cadence else None

    def title_y(self, panel: Panel) -> float:
        """Middle of the title over a panel; over the first one it stands above the names of the phases."""
        lift = self._over if panel is self.first else 0.0
        lift += 0.5 * self._sizes.small if panel is self.cadence and panel is not self.first else 0.0
        return panel.top + lift + 0.5 * self._sizes.row

    def _panel(self, bottom: float, height: float, values: tuple[float, float]) -> Panel:
        left, width, begin, end = self._across
        return Panel(left, bottom, width, height, begin, end, *values)


def _phases(series: Series, words: Words) -> list[tuple[str, tuple[float, float]]]:
    if series.whole and "work" in series.phases:
        return [(words.get("picture.whole"), series.phases["work"])]
    return [(words.get(f"picture.{name}"), series.phases[name]) for name in PHASES if name in series.phases]


def _key(series: Series, words: Words) -> list[KeyItem]:
    items = []
    least = (series.end_s - series.begin_s) / _THINNEST
    if any(until - begin >= least for begin, until in (*series.unmeasured, *series.movement_unmeasured)):
        items.append(KeyItem("hatched", words.get("picture.not_measured")))
    if series.has_pulse and series.crossings and series.ceiling_bpm is not None:
        items.append(KeyItem("bar", words.get("picture.above_ceiling")))
    if series.has_pulse and series.possible and series.ceiling_bpm is not None:
        items.append(KeyItem("striped", words.get("picture.possible")))
    return items + movement_key(series, words)


def _notes(series: Series, words: Words, sizes: Sizes) -> list[str]:
    """Small lines on what a reader would look for and not find."""
    notes = []
    if not series.has_pulse:
        notes.append(words.get("picture.no_heart_rate"))
    elif series.zones is None and series.measured.any():
        notes.append(why_no_zones(series, words))
    if not series.clocks_agree and series.moving is not None:
        notes.append(words.get("picture.clocks"))
    return [line for note in notes for line in wrapped(note, sizes.small, sizes.width - sizes.left - 4)]
