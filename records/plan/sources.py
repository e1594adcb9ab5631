"""What people wrote down of a day: the roster, who wore which strap, and when each began."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from ..protocol import Protocol
from ..wearing import Worn
from .written import clock_span


@dataclass(frozen=True, slots=True)
class Listed:
    """A student of the roster, with the protocol and the strap that stand beside; None: none does."""

    code: str
    protocol: str | None = None
    strap: str | None = None


@dataclass(frozen=True, slots=True)
class Earlier:
    """A student's last trial, or the last one of a file of some name."""

    code: str
    protocol: str
    on: date


@dataclass(frozen=True, slots=True)
class Sources:
    """All that is known beforehand.

    roster : the class; empty: nobody says
    worn : the list of straps
    starts : when each student began, as seconds after midnight; ``""``: the whole class
    works, notes : what was written on the day's form of each student (``written.Written``)
    zone : of the school, as typed; None: nobody says
    known : codes of the logbook
    protocols : of the logbook by name
    last : a student's last trial by the student's code
    named : the last trial of each student with a file of a name, the newest first, by what that name is without date
        and time (``names.bare``)
    today : no file can be of a later day; None: nobody says
    given : whose a file is by what a person said of that very file, by its path; empty: nobody's of those
    stored : strap, in small letters, and student of files that are in the logbook already and no longer in the bag
    """

    roster: tuple[Listed, ...] = ()
    worn: tuple[Worn, ...] = ()
    starts: Mapping[str, float] = field(default_factory=dict[str, float])
    works: Mapping[str, str] = field(default_factory=dict[str, str])
    notes: Mapping[str, str] = field(default_factory=dict[str, str])
    zone: str | None = None
    known: frozenset[str] = frozenset()
    protocols: Mapping[str, Protocol] = field(default_factory=dict[str, Protocol])
    last: Callable[[str], Earlier | None] = lambda _: None
    named: Mapping[str, tuple[Earlier, ...]] = field(default_factory=dict[str, tuple[Earlier, ...]])
    today: date | None = None
    given: Mapping[Path, tuple[str, ...]] = field(default_factory=dict[Path, tuple[str, ...]])
    stored: frozenset[tuple[str, str]] = frozenset()

    @property
    def expected(self) -> tuple[str, ...]:
        """Students of whom there should be a file: of the roster, the list of straps, the time table, the form."""
        codes = (each.code for part in (self.roster, self.worn) for each in part)
        return tuple(dict.fromkeys(code for code in (*codes, *self.starts, *self.works, *self.notes) if code))

    def start_of(self, code: str | None) -> float | None:
        """When a student began [s after midnight]; None: nobody says."""
        return self.starts.get(code or "", self.starts.get(""))

    @property
    def begun(self) -> Mapping[str, float]:
        """When each student began [s after midnight]: with the rest, else with the work."""
        spans = {code: clock_span(text) for code, text in self.works.items()}
        return {**{code: span[0] for code, span in spans.items() if span is not None}, **self.starts}

    def listed(self, code: str) -> Listed | None:
        """A student's row of the roster."""
        return next((each for each in self.roster if each.code == code), None)
