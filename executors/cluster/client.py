"""What is used of Dask's client, with its types: its own say little."""

import asyncio
from collections.abc import Awaitable, Callable, Generator
from typing import Protocol


class Loop(Protocol):
    """Where the client lives."""

    asyncio_loop: asyncio.AbstractEventLoop


class Promise(Protocol):
    """A task that is out."""

    def __await__(self) -> Generator[object, None, object]:
        """Its result, once it is there."""
        ...

    def release(self) -> None:
        """Let the cluster forget it."""
        ...


class Client(Protocol):
    """``distributed.Client``; what gives an ``Awaitable`` does so where the client lives."""

    status: str
    loop: Loop

    def submit(self, work: Callable[[bytes], object], packed: bytes, *, key: str, pure: bool) -> Promise:
        """Have work done."""
        ...

    def nthreads(self) -> Awaitable[dict[str, int]]:
        """Threads of each worker."""
        ...

    def run(self, work: Callable[[bytes], object], packed: bytes, *, on_error: str) -> Awaitable[dict[str, object]]:
        """Have work done by every worker."""
        ...

    def close(self, timeout: float) -> None:
        """Leave the cluster."""
        ...
