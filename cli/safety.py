"""``ownmark safety``: ceiling, time above it, recovery, what was not measured, conditions and cautions of a trial."""

import argparse
from typing import TYPE_CHECKING

from ..words.numbers import nearest, rounded
from ..words.render import Words, english
from .inputs import whole_number
from .logbook import add_logbook_option, opened
from .pages import add_page_options, forms_of, write_safety
from .parts import wrapped
from .terminal import say, say_json

if TYPE_CHECKING:
    from ..metrics import Figure

EXAMPLE = "ownmark safety TH-11"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    parser.add_argument("--trial", type=whole_number, metavar="N", help="the trial's number (the last one)")
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")
    add_page_options(parser)
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Print what was recorded of exertion; nothing is concluded from it."""
    from ..ingest.clock_times import clock_text
    from ..records.judging import one_trial
    from ..records.safety import safety_of
    from .sheet_text import said

    forms = forms_of(args)
    with opened(args) as logbook:
        student = logbook.student(args.code)
        found = safety_of(student, one_trial(logbook, student.code, args.trial))
        if forms:
            return write_safety(logbook, found, args, forms)
    trial = found.trial
    if args.json:
        say_json(
            {
                "code": student.code,
                "trial": trial.id,
                "on": trial.on.isoformat(),
                "protocol": trial.protocol,
                "ceiling": student.ceiling.model_dump(mode="json") if student.ceiling else None,
                "crossings": [
                    [each.from_s, each.until_s, each.from_clock, each.until_clock] for each in found.crossings
                ],
                "possible_crossings": [
                    {
                        "from_s": each.where.from_s,
                        "until_s": each.where.until_s,
                        "from_clock": each.where.from_clock,
                        "until_clock": each.where.until_clock,
                        "above_s": each.where.above_s,
                        "highest_bpm": each.highest_bpm,
                        "reasons": each.reasons,
                    }
                    for each in found.possible
                ],
                "figures": {name: each.model_dump(mode="json") for name, each in found.figures.items()},
                "unmeasured": found.unmeasured,
                "recording_unmeasured": found.recording_unmeasured,
                "not_valid": {name: english(why) for name, why in found.invalid},
                "conditions": list(student.conditions),
                "lines": list(found.lines),
                "cautions": [english(each) for each in found.cautions],
            }
        )
        return 0
    words = Words("en", terminal=True)
    lines = [f"{student.code}, {trial.protocol}, {trial.on.isoformat()} (trial {trial.id})", ""]
    for line in found.lines:
        lines += wrapped(line, 4)
    lines += ["", "Recorded"]
    width = 2 + max(map(len, map(said, found.figures)), default=0)
    for name, figure in found.figures.items():
        if figure.value is not None:
            lines.append(f"  {said(name):<{width}}{_with_bounds(figure)}")
        elif name == "recovery_60s":
            lines += wrapped(f"  {said(name)}: {figure.note or 'not given'}", 4)
    lines += ["", "Not measured"]
    lines += [f"  {clock_text(a)} to {clock_text(b)} ({nearest(b - a)} s)" for a, b in found.unmeasured] or [
        "  heart rate: nothing was measured" if trial.sheet is None else "  nothing of the work is missing"
    ]
    for why in dict.fromkeys(why for _, why in found.invalid):
        names = ", ".join(said(name) for name, one in found.invalid if one == why)
        lines += wrapped(f"  {names}: {words.reason(words.message(why))}", 4)
    lines += [
        "",
        "Conditions",
        *([f"  {each}" for each in student.conditions] or ["  none written down"]),
        "",
        "Cautions",
    ]
    for each in found.cautions:
        lines += wrapped(f"- {english(each)}", 2)
    say("\n".join(lines))
    return 0


def _with_bounds(figure: "Figure") -> str:
    """A value with its unit, and its bounds where they say more."""
    unit = "" if figure.unit == "1" else f" {figure.unit}"
    value, low, high = (None if each is None else rounded(each, 1) for each in (figure.value, figure.low, figure.high))
    bounds = "" if low is None or high is None or low == high == value else f" ({low} to {high}{unit})"
    return f"{value}{unit}{bounds}"
