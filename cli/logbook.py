"""The logbook as an option, and opening it."""

import argparse
import os
import sys
from typing import TYPE_CHECKING

from ..errors import UsageError

if TYPE_CHECKING:
    from ..records.store.logbook import Logbook
    from ..records.store.student_overview import KeptStudent, Outline


def add_logbook_option(parser: argparse.ArgumentParser) -> None:
    """Declare where the logbook lies."""
    parser.add_argument(
        "--logbook",
        metavar="PATH|URL",
        help="a file, or postgresql://account@server/database (else OWNMARK_LOGBOOK, else the user's data folder)",
    )


def opened(args: argparse.Namespace, *, create: bool = False) -> "Logbook":
    """Open the logbook that the options, the environment or the user's data folder name.

    Where its server asks for a password, so does this, once, at a terminal.
    """
    from ..records.store.failures import PasswordNeeded
    from ..records.store.logbook import open_logbook

    place, password = place_from(args), getattr(args, "password", None)
    try:
        return open_logbook(place, create=create, password=password)
    except PasswordNeeded:
        if password is not None or not (sys.stdin and sys.stdin.isatty()):
            raise
    from getpass import getpass

    args.password = getpass("Password of the logbook's server: ")
    return open_logbook(place, create=create, password=args.password)


def shown(args: argparse.Namespace) -> "tuple[KeptStudent, tuple[Outline, ...]]":
    """The fields of the student ``args.code`` as JSON has them, and the trials by day; a look costs no full opening."""
    from ..records.store.student_overview import glance, kept_fields

    found = glance(place_from(args), args.code)
    if found is not None:
        return found.student, found.trials
    with opened(args) as logbook:
        student = logbook.student(args.code)
        return kept_fields(student), tuple(logbook.outline(code=student.code))


def place_from(args: argparse.Namespace) -> str:
    """Where the logbook lies.

    Raises
    ------
    UsageError
        If an address on the command line holds a password: everyone on the computer sees it in the list of programs,
        and it stays in the history of the shell.
    """
    from ..records.store.address import states_password
    from ..records.store.location import default_place

    if args.logbook is not None and states_password(args.logbook):
        raise UsageError(
            "a password on the command line can be seen by everyone on this computer, and stays in the history of the "
            "shell.",
            mend="Leave it out of --logbook: put it into PGPASSWORD or into the password file ~/.pgpass, or type it "
            "when you are asked.",
        )
    return default_place(args.logbook, os.environ)
