"""The trace as SVG: it takes whatever width it is given, its colours come from the page's style sheet.

Times lie in shares of the width, lines in a part of their own that is stretched; letters and strokes are not. So one
text fits a desk and a phone, and is right without a script. ``static/trace.js`` draws the same again when it zooms.
"""

from collections.abc import Iterator
from html import escape

import numpy as np

from ...words.numbers import clock
from ...words.vocabulary import ON_CHAIR
from ..pictures.label_spacing import spread
from ..pictures.series import PHASES, Series, Span
from ..pictures.ticks import time_ticks, value_ticks
from ..words import Words
from .scale import CADENCE, HEAD_PX, MOVEMENT, PULSE, RIBBON, UNITS, Layout, Panel, cut, layout_of, path_of, share
from .trace import Flagged, Trace, View

HIDDEN = ' display="none"'
_MOST_TICKS = 6
_EDGE = 0.06
"""A time closer than this to the right end stands beside its tick and not under it."""
_LETTER = 0.036
"""About a letter's width, as a part of a small phone's picture, 220 px: names that keep apart there do so on any."""
_LINE_PX = 19.0
"""How high a line of letters is, with the paper around it: names closer than that would stand on each other."""
_ROOM = 0.16
"""A gap as wide as this has room for what it is called."""


def plot(trace: Trace, view: View, words: Words, name: str, *, flags: bool = False) -> str:
    """The middle part: everything that moves when one zooms.

    Parameters
    ----------
    name : of the trace on its page; ids begin with it
    flags : show the samples that rules flagged
    """
    layout, span = layout_of(trace), view.span
    parts = [*_hatches(name)]
    for panel in layout.panels:
        parts += _panel(trace, panel, span, words, name)
    parts += _away(trace, layout, span)
    for panel in layout.panels:
        over = HEAD_PX - 4 if panel is layout.panels[0] else 0.0
        title = escape(_title(panel, trace.series, words))
        parts.append(f'<text class="title" x="0" y="{panel.top - over - 8:g}">{title}</text>')
    pulse = layout.get(PULSE)
    if pulse is not None:
        parts += _over(trace.series, pulse, span)
        parts.append(_flagged(trace.flagged, pulse, span, shown=flags))
    parts += _phases(trace.series, layout, span, words)
    parts.append(_ticks(trace.series, layout, span))
    parts.append(f'<g class="cursor"{HIDDEN}></g>')
    size = f'width="100%" height="{layout.height:g}"'
    return f'<svg class="plot" {size} aria-hidden="true" focusable="false">{"".join(parts)}</svg>'


def left_scale(trace: Trace) -> str:
    """The numbers left of the panels."""
    layout = layout_of(trace)
    parts: list[str] = []
    for panel in layout.panels:
        if panel.name == RIBBON:
            continue
        most = 8 if panel.name == PULSE else 3
        for value in value_ticks(panel.low, panel.high, most):
            y = panel.y(value)
            parts.append(
                f'<text class="small" x="100%" dx="-8" y="{y:.1f}" dy=".35em" text-anchor="end">{value:g}</text>'
            )
            parts.append(f'<line class="rule" x1="100%" x2="100%" y1="{panel.top:g}" y2="{panel.bottom:g}"/>')
    return f'<svg class="left" width="100%" height="{layout.height:g}" aria-hidden="true">{"".join(parts)}</svg>'


def right_names(trace: Trace, words: Words) -> str:
    """Names of the classes of effort and of the ceiling, right of the panel; empty where there are none."""
    layout = layout_of(trace)
    parts = "".join(_names(trace.series, layout, words))
    return (
        f'<svg class="right" width="100%" height="{layout.height:g}" aria-hidden="true">{parts}</svg>' if parts else ""
    )


def names_below(trace: Trace, words: Words) -> list[tuple[str, str]]:
    """The same names for where there is no room beside the picture: the look of each, and its name, from the top down.

    Inside the picture they would stand on the line and on the handles of the phases.
    """
    series, panel = trace.series, layout_of(trace).get(PULSE)
    if panel is None or not series.measured.any():
        return []
    found = [("ceiling", _ceiling_told(series, panel, words))] if series.ceiling_bpm is not None else []
    bands = [
        (f"zone-{place}", words.get(f"figure.time_{zone}"))
        for place, (zone, low, high) in enumerate(series.zones or ())
        if min(high, panel.high) > max(low, panel.low)
    ]
    return [*found, *reversed(bands)]


def _ceiling_told(series: Series, panel: Panel, words: Words) -> str:
    """The ceiling's name, with an arrow where it lies beyond the picture."""
    bpm = series.ceiling_bpm or 0.0
    beyond = " ↑" if bpm > panel.high else " ↓" if bpm < panel.low else ""
    return words.get("picture.ceiling", bpm=words.number(bpm)) + beyond


def _names(series: Series, layout: Layout, words: Words) -> Iterator[str]:
    """Each name in the middle of its band; one too low for letters, or under the ceiling's name, goes without."""
    panel = layout.get(PULSE)
    if panel is None or not series.measured.any():
        return
    taken = None
    if series.ceiling_bpm is not None:
        level = min(max(series.ceiling_bpm, panel.low), panel.high)
        taken = min(max(float(panel.y(level)), panel.top + 8), panel.bottom - 8)
        told = escape(_ceiling_told(series, panel, words))
        yield f'<text class="small strong" y="{taken:.1f}" dy=".35em">{told}</text>'
    for zone, low, high in series.zones or ():
        top, bottom = float(panel.y(min(high, panel.high))), float(panel.y(max(low, panel.low)))
        middle = (top + bottom) / 2
        if bottom - top >= _LINE_PX and (taken is None or abs(middle - taken) >= _LINE_PX):
            text = words.get(f"figure.time_{zone}")
            yield f'<text class="small" y="{middle:.1f}" dy=".35em">{escape(text)}</text>'


def _hatches(name: str) -> Iterator[str]:
    """What unmeasured and assisted stretches are filled with."""
    yield (
        f'<defs><pattern id="{name}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><rect class="paper" width="6" height="6"/>'
        '<line class="rule" x1="0" x2="0" y1="0" y2="6"/></pattern>'
        f'<pattern id="{name}-dots" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<rect class="paper" width="6" height="6"/><circle class="dot" cx="2" cy="2" r="1"/></pattern></defs>'
    )


def _panel(trace: Trace, panel: Panel, view: Span, words: Words, name: str) -> Iterator[str]:
    """What lies behind a panel's line, and the line."""
    series = trace.series
    if panel.name == RIBBON:
        if series.moving is not None:
            yield _box(0, 1, panel, "still")
            yield _spans("moving", series.moving, view, panel, "moving")
            yield _spans("assisted", series.assisted, view, panel, "assisted", fill=f"{name}-dots")
            yield _gaps("movement-gaps", series.movement_unmeasured, view, panel, words, name)
        return
    if panel.name == PULSE:
        yield from _bands(series, panel)
        yield _gaps("gaps", series.unmeasured, view, panel, words, name)
    yield f'<line class="rule" x1="0" x2="100%" y1="{panel.bottom:g}" y2="{panel.bottom:g}"/>'
    lines = {PULSE: trace.pulse, MOVEMENT: trace.movement, CADENCE: trace.cadence}
    yield _line(panel, path_of(lines[panel.name], view, panel), name)


def _title(panel: Panel, series: Series, words: Words) -> str:
    chair = series.placement in ON_CHAIR
    keys = {
        PULSE: "picture.heart_rate_title",
        RIBBON: "picture.chair_title" if chair else "picture.movement_title",
        MOVEMENT: "web_trace.strength_title",
        CADENCE: "picture.cadence_title",
    }
    if panel.name == RIBBON and series.moving is None:
        return words.get("picture.nothing_title")
    return words.get(keys[panel.name])


def _line(panel: Panel, path: str, name: str) -> str:
    """A line, heart rate over a halo of paper, in a part of its own that is stretched to the width."""
    box = f'x="0" y="{panel.top:g}" width="100%" height="{panel.height:g}" viewBox="0 0 {UNITS:g} {panel.height:g}"'
    made = f"{name}-{panel.name}"
    strokes = "".join(f'<use class="{kind}" href="#{made}"/>' for kind in ("halo", "line") if _haloed(panel, kind))
    shape = f'<defs><path id="{made}" vector-effect="non-scaling-stroke" d="{path}"/></defs>'
    return f'<svg {box} preserveAspectRatio="none" data-line="{panel.name}">{shape}{strokes}</svg>'


def _haloed(panel: Panel, kind: str) -> bool:
    return kind != "halo" or panel.name == PULSE


def _bands(series: Series, panel: Panel) -> Iterator[str]:
    for place, (_, low, high) in enumerate(series.zones or ()):
        bottom, top = max(low, panel.low), min(high, panel.high)
        if top > bottom:
            y, height = float(panel.y(top)), float(panel.y(bottom)) - float(panel.y(top))
            yield f'<rect class="zone-{place}" x="0" y="{y:.1f}" width="100%" height="{height:.1f}"/>'
            if bottom > panel.low:
                edge = float(panel.y(bottom))
                yield f'<line class="edge-{place}" x1="0" x2="100%" y1="{edge:.1f}" y2="{edge:.1f}"/>'
    if not series.zones:
        for value in value_ticks(panel.low, panel.high, 8):
            y = float(panel.y(value))
            yield f'<line class="hair" x1="0" x2="100%" y1="{y:.1f}" y2="{y:.1f}"/>'


def _percent(part: float) -> str:
    return f"{100 * part:.3f}%"


def _box(begin: float, end: float, panel: Panel, kind: str = "", fill: str = "") -> str:
    look = (f' class="{kind}"' if kind else "") + (f' fill="url(#{fill})"' if fill else "")
    size = f'width="{_percent(end - begin)}" height="{panel.height:g}"'
    return f'<rect{look} x="{_percent(begin)}" y="{panel.top:g}" {size}/>'


def _spans(kind: str, spans: tuple[Span, ...], view: Span, panel: Panel, look: str, fill: str = "") -> str:
    boxes = "".join(_box(a, b, panel, fill=fill) for a, b in cut(spans, view))
    where = f'data-top="{panel.top:g}" data-height="{panel.height:g}"'
    return f'<g class="{look}" data-spans="{kind}" data-fill="{fill}" {where}>{boxes}</g>'


def _gaps(kind: str, spans: tuple[Span, ...], view: Span, panel: Panel, words: Words, name: str) -> str:
    """Hatched, with what it is written into it where there is room."""
    shapes = _spans(kind, spans, view, panel, "gap", fill=f"{name}-hatch")
    text = escape(words.get("picture.not_measured"))
    middle = panel.top + panel.height / 2
    named = [(a + b) / 2 for a, b in cut(spans, view) if b - a >= _ROOM]
    texts = "".join(
        f'<text class="small on" x="{_percent(at)}" y="{middle:.1f}" dy=".35em" text-anchor="middle">{text}</text>'
        for at in named
    )
    return f'{shapes}<g data-names="{kind}" data-y="{middle:.1f}" data-text="{text}">{texts}</g>'


def _away(trace: Trace, layout: Layout, view: Span) -> Iterator[str]:
    """A veil over what is not kept, and a bar under the heart rate along what is."""
    kept = trace.kept
    first, last = layout.panels[0], layout.panels[-1]
    size = f'y="{first.top:g}" height="{last.bottom - first.top:g}"'
    a, b = (0.0, 1.0) if kept is None else (min(max(share(at, view), 0.0), 1.0) for at in kept)
    yield f'<rect class="away" data-away="before" x="0" width="{_percent(a)}" {size}/>'
    yield f'<rect class="away" data-away="behind" x="{_percent(b)}" width="{_percent(1 - b)}" {size}/>'
    bar = "" if kept is not None else HIDDEN
    yield (
        f'<rect class="kept" data-kept=""{bar} x="{_percent(a)}" width="{_percent(max(b - a, 0.0))}" '
        f'y="{first.bottom - 1.5:g}" height="4"/>'
    )


def _over(series: Series, panel: Panel, view: Span) -> Iterator[str]:
    """The ceiling, and a bar for each stretch above it; what is only possible is striped."""
    if series.ceiling_bpm is None:
        return
    if series.measured.any() and panel.low <= series.ceiling_bpm <= panel.high:
        y = float(panel.y(series.ceiling_bpm))
        yield f'<line class="ceiling-halo" x1="0" x2="100%" y1="{y:.1f}" y2="{y:.1f}"/>'
        yield f'<line class="ceiling" x1="0" x2="100%" y1="{y:.1f}" y2="{y:.1f}"/>'
    bar = Panel("", panel.top + 4, 5, 0, 1)
    yield _spans("crossings", series.crossings, view, bar, "crossing")
    yield _spans("possible", series.possible, view, bar, "possible")


def _flagged(flagged: Flagged, panel: Panel, view: Span, *, shown: bool) -> str:
    """A cross for what was set aside, a ring for what was flagged and is used; at the edge where it is beyond it."""
    seen = flagged.within(view)
    there = np.isfinite(seen.bpm)
    at = (seen.time_s[there] - view[0]) * (UNITS / (view[1] - view[0]))
    y = panel.y(np.clip(seen.bpm[there], panel.low, panel.high))
    marks = dict.fromkeys(
        (round(x), round(down), used)
        for x, down, used in zip(at.tolist(), np.asarray(y).tolist(), seen.used[there].tolist(), strict=True)
    )
    texts = "".join(
        f'<text class="{"ring" if used else "cross"}" x="{x / 10:g}%" y="{y}" dy=".35em" text-anchor="middle">'
        f"{'○' if used else '×'}</text>"
        for x, y, used in marks
    )
    return f'<g class="flags" data-flags=""{"" if shown else HIDDEN}>{texts if shown else ""}</g>'


def _phases(series: Series, layout: Layout, view: Span, words: Words) -> Iterator[str]:
    """A bracket with its name over each phase, and a fine line down at each of its ends."""
    top, bottom = layout.panels[0].top, layout.panels[-1].bottom
    known = [(name, series.phases[name]) for name in PHASES if name in series.phases]
    seen = [(name, max(share(a, view), 0.0), min(share(b, view), 1.0)) for name, (a, b) in known]
    inside = {name: (a, b) for name, a, b in seen if a < b}
    texts = {name: words.get(f"picture.{name}") for name in PHASES}
    if series.whole:
        texts["work"] = words.get("picture.whole")
    widths = [len(texts[name]) * _LETTER for name in inside]
    centres = spread([(a + b) / 2 for a, b in inside.values()], widths, 0.0, 1.0, _LETTER)
    at_text = dict(zip(inside, centres, strict=True))
    for name in PHASES:
        a, b = inside.get(name, (0.0, 0.0))
        ends = "".join(
            f'<line class="end" data-end="{which}"{"" if 0 < at < 1 else HIDDEN} x1="{_percent(at)}" '
            f'x2="{_percent(at)}" y1="{top - 6:g}" y2="{bottom:g}"/>'
            for which, at in (("from", a), ("until", b))
        )
        yield (
            f'<g class="phase" data-phase="{name}"{"" if name in inside else HIDDEN}>'
            f'<line class="bracket" x1="{_percent(a)}" x2="{_percent(b)}" y1="{top - 6:g}" y2="{top - 6:g}"/>{ends}'
            f'<text class="small" x="{_percent(at_text.get(name, 0.0))}" y="{top - 11:g}" text-anchor="middle">'
            f"{escape(texts[name])}</text></g>"
        )


def _ticks(series: Series, layout: Layout, view: Span) -> str:
    """Times from the start under the lowest panel, the clock's below where it is known."""
    bottom = layout.panels[-1].bottom
    parts: list[str] = []
    moments = time_ticks(*view, _MOST_TICKS)
    whole = all(_seconds(series, each) % 60 == 0 for each in moments)
    for place, each in enumerate(moments):
        at, wide = share(each, view), " wide" if place % 2 else ""  # a phone has room for every other one
        x, anchor = _percent(at), "end" if at > 1 - _EDGE else "middle"
        parts.append(f'<line class="rule" x1="{x}" x2="{x}" y1="{bottom:g}" y2="{bottom + 4:g}"/>')
        parts.append(
            f'<text class="small{wide}" x="{x}" y="{bottom + 20:g}" text-anchor="{anchor}">{clock(each)}</text>'
        )
        moment = series.moment(each)
        if moment is not None:
            text = f"{moment:%H:%M}" if whole else f"{moment:%H:%M:%S}"
            parts.append(
                f'<text class="small quiet{wide}" x="{x}" y="{bottom + 37:g}" text-anchor="{anchor}">{text}</text>'
            )
    return f'<g data-ticks="" data-y="{bottom:g}">{"".join(parts)}</g>'


def _seconds(series: Series, at_s: float) -> float:
    """The seconds of the clock at a moment."""
    moment = series.moment(at_s)
    return 1.0 if moment is None else moment.second + moment.microsecond / 1e6
