"""What a worker of a cluster on this machine does when it starts: Dask calls ``dask_setup``.

Whatever the worker or a library of it would print goes nowhere: the terminal is the person's.
"""

import os
import signal
import sys


def dask_setup(worker: object) -> None:  # noqa: ARG001 as Dask calls it
    """Be quiet, and leave Ctrl-C to whoever started the cluster."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        stream.flush()
        os.dup2(nowhere, stream.fileno())
    os.close(nowhere)
