"""The worker: a process of its own that parses files for the page, a job a line, until its input ends.

A file that kills it is lost alone; the page starts another one. It opens the logbook itself, when a job needs it.
"""

import os
import queue
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from typing import Any, BinaryIO

from ..errors import OwnmarkError
from .jobs.day import JOBS
from .jobs.row import ROW_JOBS
from .jobs.state import State
from .pipe import line_of, refusal_as_json

ALL: Mapping[str, Callable[..., Any]] = {**JOBS, **ROW_JOBS}
"""Every job, by its name."""
END_S = 5.0
"""How long a job may go on once nobody asks any more [s]."""


def main() -> None:
    """Serve whoever started this process, over its input and output."""
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # what a library prints is no answer
    for answer in served(lines(sys.stdin.buffer, lambda: os._exit(1)), os.environ):
        try:
            answers.write(answer)
            answers.flush()
        except OSError:  # nobody waits for it
            return


def lines(asked: BinaryIO, leave: Callable[[], object], end_s: float = END_S) -> Iterator[bytes]:
    """Each line as it comes; ``leave`` is called where a job still goes on so long after the last one [s].

    Who started this process is gone then, whatever ended it, and a job that never comes to an end would stay alone.
    """
    came: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()

    def read() -> None:
        for line in asked:
            came.put(line)
        came.put(None)
        time.sleep(end_s)
        leave()

    threading.Thread(target=read, daemon=True).start()
    while (line := came.get()) is not None:
        yield line


def served(asked: Iterable[bytes], environment: Mapping[str, str]) -> Iterator[bytes]:
    """An answer for each line; the first line names the logbook."""
    import json

    state: State | None = None
    for line in asked:
        job = json.loads(line)
        if state is None:
            state = State(job["place"], job["password"])
            continue
        yield line_of(answer_of(state, job["job"], job["values"], trace=bool(environment.get("OWNMARK_TRACEBACK"))))
    if state is not None:
        state.close()


def answer_of(state: State, name: str, values: dict[str, Any], *, trace: bool) -> dict[str, object]:
    """What became of a job of ``ALL``: its answer, a refusal, or the kind of a fault of ownmark."""
    try:
        found: Callable[..., object] = ALL[name]
        return {"answer": found(state, **values)}
    except OwnmarkError as reason:
        return {"refused": refusal_as_json(reason)}
    except Exception as fault:  # noqa: BLE001 whatever it is, the next job is done
        if trace:
            import traceback

            with suppress(OSError):
                traceback.print_exception(fault)
        return {"fault": type(fault).__name__}


if __name__ == "__main__":
    main()
