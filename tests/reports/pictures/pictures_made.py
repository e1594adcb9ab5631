"""Made trials, and what stands on a drawing: texts with their boxes, shapes by name, in points."""

from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.path import Path as Shape
from ownmark.metrics.messages.heart_rate import WHY_NO_MAXIMUM
from ownmark.metrics.zones import ZONES
from ownmark.reports.pictures.series import Series, tiled
from ownmark.reports.words import Words

EN, ES = Words("en"), Words("es")
EDGES = (0.0, 107.0, 118.0, 139.0, 172.0, float("inf"))
BANDS = tuple(zip(ZONES, EDGES, EDGES[1:], strict=False))
NONE = np.empty(0)
NO_MAXIMUM = WHY_NO_MAXIMUM
DPI = 160.0
"""At fewer dots the renderer's letters snap to dots and are no measure of the shapes in an SVG."""


def made(*, gaps: Any = ((540, 720),), work=(300, 1020), end=1440, peak=140.0, seed=1, step=1.0, **more: Any) -> Series:
    """Rest at 75, a rise to ``peak`` in two minutes of work, and a fall; 1 Hz, with gaps."""
    noise = np.random.default_rng(seed)
    time = np.arange(0, end, step)
    rise = (peak - 75) * np.clip((time - work[0]) / 120, 0, 1)
    bpm = 75 + np.where(time < work[1], rise, (peak - 75) * np.exp(-np.maximum(time - work[1], 0) / 60))
    bpm = np.round(bpm + noise.normal(0, 1.5, len(time)))
    seen = np.ones(len(time), bool)
    for begin, until in gaps:
        seen &= (time < begin) | (time >= until)
    rows = tiled(time[seen], np.full(seen.sum(), step), bpm[seen], from_s=0.0, until_s=float(end))
    known: dict[str, Any] = {
        "end_s": float(end),
        "on": "2026-05-12",
        "phases": {"rest": (0.0, 240.0), "work": work, "recovery": (float(work[1]), float(end))},
        "zones": BANDS,
        "ceiling_bpm": 140.0,
    } | more
    limit = known["ceiling_bpm"] or np.inf
    above: list[tuple[float, float]] = []
    for second in map(float, time[seen][bpm[seen] > limit]):
        begin = above.pop()[0] if above and above[-1][1] == second else second
        above.append((begin, second + step))
    at_work = bpm[seen & (time >= work[0]) & (time < work[1])]
    means = {"mean_bpm": float(at_work.mean()) if at_work.size else None}  # each second counts alike
    return Series(time_s=rows[0], until_s=rows[1], bpm=rows[2], **({"crossings": tuple(above)} | means | known))


MOVING: dict[str, Any] = {
    "moving": ((290.0, 600.0), (640.0, 800.0), (900.0, 1010.0)),
    "movement_unmeasured": ((600.0, 640.0),),
    "assisted": ((800.0, 900.0),),
    "placement": "wrist",
    "cadence": tuple((float(t), 40 + 5 * np.sin(t / 50)) for t in range(300, 1000, 5) if not 600 < t < 640),
    "start": "2026-05-12T09:31:17",
    "clocks_agree": False,
}
ONLY_MOVEMENT = Series(
    time_s=NONE, until_s=NONE, bpm=NONE, end_s=1440.0, phases={"work": (0.0, 1440.0)}, whole=True, **MOVING
)
ONE_SAMPLE = Series(
    time_s=np.array([0.0]), until_s=np.array([1.0]), bpm=np.array([88.0]), end_s=1.0, phases={"work": (0.0, 1.0)}
)
ZEROS = made(moving=(), cadence=((300.0, 0.0), (305.0, 0.0)), placement="frame", crossings=())
CASES = {
    "dropout": made(**MOVING),
    "doubtful": made(**MOVING | {"possible": ((545.0, 600.0), (660.0, 700.0)), "above_s": (30.0, 250.0)}),
    "only doubtful": made(ceiling_bpm=150.0, crossings=(), possible=((545.0, 600.0),), above_s=(0.0, 180.0)),
    "frame": made(**MOVING | {"placement": "frame", "cadence": ()}),
    "only heart rate": made(gaps=(), ceiling_bpm=None),
    "only movement": ONLY_MOVEMENT,
    "no maximum": made(zones=None, no_zones=NO_MAXIMUM),
    "no work": made(phases={}),
    "one sample": ONE_SAMPLE,
    "all unmeasured": made(gaps=((0, 1440),), **MOVING),
    "ceiling far above": made(ceiling_bpm=210.0),
    "ceiling far below": made(ceiling_bpm=30.0),
    "zeros": ZEROS,
    "short phases": made(phases={"rest": (0.0, 20.0), "work": (20.0, 45.0), "recovery": (45.0, 60.0)}),
    "eight hours": made(end=28_800, work=(300, 28_000), gaps=((5000, 5200), (9000, 9001))),
    "many gaps": made(gaps=tuple((t, t + 3) for t in range(10, 1400, 20))),
    "nothing": Series(time_s=NONE, until_s=NONE, bpm=NONE, end_s=0.0),
    "flat": made(peak=75.0, end=1440, zones=BANDS),
    "steep classes": made(zones=tuple(zip(ZONES, (0, 130, 131, 132, 133), (130, 131, 132, 133, 999), strict=True))),
}


def texts(figure) -> list[str]:
    return [each.get_text() for each in figure.texts]


def boxes(figure) -> list[tuple[str, float, float, float, float]]:
    """Each text with its box from the renderer: left, bottom, right, top  [pt]."""
    figure.set_dpi(DPI)
    renderer = FigureCanvasAgg(figure).get_renderer()
    return [(each.get_text(), *(each.get_window_extent(renderer).extents * 72 / DPI)) for each in figure.texts]


def shape(figure, name: str) -> Any:
    found = [each for each in figure.patches + figure.artists if each.get_gid() == name]
    assert len(found) < 2
    return found[0].get_path() if found else None


def patch(figure, name: str):
    return next(each for each in figure.patches + figure.artists if each.get_gid() == name)


def runs(path: Shape) -> list[np.ndarray]:
    """Points of each unbroken part of a line."""
    starts = np.flatnonzero(path.codes == Shape.MOVETO)
    return np.split(path.vertices, starts[1:])


def spans(path: Any, panel) -> list[tuple[float, float]]:
    """The stretches of time that boxes cover."""
    if path is None:
        return []
    across = path.vertices.reshape(-1, 5, 2)[:, :, 0]
    back = panel.from_x + (across - panel.left) * (panel.until_x - panel.from_x) / panel.width
    return [(float(each.min()), float(each.max())) for each in back]


def values(path: Shape, panel) -> np.ndarray:
    """Upward coordinates as values."""
    return panel.low + (path.vertices[:, 1] - panel.bottom) * (panel.high - panel.low) / panel.height
