"""What the worker does: functions from plain JSON values to plain JSON values, over the logbook and received files.

Numbers and decisions come from ``ingest``, ``metrics`` and ``records``; nothing is worked out here.
"""

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from .pipe import Values

if TYPE_CHECKING:
    from ..records.plan.seen import Seen
    from ..records.store.logbook import Logbook

MOST_SAMPLES = 60_000_000
"""Samples of files that stay in memory: a class of 40 with two sensors of 100 Hz each."""


class State:
    """What stays between jobs: the open logbook and the files that were read.

    place : of the logbook
    password : of its server, where it was typed
    """

    def __init__(self, place: str, password: str | None = None) -> None:
        self.place = place
        self.password = password
        self._logbook: Logbook | None = None
        self._seen: dict[tuple[str, str | None], Seen] = {}

    @property
    def logbook(self) -> "Logbook":
        """The logbook, opened on first use."""
        if self._logbook is None:
            from ..records.store.logbook import open_logbook

            self._logbook = open_logbook(self.place, create=False, password=self.password)
        return self._logbook

    def see(self, path: Path, zone: str | None) -> "Seen":
        """A file as it was read, once; the trials that hold its recording are looked up every time."""
        from ..records.plan.seen import see, with_holders

        key = (str(path), zone)
        if key not in self._seen:
            (found,) = see([path], zone, lambda _: ())
            while self._seen and sum(map(_samples, (*self._seen.values(), found))) > MOST_SAMPLES:
                del self._seen[next(iter(self._seen))]
            self._seen[key] = found
        return with_holders(self._seen[key], self.logbook.holders)

    def close(self) -> None:
        """Let go of the logbook."""
        if self._logbook is not None:
            self._logbook.close()


def _samples(seen: "Seen") -> int:
    return 0 if seen.recording is None else sum(len(stream) for stream in seen.recording.streams)


def warm_up(state: State) -> None:
    """Load what reading, planning and storing take."""
    from ..metrics import effort  # noqa: F401 loaded for the next job
    from ..records.class_day import add_class  # noqa: F401 as above
    from ..records.plan.day import plan_day  # noqa: F401 as above

    _ = state.logbook


def see(state: State, path: str, zone: str | None) -> Values:
    """What a file is: its streams, when it ran, how long, how much of the heart rate was measured, its faults."""
    from ..records.plan.seen import measured_share

    seen = state.see(Path(path), zone)
    recording = seen.recording
    on, span = seen.on(zone), seen.clock_span(zone)
    return {
        "usable": recording is not None,
        "streams": [] if recording is None else [each.name for each in recording.streams],
        "format": "" if recording is None else recording.sources[0].format,
        "on": None if on is None else on.isoformat(),
        "begin_s": None if span is None else span[0],
        "length_s": None if recording is None else recording.last_s - recording.first_s,
        "measured_percent": measured_share(seen),
        "checks": [each.to_json() for each in seen.checks],
    }


JOBS: Mapping[str, Callable[..., Any]] = MappingProxyType({"warm_up": warm_up, "see": see})
"""By the name that the page asks for."""
