"""``ownmark backup``: one file with everything in the logbook, every byte of it verified."""

import argparse
import sys
from collections.abc import Callable, Mapping
from typing import Any

from .logbook import add_logbook_option, opened
from .parts import many, wrapped
from .terminal import say

EXAMPLE = "ownmark backup logbook-2026-05.zip"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("file", metavar="FILE", help="a new file; it holds health data: keep it where few can read it")
    parser.add_argument(
        "--without-originals", action="store_true", help="leave the recordings out, and the names that they were given"
    )
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Write and verify."""
    from tqdm import tqdm

    from ..records.store.backup import back_up
    from ..records.store.disclose import ORIGINALS

    with (
        opened(args) as logbook,
        tqdm(unit="file", disable=None, leave=False, file=sys.stderr) as bar,
    ):
        manifest = back_up(logbook, args.file, with_originals=not args.without_originals, progress=moved(bar))
    say(f"{args.file} holds {counted(manifest.counts)}; every hash was verified.")
    if manifest.with_originals and manifest.counts["originals"]:
        say("\n".join(wrapped(f"{ORIGINALS} Keep it where few can read it; --without-originals leaves them out.", 0)))
    return 0


def moved(bar: Any) -> Callable[[int, int], None]:  # noqa: ANN401 a bar of tqdm
    """Move a progress bar to ``done`` of ``total``."""

    def move(done: int, total: int) -> None:
        bar.total = total
        bar.update(done - bar.n)

    return move


def counted(counts: Mapping[str, int]) -> str:
    """What a backup holds, in words."""
    return ", ".join(many(counts.get(f"{name}s", 0), name) for name in ("student", "protocol", "trial", "original"))
