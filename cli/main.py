"""The command line: a table of commands, each imported only when it is called.

Exit codes: 0 done, 1 something was refused, 2 wrong usage. Only ownmark's own errors become sentences; anything
else is a fault of ownmark, is said to be one, and shows its traceback only if ``OWNMARK_TRACEBACK`` is set.
"""

import argparse
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Protocol

from ..errors import OwnmarkError, UsageError

DONE, REFUSED, WRONG_USAGE = 0, 1, 2

COMMANDS = {
    "look": "what is in a file: streams, span, rate, gaps, flags, marks",
    "effort": "effort figures of one trial, from one or several files",
    "formats": "which files can be read",
    "schema": "the JSON Schema of an effort sheet",
    "demo": "effort sheets of an invented school's six students",
    "student": "students of the logbook, by code: add, show, list, edit",
    "protocol": "how a test is given: catalogue, copy, edit, show, list",
    "trial": "trials of the logbook, with files and figures: add, show, list",
    "class": "a whole class's day: into the logbook from a table, and as a page",
    "repeat": "how to set a test up again, as a checklist",
    "change": "baseline against re-test: what differed, what changed",
    "safety": "ceiling, crossings, recovery, what was not measured",
    "sheet": "the effort sheet of a trial as a page: PDF, HTML or PNG",
    "card": "the set-up card of a test as a page, with boxes to tick",
    "export": "the logbook as CSV, XLSX, Parquet, JSON or FHIR, or sentences for plans",
    "district": "a row for each student and protocol, as a page",
    "recompute": "every sheet again from the originals, and what changed",
    "backup": "everything in one file, verified by hash",
    "restore": "a backup into an empty logbook",
    "disclose": "everything held about one student, in a folder",
    "forget": "remove a student, files included",
}
MODULES = {"class": "class_"}
"""Commands whose name cannot be a module's."""


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
    """An argument parser that complains in one sentence."""

    def error(self, message: str) -> None:  # type: ignore[override]
        """Turn a mistake in the options into a usage error."""
        raise UsageError(f"{message}.", where=self.prog, mend=f"`{self.prog} --help` shows how it is used.")


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and give back its exit code."""
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        return _run(words)
    except UsageError as mistake:
        print(mistake, file=sys.stderr)
        return WRONG_USAGE
    except OwnmarkError as refusal:
        print(refusal, file=sys.stderr)
        return REFUSED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nobody reads on: end quietly
        return DONE
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return REFUSED
    except Exception as fault:  # a bug is told as a bug, in a sentence
        if os.environ.get("OWNMARK_TRACEBACK"):
            raise
        print(
            f"ownmark itself failed ({type(fault).__name__}: {fault}). Nothing was changed. Please report it with "
            "what you typed; OWNMARK_TRACEBACK=1 shows where.",
            file=sys.stderr,
        )
        return REFUSED


def _run(words: list[str]) -> int:
    """Find the command and hand the rest of the words to it."""
    if len(words) > 1 and words[0] == "help":
        words = [words[1], "--help"]
    if not words or words[0] in ("-h", "--help", "help"):
        print(_overview())
        return DONE if words else WRONG_USAGE
    if words[0] in ("-V", "--version"):
        from .. import __version__

        print(f"ownmark {__version__}")
        return DONE
    name = words[0]
    if name not in COMMANDS:
        raise UsageError(f"there is no command “{name}”.", mend=f"There are: {', '.join(COMMANDS)}.")
    module: Command = import_module(f".{MODULES.get(name, name)}", __package__)  # type: ignore[assignment]
    parser = Parser(
        prog=f"ownmark {name}",
        description=f"{COMMANDS[name][0].upper()}{COMMANDS[name][1:]}.",
        epilog=f"Example:\n  {module.EXAMPLE}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    module.add_arguments(parser)
    return module.run(parser.parse_args(_with_west(words[1:])))


def _with_west(words: list[str]) -> list[str]:
    """Let a zone west of Greenwich be a value: argparse takes `-06:00` for an option."""
    joined: list[str] = []
    for word in words:
        if joined and joined[-1] == "--zone" and word[:1] == "-" and word[1:2].isdigit():
            joined[-1] = f"--zone={word}"
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
