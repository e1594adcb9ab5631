"""Left and right, each from its baseline to its re-test, with the values written beside the marks."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..palette import HAIRLINE, INK, PAPER, PLUM, QUIET
from ..sheets.figure_text import amount, capital, digits, label, unit_words
from ..words import Words
from .axes import KeyItem, draw_key, key_rows
from .board import STILL, Board, Panel, text_width
from .label_spacing import spread
from .picture import Drawn, finished
from .sizes import SIZES, Sizes, Width
from .ticks import value_ticks

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from ...records.change.shapes import Comparison
    from ...records.change.sides import SideChange

ROW = 3.5
"""Height of a side's row, in heights of its letters."""
RADIUS_PT = 3.6


def sides_picture(comparison: "Comparison", words: Words, width: Width = "paper") -> Drawn:
    """Draw each side of a comparison; one without sides gives a picture that says so."""
    return finished(sides_figure(comparison, words, width).figure, said_of_sides(comparison, words))


@dataclass(frozen=True, slots=True)
class MadeSides:
    """A drawing of the sides, with the scale of each figure."""

    figure: "Figure"
    panels: tuple[Panel, ...]


def sides_figure(comparison: "Comparison", words: Words, width: Width = "paper") -> MadeSides:
    """One panel a figure, one row a side."""
    sizes = SIZES[width]
    groups = _groups(comparison)
    row, foot = ROW * sizes.type, 5 + 1.3 * sizes.small
    key = _key(comparison, words)
    rows = len(key_rows(key, sizes, sizes.width - sizes.left))
    height = 2 + rows * sizes.row + sum(1.4 * sizes.row + len(each) * row + foot for each in groups)
    board = Board(sizes.width, max(height, 2 * sizes.row))
    if not groups:
        board.text(0, board.height / 2, words.get("picture.nothing_title"), sizes.type, colour=QUIET)
    top, panels = board.height, []
    for group in groups:
        title = _title(group[0], comparison, words)
        board.text(0, top - 0.6 * sizes.row, title, sizes.type, colour=PLUM)
        tall = len(group) * row
        panel = _panel(group, comparison, words, sizes, bottom=top - 1.4 * sizes.row - tall, height=tall)
        panels.append(panel)
        _draw_axis(board, panel, sizes)
        for place, side in enumerate(group):
            _draw_side(board, panel, side, comparison, words, sizes, panel.top - (place + 0.5) * row)
        top = panel.bottom - foot
    draw_key(board, key, sizes, sizes.left, top)
    return MadeSides(board.figure, tuple(panels))


def _groups(comparison: "Comparison") -> "list[list[SideChange]]":
    """The sides of each figure, left before right."""
    names = dict.fromkeys(each.figure for each in comparison.sides)
    return [sorted((each for each in comparison.sides if each.figure == name), key=lambda e: e.side) for name in names]


def _title(side: "SideChange", comparison: "Comparison", words: Words) -> str:
    unit = unit_words(side.figure, comparison.unit, words, family=False)
    name = capital(label(side.figure, words))
    return f"{name}, {unit}" if unit else name


def _panel(
    group: "Sequence[SideChange]",
    comparison: "Comparison",
    words: Words,
    sizes: Sizes,
    *,
    bottom: float,
    height: float,
) -> Panel:
    """A scale that holds every value and leaves room beside each for its number."""
    values = [value for each in group for value in (each.baseline, each.retest)]
    for each in group:
        if each.detectable_change is not None:
            values += [each.baseline - each.detectable_change, each.baseline + each.detectable_change]
    low, high = min(values), max(values)
    spare = (high - low) * 0.02 or max(abs(high) * 0.1, 1.0)
    left = max(text_width(words.get(f"picture.{each.side}"), sizes.type) for each in group) + 10
    texts = [_value(each, value, comparison, words) for each in group for value in (each.baseline, each.retest)]
    texts += [words.get("picture.both", value=texts[0])]
    room = max(text_width(text, sizes.small, bold=True) for text in texts) / 2 + RADIUS_PT
    a_point = (high - low + 2 * spare) / (sizes.width - left - 2 * room)
    ends = low - spare - room * a_point, high + spare + room * a_point
    return Panel(left, bottom, sizes.width - left, height, *ends)


def _draw_axis(board: Board, panel: Panel, sizes: Sizes) -> None:
    """A line with round values below, as many as have room."""
    board.rule(panel.left, panel.bottom, panel.right, panel.bottom, colour=QUIET)
    ticks, free = value_ticks(panel.from_x, panel.until_x, int(panel.width / 45)), panel.left
    for value in ticks:
        x, text = panel.x(value), f"{value:g}".replace("-", "−")
        half = text_width(text, sizes.small) / 2
        board.rule(x, panel.bottom - 3, x, panel.bottom, colour=QUIET)
        if x - half >= free and x + half <= panel.right:
            board.text(x, panel.bottom - 3 - 0.75 * sizes.small, text, sizes.small, across="center")
            free = x + half + 6


def _draw_side(
    board: Board,
    panel: Panel,
    side: "SideChange",
    comparison: "Comparison",
    words: Words,
    sizes: Sizes,
    y: float,
) -> None:
    """A ring for the baseline, a disc for the re-test, what lies between them, and the values above."""
    before, after = panel.x(side.baseline), panel.x(side.retest)
    y -= 0.6 * sizes.type
    tall = 0.62 * sizes.type
    if side.detectable_change is not None:
        span = [(panel.x(side.baseline - side.detectable_change), panel.x(side.baseline + side.detectable_change))]
        board.boxes(span, y - tall, y + tall, STILL, edge=QUIET, name=f"within-{side.figure}-{side.side}")
    board.rule(panel.left, y, panel.right, y, 0.5, colour=HAIRLINE)
    board.text(0, y, words.get(f"picture.{side.side}"), sizes.type)
    board.rule(before, y, after, y, 1.6)
    board.dot(before, y, RADIUS_PT, PAPER)
    same = side.baseline == side.retest
    board.dot(after, y, RADIUS_PT / 2 if same else RADIUS_PT, INK)
    _write_values(
        board,
        panel,
        side,
        [_value(side, each, comparison, words) for each in (side.baseline, side.retest)],
        words,
        sizes,
        y + tall + 0.85 * sizes.small,
    )


def _write_values(
    board: Board, panel: Panel, side: "SideChange", shown: Sequence[str], words: Words, sizes: Sizes, y: float
) -> None:
    """Each value over its mark, moved aside where both would touch; one text where both are one value."""
    if side.baseline == side.retest:
        text = words.get("picture.both", value=shown[1])
        board.text(panel.x(side.retest), y, text, sizes.small, across="center", bold=True)
        return
    marks = sorted(zip((side.baseline, side.retest), shown, (False, True), strict=True))
    widths = [text_width(text, sizes.small, bold=bold) for _, text, bold in marks]
    centres = spread([panel.x(value) for value, _, _ in marks], widths, panel.left, panel.right, 7)
    for centre, (_, text, bold) in zip(centres, marks, strict=True):
        board.text(centre, y, text, sizes.small, across="center", bold=bold)


def _value(side: "SideChange", value: float, comparison: "Comparison", words: Words) -> str:
    return words.number(value, digits(side.figure, comparison.unit))


def _key(comparison: "Comparison", words: Words) -> list[KeyItem]:
    if not comparison.sides:
        return []
    items = [KeyItem("ring", words.get("picture.baseline")), KeyItem("disc", words.get("picture.retest"))]
    if any(each.detectable_change is not None for each in comparison.sides):
        items.append(KeyItem("band", words.get("picture.within")))
    return items


def said_of_sides(comparison: "Comparison", words: Words) -> str:
    """Every value in sentences, as the sheet writes them."""
    if not comparison.sides:
        return words.get("picture.alt_no_sides")
    parts = []
    for group in _groups(comparison):
        name = group[0].figure
        parts.append(words.get("picture.alt_sides", figure=capital(label(name, words))))
        for each in group:
            values = {"baseline": each.baseline, "retest": each.retest}
            shown = {key: amount(name, value, comparison.unit, words) for key, value in values.items()}
            parts.append(words.get("picture.alt_side", side=capital(words.get(f"picture.{each.side}")), **shown))
        for gap in comparison.side_gaps:
            if gap.figure == name:
                shown = {
                    "baseline": amount(name, gap.baseline, comparison.unit, words),
                    "retest": amount(name, gap.retest, comparison.unit, words),
                }
                parts.append(words.get("picture.alt_side_gap", **shown))
    return " ".join(parts)
