"""``ownmark formats``: which files can be read."""

import argparse

from .terminal import say

EXAMPLE = "ownmark formats"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Nothing to declare."""


def run(args: argparse.Namespace) -> int:  # noqa: ARG001 every command has the same shape
    """List the readers."""
    from ..ingest.formats import FORMATS

    width = max(len(entry.name) for entry in FORMATS)
    for entry in FORMATS:
        say(f"{entry.name:<{width}}  {entry.holds}")
    say("\nA file is known by its content, not its name; .gz and .zip around any of these are opened.")
    return 0
