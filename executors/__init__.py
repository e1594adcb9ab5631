"""Where work is done: in this process, in a pool of processes on this machine, or on a cluster. One seam, ``Executor``.

Nothing here knows what the work is, and nothing outside knows which of them runs.
"""

from .executor import Executor, Lost

__all__ = ["Executor", "Lost"]
