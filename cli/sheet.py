"""``ownmark sheet``: the effort sheet of one trial, printed or as a page."""

import argparse
from functools import partial

from .inputs import whole_number
from .logbook import add_logbook_option, opened
from .pages import add_page_options, forms_of, words_of, write_sheet
from .whole_class import Piece, add_who, check_who, trials_of, write_class

EXAMPLE = "ownmark sheet TH-11 --pdf --out pages"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_who(parser, period=True)
    parser.add_argument("--trial", type=whole_number, metavar="N", help="the trial's number (the last one)")
    add_page_options(parser, family=True, text=True)
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Print the sheet, or write it in the forms asked for."""
    from ..records.one_trial import one_trial

    check_who(args)
    forms = forms_of(args, otherwise=("text",))
    with opened(args) as logbook:
        if args.whole_class:
            words, _ = words_of(args)
            pieces = [
                Piece(
                    each.code,
                    f"{each.protocol}, {words.date(each.on)}",
                    partial(write_sheet, logbook, each, args, forms),
                )
                for each in trials_of(logbook, args)
            ]
            return write_class(logbook, args, forms, "sheets", pieces)
        student = logbook.student(args.code)
        return write_sheet(logbook, one_trial(logbook, student.code, args.trial), args, forms)
