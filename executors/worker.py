"""A worker of the pool, in its own process: one job after the other, for as long as its parent is there."""

import os
import pickle
import signal
import sys
import threading
import traceback
from collections.abc import Callable, Sequence
from contextlib import suppress
from importlib import import_module
from multiprocessing import parent_process
from multiprocessing.connection import Connection, wait

from .executor import Lost
from .memory import keep_memory
from .messages import executor_raised

READY = b"ready"
"""What a worker says before its first job."""


def serve(pipe: Connection, modules: Sequence[str]) -> None:
    """Do what comes through the pipe until it ends; the first word back is ``READY``.

    modules : what the work needs, loaded before the first job wherever a server has not done so already
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's, which ends this process
    say_nothing()
    keep_memory()
    threading.Thread(target=_end_with_parent, daemon=True).start()
    for name in modules:
        with suppress(ImportError):  # then the job says what is missing
            import_module(name)
    with suppress(EOFError, OSError):  # the parent has closed the pool, or is gone
        pipe.send_bytes(READY)
        while True:
            pipe.send_bytes(answer(pipe.recv_bytes()))


def answer(asked: bytes) -> bytes:
    """The pickled result of a pickled pair of work and job; ``Lost`` where the work or the pickling fails."""
    try:
        work, job = pickle.loads(asked)  # noqa: S301 our own parent's
        return pickle.dumps(work(job), pickle.HIGHEST_PROTOCOL)
    except Exception as fault:  # noqa: BLE001 whatever it is, the next job is done
        if _traced():
            traceback.print_exception(fault)
        return pickle.dumps(lost(fault), pickle.HIGHEST_PROTOCOL)


def lost(fault: Exception) -> Lost:
    """The loss of a job that raised. A fault that does not survive the way to another process goes by its name."""
    kind = type(fault).__name__
    try:
        pickle.loads(pickle.dumps(fault))  # noqa: S301 it was made here
    except Exception:  # noqa: BLE001 what an error's class does when it is made again is anybody's guess
        fault = RuntimeError(kind)
    return Lost(executor_raised(kind), fault)


def job_bytes(work: Callable[..., object], job: object) -> bytes:
    """What ``answer`` takes."""
    return pickle.dumps((work, job), pickle.HIGHEST_PROTOCOL)


def _traced() -> bool:
    return bool(os.environ.get("OWNMARK_TRACEBACK"))


def say_nothing() -> None:
    """Point both outputs at nothing: what a library prints is nobody's answer."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, OSError, ValueError):
            stream.flush()
    with suppress(OSError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(2 if _traced() else nothing, 1)
        if not _traced():
            os.dup2(nothing, 2)
        os.close(nothing)


def _end_with_parent() -> None:
    """Leave as soon as the parent has ended, whatever ended it, also in the middle of a job."""
    parent = parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)
