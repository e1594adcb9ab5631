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
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass

from ..executor import Lost
from ..messages import EXECUTOR_DIED, EXECUTOR_TOO_LONG
from ..worker import answer
from .handed import hand_over
from .seal import Seal, seal_here

GRACE_S = 10.0
"""How long a job that was told to stop may take to do so."""
MOST_MEMORY = 2 * 1024**3
"""What a job may take that is done apart, where no nanny watches it  [bytes]."""


@dataclass(frozen=True, slots=True)
class Call:
    """Some jobs on their way.

    packed : work and job, pickled, of each
    seal : of whoever sent them; a worker with another one does nothing
    limit_s : a job that takes longer is given up
    apart : do each in a process of its own, because a worker that had them ended
    to, token : where results are handed over, and under which name; empty: they go Dask's way
    """

    packed: tuple[bytes, ...]
    seal: Seal
    limit_s: float
    apart: bool = False
    to: str = ""
    token: bytes = b""

    def __reduce__(self) -> tuple[Callable[..., object], tuple[object, ...]]:
        """Become what the jobs give, where it is unpickled."""
        return done, (self.packed, self.seal, self.limit_s, self.apart, self.to, self.token)


@dataclass(frozen=True, slots=True)
class AskSeal:
    """The question for a worker's seal: becomes it where it is unpickled."""

    def __reduce__(self) -> tuple[Callable[[], Seal], tuple[()]]:
        """Become the seal of whoever unpickles it."""
        return seal_here, ()


@dataclass(frozen=True, slots=True)
class Differs:
    """The answer of a worker that has another seal."""

    seal: Seal


def done(
    packed: tuple[bytes, ...], seal: Seal, limit_s: float, apart: bool, to: str = "", token: bytes = b""
) -> "tuple[bytes | None, ...] | Differs":
    """Do jobs; the result of each, or ``Lost``, pickled; None where it was handed over.

    What is raised here is the cluster's own.
    """
    here = seal_here()
    if here != seal:
        return Differs(here)
    do = in_process if apart else in_thread
    found: list[bytes | None] = []
    for number, each in enumerate(packed):
        result = do(each, limit_s)
        found.append(None if to and hand_over(to, token, number, result) else result)
    return tuple(found)


class _TooLong(BaseException):
    """Raised into a job that takes too long; no ``except Exception`` of the job's keeps it."""


def in_thread(packed: bytes, limit_s: float) -> bytes:
    """Do a job in a thread of this process; over its time it is stopped at its next step of Python.

    One that is stuck outside of Python stops the whole worker: the scheduler misses it, and gives the job elsewhere.
    """
    found: list[bytes] = []

    def target() -> None:
        with suppress(_TooLong):
            found.append(answer(packed))

    thread = threading.Thread(target=target, daemon=True)
    thread.start()
    thread.join(limit_s)
    if thread.is_alive() and thread.ident is not None:
        ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread.ident), ctypes.py_object(_TooLong))
        thread.join(GRACE_S)
    return found[0] if found else pickle.dumps(Lost(EXECUTOR_TOO_LONG))


def in_process(packed: bytes, limit_s: float) -> bytes:
    """Do a job in a process of its own, whose end costs nobody else anything."""
    words = [sys.executable, "-c", f"from {__name__} import main; main()"]
    paths = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    try:
        ended = subprocess.run(  # noqa: S603 this very Python
            words, input=packed, capture_output=True, timeout=limit_s, check=False, env=paths
        )
    except subprocess.TimeoutExpired:
        return pickle.dumps(Lost(EXECUTOR_TOO_LONG))
    return ended.stdout if ended.returncode == 0 else pickle.dumps(Lost(EXECUTOR_DIED))


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
    out.write(answer(sys.stdin.buffer.read()))
    out.flush()
