"""``ownmark disclose``: everything held about one student, in a folder."""

import argparse

from .logbook import add_logbook_option, opened
from .terminal import say

EXAMPLE = "ownmark disclose TH-11 --out TH-11-record"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    parser.add_argument("--out", metavar="FOLDER", help="a new folder (CODE-record)")
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Write it all."""
    from ..records.store.disclose import disclose

    with opened(args) as logbook:
        code = logbook.student(args.code).code
        folder = args.out or f"{code}-record"
        written = disclose(logbook, code, folder)
    say(f"{len(written)} files about {code} are in {folder}, readable by you only. contents.txt says what is what.")
    return 0
