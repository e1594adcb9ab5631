"""``ownmark page``: the local page, for whoever does not type commands."""

import argparse
import os
import sys
import threading
from typing import TYPE_CHECKING

from ..words.render import LANGUAGES
from .inputs import whole_number
from .logbook import add_logbook_option, opened, place_from
from .terminal import complain, say

if TYPE_CHECKING:
    from ..records.store.logbook import Logbook

EXAMPLE = "ownmark page"
_PLEASE = "Open this address in the browser of this computer. Enter: a new address. Ctrl-C: end."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--port", type=whole_number, metavar="N", help="the port (8417, or a free one if it is taken)")
    parser.add_argument("--no-browser", action="store_true", help="open no browser window, only show the address")
    parser.add_argument("--host", default="127.0.0.1", help="this computer; anything else is refused")
    parser.add_argument("--lang", choices=LANGUAGES, default="en", help="the language that the page begins in (en)")
    add_logbook_option(parser)


def run(args: argparse.Namespace) -> int:
    """Show the address at once, then serve until Ctrl-C."""
    from ..web.serve import bind, check_host, port_of
    from ..web.session import Sessions

    check_host(args.host)
    args.logbook = place_from(args)
    sessions = Sessions(args.lang)
    with bind(args.port) as listening:
        port = port_of(listening)

        def link() -> str:
            return f"http://127.0.0.1:{port}/start/{sessions.new_link()}"

        address = link()
        _show(address)
        say(_PLEASE)
        from ..web.parts import OnFirstUse, Parts
        from ..web.serve import server

        parts = Parts(args.logbook, OnFirstUse(lambda: _logbook(args)), sessions)
        try:
            serving = server(parts, port, _fault)
            threading.Thread(target=_new_links, args=(link,), daemon=True).start()
            serving.run(sockets=[listening])
        except KeyboardInterrupt:
            pass
        finally:
            parts.close()
    say("The page has ended.")
    return 0


def _logbook(args: argparse.Namespace) -> "Logbook":
    return opened(args, create=True)


def _show(address: str) -> None:
    say(address)
    if sys.stdout is not None:
        sys.stdout.flush()


def _new_links(link: "object") -> None:
    """A new address for every Enter in the terminal."""
    for _ in sys.stdin or ():
        _show(link())  # type: ignore[operator]


def _fault(found: BaseException) -> None:
    """Tell of a fault of ownmark; what it says may hold what a person typed, so only its kind is told."""
    if os.environ.get("OWNMARK_TRACEBACK"):
        import traceback

        complain("".join(traceback.format_exception(found)))
    else:
        complain(f"ownmark itself failed ({type(found).__name__}). OWNMARK_TRACEBACK=1 shows where. Please report it.")
