"""Work in processes of this machine.

A thread for each worker hands it one job at a time through a pipe of its own. ``concurrent.futures`` keeps one pipe for
the results of all: a process that is killed while it writes a large one leaves the others, and the parent, waiting for
the rest of it for ever, and every job that was under way is lost with it.
"""

import pickle
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from typing import Self, cast

from ..errors import WorkersGone
from .executor import Job, Lost, Result
from .messages import EXECUTOR_DIED, EXECUTOR_NONE_STARTS, EXECUTOR_OTHER_WAY, EXECUTOR_TOO_LONG
from .worker import job_bytes, lost
from .worker_process import Died, TooLong, WorkerProcess, context

DEADLINE_S = 600.0
"""How long one job may take [s]: a day of movement at 100 Hz takes half a minute here, and a machine may be slow."""
AHEAD = 8
"""Jobs taken ahead for each worker: one of 60 ms is done five times while a batch is stored in 0.3 s."""
MOST_AHEAD = 128
"""Jobs taken ahead by many workers, unless there are more of them: results wait here, some megabytes each."""
MOST_BYTES = 128 * 2**20
"""What jobs and results may hold that wait; one job for each worker and one more are taken all the same."""
_TRIES = 3
"""So many processes may end over one job. The first was perhaps killed by a system out of memory, or by a person."""
_STARTS_AFTER_S = (0.0, 0.2, 1.0)
"""A process that ends before its first job is started again after so long [s]. What keeps one from coming up on a
crowded machine is often over by then."""


@dataclass(frozen=True, slots=True)
class _Ahead:
    """A job that was taken, and the bytes that it holds until its result does."""

    answer: "Future[bytes | Lost]"
    size: int

    def held(self) -> int:
        """Bytes that wait: of the job, or of its result."""
        if not self.answer.done() or self.answer.exception() is not None:
            return self.size
        found = self.answer.result()
        return 0 if isinstance(found, Lost) else len(found)


class Pool:
    """An ``Executor`` whose workers are processes of this machine; open inside of ``with``.

    A script that opens one does so behind ``if __name__ == "__main__":``, because each worker imports the script.

    Parameters
    ----------
    workers : how many processes
    preload : modules that the work needs, loaded once before there is anything to do
    deadline_s : how long a job may take [s]
    ahead, most_bytes : how far ahead jobs are taken: so many, and as long as what waits holds no more
    """

    shares_disk = True

    def __init__(
        self,
        workers: int,
        preload: Sequence[str] = (),
        *,
        deadline_s: float = DEADLINE_S,
        ahead: int | None = None,
        most_bytes: int = MOST_BYTES,
    ) -> None:
        self._count, self._preload, self._deadline_s = workers, tuple(preload), deadline_s
        self._ahead = max(min(AHEAD * workers, MOST_AHEAD), workers + 1) if ahead is None else ahead
        self._most_bytes = most_bytes
        self._context = context(self._preload)
        self._threads = ThreadPoolExecutor(workers)
        self._idle: deque[WorkerProcess] = deque()
        self._running: set[WorkerProcess] = set()
        self._closed = threading.Event()
        self._lock = threading.Lock()

    def __enter__(self) -> Self:
        for _ in range(self._count):  # they come up while the caller looks for the first job
            self._threads.submit(self._warm)
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End every process at once, also in the middle of a job."""
        with self._lock:
            self._closed.set()
            for worker in self._running:
                worker.kill()
        self._threads.shutdown(cancel_futures=True)
        for worker in list(self._running):
            self._end(worker)

    def map(self, work: Callable[[Job], Result], jobs: Iterable[Job]) -> Iterator[Result | Lost]:
        """As ``Executor.map``; jobs are taken in the caller's thread."""
        pickle.dumps(work)  # what cannot be found by its name is no work for anybody
        source, ahead = iter(jobs), deque[_Ahead]()
        more = True
        try:
            while True:
                taken = 0
                # Two jobs for a result that is there: so what a slow taker used up is filled again.
                while more and self._room(ahead) and (taken < 2 or not ahead[0].answer.done()):
                    try:
                        ahead.append(self._begun(work, next(source)))
                        taken += 1
                    except StopIteration:
                        more = False
                if not ahead:
                    return
                yield _made_again(ahead.popleft().answer.result())
        finally:
            for each in ahead:
                each.answer.cancel()

    def _room(self, ahead: "deque[_Ahead]") -> bool:
        """Whether one more job may be taken."""
        if len(ahead) <= self._count:
            return len(ahead) < self._ahead
        return len(ahead) < self._ahead and sum(each.held() for each in ahead) < self._most_bytes

    def _begun(self, work: Callable[[Job], Result], job: Job) -> _Ahead:
        """A job on its way to a worker."""
        try:
            packed = job_bytes(work, job)
        except Exception as fault:  # noqa: BLE001 whatever a job holds, the others go on
            failed: Future[bytes | Lost] = Future()
            failed.set_result(lost(fault))
            return _Ahead(failed, 0)
        return _Ahead(self._threads.submit(self._done, packed), len(packed))

    def _done(self, job: bytes) -> bytes | Lost:
        """The answer to a job; on a thread."""
        for _ in range(_TRIES):
            worker = self._worker()
            try:
                found = worker.do(job, self._deadline_s)
            except TooLong:
                self._end(worker)
                return Lost(EXECUTOR_TOO_LONG)
            except Died:
                self._end(worker)
                continue
            self._idle.append(worker)
            return found
        return Lost(EXECUTOR_DIED)

    def _warm(self) -> None:
        with suppress(WorkersGone):  # the first job is told
            self._idle.append(self._started())

    def _worker(self) -> WorkerProcess:
        """A worker that waits, or a new one."""
        while True:
            try:
                worker = self._idle.pop()
            except IndexError:
                return self._started()
            if worker.alive():
                return worker
            self._end(worker)

    def _started(self) -> WorkerProcess:
        """A new worker.

        Raises
        ------
        WorkersGone
            If none comes up, or the pool is closed.
        """
        for pause_s in _STARTS_AFTER_S:
            if self._closed.wait(pause_s):
                break
            try:
                worker = WorkerProcess.start(self._context, self._preload)
            except Died:
                continue
            with self._lock:
                self._running.add(worker)
                if self._closed.is_set():
                    worker.kill()
            try:
                worker.ready()
            except Died:
                self._end(worker)
                continue
            return worker
        raise WorkersGone(EXECUTOR_NONE_STARTS, mend=EXECUTOR_OTHER_WAY)

    def _end(self, worker: WorkerProcess) -> None:
        with self._lock:
            self._running.discard(worker)
        worker.end()


def _made_again(found: bytes | Lost) -> Result | Lost:  # pyright: ignore[reportInvalidTypeVarUse]
    """The result as the worker had it."""
    if isinstance(found, Lost):
        return found
    try:
        return cast("Result | Lost", pickle.loads(found))  # noqa: S301 our own worker's
    except Exception as fault:  # noqa: BLE001 whatever a result does when it is made again, the others go on
        return lost(fault)
