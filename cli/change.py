"""``ownmark change``: baseline against re-test, what was set up differently, and whether anything changed."""

import argparse
from typing import TYPE_CHECKING

from .logbook import add_logbook_option, opened
from .pages import add_page_options, files_of, forms_of, write_change
from .student import day
from .terminal import complain, say_json

if TYPE_CHECKING:
    from ..records.change.shapes import Comparison

EXAMPLE = "ownmark change TH-11 --protocol slalom-gym"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    add_pair_options(parser)
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
    forms = forms_of(args, otherwise=("text",))
    found = compared(args)
    if files_of(forms) or not args.json:
        with opened(args) as logbook:
            write_change(logbook, found, args, forms)
    else:
        say_json(found.to_json())
    if found.damaged:
        numbers = ", ".join(map(str, found.damaged))
        complain(f"A kept recording has changed on the disk (trial {numbers}): restore the latest backup.")
    return 1 if found.damaged else 0


def compared(args: argparse.Namespace) -> "Comparison":
    """The comparison that the options ask for."""
    from ..records.judging import judge_student

    since = day(args.retest_from, "--retest-from") if args.retest_from else None
    with opened(args) as logbook:
        return judge_student(logbook, args.code, protocol=args.protocol, retest_from=since)
