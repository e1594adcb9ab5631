"""The page's side of the worker: one process that parses files, started when it is needed and again when it died."""

import json
import os
import queue
import subprocess
import sys
import threading
from contextlib import suppress
from typing import IO, Any, TypedDict

from ..errors import OwnmarkError, ReaderFault
from .messages import WEB_PAGE_ENDED, WEB_TOO_LONG, WEB_WORKER_FAULT
from .pipe import line_of, refusal_from

DEADLINE_S = 120.0
"""A job that takes longer is given up [s]: a whole day of 100 Hz is read in a tenth of it."""
_END_S = 2.0


class _Apart(TypedDict, total=False):
    creationflags: int
    start_new_session: bool


class Measuring:
    """Jobs for the worker, one after the other, from any thread.

    place : where the logbook lies
    password : of its server, where it was typed
    """

    def __init__(self, place: str, password: str | None = None, *, deadline_s: float = DEADLINE_S) -> None:
        self._place = place
        self._password = password
        self._deadline_s = deadline_s
        self._lock = threading.Lock()
        self._worker: subprocess.Popen[bytes] | None = None
        self._answers: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        self._ended = False

    @property
    def process_id(self) -> int | None:
        """Of the worker; None: none runs."""
        return None if self._worker is None else self._worker.pid

    def warm_up(self) -> None:
        """Start the worker and let it load what reading takes."""
        with suppress(OwnmarkError):
            self.ask("warm_up")

    def ask(self, job: str, /, **values: object) -> Any:  # noqa: ANN401 plain JSON of the job
        """Do a job of ``jobs.JOBS`` and give back its answer.

        Raises
        ------
        ReaderFault
            If the worker died of it or took too long: the other files go on.
        OwnmarkError
            What the job refuses.
        """
        with self._lock:
            if self._ended:
                raise OwnmarkError(WEB_PAGE_ENDED)
            found = self._asked(line_of({"job": job, "values": values}))
        if "refused" in found:
            raise refusal_from(found["refused"])
        if "fault" in found:
            raise ReaderFault(WEB_WORKER_FAULT)
        return found["answer"]

    def close(self) -> None:
        """End the worker, whatever it does."""
        self._ended = True
        idle = self._lock.acquire(timeout=_END_S)
        try:
            worker = self._worker
            if idle and worker is not None and worker.stdin is not None:  # else somebody may be writing to it for ever
                with suppress(OSError):
                    worker.stdin.close()
                with suppress(subprocess.TimeoutExpired):
                    worker.wait(_END_S)
            self._let_go()
        finally:
            if idle:
                self._lock.release()

    def _asked(self, line: bytes) -> dict[str, Any]:
        """Write a line and wait for the answer; a worker that gives none is ended."""
        worker = self._running()
        try:
            _write_until(worker, line, self._deadline_s)
            answer = self._answers.get(timeout=self._deadline_s)
        except OSError:
            answer = b""
        except (queue.Empty, _Late):
            self._let_go()
            raise ReaderFault(WEB_TOO_LONG) from None
        if not answer.endswith(b"\n"):
            self._let_go()
            raise ReaderFault(WEB_WORKER_FAULT)
        return json.loads(answer)

    def _running(self) -> subprocess.Popen[bytes]:
        """The worker, started if none runs."""
        worker = self._worker
        if worker is not None and worker.poll() is None:
            return worker
        self._let_go()
        started: subprocess.Popen[bytes] = subprocess.Popen(
            [sys.executable, "-m", "ownmark.web.worker"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, **_APART
        )
        self._worker = worker = started
        self._answers = queue.SimpleQueue()
        threading.Thread(target=_read, args=(worker.stdout, self._answers), daemon=True).start()
        _write(worker, line_of({"place": self._place, "password": self._password}))  # a new pipe has room for it
        return worker

    def _let_go(self) -> None:
        """End what is left of a worker."""
        worker, self._worker = self._worker, None
        if worker is None:
            return
        with suppress(OSError):
            worker.kill()
        with suppress(subprocess.TimeoutExpired):
            worker.wait(_END_S)
        for end in (worker.stdin, worker.stdout):
            if end is not None:
                with suppress(OSError):
                    end.close()


class _Late(Exception):
    """The worker did not read what it was asked."""


def _write_until(worker: subprocess.Popen[bytes], line: bytes, deadline_s: float) -> None:
    """Write a line; a worker that does not read is ended, because a long line waits until it is read.

    Raises
    ------
    _Late
    """
    given_up = threading.Event()

    def give_up() -> None:
        given_up.set()
        worker.kill()

    late = threading.Timer(deadline_s, give_up)
    late.daemon = True
    late.start()
    try:
        _write(worker, line)
    except OSError:
        if not given_up.is_set():
            raise
    finally:
        late.cancel()
    if given_up.is_set():
        raise _Late


def _write(worker: subprocess.Popen[bytes], line: bytes) -> None:
    if worker.stdin is not None:
        worker.stdin.write(line)
        worker.stdin.flush()


def _read(answers: IO[bytes] | None, found: "queue.SimpleQueue[bytes]") -> None:
    """Hand on every line; an end without one is an empty answer."""
    with suppress(OSError, ValueError):
        for line in answers or ():
            found.put(line)
    found.put(b"")


_APART: _Apart = (
    {"creationflags": getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)}
    if os.name == "nt"
    else {"start_new_session": True}
)
"""Ctrl-C in the terminal is for the page, which ends its worker itself."""
