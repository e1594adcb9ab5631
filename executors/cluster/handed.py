"""Results of a cluster on this machine come straight to the process that asked, by a socket of the file system.

By Dask's way a result of a megabyte is encrypted, copied and looked at several times. This one is copied twice, and is
never in a file: what is killed leaves an empty socket behind, until the next call. The socket lies in a folder of this
account alone.

A worker sends each result as soon as it is there. Whatever fails, the result goes Dask's way.
"""

import socket
import struct
import threading
from collections.abc import Generator, Sequence
from contextlib import contextmanager, suppress
from uuid import uuid4

from ..scratch import folder
from .local import no_ctrl_c

_HEAD = struct.Struct("!16sIQ")
"""Which call a result is of, which of its jobs, and the result's length."""
TOKEN_BYTES = 16
SEND_S = 60.0
"""How long a worker waits for room at the other end [s]; it is read all the time."""
_to: dict[str, socket.socket] = {}
"""A worker's ways to whoever asked."""
_one_at_a_time = threading.Lock()


class Handed:
    """Where results arrive.

    place : of the socket
    """

    def __init__(self, place: str, listener: socket.socket) -> None:
        self.place = place
        self._listener = listener
        self._lock = threading.Lock()
        self._awaited: dict[bytes, dict[int, bytes]] = {}
        self._open: set[socket.socket] = set()
        self._closed = False

    def expect(self) -> bytes:
        """A name for a call whose results are kept from now on, until ``forget``."""
        token = uuid4().bytes
        with self._lock:
            self._awaited[token] = {}
        return token

    def forget(self, token: bytes) -> None:
        """Keep nothing of a call; what still comes of it is dropped."""
        with self._lock:
            self._awaited.pop(token, None)

    def completed(self, token: bytes, found: Sequence[bytes | None]) -> tuple[bytes, ...] | None:
        """A call's results; None as long as one of those that were handed over is not there.

        found : those that came Dask's way, None for the others
        """
        with self._lock:
            there = self._awaited.get(token, {})
            each = [there.get(place) if one is None else one for place, one in enumerate(found)]
        whole = tuple(one for one in each if one is not None)
        return whole if len(whole) == len(each) else None

    def serve(self) -> None:
        """Let workers in, until it is closed."""
        while True:
            try:
                connection, _ = self._listener.accept()
            except OSError:
                return
            with self._lock:
                if self._closed:
                    connection.close()
                    return
                self._open.add(connection)
            threading.Thread(target=self._take, args=(connection,), daemon=True).start()

    def close(self) -> None:
        """Let nobody in any more, and go."""
        with self._lock:
            self._closed = True
            connections = list(self._open)
            self._awaited.clear()
        with suppress(OSError):  # who waits for the next one is woken up
            _connected(self.place).close()
        self._listener.close()
        for each in connections:
            with suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)

    def _take(self, connection: socket.socket) -> None:
        """What a worker sends, until it ends; of a result that does not come to its end nothing is kept."""
        with connection, suppress(OSError, EOFError, MemoryError):
            while True:
                token, place, size = _HEAD.unpack(_exactly(connection, _HEAD.size))
                result = _exactly(connection, size)
                with self._lock:
                    if token in self._awaited:
                        self._awaited[token][place] = result
        with self._lock:
            self._open.discard(connection)


@contextmanager
def arriving(within: str | None = None) -> Generator[Handed | None]:
    """Where results arrive, for as long as the context is open; None where there are no such sockets.

    within : the folder for the socket's own; None: the system's for what is temporary
    """
    if not hasattr(socket, "AF_UNIX"):
        yield None
        return
    with folder(within) as own:
        place = str(own / "results")
        listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        try:
            listener.bind(place)
            listener.listen()
        except OSError:  # the path is too long, or the disk knows no sockets
            listener.close()
            yield None
            return
        handed = Handed(place, listener)
        with no_ctrl_c():
            threading.Thread(target=handed.serve, daemon=True).start()
        try:
            yield handed
        finally:
            handed.close()


def hand_over(place: str, token: bytes, number: int, result: bytes) -> bool:
    """Send a result of a call to whoever asked; whether it is on its way. In a worker."""
    with _one_at_a_time:
        try:
            if place not in _to:
                _to[place] = _connected(place)
            _to[place].sendall(_HEAD.pack(token, number, len(result)))
            _to[place].sendall(result)
        except OSError:
            broken = _to.pop(place, None)
            if broken is not None:
                broken.close()
            return False
    return True


def _connected(place: str) -> socket.socket:
    found = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        found.settimeout(SEND_S)
        found.connect(place)
    except OSError:
        found.close()
        raise
    return found


def _exactly(connection: socket.socket, size: int) -> bytes:
    """So many bytes.

    Raises
    ------
    EOFError
        If there are fewer.
    """
    parts: list[bytes] = []
    while size:
        part = connection.recv(size, socket.MSG_WAITALL)
        if not part:
            raise EOFError
        parts.append(part)
        size -= len(part)
    return parts[0] if len(parts) == 1 else b"".join(parts)
