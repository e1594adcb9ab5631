"""A row of a class's table whose recording is in the logbook already: what it says otherwise, and applying that.

One recording counts once, however its row is mended: the row never makes a second trial, it corrects the first.
"""

import typing
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from ..ingest.clock_shift import written_shift
from ..words.plain import printable
from ..words.shapes import is_object
from . import guards
from .address import Place
from .entry import edited, field_named
from .intake import readable_files
from .measuring import files_of
from .mending import Edit, Mended, edit_trial, said_of_files
from .row_outcome import Written
from .same_times import same_phases
from .trial import Trial

if TYPE_CHECKING:
    from .class_table import Row
    from .protocol import Protocol
    from .store.logbook import Logbook


class Kept(typing.Protocol):
    """What is asked of a logbook here."""

    def holders(self, recording: str) -> tuple[tuple[int, str], ...]:
        """Number and student's code of every trial of a recording."""
        ...

    def trial(self, number: int, *, with_sheet: bool = True) -> Trial:
        """A trial."""
        ...

    def protocol(self, name: str, version: int | None = None) -> "Protocol":
        """A protocol."""
        ...

    def original(self, sha256: str) -> bytes:
        """The bytes of a kept file."""
        ...


NOTHING = Edit()
_NOT_OF_THE_ROW = frozenset({"code", "protocol", "confirmed"})


@dataclass(frozen=True, slots=True)
class Correction:
    """What a row says otherwise than the trial that is kept.

    kept : the trial
    edit : what makes it what the row says: its texts, and its files that the trial does not have
    fields : each field with what is kept and what the row says
    """

    kept: Trial
    edit: Edit
    fields: Mapping[str, tuple[object, object]]

    @property
    def nothing(self) -> bool:
        """Whether the row says what is kept."""
        return not self.fields and not self.edit.add

    def sentence(self) -> str:
        """What differs, field by field, for whoever gave the table."""
        parts = [
            f"{name.replace('_', ' ')} {_of(name, new)} (kept: {_of(name, old)})"
            for name, (old, new) in self.fields.items()
        ]
        parts += [f"a further file, {path.name}" for path in self.edit.add]
        return "; ".join(parts)


def correction_of(
    logbook: Kept,
    trial: Trial,
    protocol: "Protocol",
    texts: Mapping[str, str],
    files: Sequence[Place],
    today: date,
    about: Edit = NOTHING,
) -> Correction | None:
    """What a row says otherwise than the one trial of its student that holds a recording of it.

    Parameters
    ----------
    trial : out of the row
    texts : the row's own; an empty cell says nothing
    about : what it says of its files: columns, offsets, clock shifts; when the strap was worn

    None where none of its files is in a trial of that student, or several trials hold them: a person decides then.

    Raises
    ------
    OwnmarkError
        If a file cannot be read, or a text does not fit.
    """
    return otherwise(logbook, trial, protocol, texts, _recordings(trial, files), today, about)


def correction_of_row(
    logbook: Kept,
    row: "Row",
    said: Written,
    protocol: "Protocol",
    today: date,
    recordings: Mapping[Place, Collection[str]] | None = None,
) -> Correction | None:
    """As ``correction_of``, of a row of a class's table; None where it has no files.

    recordings : SHA-256 of each recording in each of its files, where that is known; else they are read
    """
    if not row.files:
        return None
    texts = guards.answered(
        {name: text for name, text in said.texts.items() if name != "on" or said.stated}, said.trial
    )
    about = Edit(columns=row.columns, clock_shifts=row.clock_shifts, offsets=said.of_files["offsets"], worn=row.worn)
    if recordings is None:
        recordings = _recordings(said.trial, row.files)
    return otherwise(logbook, said.trial, protocol, texts, recordings, today, about)


def otherwise(
    logbook: Kept,
    trial: Trial,
    protocol: "Protocol",
    texts: Mapping[str, str],
    recordings: Mapping[Place, Collection[str]],
    today: date,
    about: Edit = NOTHING,
) -> Correction | None:
    """As ``correction_of``, of files of which it is known what recordings are in each, by their SHA-256."""
    numbers = {
        number
        for hashes in recordings.values()
        for each in hashes
        for number, code in logbook.holders(each)
        if code == trial.code
    }
    if len(numbers) != 1:
        return None
    kept = logbook.trial(numbers.pop(), with_sheet=False)
    there = {file.recording for file in kept.files}
    add = tuple(path for path, hashes in recordings.items() if there.isdisjoint(hashes))
    said = {name: text for name, text in texts.items() if text.strip() and field_named(name) not in _NOT_OF_THE_ROW}
    other = None if protocol.name == kept.protocol else protocol.name
    done_by = protocol if other else logbook.protocol(kept.protocol, kept.protocol_version)
    edit = replace(about, texts=said, protocol=other, add=add, answers=trial.confirmed, of_row=True)
    names = [*(file.path for file in kept.files), *(printable(path.name) for path in add)]
    after = said_of_files(edited(kept, done_by, said, today=today), names, edit)
    same = frozenset[str]() if add else same_phases(logbook, kept, after)
    edit = replace(edit, texts={name: text for name, text in said.items() if field_named(name) not in same})
    changed = [name for name in Trial.model_fields if getattr(kept, name) != getattr(after, name) and name not in same]
    fields = {name: (getattr(kept, name), getattr(after, name)) for name in changed}
    return Correction(kept, edit, fields)


def apply(logbook: "Logbook", correction: Correction, *, why: str, today: date) -> Mended:
    """Correct the kept trial as the row says; its former state goes into its history.

    Raises
    ------
    OwnmarkError
        As ``mending.edit_trial``.
    """
    return edit_trial(logbook, correction.kept.id or 0, correction.edit, why=why, today=today)


def _recordings(trial: Trial, files: Sequence[Place]) -> dict[Place, set[str]]:
    """SHA-256 of each recording in each file."""
    found = {path: set[str]() for path in files}
    opened = files_of(trial, readable_files(trial, files))
    for each in opened.recordings:
        source = each.sources[0]
        found[files[opened.place[source.path]]].add(source.recording)
    return found


def _of(name: str, value: object) -> str:
    """A field's value in a line; what is added to a clock as it is typed."""
    if value is None or value in ("", ()):
        return "nothing"
    if is_object(value):
        shift = name == "clock_shifts"
        pairs = [f"{key} {written_shift(float(str(each))) if shift else _of('', each)}" for key, each in value.items()]
        return ", ".join(pairs) or "nothing"
    return f"{value:g}" if isinstance(value, float) else str(value)
