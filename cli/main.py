"""The command line: a table of commands, each imported only when it is called.

Exit codes: 0 done, 1 something was refused, 2 wrong usage. Only ownmark's own errors become sentences; anything
else is a fault of ownmark, is said to be one, and shows its traceback only if ``OWNMARK_TRACEBACK`` is set. Whatever
ends a command, the last sentence says what was written before, if anything was.
"""

import argparse
import difflib
import os
import re
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Any, Protocol

from .. import ledger
from ..errors import OwnmarkError, UsageError
from ..records.store.address import option_names, without_secrets
from .terminal import Printed, complain, hold_standard, printing, quiet_libraries, say

DONE, REFUSED, WRONG_USAGE = 0, 1, 2

COMMANDS = {
    "page": "the local page: a class's day, students, caseload, district, in your browser",
    "look": "what is in a file: streams, span, rate, gaps, flags, marks",
    "effort": "effort figures of one trial, from one or several files",
    "formats": "which files can be read",
    "schema": "the JSON Schema of an effort sheet",
    "demo": "an invented school: one sheet, a line a student, and every kind of page",
    "student": "students of the logbook, by code: add, show, list, edit",
    "protocol": "how a test is given: find, catalogue, copy, edit, show, list",
    "trial": "trials of the logbook, with files and figures: add, show, edit, move, remove, restore, list",
    "class": "a whole class: a list of students, the day's form, plan, table into the logbook, page",
    "batch": "many class tables at once, on several processes or a cluster",
    "repeat": "how to set a test up again, as a checklist",
    "change": "baseline against re-test: what differed, what changed",
    "safety": "ceiling, crossings, recovery, what was not measured",
    "sheet": "the effort sheet of a trial, printed, or as a page: PDF, HTML or PNG",
    "card": "the set-up card of a test as a page, with boxes to tick",
    "export": "the logbook as CSV, XLSX, Parquet, JSON or FHIR, or sentences for plans",
    "district": "a row for each student and protocol, as a page",
    "recompute": "every sheet again from the originals, and what changed",
    "logbook": "what holds for all of a logbook: the school's time zone",
    "backup": "everything in one file, verified by hash",
    "restore": "a backup into an empty logbook",
    "disclose": "everything held about one student, in a folder",
    "forget": "remove a student, files included",
    "completion": "lines for your shell, so that Tab completes commands and options",
}
MODULES = {"class": "class_", "logbook": "logbook_settings"}
"""Commands whose name cannot be a module's."""
OF_THE_LOGBOOK = frozenset(
    {
        "no_logbook",
        "logbook_locked",
        "logbook_damaged",
        "logbook_newer",
        "logbook_read_only",
        "disk_full",
        "backup_damaged",
    }
)
"""Refusals after which whoever typed a command wonders whether anything was changed."""


class Command(Protocol):
    """What a command's module offers."""

    EXAMPLE: str

    @staticmethod
    def add_arguments(parser: argparse.ArgumentParser) -> None:
        """Declare the options."""

    @staticmethod
    def run(args: argparse.Namespace) -> int:
        """Do it; the answer is the exit code."""
        ...


class Parser(argparse.ArgumentParser):
    """An argument parser that complains in one sentence and guesses no option from its beginning."""

    def __init__(self, **settings: Any) -> None:  # noqa: ANN401 as argparse
        super().__init__(**{"allow_abbrev": False, **settings})  # commands of commands are made by argparse

    def error(self, message: str) -> None:  # type: ignore[override]
        """Turn a mistake in the options into a usage error."""
        mend = f"`{self.prog} --help` shows how it is used."
        raise UsageError(f"{without_secrets(message)}.", where=self.prog, mend=mend)

    def parse_args(self, args: Sequence[str], namespace: Any = None) -> argparse.Namespace:  # type: ignore[override]  # noqa: ANN401 as argparse
        """Refuse words that no option takes, without repeating what may be a password."""
        found, more = self.parse_known_args(args, namespace)
        if more:
            behind = any(word.startswith("--logbook") for word in args)
            self.error(f"unrecognized arguments: {option_names(more, behind_place=behind)}")
        return found

    def print_help(self, file: object = None) -> None:  # noqa: ARG002 as argparse calls it
        """Print the help like everything else."""
        say(self.format_help().rstrip("\n"))


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and give back its exit code."""
    if "_ARGCOMPLETE" in os.environ and argv is None:
        _complete()
    if argv is None:
        hold_standard()
    words = list(sys.argv[1:] if argv is None else argv)
    before = ledger.mark()
    with quiet_libraries(), printing() as printed:
        try:
            code = _told(words, before)
        except SystemExit:  # after a help
            printed.finish()
            if printed.failure is not None:
                return _not_printed(printed, DONE, before)
            raise
        printed.finish()
        return code if printed.failure is None else _not_printed(printed, code, before)


def _complete() -> None:
    """Answer the shell, which asks what can be typed next."""
    from .completion import complete

    complete(COMMANDS, lambda name, parser: _module(name).add_arguments(parser), Parser)


def _module(name: str) -> Command:
    """A command's module, imported when it is called."""
    return import_module(f".{MODULES.get(name, name)}", __package__)  # type: ignore[return-value]


def _told(words: list[str], before: int) -> int:
    """Run a command; whatever goes wrong becomes a sentence."""
    try:
        return _run(words)
    except UsageError as mistake:
        complain(mistake)
        return WRONG_USAGE
    except OwnmarkError as refusal:
        complain(f"{refusal}{_what_stays(before, otherwise=refusal.code in OF_THE_LOGBOOK)}")
        return REFUSED
    except KeyboardInterrupt:
        complain(f"Stopped.{_what_stays(before)}")
        return REFUSED
    except Exception as fault:  # a bug is told as a bug, in a sentence
        if os.environ.get("OWNMARK_TRACEBACK"):
            raise
        complain(
            f"ownmark itself failed ({type(fault).__name__}: {without_secrets(str(fault))})."
            f"{_what_stays(before, otherwise=True)} Please report it with what you typed; OWNMARK_TRACEBACK=1 shows "
            "where."
        )
        return REFUSED


def _what_stays(before: int, *, otherwise: bool = False) -> str:
    """What was written before a command ended; if nothing was and ``otherwise``, that."""
    written = ledger.since(before)
    if written:
        return f" Written before that, and it stays: {', '.join(written)}."
    return " Nothing was changed." if otherwise else ""


def _not_printed(printed: Printed, code: int, before: int) -> int:
    """Say what could not be printed, and whether it was done all the same. Who stopped reading asked for no more."""
    written = ledger.since(before)
    if written:
        complain(
            f"The change was written ({', '.join(written)}), but the report of it could not be printed: {printed.why}."
        )
    elif not printed.nobody_reads:
        complain(f"This could not be printed: {printed.why}.")
    return code if printed.nobody_reads else max(code, REFUSED)


def _run(words: list[str]) -> int:
    """Find the command and hand the rest of the words to it."""
    if len(words) > 1 and words[0] == "help":
        words = [words[1], "--help"]
    if not words or words[0] in ("-h", "--help", "help"):
        say(_overview())
        return DONE if words else WRONG_USAGE
    if words[0] in ("-V", "--version"):
        from .. import __version__

        say(f"ownmark {__version__}")
        return DONE
    if any("\0" in word for word in words):
        raise UsageError("a word on the command line holds a zero character.", mend="Type it again.")
    name = words[0]
    if name not in COMMANDS:
        close = difflib.get_close_matches(name.lower(), COMMANDS, n=1, cutoff=0.6)
        hint = f"Did you mean {close[0]}? " if close else ""
        raise UsageError(
            f"there is no command “{without_secrets(name)}”.", mend=f"{hint}There are: {', '.join(COMMANDS)}."
        )
    module = _module(name)
    parser = Parser(
        prog=f"ownmark {name}",
        description=f"{COMMANDS[name][0].upper()}{COMMANDS[name][1:]}.",
        epilog=f"Example:\n  {module.EXAMPLE}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    module.add_arguments(parser)
    return module.run(parser.parse_args(_with_dashes(words[1:])))


_BEGINS_WITH_DASH = {"--zone": re.compile(r"-\d"), "--clock-shift": re.compile(r"-\d"), "--laps": re.compile(r"-\s*,")}
"""Options whose value may begin so: a zone west of Greenwich, a clock that ran ahead, a first lap that is left out."""


def _with_dashes(words: list[str]) -> list[str]:
    """Let these values be values: argparse takes `-06:00` and `-,work,-` for options."""
    joined: list[str] = []
    for word in words:
        begins = _BEGINS_WITH_DASH.get(joined[-1]) if joined else None
        if begins is not None and begins.match(word):
            joined[-1] += f"={word}"
        else:
            joined.append(word)
    return joined


def _overview() -> str:
    """The page that `ownmark --help` shows."""
    rows = "\n".join(f"  {name:<9}  {summary}" for name, summary in COMMANDS.items())
    return (
        "ownmark: one student, measured against that student's own mark.\n\n"
        f"usage: ownmark COMMAND …\n\n{rows}\n\n"
        "`ownmark COMMAND --help` shows its options and an example.\n"
        "Exit codes: 0 done, 1 something was refused, 2 wrong usage."
    )


if __name__ == "__main__":
    sys.exit(main())
