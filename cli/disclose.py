"""``ownmark disclose``: everything held about one student, in a folder."""

import argparse

from .logbook import add_logbook_option, opened
from .parts import wrapped
from .terminal import say

EXAMPLE = "ownmark disclose TH-11 --out TH-11-record"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    parser.add_argument("--out", metavar="FOLDER", help="a new folder (CODE-record)")
    parser.add_argument("--without-originals", action="store_true", help="leave the recordings out")
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Write it all."""
    from ..records.store.disclose import ORIGINALS, disclose

    with opened(args) as logbook:
        code = logbook.student(args.code).code
        folder = args.out or f"{code}-record"
        written = disclose(logbook, code, folder, with_originals=not args.without_originals)
    say(f"{len(written)} files about {code} are in {folder}, readable by you only. contents.txt says what is what.")
    if not args.without_originals:
        say("\n".join(wrapped(f"{ORIGINALS} Look at them before you hand them on, or use --without-originals.", 0)))
    return 0
