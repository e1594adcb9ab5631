"""The whole class in one call: a page for each student in one folder, and an index beside them."""

import argparse
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import NothingToCompare, OwnmarkError, UsageError
from ..words.message import Message
from .pages import Form, files_of, words_of
from .period import add_period, period_of
from .terminal import complain, say

if TYPE_CHECKING:
    from ..records.store.logbook import Logbook
    from ..records.trial import Trial
    from ..reports.words import Words


@dataclass(frozen=True, slots=True)
class Piece:
    """One student's page.

    about : the protocol, and the day where it is of one trial
    write : writes it, and hands the name of each file to ``tell``
    """

    code: str
    about: str
    write: Callable[..., int]


def add_who(parser: argparse.ArgumentParser, *, period: bool = False) -> None:
    """Declare the student, or the whole class.

    period : the class's trials can be those of a span of days
    """
    parser.add_argument("code", nargs="?", metavar="CODE", help="the student; or --class")
    parser.add_argument("--class", action="store_true", dest="whole_class", help="every student of the logbook")
    if period:
        add_period(parser, only="with --class")


def check_who(args: argparse.Namespace) -> None:
    """Refuse a call that names nobody, or both.

    Raises
    ------
    UsageError
    """
    if args.whole_class == bool(args.code):
        both = "name one student or the whole class, not both." if args.code else "no student was named."
        raise UsageError(both, mend="Write the student's code, or --class for all.")
    if not args.whole_class and (getattr(args, "since", None) or getattr(args, "until", None)):
        raise UsageError("--from and --to are for the whole class.", mend="Add --class, or name a trial: --trial N.")
    if args.whole_class and getattr(args, "trial", None) is not None:
        raise UsageError("--trial names one trial.", mend="Leave it out, or name the student.")


def trials_of(logbook: "Logbook", args: argparse.Namespace, *, practice: bool = False) -> "list[Trial]":
    """The class's trials of the days asked for, with their sheets, by code and day.

    practice : practice trials too, which never count as a baseline

    Raises
    ------
    NothingToCompare
        If there is none.
    """
    since, until = period_of(args)
    found = [each for each in logbook.trials(since=since, until=until) if practice or not each.practice]
    if not found:
        if since is None and until is None:
            raise NothingToCompare(
                "no trial in the logbook counts yet: there is none, or only practice.",
                mend="Add one with `ownmark trial add`.",
            )
        raise NothingToCompare(
            "no trial of these days counts: there is none, or only practice.",
            mend="`ownmark trial list` shows them all.",
        )
    return sorted(found, key=lambda each: (each.code, each.on, each.id or 0))


def write_class(
    logbook: "Logbook", args: argparse.Namespace, forms: Sequence[Form], kind: str, pieces: Sequence[Piece]
) -> int:
    """Write every piece and the index; one that cannot be made stops no other. 1 where one could not."""
    from tqdm import tqdm

    from ..records.store.outputs import refuse_own
    from ..reports.render.files import write_page
    from ..reports.sheets.index_page import Entry, index_page

    if "text" in forms or not files_of(forms):
        raise UsageError("a whole class is written into a folder.", mend="Add --pdf or --html, and --out FOLDER.")
    if not pieces:
        raise NothingToCompare("there is nothing to write.", mend="`ownmark trial list` shows what there is.")
    entries: list[Entry] = []
    refused = False
    words, _ = words_of(args)
    for piece in tqdm(pieces, unit="page", disable=None, leave=False, file=sys.stderr):
        written: list[str] = []
        try:
            piece.write(tell=written.append)
        except NothingToCompare as reason:  # not yet, which is nothing that went wrong
            entries.append(Entry(piece.code, piece.about, (), _why(reason, words)))
        except OwnmarkError as reason:
            refused = True
            complain(f"{piece.code}, {piece.about}: {reason}")
            entries.append(Entry(piece.code, piece.about, (), _why(reason, words)))
        else:
            entries.append(Entry(piece.code, piece.about, tuple(Path(name).name for name in written)))
    folder = Path(args.out) if args.out else Path()
    page = index_page(entries, words, kind)
    stem = f"index-{kind}" if words.language == "en" else f"index-{kind}-{words.language}"
    for path in write_page(page, folder, stem, ("html",), check=partial(refuse_own, logbook)):
        say(str(path))
    made = sum(bool(each.files) for each in entries)
    say(f"{made} of {len(entries)} written into {folder}.")
    return 1 if refused else 0


def _why(reason: OwnmarkError, words: "Words") -> str:
    """A refusal in the page's language, as far as it is a message; what is English for the keyboard stays so."""
    return " ".join(
        words.message(part) if isinstance(part, Message) else part for part in (reason.what, reason.mend) if part
    )
