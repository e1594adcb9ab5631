"""Listening: one socket on this computer alone, a server that tells nobody anything, and a quick end.

The socket is bound before the server is imported, so that the address can be shown at once and nobody who opens it at
that moment is refused: the connection waits until the server takes it.
"""

import errno
import gc
import signal
import socket
import sys
import threading
from collections.abc import Callable, Generator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from ..errors import UsageError

if TYPE_CHECKING:
    import uvicorn

    from .parts import Parts

LOOPBACK = "127.0.0.1"
USUAL_PORT = 8417
END_S = 2
"""How long requests may go on once the page is to end [s]."""
IDLE_S = 15
"""How long a connection is kept for the next request [s]."""
_ENDS = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name)]


def check_host(host: str) -> None:
    """Refuse to listen for other computers.

    Raises
    ------
    UsageError
    """
    if host not in (LOOPBACK, "localhost"):
        raise UsageError(
            "the page is for this computer alone: it shows students' health, and has no accounts yet.",
            where="--host",
            mend="Leave --host out.",
        )


def bind(port: int | None = None) -> socket.socket:
    """A socket that listens on this computer; ``None``: on the usual port, or on any if that is taken.

    Raises
    ------
    UsageError
        If the port asked for is taken or not permitted.
    """
    try:
        return _bound(USUAL_PORT if port is None else port)
    except (OSError, OverflowError) as failure:
        if port is None:
            return _bound(0)
        taken = isinstance(failure, OSError) and failure.errno == errno.EADDRINUSE
        what = "another program uses this port." if taken else "this port cannot be used."
        raise UsageError(what, where=f"--port {port}", mend="Give another one, or leave --port out.") from None


def _bound(port: int) -> socket.socket:
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if sys.platform != "win32":  # there it would let a second program listen on the same port
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((LOOPBACK, port))
        found.listen(128)
        found.set_inheritable(False)
    except BaseException:
        found.close()
        raise
    return found


def port_of(listening: socket.socket) -> int:
    """The port of a socket."""
    return listening.getsockname()[1]


def rest_seldom() -> None:
    """Let Python look for garbage seldom: over a large logbook each look takes longer than a screen."""
    gc.set_threshold(20_000, 50, 20)


def server(parts: "Parts", port: int, fault: Callable[[BaseException], None]) -> "uvicorn.Server":
    """The server for a socket on ``port``; ``server.run(sockets=[socket])`` serves until it is told to end."""
    import uvicorn

    from .app import build
    from .connections import Connection

    class Serving(uvicorn.Server):
        """A server that a signal ends, and nothing else of the program."""

        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            """End requests, and the worker with them: the threads that still wait for it are waited for after this."""
            await super().shutdown(sockets)
            parts.measuring.close()

        @contextmanager
        def capture_signals(self) -> Generator[None, None, None]:
            """Let Ctrl-C, ``kill`` and a closed terminal end the serving; whoever called ``run`` then goes on."""
            if threading.current_thread() is not threading.main_thread():
                yield
                return
            before = {each: signal.signal(each, self.handle_exit) for each in _ENDS}
            try:
                yield
            finally:
                for each, handler in before.items():
                    signal.signal(each, handler)

    config = uvicorn.Config(
        build(parts, port, fault, parts.measuring.warm_up),
        http=Connection,
        ws="none",
        loop="asyncio",
        lifespan="off",
        interface="asgi3",
        log_config=None,
        access_log=False,  # addresses hold the link's token
        proxy_headers=False,  # nothing stands between the browser and the page
        server_header=False,
        date_header=True,
        timeout_keep_alive=IDLE_S,
        timeout_graceful_shutdown=END_S,
        h11_max_incomplete_event_size=32 * 1024,
    )
    return Serving(config)
