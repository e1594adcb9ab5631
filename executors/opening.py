"""Open whoever does the work: processes of this machine, or a cluster."""

import re
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager

from ..errors import UsageError
from ..words.message import Message
from .executor import Executor
from .pool import Pool
from .processors import usable

MOST = 256
"""Workers on one machine. Each takes some 150 MB, and one process stores what all of them measure."""
LOCAL = "local"
"""The address of a cluster that is started on this machine; alone it says no number of workers."""


def opened(
    workers: int | None = None,
    cluster: str | None = None,
    preload: Sequence[str] = (),
    *,
    tell: Callable[[Message], None] | None = None,
) -> AbstractContextManager[Executor]:
    """An executor, for as long as the context is open.

    Parameters
    ----------
    workers : processes on this machine; None: as many as there are processors that this process may use
    cluster : the address of a Dask scheduler, or ``local:N``, in the place of processes of our own
    preload : modules that the work needs, loaded by each worker before it has anything to do
    tell : is given what a person should know at once: that the cluster is away, that it is back

    Raises
    ------
    UsageError
        If the number is none that a machine can do, both are given, or what a cluster takes is not installed.
    WorkersGone
        If the cluster cannot be reached.
    """
    if cluster is None:
        return Pool(_checked(usable() if workers is None else workers), preload)
    if workers is not None and cluster != LOCAL:
        raise UsageError(
            "--workers counts processes of this machine; with --cluster the cluster says how many work.",
            mend="Leave one of the two out. --cluster local:4 starts a cluster of four workers on this machine.",
        )
    many = _checked(usable() if workers is None else workers) if cluster == LOCAL else None
    said = re.fullmatch(rf"{LOCAL}:([0-9]{{1,9}})", cluster)
    if said is not None and int(said[1]) > MOST:
        raise UsageError(
            f"a cluster on this machine has at most {MOST} workers, not {int(said[1])}.",
            mend=f"--cluster local:{usable()} starts one for each processor.",
        )
    from .cluster import opened as of_cluster

    return of_cluster(cluster, many, preload) if tell is None else of_cluster(cluster, many, preload, tell=tell)


def _checked(workers: int) -> int:
    if not 1 <= workers <= MOST:
        raise UsageError(
            f"--workers is how many processes work at once: a number from 1 to {MOST}, not {workers}.",
            mend=f"Without a number it is {usable()} here, one for each processor.",
        )
    return workers
