"""A cluster on this machine: a worker a process, reached by nobody else."""

import logging
import signal
from collections.abc import Generator, Sequence
from contextlib import contextmanager, suppress
from multiprocessing import resource_tracker
from typing import TYPE_CHECKING

from ..scratch import folder

if TYPE_CHECKING:
    from distributed import LocalCluster

_HOST = "127.0.0.1"
_END_S = 10.0
"""How long workers are waited for at the end [s]."""


@contextmanager
def started(workers: int, preload: Sequence[str]) -> Generator["LocalCluster"]:
    """Start it, end it.

    It listens on this machine's own address, and with certificates that live for as long as it does, in memory: another
    account of the machine can connect and be refused. Its scratch folder is this account's alone, and goes with it
    (``scratch``).

    workers : how many processes, of a single thread each
    preload : modules that each of them imports before it works
    """
    from dask import config
    from distributed import LocalCluster, Security

    # The scheduler, in this process, takes no folder of its own from us. It looks for modules in the one it has, and
    # under the system's place for what is temporary another account could have made that.
    with folder() as scratch, config.set({"temporary-directory": str(scratch)}):
        with no_ctrl_c():
            cluster = LocalCluster(
                n_workers=workers,
                threads_per_worker=1,
                processes=True,
                host=_HOST,
                security=Security.temporary(),  # pyright: ignore[reportUnknownMemberType]
                dashboard_address=None,  # pyright: ignore[reportArgumentType] Dask's own way to say: none
                scheduler_kwargs={"dashboard": False, "dashboard_address": f"{_HOST}:0"},
                silence_logs=logging.CRITICAL,
                local_directory=str(scratch),
                memory_limit=0,
                preload=[f"{__package__}.worker", *preload],
            )
        try:
            yield cluster
        finally:
            with suppress(TimeoutError):  # on a full machine; each worker ends with this process at the latest
                cluster.close(timeout=_END_S)


@contextmanager
def no_ctrl_c() -> Generator[None]:
    """Threads and processes that are started here never get Ctrl-C; one that comes meanwhile waits for the end."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows: the workers ignore it themselves, once they run
        yield
        return
    resource_tracker.ensure_running()  # else the first process that is started starts it, and lets Ctrl-C in again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
