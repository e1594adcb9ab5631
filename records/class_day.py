"""A whole class's day into the logbook, row by row; each row stands for itself, and nothing is lost.

A row whose trial is there already is passed over, so that a table can be mended and given again. Files that cannot be
read are copied to a folder of their own, with the reason beside them.
"""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from .. import ledger
from ..errors import AlreadyThere, IngestError, NotConfirmed, OwnmarkError, Question, ReaderFault, UnreadableFile
from ..ingest.containers import MAX_FILE_BYTES
from ..ingest.files import Refused
from ..words.numbers import clock, rounded
from ..words.plain import cell_text, printable
from ..words.render import english
from ..words.vocabulary import FIGURES
from . import guards
from .adding import Kept, keep
from .class_table import Row
from .entry import trial_of
from .mending import Edit
from .plan.messages import DAY_PLAN_ANSWER
from .row_correction import Correction, apply, correction_of
from .row_day import Days, day_of
from .row_files import of_files
from .store.atomic_files import write_whole
from .store.settings import zone_of

if TYPE_CHECKING:
    from .store.logbook import Logbook

REASONS = "reasons.csv"
CHECKED = "checked"
"""The answer by which a row with something in its column ``check`` goes in; a mere yes answers every other question
too."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a row.

    state : added, there already, corrected, to confirm (a question is open), or refused
    sentence : what to tell of it
    code : of the refusal that the sentence is of; empty where there is none
    questions : that are open, where it is to confirm
    reason : the refusal or question itself, for whoever tells it in another language; None where there is none
    refused : files that could not be read
    kept : the trial, where it was added
    fault : what ownmark itself failed at in this row, None where it did not
    """

    row: Row
    state: Literal["added", "there already", "corrected", "to confirm", "refused"]
    sentence: str
    refused: tuple[Refused, ...] = ()
    kept: Kept | None = None
    fault: Exception | None = None
    code: str = ""
    questions: tuple[Question, ...] = ()
    reason: OwnmarkError | None = None


def add_class(
    logbook: "Logbook",
    rows: Sequence[Row],
    *,
    day: date | None,
    today: date,
    zone: str | None = None,
    correct: bool = False,
) -> Iterator[Outcome]:
    """Add every row's trial, each in a transaction of its own.

    zone : of every row that states none; None: the logbook's
    day : of every row that states none and whose files state none
    today : no trial lies behind it
    correct : a row whose recording is in the logbook corrects that trial where it says otherwise
    """
    zone = zone or zone_of(logbook)
    rows = [_in_zone(row, zone) for row in rows]
    days = Days.of(rows)
    for row in rows:
        before = ledger.mark()
        try:
            outcome = _outcome(logbook, row, day, today, days, correct=correct)
        except Exception as fault:  # noqa: BLE001 whatever it is, the other rows are added
            outcome = _failed(row, fault, written=bool(ledger.since(before)))
        yield outcome


def _in_zone(row: Row, zone: str | None) -> Row:
    """A row with files in the zone of the others, where it names none."""
    if zone is None or not row.files or row.texts.get("zone"):
        return row
    return replace(row, texts={**row.texts, "zone": zone})


def _failed(row: Row, fault: Exception, *, written: bool) -> Outcome:
    """A row at which ownmark itself failed; it may have failed after the trial was added."""
    told = f"ownmark itself failed at this row ({type(fault).__name__}); the other rows go on."
    mend = "Please report it with the row and its files; OWNMARK_TRACEBACK=1 shows where."
    if written:
        return Outcome(row, "added", f"The trial is in the logbook. Then {told} {mend}", fault=fault)
    refused = tuple(Refused(printable(str(path)), ReaderFault(told, where=path.name, mend=mend)) for path in row.files)
    what = f"{told[0].upper()}{told[1:]} Nothing of it was added. {mend}"
    return Outcome(row, "refused", what, refused, fault=fault)


def _outcome(logbook: "Logbook", row: Row, day: date | None, today: date, days: Days, *, correct: bool) -> Outcome:
    """One row."""
    if row.problem:
        return Outcome(row, "refused", row.problem)
    check = row.texts.get("check", "")
    if check and CHECKED not in row.answers:
        asked = Question(DAY_PLAN_ANSWER, (CHECKED,))
        return Outcome(row, "to confirm", english(DAY_PLAN_ANSWER), questions=(asked,))
    try:
        if not row.texts.get("protocol"):
            return Outcome(row, "refused", "The row names no protocol.")
        protocol = logbook.protocol(row.texts["protocol"])
        texts = {name: text for name, text in row.texts.items() if name != "check"}
        stated = "on" in texts or bool(row.days)
        more = of_files(row)
        if "on" not in texts:
            texts |= {"on": day_of(row, day, today, days).isoformat()}
        texts["notes"] = " ".join(part for part in (texts.get("notes", ""), *row.notes) if part)
        trial = trial_of(texts, protocol, today=today, **more)
        try:
            kept = keep(logbook, trial, row.files, today=today, day_stated=stated, worn=row.worn)
        except AlreadyThere as there:
            said = guards.answered({name: text for name, text in texts.items() if name != "on" or stated}, trial)
            about = Edit(columns=row.columns, clock_shifts=row.clock_shifts, offsets=more["offsets"], worn=row.worn)
            found = correction_of(logbook, trial, protocol, said, row.files, today, about) if row.files else None
            return _there(logbook, row, there, found, today, correct=correct)
    except NotConfirmed as question:
        return Outcome(
            row, "to confirm", str(question), code=question.code, questions=question.questions, reason=question
        )
    except IngestError as reason:
        refused = tuple(Refused(str(path), _reason(path, reason)) for path in row.files)
        return Outcome(row, "refused", str(reason), refused, code=reason.code, reason=reason)
    except OwnmarkError as reason:
        return Outcome(row, "refused", str(reason), code=reason.code, reason=reason)
    answered = f". Answered by “{CHECKED}”: {check.rstrip('.')}" if check else ""
    return Outcome(row, "added", f"{_told(kept)}{answered}", kept.refused, kept)


def _there(
    logbook: "Logbook", row: Row, there: AlreadyThere, found: Correction | None, today: date, *, correct: bool
) -> Outcome:
    """A row whose recording is in the logbook: what it says otherwise is told, or corrected."""
    if found is None or found.nothing:
        return Outcome(row, "there already", str(there), code=there.code)
    number = found.kept.id
    if not correct:
        told = f"Trial {number} holds its recording; the row says otherwise: {found.sentence()}. --correct applies it."
        return Outcome(row, "there already", told, code=there.code)
    mended = apply(logbook, found, why="class table", today=today)
    more = "".join(f". {english(each)}" for each in mended.told)
    return Outcome(row, "corrected", f"trial {number}: {found.sentence()}{more}")


def _reason(path: Path, reason: IngestError) -> IngestError:
    """The refusal as it stands beside each file of a row that has nothing else."""
    if Path(reason.where).name == path.name:
        return reason
    return type(reason)("its row could not be added.", where=str(path), mend=str(reason))


def _told(kept: Kept) -> str:
    """A line on what was measured, for whoever put the class in."""
    if kept.sheet is None:
        count = len(kept.trial.hand_results)
        what = f"{count} result{'' if count == 1 else 's'} entered by hand" if count else "a distance"
        return f"trial {kept.trial.id}, {what}"
    figures = kept.sheet.figures
    used = kept.sheet.provenance.phases.work
    parts = [f"work {clock(used[1] - used[0])}"]
    for name, word in (("coverage_heart_rate", "heart rate"), ("coverage_motion", "movement")):
        value = figures[name].value
        if value is not None:
            parts.append(f"{word} measured {rounded(value, FIGURES[name].digits)} %")
    lost = f"; files left out: {len(kept.refused)}" if kept.refused else ""
    if len(parts) == 1:
        parts.append("nothing measured at work")
    more = "".join(f". {english(each)}" for each in (*kept.unseen, *([kept.remark] if kept.remark else [])))
    return f"trial {kept.trial.id}, {', '.join(parts)}{lost}{more}"


def set_aside(outcomes: Sequence[Outcome], folder: Path) -> tuple[Path, ...]:
    """Copy the files that could not be read into a folder, with a table of the reasons; originals stay where they are.

    Copies that are there already are not doubled. Gives back the copies.

    Raises
    ------
    UnreadableFile
        If the folder cannot be written.
    """
    bad = [(each.row, refused) for each in outcomes for refused in each.refused]
    if not bad:
        return ()
    copies: list[Path] = []
    lines: list[tuple[int, str, str, str, str]] = []
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for row, refused in bad:
            path = _source(row, refused)
            copies += _copied(path, folder) if path is not None else []
            name = printable(Path(refused.path).name)
            lines.append((row.number, row.code, name, refused.reason.code, str(refused.reason)))
        _write_reasons(folder / REASONS, lines)
    except OSError as failure:
        why = failure.strerror or "it cannot be written"
        raise UnreadableFile(
            f"{why[0].lower()}{why[1:]}.", where=str(folder), mend="Choose another: --aside."
        ) from None
    return tuple(copies)


def _write_reasons(path: Path, lines: Sequence[tuple[object, ...]]) -> None:
    """The table of reasons, whole or not at all, readable by its owner only."""
    text = StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(("row", "code", "file", "reason", "sentence"))
    writer.writerows([cell_text(cell) if isinstance(cell, str) else cell for cell in line] for line in lines)
    write_whole(path, text.getvalue().encode())


def _source(row: Row, refused: Refused) -> Path | None:
    """The file behind a refusal; None if there is none to copy."""
    refused_path = printable(refused.path)
    names = [(path, printable(path.name)) for path in row.files]
    found = (path for path, name in names if Path(refused_path).name == name or refused_path.startswith(f"{name}/"))
    return next((path for path in found if path.is_file()), None)


def _copied(path: Path, folder: Path) -> list[Path]:
    """A copy under the file's name, or under a name with its hash where another file has that name.

    Empty where the file cannot be read or is larger than any recording: the table of reasons says so of it, and the
    others are copied.
    """
    try:
        if path.stat().st_size > MAX_FILE_BYTES:  # no recording, and it may not even fit into memory
            return []
        data = path.read_bytes()
    except OSError:
        return []
    target = folder / path.name
    if target.exists() and target.read_bytes() != data:
        target = folder / f"{path.stem}-{sha256(data).hexdigest()[:8]}{path.suffix}"
    if not target.exists():
        write_whole(target, data)
    return [target]
