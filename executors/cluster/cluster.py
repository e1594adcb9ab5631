"""Work on an open cluster: jobs go out a few ahead, answers come back in their order."""

import asyncio
import pickle
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import CancelledError, Future
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from ..executor import Job, Lost, Result
from ..messages import EXECUTOR_DIED, EXECUTOR_TOO_LONG, executor_raised
from .link import Link, differs
from .seal import seal_here
from .task import DIED, DIFFERS, DONE, TOO_LONG, Answer, Call

if TYPE_CHECKING:
    from .client import Client

AHEAD = 6
"""Jobs that are out for each thread of the cluster: one is worked on, the others fill the time in which the taker of
results does not come."""
MOST_AHEAD = 128 * 1024 * 1024
"""No more jobs go out than have so many bytes together; one always does."""
LIMIT_S = 600.0
"""What takes longer is given up."""
LOOK_S = 2.0
"""Between two looks at the cluster, while a result is waited for."""
TRIES = 10
"""As often a job goes out whose worker ended, or that the cluster gave back undone."""
_PAUSE_S = 0.2
STRANGE = "strange"
"""The answer for a job that the cluster itself failed at: with it what was raised."""


@dataclass(slots=True)
class _Sent:
    """A job that is out.

    answer : to come; None where the cluster went away with it
    """

    call: Call
    answer: "Future[Answer | None]" = field(default_factory=Future)


class Cluster:
    """An ``Executor`` of an open cluster.

    shares_disk : its workers are processes of this machine
    """

    def __init__(self, link: Link, *, shares_disk: bool, limit_s: float = LIMIT_S) -> None:
        self.shares_disk = shares_disk
        self._link = link
        self._limit_s = limit_s
        self._threads = 1
        self._looked = -LOOK_S

    def map(self, work: Callable[[Job], Result], jobs: Iterable[Job]) -> Iterator[Result | Lost]:
        """As ``Executor.map``.

        Raises
        ------
        WorkersGone
            If the cluster went away and stayed away.
        WorkersDiffer
            If a worker joined that has another ownmark.
        """
        out: deque[_Sent] = deque()
        try:
            for job in jobs:
                out.append(self._sent(work, job))
                while self._full(out):
                    yield self._first(out)
            while out:
                yield self._first(out)
        finally:
            for each in out:
                each.answer.cancel()

    def _sent(self, work: Callable[[Job], Result], job: Job) -> _Sent:
        """A job on its way; what cannot be pickled has its answer at once."""
        try:
            packed = pickle.dumps((work, job), protocol=5)
        except Exception as fault:  # noqa: BLE001 whatever it is, the other jobs go on
            sent = _Sent(Call(b"", seal_here(), self._limit_s))
            sent.answer.set_result((STRANGE, fault))
            return sent
        sent = _Sent(Call(packed, seal_here(), self._limit_s))
        self._send(sent)
        return sent

    def _send(self, sent: _Sent) -> None:
        sent.answer = self._link.begun(_answer(self._link.client, sent.call))

    def _full(self, out: "deque[_Sent]") -> bool:
        """Whether no more jobs may go out."""
        if time.monotonic() - self._looked > LOOK_S:
            self._look(out)
        room = AHEAD * max(1, self._threads)
        return len(out) >= room or sum(len(each.call.packed) for each in out) >= MOST_AHEAD

    def _first(self, out: "deque[_Sent]") -> Any:  # noqa: ANN401 a result of any work
        """What became of the job that has been out for longest."""
        while True:
            answer = self._awaited(out)
            if answer is not None:
                break
            self._anew(out)
        if not self._threads:
            self._look(out)  # it has workers again
        out.popleft()
        return self._read(answer)

    def _awaited(self, out: "deque[_Sent]") -> Answer | None:
        """The first answer; None where the cluster went away with it."""
        while True:
            waited = out[0].answer
            try:
                return waited.result(LOOK_S)
            except TimeoutError:
                self._look(out)
            except CancelledError:
                return None

    def _look(self, out: "deque[_Sent]") -> None:
        """How many threads the cluster has now."""
        try:
            self._threads = self._link.threads()
        except OSError:
            self._anew(out)
        self._looked = time.monotonic()

    def _anew(self, out: "deque[_Sent]") -> None:
        """Reach the cluster again, and send whatever has no answer."""
        self._link.again()
        for each in out:
            if not each.answer.done() or each.answer.cancelled() or each.answer.result() is None:
                each.answer.cancel()
                self._send(each)

    def _read(self, answer: Answer) -> Any:  # noqa: ANN401 a result of any work
        """An answer as ``Executor.map`` gives it."""
        kind, value = answer
        if kind == DONE:
            return value
        if kind in (DIED, TOO_LONG):
            return Lost(EXECUTOR_DIED if kind == DIED else EXECUTOR_TOO_LONG)
        if kind in (STRANGE, DIFFERS):
            self._link.check()  # a worker without ownmark fails at every job
        if kind == DIFFERS:
            raise differs(self._link.address, value)
        if kind == STRANGE:
            return Lost(executor_raised(type(value).__name__), value)
        name, fault = value
        return Lost(executor_raised(name), fault)


async def _answer(client: "Client", call: Call) -> Answer | None:
    """Have a job done, however often workers end; None where the cluster itself went away. Runs where the client does.

    A job whose worker ended goes out again to be done apart, as do its neighbors there: which of them ended it, nobody
    knows, and only that one is lost.
    """
    from distributed import KilledWorker

    packed = pickle.dumps(call, protocol=5)
    for _ in range(TRIES):
        future = client.submit(pickle.loads, packed, key=f"ownmark-{uuid4()}", pure=False)
        try:
            return pickle.loads(await future)  # noqa: S301 from the workers that this process sent it to
        except KilledWorker:
            packed = pickle.dumps(replace(call, apart=True), protocol=5)
        except CancelledError:  # the cluster's own, never asyncio's
            if client.status != "running":
                return None
            await asyncio.sleep(_PAUSE_S)  # somebody restarted the workers, or the scheduler forgot it
        except Exception as fault:  # noqa: BLE001 what the cluster raises is found out by whoever waits
            return (STRANGE, fault) if client.status == "running" else None
        finally:
            future.release()
    return DIED, None
