"""``ownmark sheet``: the effort sheet of one trial, printed or as a page."""

import argparse

from .inputs import whole_number
from .logbook import add_logbook_option, opened
from .pages import add_page_options, forms_of, write_sheet

EXAMPLE = "ownmark sheet TH-11 --pdf --out pages"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    parser.add_argument("--trial", type=whole_number, metavar="N", help="the trial's number (the last one)")
    add_page_options(parser, family=True, text=True)
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Print the sheet, or write it in the forms asked for."""
    from ..records.judging import one_trial

    forms = forms_of(args, otherwise=("text",))
    with opened(args) as logbook:
        student = logbook.student(args.code)
        return write_sheet(logbook, one_trial(logbook, student.code, args.trial), args, forms)
