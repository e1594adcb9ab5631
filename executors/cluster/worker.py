"""What a worker of a cluster on this machine does when it starts: Dask calls ``dask_setup``.

Whatever the worker or a library of it would print goes nowhere: the terminal is the person's.
"""

import signal

from ..memory import keep_memory
from ..worker import say_nothing


def dask_setup(worker: object) -> None:  # noqa: ARG001 as Dask calls it
    """Be quiet, and leave Ctrl-C to whoever started the cluster."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    say_nothing()
    keep_memory()
