"""``ownmark restore``: put a backup into an empty logbook."""

import argparse
import sys

from .backup import counted, moved
from .logbook import add_logbook_option, opened
from .terminal import say

EXAMPLE = "ownmark restore logbook-2026-05.zip --logbook new.db"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("file", metavar="FILE", help="a backup")
    parser.add_argument("--only-verify", action="store_true", help="check every hash and restore nothing")
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Verify every hash, then restore in one transaction."""
    from tqdm import tqdm

    from ..records.store.archive import verify
    from ..records.store.restore import restore

    if args.only_verify:
        say(f"{args.file} is whole: {counted(verify(args.file).counts)}.")
        return 0
    verify(args.file)  # before an empty logbook is made for a backup that is none
    with (
        opened(args, create=True) as logbook,
        tqdm(unit="file", disable=None, leave=False, file=sys.stderr) as bar,
    ):
        manifest = restore(logbook, args.file, progress=moved(bar))
    say(f"Restored: {counted(manifest.counts)}.")
    if not manifest.with_originals:
        say("The recordings were left out of this backup: figures stay as they are, and no sheet can be made again.")
    return 0
