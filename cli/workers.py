"""Who measures, as options: processes of this machine, or a cluster."""

import argparse
from collections.abc import Sequence
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING

from ..words.plain import printable
from .terminal import complain

if TYPE_CHECKING:
    from ..errors import OwnmarkError
    from ..executors import Executor
    from ..words.message import Message


def add_worker_options(parser: argparse.ArgumentParser) -> None:
    """Declare them."""
    parser.add_argument("--workers", metavar="N", type=_whole, help="so many processes of this computer at once")
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="a Dask scheduler's address, or local:N for a cluster of N workers on this computer",
    )


def _whole(text: str) -> int:
    """A number of processes; how many there may be is known where they are started."""
    try:
        return int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{printable(text)}” is no whole number, as in --workers 4.") from None


def opened_workers(args: argparse.Namespace, preload: Sequence[str]) -> "AbstractContextManager[Executor]":
    """Who measures, for as long as the context is open: as many processes as are usable where nothing is said.

    Raises
    ------
    UsageError
        If the options say what cannot be.
    WorkersGone
        If the cluster cannot be reached.
    """
    from ..executors.opening import opened

    return opened(args.workers, args.cluster, preload, tell=_tell)


def tell_away(reason: "OwnmarkError") -> None:
    """Say that the logbook is away and is waited for."""
    complain(f"{reason} What is measured waits; it is tried again for some minutes.")


def _tell(message: "Message") -> None:
    from ..words.render import english

    complain(english(message))
