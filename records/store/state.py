"""Whether anything in the logbook changed, asked in microseconds: a mark that differs once somebody has written.

SQLite's ``data_version`` tells a connection that another one has committed, this program's own as well as another
program's; so the question is asked on a connection that never writes. PostgreSQL names the transactions that a query
would see. Neither mark says what changed, and on a server a write into another database changes it too.
"""

import sqlite3
import threading
from collections.abc import Hashable
from typing import TYPE_CHECKING

from . import opening
from .failures import told

if TYPE_CHECKING:
    from .location import Place


class Watch:
    """One place's mark. May be asked from several threads."""

    def __init__(self, place: "Place", engine: opening.Engine) -> None:
        self._place, self._engine = place, engine
        self._raw: sqlite3.Connection | None = None
        self._lock = threading.Lock()

    def mark(self) -> Hashable:
        """The mark of now. Equal marks of one watch: nothing was written in between."""
        if self._place.file is None:
            with opening.connected(self._engine, self._place) as raw:
                row = raw.execute("SELECT pg_current_snapshot()::text").fetchone()
                return None if row is None else row[0]
        with self._lock, told(self._place.shown):
            if self._raw is None:
                self._raw = opening.watching(self._place)
            return self._raw.execute("PRAGMA data_version").fetchall()[0][0]

    def close(self) -> None:
        """Let go of the connection."""
        with self._lock:
            if self._raw is not None:
                self._raw.close()
                self._raw = None
