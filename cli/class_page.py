"""``ownmark class page``: what a day brought for each student, and the day's effort sheets beside it."""

import argparse
import sys

from .logbook import opened
from .option_commands import told_in_of
from .pages import add_page_options, files_of, forms_of, words_of, write_out, write_sheet
from .student import day


def add_class_page_options(parser: argparse.ArgumentParser) -> None:
    """Declare the options of the page."""
    parser.add_argument("--date", metavar="YYYY-MM-DD", help="the day (that of the last trial)")
    parser.add_argument("--protocol", metavar="NAME", help="only trials of this protocol")
    parser.add_argument("--sheets", action="store_true", help="also the effort sheet of every trial of that day")
    add_page_options(parser, language=True, text=True)


def run_class_page(args: argparse.Namespace) -> int:
    """Write the page, or print it; a PDF where no form was asked for."""
    from tqdm import tqdm

    from ..errors import NothingToCompare
    from ..reports.sheets.class_page import class_page
    from ..reports.sheets.many_students import class_lines, last_day

    forms = forms_of(args, otherwise=("pdf",))
    words, _ = words_of(args)
    with opened(args) as logbook:
        on = day(args.date, "--date") if args.date else last_day(logbook)
        if on is None:
            raise NothingToCompare("there is no trial in the logbook.", mend="Add one with `ownmark trial add`.")
        lines = class_lines(logbook, on, args.protocol)
        if "text" in forms:
            write_out(logbook, class_page(lines, on, words, told_in_of(words)), args, "", ("text",))
        write_out(logbook, class_page(lines, on, words), args, f"class-{on.isoformat()}", files_of(forms))
        if args.sheets:
            trials = [each.trial for line in lines for each in line.trials]
            for trial in tqdm(trials, unit="sheet", disable=None, leave=False, file=sys.stderr):
                write_sheet(logbook, trial, args, forms)
    return 0
