"""What the logbook holds of recordings that rows bring again: asked for many rows at once, compared row by row."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from ...errors import OwnmarkError
from ..class_table import Row
from ..intake import Gathered
from ..protocol import Protocol
from ..row_correction import correction_of_row
from ..row_day import Days
from ..row_outcome import Outcome, written
from ..store.adding import twin_refusal
from ..store.measured_with import holders_of, stored_as
from ..store.rows import same_as_files
from ..trial import Trial

if TYPE_CHECKING:
    from ..store.logbook import Within

Recordings = Sequence[Collection[str]]
NO_FILES = Gathered(())
MEASURED_BY = (
    *("rest_phase", "work", "recovery", "assisted", "floor", "margin_s", "confirmed"),
    *("columns", "file_columns", "rate_hz", "zone", "offsets", "clock_shifts"),
)
"""Fields of a trial on which it depends what is asked of it, and whether other trials stand against it."""


class There:
    """Answers what ``row_correction.otherwise`` asks of a logbook, from what was looked up for all rows together.

    recordings : SHA-256 of the recordings that will be asked of
    """

    def __init__(self, inside: "Within", recordings: Collection[str]) -> None:
        self._inside = inside
        self._holders = holders_of(inside.connection, recordings)
        numbers = sorted({number for each in self._holders.values() for number, _ in each})
        self._trials = _trials(inside, numbers)
        self._keys = {key: number for number, key in stored_as(inside.connection, numbers).items()}
        self._protocols: dict[tuple[str, int | None], Protocol] = {}

    def twin(self, code: str, recordings: Collection[str]) -> int | None:
        """The number of the student's trial out of just these recordings; None where there is none."""
        return self._keys.get((code, same_as_files(recordings)))

    def holders(self, recording: str) -> tuple[tuple[int, str], ...]:
        """As ``Logbook.holders``."""
        return self._holders.get(recording, ())

    def trial(self, number: int, *, with_sheet: bool = True) -> Trial:
        """As ``Logbook.trial``."""
        return self._inside.trial(number) if with_sheet else self._trials[number]

    def protocol(self, name: str, version: int | None = None) -> Protocol:
        """As ``Logbook.protocol``."""
        if (name, version) not in self._protocols:
            self._protocols[name, version] = self._inside.protocol(name, version)
        return self._protocols[name, version]

    def original(self, sha256: str) -> bytes:
        """As ``Logbook.original``."""
        return self._inside.original(sha256)

    def outcome(self, row: Row, days: Days, recordings: Recordings, today: date) -> Outcome | None:
        """A row that says of a trial what is kept of it; None where it does not, or that is not certain.

        recordings : SHA-256 of those in each of its files, in their order
        """
        if len(recordings) != len(row.files) or not recordings:
            return None
        number = self.twin(row.code.strip().upper(), {each for some in recordings for each in some})
        if number is None:
            return None
        kept = self._trials.get(number)
        if kept is None or (row.days and kept.on not in row.days):
            return None
        on = {} if "on" in row.texts else {"on": kept.on.isoformat()}
        by_file = dict(zip(row.files, recordings, strict=True))
        try:
            protocol = self.protocol(row.texts["protocol"])
            said = written(replace(row, texts={**row.texts, **on}), protocol, NO_FILES, None, today, days)
            if any(getattr(said.trial, name) != getattr(kept, name) for name in MEASURED_BY):
                return None  # an empty cell takes nothing away, and yet such a row may be asked or refused
            said = replace(said, stated=not on or bool(row.days))
            found = correction_of_row(self, row, said, protocol, today, by_file)
        except OwnmarkError:
            return None  # told where its files are read
        if found is None or not found.nothing or found.kept.id != number:
            return None
        there = twin_refusal(number, kept, kept.on)
        return Outcome(row, "there already", str(there), code=there.code, number=number)


def _trials(inside: "Within", numbers: Sequence[int]) -> dict[int | None, Trial]:
    """These trials without their sheets; none, where one of them is damaged: each row is told of its own then."""
    try:
        return {each.id: each for each in inside.trials_numbered(numbers, with_sheets=False)}
    except OwnmarkError:
        return {}
