"""What stays in the worker between two jobs: the open logbook, the files that were read, the phases that were found."""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ...records.plan.row import Phases
    from ...records.plan.seen import Seen
    from ...records.store.logbook import Logbook
    from ..file_trace import FileTrace

MOST_BYTES = 384 * 2**20
"""Of files that stay in memory: 20 min of movement at 100 Hz for each of a class of 40 take 156 MiB."""


class State:
    """What stays between jobs: the open logbook and the files that were read.

    place : of the logbook
    password : of its server, where it was typed
    last_trace : what a trace is of, and the last one that was asked for
    """

    def __init__(self, place: str, password: str | None = None) -> None:
        self.place = place
        self.password = password
        self._logbook: Logbook | None = None
        self._seen: dict[tuple[str, str | None], Seen] = {}
        self._phases: Phases | None = None
        self.last_trace: tuple[tuple[str, ...], FileTrace] | None = None

    @property
    def logbook(self) -> "Logbook":
        """The logbook, opened on first use."""
        if self._logbook is None:
            from ...records.store.logbook import open_logbook

            self._logbook = open_logbook(self.place, create=False, password=self.password)
        return self._logbook

    @property
    def phases(self) -> "Phases":
        """Phases that were found before: a day is planned again after every answer."""
        if self._phases is None:
            from ...records.plan.row import Phases

            self._phases = Phases()
        return self._phases

    def see(self, path: Path, zone: str | None) -> "Seen":
        """A file as it was read, once; the trials that hold its recording are looked up every time."""
        from ...records.plan.seen import see, with_holders

        key = (str(path), zone)
        if key not in self._seen:
            (found,) = see([path], zone, lambda _: ())
            while self._seen and sum(map(_size, (*self._seen.values(), found))) > MOST_BYTES:
                del self._seen[next(iter(self._seen))]
            self._seen[key] = found
        return with_holders(self._seen[key], self.logbook.holders)

    def close(self) -> None:
        """Let go of the logbook."""
        if self._logbook is not None:
            self._logbook.close()


def _size(seen: "Seen") -> int:
    """What a file takes in memory [bytes]."""
    streams = () if seen.recording is None else seen.recording.streams
    return sum(each.time.nbytes + each.values.nbytes + each.flags.nbytes for each in streams)
