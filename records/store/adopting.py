"""Received files of which no entry tells, because the page was stopped between the two: they are entered."""

from datetime import datetime
from hashlib import file_digest
from typing import TYPE_CHECKING

from ..day_entry import Entry, FileIn, entry
from .day_entries import append, entries_of
from .received import received_at

if TYPE_CHECKING:
    from .logbook import Logbook


def adopt(logbook: "Logbook", at: datetime) -> tuple[Entry, ...]:
    """Sweep what is half-written, and enter every whole file that lies in the folder and was never entered.

    A file that is being entered at this moment is entered twice, which says nothing new.
    """
    folder = received_at(logbook.place)
    folder.sweep()
    found: list[Entry] = []
    for day in list(folder.days()):
        known = {each.what.sha256[:32] for each in entries_of(logbook, day) if isinstance(each.what, FileIn)}
        for half, path in folder.paths(day).items():
            if half in known:
                continue
            with path.open("rb") as file:
                digest = file_digest(file, "sha256").hexdigest()
            if digest.startswith(half):  # else it was changed by something else
                size = path.stat().st_size
                found.append(entry(day, at, FileIn(sha256=digest, name=path.name, size=size)))
    return append(logbook, *found) if found else ()
