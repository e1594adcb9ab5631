"""``ownmark trial edit``, ``move``, ``remove`` and ``restore``: a trial is mended, and its history says so."""

import argparse
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import UsageError
from ..words.render import english, english_date
from .figure_changes import said
from .inputs import add_confirm, number, whole_number
from .logbook import opened
from .parts import many
from .protocol import fields_of
from .terminal import say

if TYPE_CHECKING:
    from ..records.guards import Question
    from ..records.mending import Edit, Mended
    from ..records.recompute import FigureChange

_SHOWN = 6
"""So many figures are named in the line that tells which changed."""


def add_arguments(
    parts: "argparse._SubParsersAction[Any]", add_facts: Callable[[argparse.ArgumentParser], None]
) -> tuple[argparse.ArgumentParser, ...]:
    """Declare the sub-commands; ``add_facts`` declares what ``trial add`` takes."""
    edit = parts.add_parser(
        "edit",
        help="correct a trial; the former state stays in its history",
        description="Correct a trial. `none` empties a field (but --set medicines=none says that there were none); "
        "whatever is not named stays as it is. Figures are worked out again at once. What could be a mistake is "
        "asked as in `ownmark trial add`, and answered with --confirm.",
    )
    edit.add_argument("number", type=whole_number, metavar="N", help="the trial's number, from trial list")
    add_facts(edit)
    files = edit.add_argument_group("files and protocol")
    files.add_argument("--add-file", action="append", default=[], metavar="FILE", help="a further recording of it")
    files.add_argument(
        "--take-out", action="append", default=[], metavar="NAME", help="a kept file that is not of this trial"
    )
    files.add_argument("--protocol", metavar="NAME", help="the protocol it was done by, in its latest version")
    files.add_argument("--no-practice", action="store_true", help="it was no practice trial")
    move = parts.add_parser("move", help="give a trial to the student whose it was")
    move.add_argument("number", type=whole_number, metavar="N", help="the trial's number")
    move.add_argument("code", metavar="CODE", help="the student whose it was")
    remove = parts.add_parser("remove", help="take a trial away: it counts nowhere, and its history keeps it")
    remove.add_argument("number", type=whole_number, metavar="N", help="the trial's number")
    back = parts.add_parser("restore", help="bring a removed trial back")
    back.add_argument("number", type=whole_number, metavar="N", help="the trial's number")
    for part in (edit, move, remove, back):
        needed = part is remove
        part.add_argument(
            "--why", required=needed, default="", metavar="TEXT", help="the reason, for the history; no name"
        )
        if part is not edit:
            add_confirm(part)
    return edit, move, remove, back


def _edit(args: argparse.Namespace) -> int:
    from ..records.mending import edit_trial

    edit = replace(_edit_of(args), asked=_ask_why(args))
    with opened(args) as logbook:
        mended = edit_trial(logbook, args.number, edit, why=args.why, today=date.today())  # noqa: DTZ011 the person's own day is meant
    if not mended.fields:
        say(f"Trial {args.number} is so already: nothing was changed.")
        return 0
    names = ", ".join(name.replace("_", " ") for name in mended.fields)
    say(f"Trial {args.number} of {mended.trial.code} is mended: {names}. {_figures(mended)}")
    for told in mended.told:
        say(english(told))
    return 0


def _edit_of(args: argparse.Namespace) -> "Edit":
    """The edit out of the options."""
    from ..records.mending import Edit
    from .trial import typed

    texts: dict[str, str] = typed(args) | dict(fields_of(args.fields))
    for name, given in (("stops", args.stop), ("assisted", args.assisted)):
        if given:
            texts[name] = ";".join(given)
    more: dict[str, Any] = {} if args.rate is None else {"rate_hz": args.rate}
    if args.practice and args.no_practice:
        raise UsageError("--practice and --no-practice contradict each other.", mend="Give one of them.")
    more |= {"practice": args.practice} if args.practice or args.no_practice else {}
    edit = Edit(
        texts=texts,
        results=tuple(args.result),
        more=more,
        offsets=_offsets(args.offset),
        clock_shifts=tuple(args.clock_shift),
        columns=tuple(args.column),
        protocol=args.protocol,
        add=tuple(Path(each) for each in args.add_file),
        take_out=tuple(args.take_out),
        answers=tuple(args.confirm),
    )
    if edit == Edit():
        raise UsageError("nothing to change was given.", mend="`ownmark trial edit --help` shows what can be changed.")
    return edit


def _offsets(pairs: list[str]) -> Mapping[str, float]:
    """Offsets by a file's bare name."""
    found = {}
    for pair in pairs:
        path, equals, seconds = pair.rpartition("=")
        try:
            found[Path(path).name] = number(seconds)
        except argparse.ArgumentTypeError as mistake:
            raise UsageError(f"--offset {pair}: {mistake}.", mend="Write --offset wrist.csv=12.5.") from None
        if not equals:
            raise UsageError(f"--offset {pair} names no file.", mend="Write --offset wrist.csv=12.5.")
    return found


def _move(args: argparse.Namespace) -> int:
    from ..records.mending import move_trial

    _ask_why(args)
    with opened(args) as logbook:
        mended = move_trial(logbook, args.number, args.code, why=args.why)
    say(f"Trial {args.number} is {mended.trial.code}'s now. {_figures(mended)}")
    for told in mended.told:
        say(english(told))
    return 0


def _remove(args: argparse.Namespace) -> int:
    from ..records.removing import remove_trial

    _ask_why(args)
    with opened(args) as logbook:
        trial = remove_trial(logbook, args.number, why=args.why)
    say(
        f"Trial {args.number} of {trial.code} ({english_date(trial.on)}) is removed: it counts nowhere. "
        f"`ownmark trial show {args.number} --history` shows it, `ownmark trial restore {args.number}` brings it back."
    )
    return 0


def _put_back(args: argparse.Namespace) -> int:
    from ..records.removing import put_back

    _ask_why(args)
    with opened(args) as logbook:
        trial = put_back(logbook, args.number, why=args.why)
    say(f"Trial {args.number} of {trial.code} ({english_date(trial.on)}) is back.")
    return 0


def _ask_why(args: argparse.Namespace) -> "tuple[Question, ...]":
    """Ask about a reason that may name somebody: it stays in the history. What was asked is given back."""
    from ..records.text_guards import ask, of_texts

    asked = of_texts({"history_why": args.why})
    ask(asked, args.confirm)
    return asked


def _figures(mended: "Mended") -> str:
    return told(mended.figures) if mended.trial.sheet is not None else "It has no figures from a recording."


def told(figures: "tuple[FigureChange, ...]") -> str:
    """Which figures changed, in one line."""
    if not figures:
        return "No figure changed."
    parts = [said(each) for each in figures[:_SHOWN]]
    more = f"; and {many(len(figures) - _SHOWN, 'more figure')}" if len(figures) > _SHOWN else ""
    return f"Worked out again: {'; '.join(parts)}{more}."


PARTS: Mapping[str, Callable[[argparse.Namespace], int]] = {
    "edit": _edit,
    "move": _move,
    "remove": _remove,
    "restore": _put_back,
}
