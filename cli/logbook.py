"""The logbook as an option, and opening it."""

import argparse
import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..records.store.logbook import Logbook


def add_logbook_option(parser: argparse.ArgumentParser) -> None:
    """Declare where the logbook lies."""
    parser.add_argument(
        "--logbook",
        metavar="PATH|URL",
        help="a file, or postgresql://account@server/database (else OWNMARK_LOGBOOK, else the user's data folder)",
    )


def opened(args: argparse.Namespace, *, create: bool = False) -> "Logbook":
    """Open the logbook that the options, the environment or the user's data folder name."""
    from ..records.store.logbook import open_logbook
    from ..records.store.place import default_place

    return open_logbook(default_place(args.logbook, os.environ), create=create)
