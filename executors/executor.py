"""The seam: work is mapped over jobs, results come back in the order of the jobs."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Protocol, TypeVar

from ..words.message import Message

Job = TypeVar("Job")
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Lost:
    """In the place of a result that never came: its job ended the worker, took too long, or raised.

    reason : which of these
    fault : what the work raised; None where its process ended
    """

    reason: Message
    fault: Exception | None = None


class Executor(Protocol):
    """Does work for as long as it is open; a context manager (``executors.opening.opened``) opens and closes it."""

    @property
    def shares_disk(self) -> bool:
        """Whether whoever works sees this machine's files under the paths that this process sees them under."""
        ...

    def map(self, work: Callable[[Job], Result], jobs: Iterable[Job]) -> Iterator[Result | Lost]:
        """The result of each job, in the order of the jobs.

        Parameters
        ----------
        work : a pure function of a module, picklable by its name, as its jobs and results are picklable
        jobs : taken one by one and never far ahead: while nobody takes results, a few jobs for each worker are taken
            and no more, so that a slow taker holds the workers up and memory stays flat

        One job that ends its worker costs that job (``Lost``) and none beside it.

        Raises
        ------
        OwnmarkError
            If the workers are gone and do not come back; what was not given back is not done.
        """
        ...
