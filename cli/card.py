"""``ownmark card``: the set-up card of a student and protocol as a page."""

import argparse
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from .logbook import add_logbook_option, opened
from .pages import Form, Tell, add_page_options, forms_of, words_of, write_out
from .terminal import say
from .whole_class import Piece, add_who, check_who, write_class

if TYPE_CHECKING:
    from ..records.store.logbook import Logbook

EXAMPLE = "ownmark card TH-11 --protocol slalom-gym --pdf --out pages"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_who(parser)
    parser.add_argument("--protocol", metavar="NAME", help="needed where the student has trials of several, or none")
    add_page_options(parser, language=True, text=True)
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Write or print the card; a PDF where no form was asked for. Before the first trial it shows the plan."""
    check_who(args)
    forms = forms_of(args, otherwise=("pdf",))
    with opened(args) as logbook:
        if args.whole_class:
            return write_class(logbook, args, forms, "cards", _of_class(logbook, args, forms))
        return _write(logbook, args, args.code, args.protocol, forms)


def _of_class(logbook: "Logbook", args: argparse.Namespace, forms: "Sequence[Form]") -> "list[Piece]":
    """A card for each student and protocol of which there is a trial."""
    pairs = dict.fromkeys(
        (each.code, each.protocol) for each in logbook.trials(protocol=args.protocol, with_sheets=False)
    )
    return [
        Piece(code, protocol, partial(_write, logbook, args, code, protocol, forms)) for code, protocol in sorted(pairs)
    ]


def _write(
    logbook: "Logbook",
    args: argparse.Namespace,
    code: str,
    protocol_name: str | None,
    forms: "Sequence[Form]",
    tell: Tell = say,
) -> int:
    """One student's card."""
    from ..reports.sheets.of_logbook import card_printed

    words, _ = words_of(args)
    found = card_printed(logbook, code, protocol_name, words)
    return write_out(logbook, found.page, args, found.stem, forms, tell)
