"""Connections that take too long, or are too many: closed without an answer.

The guard sees a request when its head is whole; who sends the head a letter a minute is seen here alone. Any program of
this computer can open connections, and each costs memory.
"""

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol

MOST = 128
"""Open connections at once. A browser opens six."""
HEAD_S = 10.0
"""How long the head of a request may take [s]."""


class Connection(H11Protocol):
    """One connection."""

    most = MOST
    head_s = HEAD_S
    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take the connection, or close it where there are too many."""
        super().connection_made(transport)
        if len(self.connections) > self.most:
            transport.abort()
        else:
            self._watch()

    def data_received(self, data: bytes) -> None:
        """Read on. What cannot even be taken apart ends the connection."""
        try:
            super().data_received(data)
        except ValueError:  # an address with bytes that no address has
            self.transport.abort()
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the limit with the connection."""
        self._unwatch()
        super().connection_lost(exc)

    def _watch(self) -> None:
        """Begin to count while a head is awaited, and stop when it is there."""
        if self.cycle is not None and not self.cycle.response_complete:
            self._unwatch()
        elif self._late is None:
            self._late = self.loop.call_later(self.head_s, self._too_late)

    def _unwatch(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _too_late(self) -> None:
        self._late = None
        self.transport.abort()
