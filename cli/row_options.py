"""What holds for every row of a class's table, where a command takes such tables."""

import argparse


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
