"""``ownmark change``: baseline against re-test, what was set up differently, and whether anything changed."""

import argparse
from collections.abc import Sequence
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from .logbook import add_logbook_option, opened
from .pages import Form, Tell, add_page_options, files_of, forms_of, write_change
from .student import day
from .terminal import complain, say_json
from .whole_class import Piece, add_who, check_who, write_class

if TYPE_CHECKING:
    from ..records.change.shapes import Comparison
    from ..records.store.logbook import Logbook

EXAMPLE = "ownmark change TH-11 --protocol slalom-gym"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_who(parser)
    add_pair_options(parser)
    parser.add_argument(
        "--figure", metavar="NAME", help="another figure's verdict beside the primary one's; it was not chosen before"
    )
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")
    add_page_options(parser, family=True, text=True)
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
    """Compare, and print or write the page."""
    check_who(args)
    forms = forms_of(args, otherwise=("text",))
    if args.whole_class:
        return _whole_class(args, forms)
    found = compared(args)
    if files_of(forms) or not args.json:
        with opened(args) as logbook:
            write_change(logbook, found, args, forms)
    else:
        say_json(found.to_json())
    if found.damaged:
        complain(_damaged(found))
    return 1 if found.damaged else 0


def _whole_class(args: argparse.Namespace, forms: "Sequence[Form]") -> int:
    """A change sheet for each student and protocol with trials on two occasions."""
    with opened(args) as logbook:
        trials = logbook.trials(protocol=args.protocol, with_sheets=False)
        pairs = sorted({(each.code, each.protocol) for each in trials if not each.practice})
        pieces = [Piece(code, name, partial(_written, logbook, args, forms, code, name)) for code, name in pairs]
        return write_class(logbook, args, forms, "changes", pieces)


def _written(
    logbook: "Logbook", args: argparse.Namespace, forms: "Sequence[Form]", code: str, protocol: str, tell: Tell
) -> int:
    """One student's change sheet."""
    from ..records.judging import judge_student

    found = judge_student(logbook, code, protocol=protocol, retest_from=_since(args), figure=args.figure)
    write_change(logbook, found, args, forms, tell)
    if found.damaged:
        complain(_damaged(found))
    return 0


def _since(args: argparse.Namespace) -> date | None:
    return day(args.retest_from, "--retest-from") if args.retest_from else None


def _damaged(found: "Comparison") -> str:
    numbers = ", ".join(map(str, found.damaged))
    return f"A kept recording has changed on the disk (trial {numbers}): restore the latest backup."


def compared(args: argparse.Namespace) -> "Comparison":
    """The comparison that the options ask for."""
    from ..records.judging import judge_student

    with opened(args) as logbook:
        return judge_student(logbook, args.code, protocol=args.protocol, retest_from=_since(args), figure=args.figure)
