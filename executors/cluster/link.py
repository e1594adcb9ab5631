"""The way to a cluster: reached, reached again when it went away, and its workers looked at."""

import asyncio
import pickle
import time
from collections.abc import Callable, Coroutine
from concurrent.futures import Future
from contextlib import suppress
from typing import TYPE_CHECKING, Any, TypeVar

from ...errors import WorkersDiffer, WorkersGone
from ...words.message import Message
from ..messages import (
    CLUSTER_AGAIN,
    CLUSTER_BACK,
    CLUSTER_HAS_NONE,
    CLUSTER_HAS_OTHER,
    CLUSTER_LOOK_THERE,
    CLUSTER_NO_ANSWER,
    CLUSTER_NO_WORKERS,
    CLUSTER_SAME_EVERYWHERE,
    cluster_away,
    cluster_differs,
    cluster_gone,
    cluster_has,
)
from .seal import Seal, seal_here
from .task import AskSeal

if TYPE_CHECKING:
    from distributed import LocalCluster

    from .client import Client

Given = TypeVar("Given")
CONNECT_S = 5.0
"""After which nothing is taken to be at an address."""
ANSWER_S = 30.0
"""After which a scheduler that says nothing is taken to be away."""
_PAUSES_S = (0.5, 1.0, 2.0, 5.0, 10.0)
"""Between two tries to reach it again; the last one from then on."""


class Link:
    """A cluster that is reached for as long as this is entered.

    client : Dask's
    """

    client: "Client"

    def __init__(self, where: "str | LocalCluster", tell: Callable[[Message], None], away_s: float) -> None:
        self._where = where
        self._tell = tell
        self._away_s = away_s
        self._idle_since: float | None = None

    def __enter__(self) -> "Link":
        """Reach it, and look at its workers."""
        self._reach()
        try:
            self.check()
        except BaseException:
            self._leave()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        """Leave it."""
        self._leave()

    @property
    def address(self) -> str:
        """The scheduler's."""
        return self._where if isinstance(self._where, str) else str(self._where.scheduler_address)

    def begun(self, coroutine: Coroutine[Any, Any, Given]) -> "Future[Given]":
        """A coroutine begun where the client lives."""
        return asyncio.run_coroutine_threadsafe(coroutine, self.client.loop.asyncio_loop)

    def threads(self) -> int:
        """How many jobs are worked on at once, where it answers; 0 where it has no workers now.

        Raises
        ------
        WorkersGone
            If it has had no workers for too long.
        OSError
            If it does not answer.
        """

        async def asked() -> dict[str, int]:
            return await self.client.nthreads()

        if self.client.status != "running":
            raise OSError("it went away")
        many = sum(self._told(asked()).values())
        if many:
            if self._idle_since is not None:
                self._tell(CLUSTER_BACK)
            self._idle_since = None
        elif self._idle_since is None:
            self._idle_since = time.monotonic()
            self._tell(CLUSTER_NO_WORKERS)
        elif time.monotonic() - self._idle_since > self._away_s:
            raise self._gone()
        return many

    def check(self) -> None:
        """Refuse workers whose figures could differ from those that are made here.

        Raises
        ------
        WorkersDiffer
            Naming one of them, and what it has.
        """
        question = pickle.dumps(AskSeal())

        async def asked() -> dict[str, object]:
            return await self.client.run(pickle.loads, question, on_error="return")

        with suppress(OSError):  # whoever has not answered is asked again with each job
            for worker, seal in sorted(self._told(asked()).items()):
                if seal != seal_here() and not isinstance(seal, OSError):
                    raise differs(worker, seal)

    def again(self) -> None:
        """Reach it anew after it went away, with pauses.

        Raises
        ------
        WorkersGone
            If it stays away.
        """
        self._tell(cluster_away(max(1, round(self._away_s / 60))))
        self._leave()
        until = time.monotonic() + self._away_s
        pauses = list(_PAUSES_S)
        while True:
            try:
                self._reach()
                break
            except WorkersGone:
                left_s = until - time.monotonic()
                if left_s <= 0:
                    raise self._gone() from None
                time.sleep(min(left_s, pauses.pop(0) if len(pauses) > 1 else pauses[0]))
        self._tell(CLUSTER_BACK)
        self._idle_since = None
        self.check()

    def _gone(self) -> WorkersGone:
        return WorkersGone(cluster_gone(max(1, round(self._away_s / 60))), where=self.address, mend=CLUSTER_AGAIN)

    def _told(self, coroutine: Coroutine[Any, Any, Given]) -> Given:
        """What a coroutine gives, if it gives it in time.

        Raises
        ------
        OSError
            If not, whatever became of the connection.
        """
        future = self.begun(coroutine)
        try:
            return future.result(ANSWER_S)
        except OSError:
            raise
        except Exception as failure:
            if self.client.status == "running" and future.done():
                raise
            raise OSError("it does not answer") from failure
        finally:
            future.cancel()

    def _reach(self) -> None:
        """Connect.

        Raises
        ------
        WorkersGone
            If nothing answers, or not as a scheduler does.
        """
        from .reaching import reached

        try:
            self.client = reached(self._where, CONNECT_S, ANSWER_S)
        except Exception:  # noqa: BLE001 what a stranger answers is read as Dask's words, and fails in every way
            raise WorkersGone(CLUSTER_NO_ANSWER, where=self.address, mend=CLUSTER_LOOK_THERE) from None

    def _leave(self) -> None:
        with suppress(Exception):  # it may be gone already
            self.client.close(timeout=2)


def differs(worker: str, there: object) -> WorkersDiffer:
    """The refusal of a worker, by its seal or by what asking for it raised."""
    if isinstance(there, Seal):
        found = _has(there)
    elif isinstance(there, ModuleNotFoundError) and there.name == "ownmark":
        found = CLUSTER_HAS_NONE
    else:
        found = CLUSTER_HAS_OTHER
    return WorkersDiffer(cluster_differs(found, _has(seal_here())), where=worker, mend=CLUSTER_SAME_EVERYWHERE)


def _has(seal: Seal) -> Message:
    return cluster_has(seal.ownmark, seal.code, seal.python, seal.numpy)
