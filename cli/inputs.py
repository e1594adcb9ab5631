"""Options that several commands share: which columns, which rate, which zone; and the reading of files."""

import argparse
import re
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..errors import UsageError
from ..ingest.clock_times import zone_from
from ..words.numbers import two_readings, typed_number
from .terminal import complain

if TYPE_CHECKING:
    from ..ingest.column_choices import Choices
    from ..ingest.files import Refused
    from ..ingest.recording import Hints, Recording


def number(text: str) -> float:
    """A number with a point or a decimal comma; argparse names the option if it is none."""
    try:
        return typed_number(text)
    except ValueError:
        why = "can be read in two ways; write 1234 or 1.234" if two_readings(text) else "is not a number"
        raise argparse.ArgumentTypeError(f"“{text[:40]}” {why}") from None


def add_confirm(part: argparse.ArgumentParser) -> None:
    """The answer to what may be asked of a text."""
    part.add_argument(
        "--confirm", action="append", default=[], metavar="ANSWER", help="answer to a question that was asked"
    )


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
        metavar="[FILE=]WHAT=HEADER",
        help="which column of a table holds what, as in heart_rate=HR, or strap.csv=heart_rate=HR for one of several "
        "files; can be given several times",
    )
    parser.add_argument("--rate", type=number, metavar="HZ", help="samples per second, for a table without times")
    parser.add_argument("--zone", metavar="ZONE", help="time zone of clock times, as in +02:00 or America/Denver")


def add_clock_shift(parser: "argparse.ArgumentParser | argparse._ArgumentGroup") -> None:
    """Declare what puts a wrong clock right."""
    parser.add_argument(
        "--clock-shift",
        action="append",
        default=[],
        metavar="[FILE=]SHIFT",
        help="the clock of a file was off: add so much to it, as in +1:00:00 (H:MM:SS) or -37 (seconds)",
    )


def hints_from(args: argparse.Namespace) -> "Hints":
    """What the options say about the files."""
    from ..ingest.recording import Hints

    found = choices_from(args, args.files) if args.column else None
    if args.rate is not None and not args.rate > 0:
        raise UsageError(f"--rate {args.rate:g} is not a rate.", mend="Give samples per second, as in --rate 50.")
    zone = zone_from(args.zone)
    return (
        Hints(rate_hz=args.rate, zone=zone) if found is None else Hints(found.columns, args.rate, zone, found.by_file)
    )


def choices_from(args: argparse.Namespace, names: Sequence[str]) -> "Choices":
    """Which column of which table holds what; ``names`` are those of the files."""
    from ..ingest.column_choices import choices

    try:
        return choices(args.column, names)
    except UsageError as mistake:
        raise UsageError(f"--column: {mistake.what}", mend=mistake.mend) from None


def shifts_from(args: argparse.Namespace, names: Sequence[str]) -> "dict[str, float]":
    """What is added to the clocks of files, by name  [s]."""
    if not args.clock_shift:
        return {}  # nothing to load for what was not asked
    from ..ingest.clock_shift import shifts_by_name

    try:
        found = shifts_by_name(args.clock_shift, names)
    except UsageError as mistake:
        raise UsageError(f"--clock-shift: {mistake.what}", mend=mistake.mend) from None
    return {name: seconds for name, seconds in found.items() if seconds}


MOST_PIPED = 512 * 1024 * 1024
"""No recording of a trial is longer."""
STANDARD_INPUT = "standard input"


def _typed() -> bytes:
    """What comes by standard input, where ``-`` stands for a file."""
    return sys.stdin.buffer.read(MOST_PIPED + 1)[:MOST_PIPED]


def read_all(files: Sequence[str], hints: "Hints") -> "tuple[list[Recording], list[Refused]]":
    """Read every file; tell at once of each that is refused, and go on."""
    from ..ingest.files import Refused, parse_each, read_each

    hints, typed = _for_all(files, hints)
    recordings, refused = [], []
    for found in (
        each
        for name in files
        for each in (
            parse_each([(STANDARD_INPUT, typed)], hints.of(name)) if name == "-" else read_each([name], hints.of(name))
        )
    ):
        if isinstance(found, Refused):
            complain(found.reason)
            refused.append(found)
        else:
            recordings.append(found)
    return recordings, refused


def _for_all(files: Sequence[str], hints: "Hints") -> "tuple[Hints, bytes]":
    """Hints by which each file can be read by itself, and what came by standard input."""
    typed = _typed() if "-" in files else b""
    if not hints.columns or len(files) < 2:
        return hints, typed
    from ..ingest.column_choices import for_members
    from ..ingest.containers import members, members_in

    found = (
        each for name in files for each in (members_in(typed, STANDARD_INPUT, hints) if name == "-" else members(name))
    )
    return for_members(found, hints), typed
