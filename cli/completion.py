"""``ownmark completion``: what the shell needs to complete commands and options.

Names of files are completed where a file is meant. No code of a student and nothing else of a logbook is ever offered:
a terminal's screen is seen by whoever stands behind.
"""

import argparse
import os
from collections.abc import Callable, Iterator

from .terminal import say

EXAMPLE = "ownmark completion bash >> ~/.bashrc"
SHELLS = ("bash", "zsh", "fish", "powershell")
ASKED = "_ARGCOMPLETE"
"""The shell sets this when it asks what can be typed."""
_FILES = ("FILE", "FOLDER", "TABLE", "CSV")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the shell."""
    parser.add_argument("shell", choices=SHELLS, metavar="SHELL", help=", ".join(SHELLS))


def run(args: argparse.Namespace) -> int:
    """Print the lines that the shell is to read at its start."""
    from argcomplete.shell_integration import shellcode

    say(shellcode(["ownmark"], shell=args.shell).rstrip("\n"))
    return 0


def complete(
    commands: dict[str, str],
    declare: Callable[[str, argparse.ArgumentParser], None],
    new: type[argparse.ArgumentParser],
) -> None:
    """Tell the shell what can be typed next, and end the program.

    Parameters
    ----------
    commands : name and summary
    declare : declares a command's options in a parser; only that of the command being typed is called
    new : the kind of parser
    """
    from argcomplete import autocomplete

    words = os.environ.get("COMP_LINE", "").split()
    parser = new(prog="ownmark", allow_abbrev=False)
    parts = parser.add_subparsers(parser_class=new)
    for name, summary in commands.items():
        part = parts.add_parser(name, help=summary, allow_abbrev=False)
        if name in words[1:2]:
            declare(name, part)
            _name_no_files(part)
    autocomplete(parser, always_complete_options="long")


def _name_no_files(parser: argparse.ArgumentParser) -> None:
    """Offer names of files only where a file is meant."""
    for action in _actions(parser):
        named = str(action.metavar or "")
        if action.choices is None and (not named.startswith(_FILES) or "=" in named):
            action.completer = _nothing  # type: ignore[attr-defined] argcomplete reads it there


def _nothing(**_: object) -> tuple[str, ...]:
    """What argcomplete calls for a value of which nothing is offered."""
    return ()


def _actions(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    """Every option of a parser and of its sub-commands."""
    for action in parser._actions:  # noqa: SLF001 argparse tells it nowhere else
        if isinstance(action, argparse._SubParsersAction):  # noqa: SLF001
            for part in dict.fromkeys(action.choices.values()):
                yield from _actions(part)
        else:
            yield action
