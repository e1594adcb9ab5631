"""The traces of kept trials, held while nobody writes into the logbook: to read a file again takes long."""

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..records.store.logbook import Logbook
    from ..records.trial import Trial
    from ..reports.trace.trace import Trace

MOST = 4
"""So many are held: one of 20 minutes of movement takes 3 MB."""


class Traces:
    """The last few, by the number of their trial."""

    def __init__(self) -> None:
        self._found: OrderedDict[int, Trace] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, number: int, make: "Callable[[], Trace]") -> "Trace":
        """The trace of a trial, made if it is not held."""
        with self._lock:
            found = self._found.get(number)
        found = make() if found is None else found
        with self._lock:
            self._found[number] = found
            self._found.move_to_end(number)
            while len(self._found) > MOST:
                self._found.popitem(last=False)
        return found


def trace_of(logbook: "Logbook", trial: "Trial") -> "Trace | None":
    """The trace of a kept trial; None where it has no recording.

    Raises
    ------
    OwnmarkError
        If no file can be read.
    """
    sheet, number = trial.sheet, trial.id
    if sheet is None or number is None or not trial.files:
        return None

    def make() -> "Trace":
        from ..reports.trace.of_trial import trace_of_trial

        protocol = logbook.protocol(trial.protocol, trial.protocol_version)
        originals = [(file.path, logbook.original(file.sha256)) for file in trial.files]
        return trace_of_trial(trial, logbook.student(trial.code), protocol, originals, sheet)

    return logbook.held.of("traces", Traces).of(number, make)
