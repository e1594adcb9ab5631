"""Timing that holds on a noisy machine: every contender in turn, many rounds, the median of the ratios."""

import statistics
import subprocess
import time
from collections.abc import Callable, Mapping, Sequence

_ROUND_S = 0.02
Job = Callable[[], object]


def side_by_side(jobs: Mapping[str, Job], rounds: int) -> dict[str, list[float]]:
    """Seconds of each job in each round; one uncounted round first.

    A short job is repeated until a round lasts 20 ms, and its mean counts: a single call of half a millisecond
    behind another job's long one would measure the processor's caches.
    """
    repeats = {name: max(1, round(_ROUND_S / _once(job))) for name, job in jobs.items()}
    spent: dict[str, list[float]] = {name: [] for name in jobs}
    for _ in range(rounds):
        for name, job in jobs.items():
            began = time.perf_counter()
            for _ in range(repeats[name]):
                job()
            spent[name].append((time.perf_counter() - began) / repeats[name])
    return spent


def _once(job: Job) -> float:
    """Seconds of a second call."""
    job()
    began = time.perf_counter()
    job()
    return time.perf_counter() - began


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
