"""The days of ``--from`` and ``--to``, for every command that takes the trials of a period."""

import argparse
from datetime import date

from ..errors import UsageError


def add_period(parser: argparse.ArgumentParser, *, only: str = "") -> None:
    """Declare the first and the last day; ``only``: where they hold, as in ``with --class``."""
    where = f"{only}: " if only else ""
    parser.add_argument("--from", dest="since", metavar="YYYY-MM-DD", help=f"{where}first day")
    parser.add_argument("--to", dest="until", metavar="YYYY-MM-DD", help=f"{where}last day")


def period_of(args: argparse.Namespace) -> tuple[date | None, date | None]:
    """The first and the last day that were asked for; None: open.

    Either may lie in the future: a school year is asked for by its ends.

    Raises
    ------
    UsageError
        If one is no day, or the last lies before the first.
    """
    since, until = _day(args.since, "--from"), _day(args.until, "--to")
    if since is not None and until is not None and since > until:
        raise UsageError(f"{since} is after {until}.", mend="Give the earlier day to --from.")
    return since, until


def _day(text: str | None, option: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise UsageError(f"{option}: “{text}” is not a date.", mend="Write YYYY-MM-DD.") from None
