"""What commands with sub-commands share."""

import argparse
import textwrap
from typing import Any

WIDTH = 100


def add_parts(parser: argparse.ArgumentParser) -> "argparse._SubParsersAction[Any]":
    """Room for sub-commands, one of which must be named."""
    return parser.add_subparsers(dest="part", required=True, metavar="WHAT", parser_class=type(parser))


def wrapped(text: str, indent: int) -> list[str]:
    """A long line, its further lines moved in."""
    return textwrap.wrap(text, WIDTH, subsequent_indent=" " * indent, break_long_words=False) or [""]


def many(count: int, what: str) -> str:
    """A count with its noun: 1 file, 2 files."""
    return f"{count} {what}{'' if count == 1 else 's'}"
