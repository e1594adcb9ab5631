"""``ownmark class form``: a form to write on during the day, and the table that it is typed into afterwards."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import AlreadyThere, UnreadableFile, UsageError
from ..words.plain import printable
from .logbook import opened
from .pages import add_page_options, forms_of, words_of, write_out
from .student import day
from .terminal import say

if TYPE_CHECKING:
    from ..records.plan.day_form import FormRow
    from ..records.store.logbook import Logbook


def add_class_form_options(parser: argparse.ArgumentParser) -> None:
    """Declare who stands on the form."""
    parser.add_argument(
        "--roster", metavar="CSV", help="the class: code,protocol,strap (without it the logbook's students)"
    )
    parser.add_argument("--straps", metavar="CSV", help="who gets which strap: strap,code")
    parser.add_argument(
        "--protocol", metavar="NAME", help="the protocol of all; of the logbook, only who was tested by it"
    )
    parser.add_argument(
        "--from", dest="since", metavar="YYYY-MM-DD", help="of the logbook, only who was tested from that day on"
    )
    parser.add_argument("--table", metavar="CSV", help="also write the table to type the form into, for `class plan`")
    add_page_options(parser, language=True)


def run_class_form(args: argparse.Namespace) -> int:
    """Write the form; a PDF where no form was asked for."""
    from ..records.class_table import read_straps, with_column
    from ..records.plan.day_form import form_rows
    from ..records.plan.known import read_roster
    from ..reports.sheets.day_form import day_form

    forms = forms_of(args, otherwise=("pdf",))
    since = day(args.since, "--from") if args.since else None
    if args.since and (args.roster or args.straps):
        raise UsageError("--from is for the students of the logbook.", mend="Leave it out, or the table.")
    roster = read_roster(Path(args.roster)) if args.roster else ()
    straps = args.straps or with_column(args.roster, "strap")
    worn = read_straps(Path(straps)) if straps else ()
    words, _ = words_of(args)
    with opened(args) as logbook:
        rows = form_rows(logbook, roster, worn, args.protocol, since)
        if args.table:
            _write_table(logbook, Path(args.table), rows)
        return write_out(logbook, day_form(rows, words), args, "class-form", forms)


def _write_table(logbook: "Logbook", out: Path, rows: "tuple[FormRow, ...]") -> None:
    """Write the table; a file that is there may hold what somebody typed, and is never written over."""
    from ..records.plan.day_form import typed_table
    from ..records.store.atomic_files import write_whole
    from ..records.store.outputs import refuse_own

    if out.exists() or out.is_symlink():
        raise AlreadyThere("there is such a file already.", where=str(out), mend="Name another with --table.")
    refuse_own(logbook, [out], [])
    try:
        write_whole(out, typed_table(rows))
    except OSError as failure:
        why = failure.strerror or "it cannot be written"
        raise UnreadableFile(f"{why[0].lower()}{why[1:]}.", where=str(out), mend="Name another: --table.") from None
    say(printable(str(out)))
