"""``ownmark logbook``: what holds for all of a logbook, said once."""

import argparse

from .logbook import add_logbook_option, opened
from .parts import add_parts
from .terminal import say

EXAMPLE = "ownmark logbook set --zone America/Denver"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the sub-commands."""
    parts = add_parts(parser)
    put = parts.add_parser("set", help="say what holds for every trial that is added from now on")
    put.add_argument(
        "--zone",
        required=True,
        metavar="ZONE",
        help="the school's time zone, as in America/Denver (it knows daylight saving; an offset does not); none takes "
        "it away",
    )
    show = parts.add_parser("show", help="what was said")
    for part in (put, show):
        add_logbook_option(part)


def run(args: argparse.Namespace) -> int:
    """Set the school's time zone, or show it."""
    from ..records.store.settings import set_zone, zone_of

    with opened(args) as logbook:
        if args.part == "set":
            set_zone(logbook, None if args.zone.casefold() == "none" else args.zone)
        zone = zone_of(logbook)
    say(
        f"The school's time zone is {zone}: dates and clock times of trials added from now on are in it."
        if zone
        else "No time zone is set: `ownmark logbook set --zone America/Denver` says where the school is."
    )
    return 0
