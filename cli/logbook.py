"""The logbook as an option, and opening it."""

import argparse
import os
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ..records.store.glance import Outline
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


def shown(args: argparse.Namespace) -> tuple[dict[str, Any], "tuple[Outline, ...]"]:
    """The fields of the student ``args.code`` as JSON has them, and the trials by day; a look costs no full opening."""
    from ..records.store.glance import glance
    from ..records.store.place import default_place

    found = glance(default_place(args.logbook, os.environ), args.code)
    if found is not None:
        return found.student, found.trials
    with opened(args) as logbook:
        student = logbook.student(args.code)
        return student.model_dump(mode="json"), tuple(logbook.outline(code=student.code))
