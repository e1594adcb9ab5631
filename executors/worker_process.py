"""The parent's end of a worker: starts its process, gives it jobs, and ends it."""

import os
import signal
import threading
from collections.abc import Generator, Sequence
from contextlib import contextmanager, suppress
from multiprocessing import get_all_start_methods, get_context, resource_tracker
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerContext, SpawnContext
from multiprocessing.process import BaseProcess
from multiprocessing.util import get_temp_dir
from typing import cast

from .worker import READY, serve

_START_S = 120.0
"""How long a process may take to say that it is there [s]: a cold disk and a full machine, not a hang."""
_END_S = 5.0
"""How long a killed process is waited for [s]; one that hangs on a dead network drive ends when the drive answers."""
_LONGEST_PLACE = 103 - len("/listener-12345678")
"""Bytes of a folder in which a socket can have a name. Source: sun_path has 104 bytes in <sys/un.h> of macOS and the
BSDs, 108 on Linux, one of them for the end; the socket's name is multiprocessing's own."""
_starting = threading.Lock()
"""The server of processes is started once, and is asked by one thread at a time."""


class Died(Exception):
    """The process ended, or never came up."""


class TooLong(Exception):
    """The job was not done in time."""


def context(preload: Sequence[str]) -> ForkServerContext | SpawnContext:
    """How processes are started here: by a server that has loaded all, else each anew; never by a copy of this process.

    A fork of a process with threads and open databases takes their locks along.
    """
    if "forkserver" not in get_all_start_methods() or not _has_place_for_socket():
        return get_context("spawn")
    found = get_context("forkserver")
    found.set_forkserver_preload(list(preload))  # once for all: a server that runs already stays as it is
    return found


def _has_place_for_socket() -> bool:
    """Whether the server can be asked: by a socket in the folder for what is temporary, where there is one."""
    try:
        place = get_temp_dir()
    except OSError:  # none can be written
        return False
    return len(os.fsencode(place)) <= _LONGEST_PLACE


class WorkerProcess:
    """One process and the pipe to it, which nobody else holds: its end is seen at once, whenever it comes.

    One job is with it at a time, so that nobody has to ask which job a process died of.
    """

    def __init__(self, process: BaseProcess, pipe: Connection) -> None:
        self._process = process
        self._pipe = pipe

    @classmethod
    def start(cls, found: ForkServerContext | SpawnContext, modules: Sequence[str]) -> "WorkerProcess":
        """Start a process; it is not there before ``ready``.

        Raises
        ------
        Died
            If the system starts none.
        """
        here, there = found.Pipe()
        process = found.Process(target=serve, args=(there, tuple(modules)), daemon=True)
        try:
            with _starting, _without_interrupt():
                process.start()
        except (OSError, EOFError) as reason:
            here.close()
            raise Died from reason
        finally:
            there.close()
        return cls(cast("BaseProcess", process), cast("Connection", here))

    @property
    def pid(self) -> int:
        """The number of the process."""
        return self._process.pid or 0

    def ready(self) -> None:
        """Wait until it can take a job.

        Raises
        ------
        Died
            If it ends before, or does not come up.
        """
        with _ends_told():
            if not self._pipe.poll(_START_S) or self._pipe.recv_bytes() != READY:
                raise Died

    def alive(self) -> bool:
        """Whether it runs."""
        return self._process.is_alive()

    def do(self, job: bytes, deadline_s: float) -> bytes:
        """Have a job done.

        Raises
        ------
        Died
            If the process ends before it has answered.
        TooLong
            If there is no answer within the time; the process goes on.
        """
        with _ends_told():
            self._pipe.send_bytes(job)
            if not self._pipe.poll(deadline_s):
                raise TooLong
            return self._pipe.recv_bytes()

    def kill(self) -> None:
        """End the process at once, whatever it does; who waits for it is told ``Died``. May be called by any thread."""
        with suppress(OSError, ValueError):
            self._process.kill()

    def end(self) -> None:
        """End the process and let go of it; by the thread that worked with it."""
        self.kill()
        with suppress(OSError, ValueError):
            self._process.join(_END_S)
        self._pipe.close()


@contextmanager
def _ends_told() -> Generator[None]:
    """An end of the pipe is the end of the process."""
    try:
        yield
    except (EOFError, OSError) as end:
        raise Died from end


@contextmanager
def _without_interrupt() -> Generator[None]:
    """Start processes that Ctrl-C never reaches, not even before their first line: they inherit what is held back."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # it starts a process of its own, and lets signals through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
