"""Work in this process, one job after the other."""

from collections.abc import Callable, Iterable, Iterator

from .executor import Job, Lost, Result
from .messages import executor_raised


class Serial:
    """An ``Executor`` without workers: the jobs of tests, and of a machine on which no process can be started."""

    shares_disk = True

    def map(self, work: Callable[[Job], Result], jobs: Iterable[Job]) -> Iterator[Result | Lost]:
        """As ``Executor.map``; a job that ends the process ends this one."""
        for job in jobs:
            try:
                yield work(job)
            except Exception as fault:  # noqa: BLE001 whatever it is, the other jobs go on
                yield Lost(executor_raised(type(fault).__name__), fault)
