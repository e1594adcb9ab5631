"""JSON: every trial with its figures whole, with basis, source and note, as the sheet has them; a trial a line.

{"schema", "ownmark", "asked", "cautions", "columns": [{"table", "column", "unit", …}], "trials": [{…, "figures",
"hand_results"}]}
"""

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import IO, Any

from ... import __version__
from ...metrics.conditions import GENERAL_CAUTIONS
from ...words.render import english
from .columns import ABOUT, BASIS, CHANGE, EXPLAINED, HAND, explained
from .rows import Record, about_cells, basis_cells, hand_rows
from .selection import Asked

SCHEMA = "ownmark-export-1"
_HAND = [each.name for each in HAND[6:]]
"""Names of a hand result's own columns; those before are the trial's."""


def files(path: Path) -> tuple[Path, ...]:
    """The files of an export to ``path``."""
    return (path,)


class Writer:
    """Writes record after record to the handle."""

    def __init__(self, handles: Sequence[IO[bytes]], asked: Asked) -> None:
        self._handle = handles[0]
        self._asked = asked
        self._encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, default=date.isoformat).encode
        self._names = [each.name for each in (*ABOUT, *BASIS, *(CHANGE if asked.change else ()))]
        head = self._encode(head_of(asked))
        self._write(f'{head[:-1]}, "trials": [')
        self._first = True

    def add(self, record: Record) -> None:
        """Write a trial."""
        self._write(("\n" if self._first else ",\n") + self._page(record))
        self._first = False

    def _page(self, record: Record) -> str:
        cells = (*about_cells(record), *basis_cells(record), *record.change)
        page = dict(zip(self._names, cells, strict=True))
        del page["figures_not_given"], page["figure_notes"]  # they stand with the figures
        sheet = record.trial.sheet
        figures = '"figures": {}' if sheet is None else sheet.model_dump_json(include={"figures"})[1:-1]
        by_hand = self._encode([dict(zip(_HAND, row[6:], strict=True)) for row in hand_rows(record)])
        return f'{self._encode(page)[:-1]}, {figures}, "hand_results": {by_hand}}}'

    def _write(self, text: str) -> None:
        self._handle.write(text.encode("utf-8", "backslashreplace"))

    def close(self) -> None:
        """End the list."""
        self._write("\n]}\n")

    def drop(self) -> None:
        """Nothing is held."""


def head_of(asked: Asked) -> dict[str, Any]:
    """Everything before the trials."""
    wanted = {"from": asked.since, "to": asked.until, "protocol": asked.protocol, "change": asked.change}
    wanted["with_health"] = asked.with_health
    return {
        "schema": SCHEMA,
        "ownmark": __version__,
        "asked": wanted,
        "cautions": [english(each) for each in GENERAL_CAUTIONS],
        "columns": [dict(zip(EXPLAINED, row, strict=True)) for row in explained(asked.change)],
    }
