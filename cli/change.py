"""``ownmark change``: baseline against re-test, what was set up differently, and whether anything changed."""

import argparse
from typing import TYPE_CHECKING

from ..words.numbers import rounded
from ..words.render import english
from .logbook import add_logbook_option, opened
from .pages import add_page_options, forms_of, write_change
from .parts import wrapped
from .student import day
from .terminal import complain, say, say_json

if TYPE_CHECKING:
    from ..metrics.figure import Figure
    from ..records.change.shapes import Comparison

EXAMPLE = "ownmark change TH-11 --protocol slalom-gym"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    add_pair_options(parser)
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")
    add_page_options(parser, family=True)
    add_logbook_option(parser)


def add_pair_options(parser: argparse.ArgumentParser) -> None:
    """Options that say which trials are held against each other."""
    parser.add_argument("--protocol", metavar="NAME", help="needed where the student has trials of several")
    parser.add_argument(
        "--retest-from",
        metavar="YYYY-MM-DD",
        help="trials from this day on are the re-test (else those of the last four weeks against the first four)",
    )


def run(args: argparse.Namespace) -> int:
    """Compare, and print or write a page."""
    forms = forms_of(args)
    found = compared(args)
    if forms:
        with opened(args) as logbook:
            code = write_change(logbook, found, args, forms)
        if found.damaged:
            numbers = ", ".join(map(str, found.damaged))
            complain(f"A kept recording has changed on the disk (trial {numbers}): restore the latest backup.")
        return 1 if found.damaged else code
    if args.json:
        say_json(found.to_json())
    else:
        say("\n".join(change_lines(found)))
    return 1 if found.damaged else 0


def compared(args: argparse.Namespace) -> "Comparison":
    """The comparison that the options ask for."""
    from ..records.judging import judge_student

    since = day(args.retest_from, "--retest-from") if args.retest_from else None
    with opened(args) as logbook:
        return judge_student(logbook, args.code, protocol=args.protocol, retest_from=since)


def change_lines(found: "Comparison") -> list[str]:
    """The comparison for a person: set-up first, then the verdict, then the figures."""
    before, after = (", ".join(each.on for each in trials) for trials in (found.baselines, found.retests))
    lines = [f"{found.code}, {found.protocol}: baseline {before}, re-test {after}", "", "Set-up"]
    if not found.differences:
        lines.append("  No difference was written down.")
    for each in found.differences:
        mark = "forbids a comparison" if each.forbids else "ask whether it was the same" if each.asked else each.rule
        lines += wrapped(f"  {each.label}: {each.baseline} → {each.retest} ({mark})", 4)
    lines += ["", "Verdict", *wrapped(f"  {found.sentence}", 2), ""]
    lines += _figure_lines(found)
    for title, texts in (("Notes", found.notes), ("Cautions", found.cautions)):
        if texts:
            lines += ["", title]
            for text in texts:
                lines += wrapped(f"- {english(text)}", 2)
    return lines


def _figure_lines(found: "Comparison") -> list[str]:
    """Every figure, a column a trial: baselines first, then re-tests; below it its bounds, where they say more."""
    from ..records.change.sentence import say as told
    from ..records.change.shown_numbers import shown_gap
    from .sheet_text import said

    trials = (*found.baselines, *found.retests)
    named = dict.fromkeys(name for each in trials for name in each.figures)
    names = [name for name in named if any(_given(each.figures.get(name)) for each in trials)]
    by_hand = dict.fromkeys((each.name, each.side, each.unit) for trial in trials for each in trial.hand_results)
    hand = {key: f"{key[0].replace('_', ' ')}{f', {key[1]}' if key[1] else ''}" for key in by_hand}
    width = max([24, *map(len, map(said, names)), *map(len, hand.values())])
    lines = []
    for name in names:
        seen = [each.figures.get(name) for each in trials]
        unit = next(one.unit for one in seen if one is not None)
        cells = "".join(f"{_value(name, one):>12}" for one in seen)
        lines.append(f"  {said(name):<{width}}{cells} {'' if unit == '1' else unit}".rstrip())
        bounds = [_bounds(name, one) for one in seen]
        if any(bounds):
            cells = "".join(f" {each:>11}" for each in bounds)
            lines.append(f"    {'could lie between':<{width - 2}}{cells}".rstrip())
    head = "".join(f"{each.on:>12}" for each in trials)
    lines = [f"{'Figures':<{width + 2}}{head}", *lines] if lines else []
    if by_hand:
        lines.append("Entered by hand" if lines else f"{'Entered by hand':<{width + 2}}{head}")
    for name, side, unit in by_hand:
        cells = [
            "; ".join(f"{each.value:g}" for each in trial.hand_results if (each.name, each.side) == (name, side)) or "–"
            for trial in trials
        ]
        lines.append(f"  {hand[name, side, unit]:<{width}}{''.join(f'{cell:>12}' for cell in cells)} {unit}")
    for gap in found.side_gaps:
        words, shown = gap.figure.replace("_", " "), shown_gap(gap, found.sides)
        before, after = (told(each, places=shown.places) for each in (shown.before, shown.after))
        lines.append(f"  {words}, left minus right: {before} at the baseline, {after} at the re-test")
    return lines


def _given(figure: "Figure | None") -> bool:
    return figure is not None and figure.value is not None


def _bounds(name: str, figure: "Figure | None") -> str:
    """The bounds of a figure where they say more than its value, rounded as on its page."""
    if figure is None or figure.value is None or figure.low is None or figure.high is None:
        return ""
    low, high, value = (_text(name, each, figure.unit) for each in (figure.low, figure.high, figure.value))
    return "" if low == high == value else f"{low}–{high}"


def _value(name: str, figure: "Figure | None") -> str:
    return "–" if figure is None or figure.value is None else _text(name, figure.value, figure.unit)


def _text(name: str, value: float, unit: str) -> str:
    from ..reports.sheets.figure_text import digits

    return rounded(value, digits(name, unit))
