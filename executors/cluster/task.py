"""What a worker of the cluster does with a job, whatever the job is. Imports nothing of Dask's.

A ``Call`` goes as bytes that do the job where they are unpickled: all that the scheduler sees is ``pickle.loads`` and
bytes, so that it needs no ownmark, and nobody pickles a recording twice.
"""

import ctypes
import os
import pickle
import subprocess
import sys
import threading
import traceback
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from .seal import Seal, seal_here

DONE, RAISED, TOO_LONG, DIED, DIFFERS = "done", "raised", "too long", "died", "differs"
Answer = tuple[str, Any]
"""Which of these, and with it the result, what was raised, or the seal of a worker that differs."""
GRACE_S = 10.0
"""How long a job that was told to stop may take to do so."""
MOST_MEMORY = 2 * 1024**3
"""What a job may take that is done apart, where no nanny watches it  [bytes]."""


@dataclass(frozen=True, slots=True)
class Call:
    """A job on its way.

    packed : work and job, pickled
    seal : of whoever sent it; a worker with another one does nothing
    limit_s : a job that takes longer is given up
    apart : do it in a process of its own, because a worker that had it ended
    """

    packed: bytes
    seal: Seal
    limit_s: float
    apart: bool = False

    def __reduce__(self) -> tuple[Callable[..., bytes], tuple[object, ...]]:
        """Become what the job gives, where it is unpickled."""
        return answer, (self.packed, self.seal, self.limit_s, self.apart)


@dataclass(frozen=True, slots=True)
class AskSeal:
    """The question for a worker's seal: becomes it where it is unpickled."""

    def __reduce__(self) -> tuple[Callable[[], Seal], tuple[()]]:
        """Become the seal of whoever unpickles it."""
        return seal_here, ()


def answer(packed: bytes, seal: Seal, limit_s: float, apart: bool) -> bytes:
    """Do a job; its ``Answer``, pickled. Never raises: whatever is raised where it is called is the cluster's own."""
    here = seal_here()
    if here != seal:
        return pickle.dumps((DIFFERS, here))
    return in_process(packed, limit_s) if apart else in_thread(packed, limit_s)


class _TooLong(BaseException):
    """Raised into a job that takes too long; no ``except Exception`` of the job's keeps it."""


def in_thread(packed: bytes, limit_s: float) -> bytes:
    """Do a job in a thread of this process; over its time it is stopped at its next step of Python.

    One that is stuck outside of Python stops the whole worker: the scheduler misses it, and gives the job elsewhere.
    """
    found: list[bytes] = []

    def target() -> None:
        with suppress(_TooLong):
            found.append(_done(packed))

    thread = threading.Thread(target=target, daemon=True)
    thread.start()
    thread.join(limit_s)
    if thread.is_alive() and thread.ident is not None:
        ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread.ident), ctypes.py_object(_TooLong))
        thread.join(GRACE_S)
    return found[0] if found else pickle.dumps((TOO_LONG, None))


def _done(packed: bytes) -> bytes:
    """The answer of a job that is left alone."""
    try:
        work, job = pickle.loads(packed)  # noqa: S301 from the client of this cluster, as all that workers do
        return pickle.dumps((DONE, work(job)), protocol=5)
    except Exception as fault:  # noqa: BLE001 whatever it is, it is this job's
        return pickle.dumps((RAISED, (type(fault).__name__, _sendable(fault))))


def _sendable(fault: Exception) -> Exception:
    """What was raised, with the place where; its likeness where it cannot be sent."""
    where = "".join(traceback.format_exception(fault))
    try:
        fault.add_note(where)
        pickle.loads(pickle.dumps(fault))  # noqa: S301 its own bytes
    except Exception:  # noqa: BLE001 an error can hold anything
        return RuntimeError(where)
    return fault


def in_process(packed: bytes, limit_s: float) -> bytes:
    """Do a job in a process of its own, whose end costs nobody else anything."""
    words = [sys.executable, "-c", f"from {__name__} import main; main()"]
    paths = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    try:
        ended = subprocess.run(  # noqa: S603 this very Python
            words, input=packed, capture_output=True, timeout=limit_s, check=False, env=paths
        )
    except subprocess.TimeoutExpired:
        return pickle.dumps((TOO_LONG, None))
    return ended.stdout if ended.returncode == 0 else pickle.dumps((DIED, None))


def main() -> None:
    """Do the job that comes in, and give out its answer: the process of ``in_process``."""
    out, sys.stdout = sys.stdout.buffer, sys.stderr  # whatever the work prints is no part of the answer
    try:
        import resource
    except ImportError:  # Windows has no such limit
        pass
    else:
        _, most = resource.getrlimit(resource.RLIMIT_DATA)
        least = MOST_MEMORY if most == resource.RLIM_INFINITY else min(most, MOST_MEMORY)
        resource.setrlimit(resource.RLIMIT_DATA, (least, most))
    out.write(_done(sys.stdin.buffer.read()))
    out.flush()
