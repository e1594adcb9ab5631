"""A drawing board in points from the lower left corner: the few things that pictures are made of.

No axes of the library are used: every line, surface and letter is placed here, which is several times faster and
lets each label know its own size before it is placed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from ..palette import INK, PAPER, QUIET
from .series import Floats, Span

if TYPE_CHECKING:
    from matplotlib.text import Text

POINTS = 72.0
STILL = "#e6e0d5"
"""Stillness in a ribbon: warm and light beside the ink of movement, with an edge that can be seen."""
SPARE = 1.03
"""Letters set in whole dots, as in a PNG, run a little wider than their shapes."""
HATCH, DOTS = "/////", "...."
STRIPES = (0.5, 0.5)
"""Of a bar where the ceiling may have been passed, in widths of its line."""


@dataclass(frozen=True, slots=True)
class Panel:
    """A part of the board with its own scales: data to points."""

    left: float
    bottom: float
    width: float
    height: float
    from_x: float
    until_x: float
    low: float = 0.0
    high: float = 1.0

    @property
    def right(self) -> float:
        """Its right edge [pt]."""
        return self.left + self.width

    @property
    def top(self) -> float:
        """Its upper edge [pt]."""
        return self.bottom + self.height

    def x(self, value: Any) -> Any:  # noqa: ANN401 a number or an array of them
        """Across [pt]."""
        return self.left + (value - self.from_x) * (self.width / (self.until_x - self.from_x))

    def y(self, value: Any) -> Any:  # noqa: ANN401
        """Upward [pt]."""
        return self.bottom + (value - self.low) * (self.height / (self.high - self.low))


class Board:
    """A figure that is drawn on in points."""

    def __init__(self, width: float, height: float) -> None:
        from matplotlib.figure import Figure
        from matplotlib.transforms import Affine2D

        self.width, self.height = width, height
        self.figure: Figure = Figure(figsize=(width / POINTS, height / POINTS))
        self._base = Affine2D().scale(1 / POINTS) + self.figure.dpi_scale_trans

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        across: Literal["left", "center", "right"] = "left",
        colour: str = INK,
        bold: bool = False,
        upright: bool = False,
        ground: bool = False,
    ) -> "Text":
        """Words, their middle line at ``y``; ``upright`` turned by a quarter, ``ground`` on a piece of paper."""
        box: dict[str, Any] | None = None
        if ground:
            box = {"boxstyle": "square,pad=0.18", "facecolor": PAPER, "edgecolor": "none"}
        return self.figure.text(
            x,
            y,
            text,
            fontsize=size,
            fontfamily="DejaVu Sans",
            fontweight="bold" if bold else "normal",
            color=colour,
            ha=across,
            va="center" if upright else "center_baseline",
            rotation=90 if upright else 0,
            bbox=box,
            transform=self._base,
            parse_math=False,
        )

    def line(
        self,
        runs: Iterable[tuple[Floats, Floats]],
        width: float,
        *,
        colour: str = INK,
        dash: Sequence[float] = (),
        halo: float = 0.0,
        cap: Literal["butt", "round"] = "butt",
        name: str | None = None,
    ) -> None:
        """A line through each run of points, as one shape; ``halo`` is the paper on both sides of it [pt]."""
        from matplotlib.path import Path

        held = [(np.column_stack(each), _codes(len(each[0]), Path)) for each in runs if len(each[0])]
        if not held:
            return
        path = Path(np.concatenate([points for points, _ in held]), np.concatenate([codes for _, codes in held]))
        if halo:
            self._add(
                path,
                name and f"{name}-halo",
                fill=False,
                ec=PAPER,
                lw=width + 2 * halo,
                capstyle=cap,
                joinstyle="round",
            )
        style: Any = (0, tuple(dash)) if dash else "solid"
        self._add(path, name, fill=False, ec=colour, lw=width, capstyle=cap, joinstyle="round", linestyle=style)

    def rule(self, x0: float, y0: float, x1: float, y1: float, width: float = 0.6, **how: Any) -> None:  # noqa: ANN401
        """One straight line."""
        self.line([(np.array([x0, x1]), np.array([y0, y1]))], width, **how)

    def boxes(
        self,
        spans: Iterable[Span],
        low: float,
        high: float,
        colour: str,
        *,
        edge: str | None = None,
        hatch: str = "",
        name: str | None = None,
    ) -> None:
        """Upright boxes from ``low`` to ``high`` over stretches of the width, as one shape [pt]."""
        from matplotlib.path import Path

        corners = [corner for a, b in spans if b > a for corner in ((a, low), (b, low), (b, high), (a, high), (a, low))]
        if not corners:
            return
        one = [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY]
        path = Path(np.array(corners), one * (len(corners) // 5))
        how: dict[str, Any] = {"fc": colour, "ec": edge or "none", "lw": 0.5 if edge else 0.0}
        if hatch:
            how |= {"ec": QUIET, "lw": 0.0, "hatch": hatch, "hatch_linewidth": 0.7}
        self._add(path, name, **how)

    def dot(self, x: float, y: float, radius: float, colour: str, *, edge: str = INK, width: float = 1.2) -> None:
        """A round mark."""
        from matplotlib.patches import Circle

        self._place(Circle((x, y), radius, fc=colour, ec=edge, lw=width))

    def _add(self, path: Any, name: str | None, **how: Any) -> None:  # noqa: ANN401
        from matplotlib.patches import PathPatch

        hatch_width = how.pop("hatch_linewidth", None)
        patch = PathPatch(path, **how)
        if hatch_width is not None:
            patch.set_hatch_linewidth(hatch_width)
        if name:
            patch.set_gid(name)
        self._place(patch)

    def _place(self, patch: Any) -> None:  # noqa: ANN401
        patch.set_transform(self._base)
        self.figure.add_artist(patch)


def _codes(count: int, path: Any) -> Floats:  # noqa: ANN401
    codes = np.full(count, path.LINETO, dtype=path.code_type)
    codes[0] = path.MOVETO
    return codes


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of words in the pictures' own font [pt]."""
    found = _font(bold=bold)
    found.set_size(size, 720)  # ten times too large: the font's own rounding to whole dots then does not matter
    found.set_text(text, 0.0)
    return SPARE * found.get_width_height()[0] / 64.0 / 10.0


@lru_cache
def _font(*, bold: bool) -> Any:  # noqa: ANN401 the library's font object
    from matplotlib import get_data_path
    from matplotlib.font_manager import get_font

    return get_font(f"{get_data_path()}/fonts/ttf/DejaVuSans{'-Bold' if bold else ''}.ttf")


def wrapped(text: str, size: float, width: float) -> list[str]:
    """A text in lines no wider than so many points; a word longer than a line stands alone."""
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", size) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
