"""What the screens work with: the logbook, the sessions, and what reads files. Made once, when the page starts."""

import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from .measuring import Measuring
from .session import Sessions
from .tokens import StudentIds

if TYPE_CHECKING:
    from ..records.store.logbook import Logbook
    from ..records.store.received import Received


class OnFirstUse:
    """A logbook that is opened once, when it is first needed, by whichever thread needs it."""

    def __init__(self, open_it: "Callable[[], Logbook]") -> None:
        self._open = open_it
        self._lock = threading.Lock()
        self._found: Logbook | None = None

    def __call__(self) -> "Logbook":
        """The logbook, open. A refusal is raised, and the next call tries again."""
        with self._lock:
            if self._found is None:
                self._found = self._open()
            return self._found

    @property
    def is_open(self) -> bool:
        """Whether it was needed yet."""
        return self._found is not None

    def close(self) -> None:
        """Let go of it."""
        with self._lock:
            if self._found is not None:
                self._found.close()
                self._found = None


@dataclass(frozen=True)
class Parts:
    """What a screen may use.

    place : where the logbook lies, as it was given
    logbook : opens it on first use; call it
    password : of its server, where it was typed
    now : the time on the wall of the school
    measuring : the worker, which parses files
    looked : what each received file is, as ``jobs.see`` told, by SHA-256
    asked : what was asked when a row was to be stored, by the day and the row; asked again after a new start
    """

    place: str
    logbook: OnFirstUse
    sessions: Sessions = field(default_factory=Sessions)
    password: str | None = None
    now: Callable[[], datetime] = field(default=lambda: datetime.now().astimezone())
    ids: StudentIds = field(init=False)
    measuring: Measuring = field(init=False)
    looked: dict[str, Any] = field(default_factory=dict[str, Any])
    asked: dict[tuple[date, str], list[Any]] = field(default_factory=dict[tuple[date, str], list[Any]])

    def __post_init__(self) -> None:
        object.__setattr__(self, "ids", StudentIds(self._codes))
        object.__setattr__(self, "measuring", Measuring(self.place, self.password))

    def received(self) -> "Received":
        """The folder of files that were dropped and are not stored yet."""
        from ..records.store.location import place_of
        from ..records.store.received import received_at

        return received_at(place_of(self.place))

    def _codes(self) -> Iterable[str]:
        from ..records.store.recent import student_codes

        return student_codes(self.logbook())

    def close(self) -> None:
        """End what was begun."""
        self.measuring.close()
        self.logbook.close()
