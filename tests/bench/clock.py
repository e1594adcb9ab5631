"""Timing that holds on a noisy machine: every contender in turn, many rounds, the median of the ratios."""

import statistics
import subprocess
import time
from collections.abc import Callable, Mapping, Sequence

Job = Callable[[], object]


def side_by_side(jobs: Mapping[str, Job], rounds: int) -> dict[str, list[float]]:
    """Seconds of each job in each round; one uncounted round first."""
    for job in jobs.values():
        job()
    spent: dict[str, list[float]] = {name: [] for name in jobs}
    for _ in range(rounds):
        for name, job in jobs.items():
            began = time.perf_counter()
            job()
            spent[name].append(time.perf_counter() - began)
    return spent


def ratio(spent: Mapping[str, Sequence[float]], over: str, under: str) -> float:
    """Median over the rounds of one job's time over another's."""
    return statistics.median(a / b for a, b in zip(spent[over], spent[under], strict=True))


def median(seconds: Sequence[float]) -> float:
    """Middle of the rounds."""
    return statistics.median(seconds)


def process(words: Sequence[str]) -> Job:
    """A job that runs a command as a whole process."""

    def job() -> None:
        subprocess.run(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)

    return job
