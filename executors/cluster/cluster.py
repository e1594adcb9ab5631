"""Work on an open cluster: jobs go out a few ahead, answers come back in their order."""

import asyncio
import pickle
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import CancelledError, Future
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, cast
from uuid import uuid4

from ..executor import Job, Lost, Result
from ..messages import EXECUTOR_DIED
from ..pool import AHEAD, DEADLINE_S, MOST_AHEAD, MOST_BYTES
from ..worker import job_bytes, lost
from .handed import Handed
from .link import Link, differs
from .seal import seal_here
from .task import Call, Differs

if TYPE_CHECKING:
    from .client import Client

LOOK_S = 2.0
"""Between two looks at the cluster, while a result is waited for."""
TRIES = 10
"""As often a job goes out whose worker ended, or that the cluster gave back undone."""
TOGETHER = 4
"""Jobs that go out together, once there are enough for every worker: what Dask does for one of them costs 8 ms of
processor time, as much as an eighth of a trial."""
_PAUSE_S = 0.2
_ON_THE_WAY_S, _SOON_S = 30.0, 0.005
"""How long results that were handed over may take to be here, and between two looks for them [s]."""


@dataclass(frozen=True, slots=True)
class _Failed:
    """What the cluster itself failed at, or what could not be sent."""

    fault: Exception


_Answer = tuple[bytes, ...] | Differs | _Failed | None
"""Pickled results; None where the cluster went away with the jobs."""


@dataclass(slots=True)
class _Sent:
    """Jobs that are out together.

    left : of how many nobody has taken the result yet
    """

    call: Call
    left: int
    answer: "Future[_Answer]" = field(default_factory=Future)

    def held(self) -> int:
        """Bytes that wait: of the jobs, or of their results."""
        found: _Answer = self.call.packed
        if self.answer.done() and not self.answer.cancelled():
            found = self.answer.result()
        return sum(map(len, found[-self.left :])) if isinstance(found, tuple) else 0


class Cluster:
    """An ``Executor`` of an open cluster.

    shares_disk : its workers are processes of this machine
    handed : where they hand results over; None: results come Dask's way
    """

    def __init__(
        self, link: Link, *, shares_disk: bool, deadline_s: float = DEADLINE_S, handed: Handed | None = None
    ) -> None:
        self.shares_disk = shares_disk
        self._handed = handed
        self._link = link
        self._deadline_s = deadline_s
        self._threads = 1
        self._looked = -LOOK_S

    def map(self, work: Callable[[Job], Result], jobs: Iterable[Job]) -> Iterator[Result | Lost]:
        """As ``Executor.map``; jobs are taken in the caller's thread.

        Raises
        ------
        WorkersGone
            If the cluster went away and stayed away.
        WorkersDiffer
            If a worker joined that has another ownmark.
        """
        pickle.dumps(work)  # what cannot be found by its name is no work for anybody
        out: deque[_Sent] = deque()
        near: list[bytes] = []  # taken and not yet out
        taken = 0
        try:
            for job in jobs:
                taken += 1
                try:
                    near.append(job_bytes(work, job))
                except Exception as fault:  # noqa: BLE001 whatever a job holds, the others go on
                    self._send(out, near)
                    out.append(self._unsent(fault))
                if len(near) >= (TOGETHER if taken > 2 * TOGETHER * self._threads else 1):
                    self._send(out, near)
                while self._full(out, near):
                    yield cast("Result | Lost", self._first(out, near))
            self._send(out, near)
            while out:
                yield cast("Result | Lost", self._first(out, near))
        finally:
            for each in out:
                each.answer.cancel()

    def _unsent(self, fault: Exception) -> _Sent:
        """A job that cannot be pickled: it has its answer at once."""
        sent = _Sent(Call((b"",), seal_here(), self._deadline_s), 1)
        sent.answer.set_result(_Failed(fault))
        return sent

    def _send(self, out: "deque[_Sent]", near: list[bytes]) -> None:
        """Send what is near."""
        if near:
            out.append(_Sent(Call(tuple(near), seal_here(), self._deadline_s), len(near)))
            near.clear()
            self._begin(out[-1])

    def _begin(self, sent: _Sent) -> None:
        sent.answer = self._link.begun(_answer(self._link.client, sent.call, self._handed))

    def _full(self, out: "deque[_Sent]", near: list[bytes]) -> bool:
        """Whether no more jobs may be taken."""
        if time.monotonic() - self._looked > LOOK_S:
            self._look(out)
        threads, count = max(1, self._threads), sum(each.left for each in out) + len(near)
        if count <= threads:
            return False
        most = max(min(AHEAD * threads, MOST_AHEAD), threads + 1)
        return count >= most or sum(each.held() for each in out) + sum(map(len, near)) >= MOST_BYTES

    def _first(self, out: "deque[_Sent]", near: list[bytes]) -> object:
        """What became of the job that was taken first."""
        if not out:
            self._send(out, near)
        while True:
            answer = self._awaited(out)
            if answer is not None:
                break
            self._anew(out)
        if not self._threads:
            self._look(out)  # it has workers again
        first = out[0]
        place = len(first.call.packed) - first.left
        first.left -= 1
        if not first.left:
            out.popleft()
        return self._read(answer, place)

    def _awaited(self, out: "deque[_Sent]") -> _Answer:
        """The first answer."""
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
                self._begin(each)

    def _read(self, answer: tuple[bytes, ...] | Differs | _Failed, place: int) -> object:
        """One of an answer's results as ``Executor.map`` gives it."""
        if isinstance(answer, Differs):
            self._link.check()
            raise differs(self._link.address, answer.seal)
        if isinstance(answer, _Failed):
            self._link.check()  # a worker without ownmark fails at every job
            return lost(answer.fault)
        try:
            return pickle.loads(answer[place])  # noqa: S301 from the workers that this process sent the job to
        except Exception as fault:  # noqa: BLE001 whatever a result does when it is made again, the others go on
            return lost(fault)


async def _answer(client: "Client", call: Call, handed: Handed | None) -> _Answer:
    """Have jobs done, however often workers end; None where the cluster itself went away. Runs where the client does.

    Jobs whose worker ended go out again to be done apart, as do their neighbors there: which of them ended it, nobody
    knows, and only that one is lost.
    """
    from distributed import KilledWorker

    for _ in range(TRIES):
        try:
            found = await (_dasks_way(client, call) if handed is None else _by_hand(client, call, handed))
        except KilledWorker:
            call = replace(call, apart=True)
        except CancelledError:  # the cluster's own, never asyncio's
            if client.status != "running":
                return None
            await asyncio.sleep(_PAUSE_S)  # somebody restarted the workers, or the scheduler forgot it
        except Exception as fault:  # noqa: BLE001 what the cluster raises is found out by whoever waits
            return _Failed(fault) if client.status == "running" else None
        else:
            if found is not None:
                return found
            handed = None  # it was handed over, and never came
    return (pickle.dumps(Lost(EXECUTOR_DIED)),) * len(call.packed)


async def _dasks_way(client: "Client", call: Call) -> tuple[bytes, ...] | Differs:
    """Results as the cluster sends them."""
    packed = pickle.dumps(call, pickle.HIGHEST_PROTOCOL)
    future = client.submit(pickle.loads, packed, key=f"ownmark-{uuid4()}", pure=False)
    try:
        return cast("tuple[bytes, ...] | Differs", await future)
    finally:
        future.release()


async def _by_hand(client: "Client", call: Call, handed: Handed) -> tuple[bytes, ...] | Differs | None:
    """Results that workers hand over; None where they do not come."""
    token = handed.expect()
    try:
        found = await _dasks_way(client, replace(call, to=handed.place, token=token))
        if isinstance(found, Differs):
            return found
        until = time.monotonic() + _ON_THE_WAY_S
        while (results := handed.completed(token, found)) is None and time.monotonic() < until:
            await asyncio.sleep(_SOON_S)
        return results
    finally:
        handed.forget(token)
