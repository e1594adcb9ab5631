"""A row of a class's table with all that measuring it needs: sent to a worker, which sees no logbook."""

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import Literal, TypeAlias

from ...errors import OwnmarkError
from ...ingest.files import Refused
from ..class_table import Row
from ..intake import Gathered
from ..protocol import Protocol
from ..row_day import Days
from ..row_outcome import Outcome
from ..store.adding import Entry
from ..student import Student

Order: TypeAlias = int | Literal["open"] | None
"""Which day of an open date the other rows of the table mean (``row_day.Days``); open: nobody looked yet."""


class OrderOpen(Exception):
    """A date can be two days, and what the other rows say of it is to be looked at first."""


def days_of(stated: Counter[date], order: Order) -> Days:
    """What is known of a table's days, where its rows are not at hand.

    Its ``order`` raises ``OrderOpen`` where nobody looked yet.
    """

    def known() -> int | None:
        if order == "open":
            raise OrderOpen
        return order

    return Days(stated, known)


@dataclass(frozen=True, slots=True)
class Job:
    """One row.

    row : in its zone
    files : what was read of its files already; None: whoever works reads them where the row says
    student, mark, held : as ``measured_with.Facts``
    day, today : as ``class_day.add_class``
    stated, order : of the days of its table
    correct : what the row says otherwise than a trial that is there is to correct it
    since : as ``class_day.add_class``
    """

    row: Row
    files: Gathered | None
    student: Student | OwnmarkError
    protocol: Protocol
    mark: str
    held: frozenset[str]
    day: date | None
    today: date
    stated: Counter[date]
    order: Order
    correct: bool = False
    since: date | None = None


@dataclass(frozen=True, slots=True)
class Ready:
    """A trial that is measured and can be stored.

    told : what was measured, in a line
    refused : files that could not be read
    hashes : SHA-256 of the recordings that it rests on, by every name that a logbook may know them by
    hearts : keys of all that these recordings hold of a heart
    recordings : the same of each file of the row, in their order; empty where one of them could not be read
    """

    entry: Entry
    told: str
    refused: tuple[Refused, ...] = ()
    hashes: frozenset[str] = frozenset()
    recordings: tuple[frozenset[str], ...] = ()
    hearts: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Decided:
    """A row that is refused, or of which something is asked.

    hashes : SHA-256 of its recordings, where it is only so as long as no other trial holds one of them
    """

    outcome: Outcome
    hashes: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Known:
    """A row whose recordings are all in trials of its student: nothing was read.

    recordings : SHA-256 of those in each of its files, in their order
    """

    recordings: tuple[frozenset[str], ...]


@dataclass(frozen=True, slots=True)
class Undecided:
    """A row of whose day the whole table is to be asked first."""


Done: TypeAlias = Ready | Decided | Known | Undecided
