"""Options that several commands share: which columns, which rate, which zone; and the reading of files."""

import argparse
import math
import re
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..errors import UsageError
from ..ingest.clock_times import zone_from
from .terminal import complain

if TYPE_CHECKING:
    from ..ingest.files import Refused
    from ..ingest.recording import Hints, Recording


def number(text: str) -> float:
    """A number with a point or a decimal comma; argparse names the option if it is none."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{text}” is not a number") from None
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(f"“{text}” is not a number")
    return value


NONE = "none"
"""What is typed to take away what is on record."""


def number_or_none(text: str) -> "float | str":
    """A number, or the word that takes one away."""
    return NONE if text.strip().lower() == NONE else number(text)


def whole_number(text: str) -> int:
    """The number of a trial or a version; argparse names the option if it is none."""
    if not re.fullmatch(r"[0-9]{1,9}", text.strip()):
        raise argparse.ArgumentTypeError(f"“{text[:40]}” is not a whole number")
    return int(text)


def add_input_options(parser: argparse.ArgumentParser) -> None:
    """Declare the files and what helps to read them."""
    parser.add_argument("files", nargs="+", metavar="FILE", help="a recording, or a .gz or .zip of recordings")
    add_column_options(parser)
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")


def add_column_options(parser: "argparse.ArgumentParser | argparse._ArgumentGroup") -> None:
    """Declare what helps to read a file that does not say it itself."""
    parser.add_argument(
        "--column",
        action="append",
        default=[],
        metavar="WHAT=HEADER",
        help="which column of a table holds what, as in heart_rate=HR; can be given several times",
    )
    parser.add_argument("--rate", type=number, metavar="HZ", help="samples per second, for a table without times")
    parser.add_argument("--zone", metavar="ZONE", help="time zone of clock times, as in +02:00 or America/Denver")


def hints_from(args: argparse.Namespace) -> "Hints":
    """What the options say about the files."""
    from ..ingest.recording import Hints

    columns = columns_from(args)
    if args.rate is not None and not args.rate > 0:
        raise UsageError(f"--rate {args.rate:g} is not a rate.", mend="Give samples per second, as in --rate 50.")
    return Hints(columns, args.rate, zone_from(args.zone))


def columns_from(args: argparse.Namespace) -> dict[str, str]:
    """Which column of a table holds what."""
    from ..ingest.table.columns import PARTS

    columns: dict[str, str] = {}
    for pair in args.column:
        what, equals, header = pair.partition("=")
        if not equals or not what or not header:
            raise UsageError(f"--column {pair} does not name a column.", mend="Write --column heart_rate=HR.")
        if what.strip() not in PARTS:
            raise UsageError(
                f"--column {pair}: “{what}” is not something that can be read.", mend=f"There are {', '.join(PARTS)}."
            )
        columns[what.strip()] = header.strip()
    return columns


MOST_PIPED = 512 * 1024 * 1024
"""No recording of a trial is longer."""
STANDARD_INPUT = "standard input"


def _typed() -> bytes:
    """What comes by standard input, where ``-`` stands for a file."""
    return sys.stdin.buffer.read(MOST_PIPED + 1)[:MOST_PIPED]


def read_all(files: Sequence[str], hints: "Hints") -> "tuple[list[Recording], list[Refused]]":
    """Read every file; tell at once of each that is refused, and go on."""
    from ..ingest.files import Refused, parse_each, read_each

    recordings, refused = [], []
    for found in (
        each
        for name in files
        for each in (parse_each([(STANDARD_INPUT, _typed())], hints) if name == "-" else read_each([name], hints))
    ):
        if isinstance(found, Refused):
            complain(found.reason)
            refused.append(found)
        else:
            recordings.append(found)
    return recordings, refused
