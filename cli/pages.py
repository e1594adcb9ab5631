"""Options that every command with a page shares: in which form, into which folder, in which language."""

import argparse
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeAlias

from ..errors import UsageError
from ..words.render import LANGUAGES
from .option_commands import terminal_words
from .terminal import say

if TYPE_CHECKING:
    from ..records.change.shapes import Comparison
    from ..records.safety import Safety
    from ..records.store.logbook import Logbook
    from ..records.trial import Trial
    from ..reports.page import Page
    from ..reports.render.files import Format
    from ..reports.words import Words

Form: TypeAlias = Literal["pdf", "html", "png", "text"]
"""The forms of ``reports.render.files`` that are written, and the one that is printed."""
_HELP = {
    "pdf": "write a PDF, tagged for screen readers",
    "html": "write one HTML file",
    "png": "write a picture of each sheet of paper",
    "text": "print the page here",
}


def add_page_options(
    parser: argparse.ArgumentParser, *, family: bool = False, language: bool = False, text: bool = False
) -> None:
    """Declare the form and the folder.

    family : also the language and the family's copy
    language : the language, of a page that has no family's copy
    text : the page can be printed too
    """
    group = parser.add_argument_group("as a page")
    for form, meaning in _HELP.items():
        if form != "text" or text:
            group.add_argument(f"--{form}", action="append_const", const=form, dest="forms", help=meaning)
    group.add_argument("--out", metavar="FOLDER", help="where pages go (the current folder); it is made if need be")
    if family or language:
        meaning = "es: the family's copy in Spanish" if family else "es: in Spanish"
        group.add_argument("--lang", choices=LANGUAGES, default="en", help=meaning)
    if family:
        group.add_argument("--family", action="store_true", help="plain units, and without the staff's own notes")


def forms_of(args: argparse.Namespace, *, otherwise: Sequence["Form"] = ()) -> tuple["Form", ...]:
    """The forms asked for, or ``otherwise``.

    Raises
    ------
    UsageError
        If a folder was given and nothing is written, or a language where nothing is a page.
    """
    forms: tuple[Form, ...] = tuple(dict.fromkeys(args.forms or otherwise))
    spoken = getattr(args, "family", False) or getattr(args, "lang", "en") != "en"
    if (args.out and set(forms) <= {"text"}) or (spoken and not forms):
        raise UsageError("these options are for a page, and no page was asked for.", mend="Add --pdf, --html or --png.")
    return forms


def files_of(forms: Sequence["Form"]) -> tuple["Format", ...]:
    """The forms that are written."""
    return tuple(form for form in forms if form != "text")


def words_of(args: argparse.Namespace) -> tuple["Words", bool]:
    """The texts of the language asked for, and whether the copy is a family's: every Spanish one is."""
    from ..reports.words import Words

    language = getattr(args, "lang", "en")
    return Words(language), getattr(args, "family", False) or language != "en"


Tell: TypeAlias = Callable[[str], object]
"""What is done with the name of a file that was written."""


def write_out(
    logbook: "Logbook | None",
    page: "Page",
    args: argparse.Namespace,
    stem: str,
    forms: Sequence["Form"],
    tell: Tell = say,
) -> int:
    """Print the page, or write it and say where it is. The name ends in the language where that is not English.

    logbook : what a page must never replace; None for a page that is made without one
    """
    if "text" in forms:
        _print(page)
    if not files_of(forms):
        return 0
    from ..records.store.outputs import refuse_logbooks, refuse_own
    from ..reports.render.files import write_page

    check = refuse_logbooks if logbook is None else partial(refuse_own, logbook)
    folder = Path(args.out) if args.out else Path()
    if page.language != "en":
        stem = f"{stem}-{page.language}"
    for path in write_page(page, folder, stem, files_of(forms), check=check):
        tell(str(path))
    return 0


def write_sheet(
    logbook: "Logbook", trial: "Trial", args: argparse.Namespace, forms: Sequence["Form"], tell: Tell = say
) -> int:
    """Print the effort sheet of a trial, or write it with its picture."""
    from ..reports.sheets.of_logbook import effort_printed

    words, family = words_of(args)
    if "text" in forms:
        plain = _printed(words, trial, family=family)
        _print(effort_printed(logbook, trial, plain, family=family, drawn=False).page)
    drawn = files_of(forms)
    if not drawn:
        return 0
    found = effort_printed(logbook, trial, words, family=family, phone="html" in forms)
    return write_out(logbook, found.page, args, found.stem, drawn, tell)


def write_change(
    logbook: "Logbook", found: "Comparison", args: argparse.Namespace, forms: Sequence["Form"], tell: Tell = say
) -> int:
    """Print the change sheet of a comparison, or write it with its pictures."""
    from ..reports.sheets.of_logbook import change_printed

    words, family = words_of(args)
    if "text" in forms:
        plain = words if family else terminal_words(words.language, found.code, found.protocol)
        _print(change_printed(logbook, found, plain, family=family, drawn=False).page)
    drawn = files_of(forms)
    if not drawn:
        return 0
    made = change_printed(logbook, found, words, family=family, phone="html" in forms)
    return write_out(logbook, made.page, args, made.stem, drawn, tell)


def write_safety(logbook: "Logbook", found: "Safety", args: argparse.Namespace, forms: Sequence["Form"]) -> int:
    """Print the safety sheet of a trial, or write it with its picture."""
    from ..reports.sheets.of_logbook import safety_printed

    words, _ = words_of(args)
    if "text" in forms:
        plain = _printed(words, found.trial, family=False)
        _print(safety_printed(logbook, found, plain, drawn=False).page)
    drawn = files_of(forms)
    if not drawn:
        return 0
    made = safety_printed(logbook, found, words, phone="html" in forms)
    return write_out(logbook, made.page, args, made.stem, drawn)


def _printed(words: "Words", trial: "Trial", *, family: bool) -> "Words":
    """The words of a trial's page that is printed; a family's names no command."""
    return words if family else terminal_words(words.language, trial.code, trial.protocol, trial.id)


def _print(page: "Page") -> None:
    """A page as text."""
    from ..reports.render.text import to_text

    say(to_text(page))
