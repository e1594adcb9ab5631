"""Whose hearts the rows of one transaction hold, in the logbook and among the rows before them."""

from collections.abc import Collection
from typing import TYPE_CHECKING

from ..same_heart import ENOUGH
from ..store.heart_rows import holding

if TYPE_CHECKING:
    from sqlalchemy import Connection


class Hearts:
    """The students that hold each of some keys (``ingest/heart_keys.py``)."""

    def __init__(self, connection: "Connection", keys: Collection[str]) -> None:
        held = holding(connection, keys)
        self._codes = {key: {code for _, code in each} for key, each in held.items()}

    def of_another(self, code: str, keys: Collection[str]) -> bool:
        """Whether so many keys are another student's that it must be looked at."""
        return sum(1 for key in keys if self._codes.get(key, set()) - {code}) >= ENOUGH

    def add(self, code: str, keys: Collection[str]) -> None:
        """A student's trial that goes in with the others."""
        for key in keys:
            self._codes.setdefault(key, set()).add(code)
