"""From values to rows and back. Reading checks every seal."""

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from ...errors import NotATrial
from ...metrics.figure import EffortSheet
from ..file_names import without_names
from ..protocol import Protocol
from ..student import Student
from ..trial import KeptFile, Trial
from ..value import KEPT
from .cells import Row, text, whole
from .heart_rows import number_of
from .seals import damaged, sealed, unsealed

NO_SHEET, MAKE_AGAIN = "its sheet is not one that ownmark made.", "Make it again from the files."
_BESIDE = {"id", "sheet", "computed_by"}


class FigureRow(NamedTuple):
    """One figure of one trial, as a list or an export needs it."""

    trial_id: int
    code: str
    protocol: str
    protocol_version: int
    day: date
    name: str
    value: float | None
    unit: str
    low: float | None
    high: float | None
    coverage: float | None
    basis: str | None
    source: str
    note: str | None


@dataclass(frozen=True, slots=True)
class TrialRows:
    """All rows of one trial."""

    trial: Row
    detail: Row
    sheet: Row | None
    files: tuple[Row, ...]
    hearts: tuple[Row, ...] = ()


@dataclass(frozen=True, slots=True)
class Rendered:
    """What of a trial's rows takes longest to write, and does not hang on its number."""

    detail: str
    sheet: str | None
    computed_by: str | None
    figures: int


def rendered(trial: Trial) -> Rendered:
    """A trial's texts for its rows."""
    sheet = trial.sheet
    return Rendered(
        trial.model_dump_json(exclude=_BESIDE),
        None if sheet is None else sheet_text(sheet),
        trial.computed_by or computed_by(sheet),
        0 if sheet is None else len(sheet.figures),
    )


def student_row(student: Student) -> Row:
    """The row of a student."""
    return sealed(student.code, student.model_dump_json())


def student_from(row: Sequence[object]) -> Student:
    """A student out of its row.

    The conditions were checked when they were written, and the seal vouches for them: checking them again would load
    the numerical libraries, which takes longer than all the rest of showing a student.
    """
    fields = json.loads(text(unsealed(row, f"student {row[0]}")[1]))
    conditions = tuple(fields.pop("conditions", ()))
    return Student.model_validate_json(json.dumps(fields), context=KEPT).model_copy(update={"conditions": conditions})


def protocol_row(protocol: Protocol) -> Row:
    """The row of a protocol's version."""
    return sealed(protocol.name, protocol.version, protocol.component, protocol.model_dump_json())


def protocol_from(row: Sequence[object]) -> Protocol:
    """A protocol's version out of its row."""
    *_, value = unsealed(row, f"the protocol {row[0]}")
    return Protocol.model_validate_json(text(value), context=KEPT)


def trial_rows(trial: Trial, number: int, same_as: str, texts: Rendered | None = None) -> TrialRows:
    """Every row of a trial that gets this number.

    texts : of the trial, where they are written already; the trial itself need not hold its sheet then
    """
    texts = texts or rendered(trial)
    return TrialRows(
        trial=_trial_row(trial, number, same_as, texts),
        detail=sealed(number, texts.detail),
        sheet=None if texts.sheet is None else sealed(number, texts.sheet),
        files=tuple(
            sealed(number, place, file.path, file.sha256, file.recording) for place, file in enumerate(trial.files)
        ),
        hearts=tuple(
            sealed(number, number_of(key)) for key in sorted({key for file in trial.files for key in file.heart_keys})
        ),
    )


def _trial_row(trial: Trial, number: int, same_as: str, texts: Rendered) -> Row:
    """The narrow row that vouches for all others of the trial."""
    return sealed(
        number,
        trial.code,
        trial.protocol,
        trial.protocol_version,
        trial.on,
        trial.time_of_day,
        trial.practice,
        texts.computed_by,
        texts.sheet is not None,
        len(trial.files),
        texts.figures,
        same_as,
    )


def sheet_row(number: int, sheet: EffortSheet | None) -> Row | None:
    """The row of a trial's sheet."""
    return None if sheet is None else sealed(number, sheet_text(sheet))


def sheet_text(sheet: EffortSheet) -> str:
    """A sheet as it is kept: what it states and nothing beside, so that an older one keeps what it left unsaid."""
    return sheet.model_dump_json(by_alias=True, exclude_unset=True, round_trip=True)


def kept_sheet(kept: str, files: Sequence[KeptFile]) -> EffortSheet:
    """A sheet as it was kept, of any schema, without the names that files were given.

    Raises
    ------
    NotATrial
        If it is none that ownmark made.
    """
    try:
        return without_names(EffortSheet.from_json(kept), files)
    except ValueError:
        raise NotATrial(NO_SHEET, mend=MAKE_AGAIN) from None


def computed_by(sheet: EffortSheet | None) -> str | None:
    """The version of ownmark that made a sheet."""
    return None if sheet is None else sheet.provenance.ownmark


def trial_from(row: Sequence[object], detail: Sequence[object] | None, sheet: Sequence[object] | None) -> Trial:
    """A trial out of its rows; a sheet that was not asked for is None.

    Raises
    ------
    LogbookDamaged
        If a row is missing or its seal does not fit.
    """
    what = f"trial {row[0]}"
    number, by = whole(unsealed(row, what)[0]), row[7]
    if detail is None:
        raise damaged(what)
    trial = Trial.model_validate_json(text(unsealed(detail, what)[1]), context=KEPT)
    more = None if sheet is None else kept_sheet(text(unsealed(sheet, what)[1]), trial.files)
    return trial.model_copy(update={"id": number, "computed_by": by, "sheet": more})


def same_as(trial: Trial, *, again: bool = False) -> str:
    """What makes a student's trial the same as another one: its files; without files, its day and its results.

    again : it is known to be a second trial out of the same files, told by its protocol and phases
    """
    if trial.files:
        parts = (trial.protocol, trial.rest_phase, trial.work, trial.recovery) if again else ()
        return same_as_files([file.recording for file in trial.files], *parts)
    results = sorted((each.name, each.side or "", each.attempt, each.value) for each in trial.hand_results)
    return _digest([trial.protocol, trial.on.isoformat(), trial.time_of_day, results])


def same_as_files(recordings: Iterable[str], *apart: str | None) -> str:
    """As ``same_as``, of a trial out of these recordings, by the SHA-256 of each.

    apart : what tells a second trial out of the same files from the first
    """
    return _digest([*sorted(set(recordings)), *apart])


def _digest(parts: Sequence[object]) -> str:
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()
