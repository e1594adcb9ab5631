"""``ownmark forget``: remove a student, files included, and say what was removed."""

import argparse

from ..errors import UsageError
from .logbook import add_logbook_option, opened
from .parts import many, wrapped
from .terminal import say

EXAMPLE = "ownmark forget TH-11 --yes"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    parser.add_argument("--yes", action="store_true", help="yes, remove it: this cannot be undone")
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Remove everything; backups that were made earlier still hold it."""
    from ..records.store.forgetting import forget

    with opened(args) as logbook:
        student = logbook.student(args.code)
        if not args.yes:
            trials = many(sum(1 for _ in logbook.trials(student.code, with_sheets=False)), "trial")
            raise UsageError(
                f"{student.code} and {trials} would be removed with their files; nothing brings them back.",
                mend="If that is meant, add --yes. `ownmark disclose` writes everything to a folder first.",
            )
        gone = forget(logbook, student.code)
    lines = gone.sentences()
    say("\n".join(line for text in lines for line in wrapped(text, 2)))
    return 1 if gone.remains else 0
