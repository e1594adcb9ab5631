"""What holds for every row of a class's table, where a command takes such tables."""

import argparse
from collections.abc import Sequence

from .parts import wrapped
from .terminal import say


def add_row_options(parser: argparse.ArgumentParser) -> None:
    """Declare ``--date``, ``--since``, ``--zone`` and ``--correct``."""
    parser.add_argument(
        "--date", metavar="YYYY-MM-DD", help="day of rows where neither the row nor its files give one (today)"
    )
    parser.add_argument(
        "--since",
        metavar="YYYY-MM-DD",
        help="days that files state are right from this one on, and not asked about (the last 60 days)",
    )
    parser.add_argument(
        "--zone", metavar="ZONE", help="time zone of rows that give none, as in America/Denver (the logbook's)"
    )
    parser.add_argument(
        "--correct", action="store_true", help="correct trials that are there already where a table says otherwise"
    )


def say_unknown(codes: Sequence[str]) -> None:
    """How students whom the logbook does not know come in, once a table."""
    are = "is one student" if len(codes) == 1 else f"are {len(codes)} students"
    told = f"There {are} the logbook does not know: mend a code that is mistyped, or add them by a list with"
    mend = "`ownmark class template --students` writes an empty one. Then give the same call again."
    for line in wrapped(f"  {told} `ownmark class students LIST.csv`; {mend}", 2):
        say(line)
