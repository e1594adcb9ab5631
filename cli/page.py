"""``ownmark page``: the local page, for whoever does not type commands."""

import argparse
import os
import sys
import threading
from collections.abc import Callable, Generator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from ..words.render import LANGUAGES
from .inputs import whole_number
from .logbook import add_logbook_option, opened, place_from
from .terminal import complain, say

if TYPE_CHECKING:
    from ..web.parts import Parts
    from ..web.session import Sessions

EXAMPLE = "ownmark page"
WARM_AFTER_S = 1.0
"""The process that reads files starts so long after the address is shown: the first screen goes before it [s]."""
_PLEASE = "Open this address in the browser of this computer. Enter shows a new one, Ctrl-C ends the page."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--port", type=whole_number, metavar="N", help="the port (8417, or a free one if it is taken)")
    parser.add_argument("--no-browser", action="store_true", help="open no browser, only show the address")
    parser.add_argument("--host", default="127.0.0.1", help="this computer; anything else is refused")
    parser.add_argument("--lang", choices=LANGUAGES, default="en", help="the language that the page begins in (en)")
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Show the address at once, then serve until the page is ended."""
    from ..web.serve import bind, check_host, port_of
    from ..web.session import Sessions

    check_host(args.host)
    args.logbook = place_from(args)
    with bind(args.port) as listening:
        port, sessions = port_of(listening), Sessions(args.lang)

        def link() -> str:
            return f"http://127.0.0.1:{port}/start/{sessions.new_link()}"

        _ask_for_password(args)
        address = link()
        _show(address)
        _show(_PLEASE)
        with _parts(args, sessions) as parts, _browser(address, wanted=not args.no_browser):
            from ..web.serve import rest_seldom, server

            rest_seldom()
            serving = server(parts, port, _fault)
            threading.Thread(target=_new_links, args=(link,), daemon=True).start()
            warming = threading.Timer(WARM_AFTER_S, parts.measuring.warm_up)
            warming.daemon = True
            warming.start()
            serving.run(sockets=[listening])
            warming.cancel()
    say("The page has ended.")
    return 0


def _ask_for_password(args: argparse.Namespace) -> None:
    """Open a logbook on a server now: it may ask for a password, and only here is somebody who can type it."""
    if "://" in args.logbook:
        opened(args, create=True).close()


@contextmanager
def _parts(args: argparse.Namespace, sessions: "Sessions") -> "Generator[Parts]":
    """What the screens work with, ended with the page."""
    from ..web.parts import OnFirstUse, Parts

    password = getattr(args, "password", None)
    parts = Parts(args.logbook, OnFirstUse(lambda: opened(args, create=True)), sessions, password)
    try:
        yield parts
    finally:
        parts.close()


@contextmanager
def _browser(address: str, *, wanted: bool) -> Generator[None]:
    """Open the address in a browser; what led there is taken away at the end."""
    if not wanted:
        yield
        return
    from ..web.opening import leading_to, open_browser

    file = leading_to(address)
    try:
        threading.Thread(target=open_browser, args=(file,), daemon=True).start()
        yield
    finally:
        file.unlink(missing_ok=True)


def _show(line: str) -> None:
    """Print a line at once, also where somebody else reads it through a pipe."""
    say(line)
    if sys.stdout is not None:
        sys.stdout.flush()


def _new_links(link: Callable[[], str]) -> None:
    """A new address for every Enter in the terminal."""
    for _ in sys.stdin or ():
        _show(link())


def _fault(found: BaseException) -> None:
    """Tell of a fault of ownmark by its kind alone: its words may hold what a person typed."""
    if os.environ.get("OWNMARK_TRACEBACK"):
        import traceback

        complain("".join(traceback.format_exception(found)))
    else:
        complain(f"ownmark itself failed ({type(found).__name__}). OWNMARK_TRACEBACK=1 shows where. Please report it.")
