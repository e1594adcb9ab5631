"""Work for workers; imported by their processes, so it loads nothing."""

import os
import signal
import sys
import threading
import time


def half(number):
    return 100 // number


def same(job):
    return job


def own_pid(_):
    return os.getpid()


def lasting(job):
    """Sleep so long, then say which job it was."""
    number, seconds = job
    time.sleep(seconds)
    return number


def lasting_pid(number):
    """The job, and the process that did it."""
    time.sleep(0.01)
    return number, os.getpid()


def deadly(job):
    """End the process by its own hand where the job says how."""
    number, how = job
    if how == "kill":
        os.kill(os.getpid(), signal.SIGKILL)
    elif how == "leave":
        os._exit(0)
    elif how == "exit":
        sys.exit(1)
    elif how == "fault":
        import ctypes

        ctypes.string_at(0)
    return number


def killed_once(path):
    """End the process the first time, as somebody from outside would."""
    try:
        path.touch(exist_ok=False)
    except FileExistsError:
        return "done"
    os.kill(os.getpid(), signal.SIGKILL)
    return None


class KilledOnTheWay:
    """A large result whose process is killed while it is on its way, the first time."""

    def __init__(self, path, after_s):
        self.path, self.after_s = path, after_s

    def __reduce__(self):
        if not self.path.exists():
            self.path.touch()
            threading.Timer(self.after_s, os.kill, (os.getpid(), signal.SIGKILL)).start()
        return (bytes, (b"\1" * 20_000_000,))


def large(job):
    return KilledOnTheWay(*job)


def loud(_):
    os.write(1, b"out")
    os.write(2, b"err")
    print("said")
    return "quiet"


def unpicklable(_):
    return lambda: None


class Contrary:
    """What can be pickled and not made again."""

    def __reduce__(self):
        return (int, ("not a number",))


def contrary(_):
    return Contrary()


class Particular(Exception):
    """An error that cannot be made again from its text."""

    def __init__(self, one, two):
        super().__init__(f"{one}{two}")


def particular(_):
    raise Particular(1, 2)


class NoPickle:
    def __reduce__(self):
        raise TypeError("no")


def holding(_):
    """Take longer than anybody waits, inside of one call that lets no other thread run."""
    import re

    re.match(r"(a+)+$", "a" * 40 + "b")
