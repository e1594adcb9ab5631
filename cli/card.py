"""``ownmark card``: the set-up card of a student and protocol as a page."""

import argparse

from .logbook import add_logbook_option, opened
from .pages import add_page_options, forms_of, words_of, write_out

EXAMPLE = "ownmark card TH-11 --protocol slalom-gym --pdf --out pages"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", metavar="CODE", help="the student")
    parser.add_argument("--protocol", metavar="NAME", help="needed where the student has trials of several, or none")
    add_page_options(parser, language=True, text=True)
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Write or print the card; a PDF where no form was asked for. Before the first trial it shows the plan."""
    from ..errors import NothingToCompare
    from ..records.checklist import checklist
    from ..records.judging import one_protocol
    from ..reports.sheets.set_up_card import set_up_card

    forms = forms_of(args, otherwise=("pdf",))
    words, _ = words_of(args)
    with opened(args) as logbook:
        student = logbook.student(args.code)
        try:
            last = one_protocol(logbook, student.code, args.protocol)[-1]
        except NothingToCompare:
            if not args.protocol:
                raise
            last = None
        newest = logbook.protocol(last.protocol if last else args.protocol)
        protocol = logbook.protocol(last.protocol, last.protocol_version) if last else newest
        page = set_up_card(
            student.code,
            checklist(protocol, last),
            protocol,
            words,
            last_on=last.on if last else None,
            newest=newest.version,
            student=student,
        )
        return write_out(logbook, page, args, f"{student.code}-card-{protocol.name}", forms)
