"""``ownmark district``: the coordinator's table, a row for each student and protocol."""

import argparse
import sys

from .logbook import add_logbook_option, opened
from .pages import add_page_options, forms_of, words_of, write_out
from .period import add_period, period_of

EXAMPLE = "ownmark district --html --out pages"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--protocol", metavar="NAME", help="only trials of this protocol")
    add_period(parser)
    add_page_options(parser, language=True, text=True)
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Write the table, or print it; a PDF where no form was asked for."""
    from tqdm import tqdm

    from ..reports.sheets.district_table import district_table
    from ..reports.sheets.many_students import all_students, district_rows

    forms = forms_of(args, otherwise=("pdf",))
    words, _ = words_of(args)
    since, until = period_of(args)
    with opened(args) as logbook:
        rows = district_rows(logbook, args.protocol, since=since, until=until)
        found = tqdm(rows, unit="row", disable=None, leave=False, file=sys.stderr)
        students = all_students(logbook, args.protocol)
        page = district_table(found, words, since=since, until=until, students=students)
        return write_out(logbook, page, args, f"district-{args.protocol}" if args.protocol else "district", forms)
