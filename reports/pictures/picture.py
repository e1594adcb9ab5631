"""A finished picture: SVG and PNG of one drawing, and its text equivalent."""

from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from threading import Lock
from typing import TYPE_CHECKING, Any

from ..palette import PAPER

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_RC: Any = {
    "font.family": ["DejaVu Sans"],  # comes with the drawing library, so that every machine draws the same
    "text.usetex": False,
    "text.parse_math": False,
    "svg.fonttype": "path",  # letters as shapes: neither compiler nor browser has to own the font that was measured
    "svg.hashsalt": "ownmark",
    "path.simplify": False,  # lines are thinned already, with their lows and highs kept
    "savefig.bbox": None,
    "patch.force_edgecolor": False,
}
_LOCK = Lock()
"""The library's settings are one for the whole program."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """One picture.

    svg : the same bytes for the same data
    png : draws it with so many dots an inch, on the page's paper
    alt : what the picture shows, in sentences with the main numbers
    """

    svg: bytes
    png: Callable[[float], bytes]
    alt: str


def finished(figure: "Figure", alt: str) -> Drawn:
    """Draw once as SVG; PNG when asked for."""

    def png(dpi: float = 200) -> bytes:
        return _saved(figure, "png", dpi=dpi, facecolor=PAPER)

    svg = _saved(figure, "svg", facecolor="none", metadata={"Date": None, "Creator": None, "Type": None})
    return Drawn(svg, png, alt)


def _saved(figure: "Figure", kind: str, **how: Any) -> bytes:  # noqa: ANN401 the library's own options
    from matplotlib import rc_context

    held = BytesIO()
    with _LOCK, rc_context(_RC):
        figure.savefig(held, format=kind, **how)
    return held.getvalue()
