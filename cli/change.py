"""``ownmark change``: baseline against re-test, what was set up differently, and whether anything changed."""

import argparse
from typing import TYPE_CHECKING

from .logbook import add_logbook_option, opened
from .parts import wrapped
from .student import day

if TYPE_CHECKING:
    from ..records.change.shape import Comparison

EXAMPLE = "ownmark change TH-11 --protocol slalom-gym"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    add_pair_options(parser)
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")
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
    """Compare and print."""
    found = compared(args)
    print(found.to_json() if args.json else "\n".join(change_lines(found)))
    return 0


def compared(args: argparse.Namespace) -> "Comparison":
    """The comparison that the options ask for."""
    from ..records.judge import judge_student

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
        mark = "forbids a comparison" if each.forbids else each.rule
        lines += wrapped(f"  {each.label}: {each.baseline or 'unknown'} → {each.retest or 'unknown'} ({mark})", 4)
    lines += ["", "Verdict", *wrapped(f"  {found.sentence}", 2), ""]
    lines += _figure_lines(found)
    for title, texts in (("Notes", found.notes), ("Cautions", found.cautions)):
        if texts:
            lines += ["", title]
            for text in texts:
                lines += wrapped(f"- {text}", 2)
    return lines


def _figure_lines(found: "Comparison") -> list[str]:
    """Every figure that both sides have, side by side, by the last trial of each."""
    first, last = found.baselines[-1], found.retests[-1]
    names = [name for name in first.figures if name in last.figures]
    rows = [
        (name, first.figures[name], last.figures[name])
        for name in names
        if first.figures[name].value is not None or last.figures[name].value is not None
    ]
    lines = [f"Figures{'':<24}{first.on:>14}{last.on:>14}"] if rows else []
    for name, one, other in rows:
        unit = "" if one.unit == "1" else one.unit
        lines.append(f"  {name:<29}{_value(one.value):>14}{_value(other.value):>14} {unit}".rstrip())
    by_hand = dict.fromkeys((each.name, each.side, each.unit) for each in (*first.hand_results, *last.hand_results))
    if by_hand:
        lines.append("Entered by hand")
    for name, side, unit in by_hand:
        label = f"{name.replace('_', ' ')}{f', {side}' if side else ''}"
        cells = [
            "; ".join(f"{each.value:g}" for each in trial.hand_results if (each.name, each.side) == (name, side)) or "–"
            for trial in (first, last)
        ]
        lines.append(f"  {label:<29}{cells[0]:>14}{cells[1]:>14} {unit}")
    return lines


def _value(value: float | None) -> str:
    return "–" if value is None else f"{value:.1f}"
