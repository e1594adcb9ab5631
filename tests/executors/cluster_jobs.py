"""Work for a cluster's workers: functions of a module, as the seam asks for."""

import os
import time
from pathlib import Path

BIG = 5_000_000


def half(number):
    return 100 // number


def where(number):
    return number, os.getpid()


def same(job):
    return job


def slowly(number):
    time.sleep(0.05)
    return number


def ends_its_worker(number):
    if number in (3, 33):
        os._exit(9)
    return number


def ends_its_worker_once(job):
    mark, number = Path(job[0]), job[1]
    if number == 3 and not mark.exists():
        mark.touch()
        os._exit(9)
    return number


def never_ends(number):
    while number == 1:
        pass
    return number


def of_size(size):
    return b"x" * size


class Stubborn(Exception):
    """An error that cannot be sent."""

    def __reduce__(self):
        raise TypeError("not me")


def raises_what_cannot_be_sent(number):
    raise Stubborn(number)


def gives_what_cannot_be_sent(number):
    return lambda: number
