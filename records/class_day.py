"""A whole class's day into the logbook, row by row; each row stands for itself, and nothing is lost.

A row whose trial is there already is passed over, so that a table can be mended and given again. Files that cannot be
read are copied to a folder of their own, with the reason beside them.
"""

import csv
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from functools import partial
from hashlib import sha256
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING

from .. import ledger
from ..errors import AlreadyThere, OwnmarkError, UnreadableFile
from ..ingest.containers import MAX_FILE_BYTES
from ..ingest.files import Refused
from ..words.plain import cell_text, printable
from ..words.render import english
from .adding import Kept, keep
from .address import Place, is_file
from .class_table import Row
from .intake import gathered
from .row_correction import Correction, apply, correction_of_row
from .row_day import Days
from .row_outcome import Outcome, answered, at_once, failed, refusal, told_of, written
from .store.atomic_files import write_whole
from .store.second_look import ChangedMeanwhile, look
from .store.settings import zone_of

if TYPE_CHECKING:
    from .store.logbook import Logbook, Within

REASONS = "reasons.csv"


def add_class(
    logbook: "Logbook",
    rows: Sequence[Row],
    *,
    day: date | None,
    today: date,
    zone: str | None = None,
    correct: bool = False,
    since: date | None = None,
) -> Iterator[Outcome]:
    """Add every row's trial, each in a transaction of its own.

    zone : of every row that states none; None: the logbook's
    day : of every row that states none and whose files state none
    today : no trial lies behind it
    correct : a row whose recording is in the logbook corrects that trial where it says otherwise
    since : the days that files state from this one on are right, however long ago; None: nobody said so
    """
    first = zone or zone_of(logbook)
    days = Days.of([in_zone(row, first) for row in rows], today)
    work = partial(outcome_of, day=day, today=today, days=days, zone=zone, correct=correct, since=since)
    for row in rows:
        before = ledger.mark()
        try:
            outcome = _settled(logbook, row, work)
        except Exception as fault:  # noqa: BLE001 whatever it is, the other rows are added
            outcome = failed(row, fault, written=bool(ledger.since(before)))
        yield outcome


def in_zone(row: Row, zone: str | None) -> Row:
    """A row with files in the zone of the others, where it names none."""
    if zone is None or not row.files or row.texts.get("zone"):
        return row
    return replace(row, texts={**row.texts, "zone": zone})


def _settled(logbook: "Logbook", row: Row, work: "Callable[[Logbook, Row], Outcome]") -> Outcome:
    """A row's outcome, beside the logbook; where what it rests on changed meanwhile, in one transaction."""
    try:
        return work(logbook, row)
    except ChangedMeanwhile:
        pass
    try:
        return in_one_transaction(logbook, lambda inside: work(inside, row))
    except OwnmarkError as reason:  # another program kept the logbook for too long
        return refusal(row, reason)


class _TakeBack(Exception):
    """Ends a transaction that found out what becomes of a row, and has nothing to keep."""

    def __init__(self, outcome: Outcome) -> None:
        super().__init__()
        self.outcome = outcome


def in_one_transaction(logbook: "Logbook", work: "Callable[[Within], Outcome]") -> Outcome:
    """What becomes of a row, of one state of the logbook: what it rests on is stored with it, or nothing is."""
    try:
        with logbook.within() as inside:
            outcome = work(inside)
            if outcome.state not in ("added", "corrected") or outcome.fault is not None:
                raise _TakeBack(outcome)
    except _TakeBack as found:
        return found.outcome
    return outcome


def outcome_of(
    logbook: "Logbook",
    row: Row,
    day: date | None,
    today: date,
    days: Days,
    *,
    zone: str | None,
    correct: bool,
    since: date | None = None,
) -> Outcome:
    """One row, in whatever transactions ``logbook`` makes.

    zone : that was asked for; None: the logbook's

    Raises
    ------
    ChangedMeanwhile
        If another program changed what it rests on; nothing was stored.
    """
    decided = at_once(row)
    if decided is not None:
        return decided
    try:
        seen = look(logbook, row.code, row.texts["protocol"])
        row = in_zone(row, zone or zone_of(logbook))
        protocol = logbook.protocol(row.texts["protocol"])
        files = gathered(row.files)
        said = written(row, protocol, files, day, today, days)
        try:
            stated = said.day_stated(since)
            kept = keep(logbook, said.trial, files, today=today, day_stated=stated, worn=row.worn, rests_on=seen)
        except AlreadyThere as there:
            found = correction_of_row(logbook, row, said, protocol, today)
            return _there(logbook, row, there, found, today, correct=correct)
    except OwnmarkError as reason:
        return refusal(row, reason)
    return Outcome(row, "added", f"{_told(kept)}{answered(row)}", kept.refused, kept, number=kept.trial.id)


def _there(
    logbook: "Logbook", row: Row, there: AlreadyThere, found: Correction | None, today: date, *, correct: bool
) -> Outcome:
    """A row whose recording is in the logbook: what it says otherwise is told, or corrected."""
    if found is None or found.nothing:
        return Outcome(row, "there already", str(there), code=there.code, number=found and found.kept.id)
    number = found.kept.id
    if not correct:
        told = f"Trial {number} holds its recording; the row says otherwise: {found.sentence()}. --correct applies it."
        return Outcome(row, "there already", told, code=there.code, number=number, otherwise=True)
    mended = apply(logbook, found, why="class table", today=today)
    more = "".join(f". {english(each)}" for each in mended.told)
    return Outcome(row, "corrected", f"trial {number}: {found.sentence()}{more}", number=number)


def _told(kept: Kept) -> str:
    """A line on what was measured, for whoever put the class in."""
    return f"trial {kept.trial.id}, {told_of(kept)}"


def set_aside(outcomes: Sequence[Outcome], folder: Path, inside: Path | None = None) -> tuple[Path, ...]:
    """Copy the files that could not be read into a folder, with a table of the reasons; originals stay where they are.

    Copies that are there already are not doubled. Gives back the copies.

    inside : where the tables and the folder come from somebody else: no file from elsewhere is copied, which would
        hand it over with the folder, and nothing is written elsewhere, whatever links stand there

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
    if inside is not None and not _lies_in(folder, inside):
        raise UnreadableFile("it is a link to another place.", where=str(folder), mend="Choose another: --aside.")
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for row, refused in bad:
            path = _source(row, refused)
            if path is not None and (inside is None or _lies_in(path, inside)):
                copies += _copied(path, folder)
            name = printable(Path(refused.path).name)
            lines.append((row.number, row.code, name, refused.reason.code, str(refused.reason)))
        _write_reasons(folder / REASONS, lines)
    except OSError as failure:
        why = failure.strerror or "it cannot be written"
        raise UnreadableFile(
            f"{why[0].lower()}{why[1:]}.", where=str(folder), mend="Choose another: --aside."
        ) from None
    return tuple(copies)


def _lies_in(path: Place, folder: Path) -> bool:
    """Whether a file lies in a folder, links followed."""
    with suppress(OSError, RuntimeError, ValueError):
        return isinstance(path, Path) and path.resolve().is_relative_to(folder.resolve())
    return False


def _write_reasons(path: Path, lines: Sequence[tuple[object, ...]]) -> None:
    """The table of reasons, whole or not at all, readable by its owner only."""
    text = StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(("row", "code", "file", "reason", "sentence"))
    writer.writerows([cell_text(cell) if isinstance(cell, str) else cell for cell in line] for line in lines)
    write_whole(path, text.getvalue().encode())


def _source(row: Row, refused: Refused) -> Place | None:
    """The file behind a refusal; None if there is none to copy."""
    refused_path = printable(refused.path)
    names = [(path, printable(path.name)) for path in row.files]
    found = (path for path, name in names if Path(refused_path).name == name or refused_path.startswith(f"{name}/"))
    return next((path for path in found if is_file(path)), None)


def _copied(path: Place, folder: Path) -> list[Path]:
    """A copy under the file's name, or under a name with its hash where another file has that name.

    Empty where the file cannot be read or is larger than any recording: the table of reasons says so of it, and the
    others are copied.
    """
    try:
        if path.stat().st_size > MAX_FILE_BYTES:  # no recording, and it may not even fit into memory
            return []
        data = path.read_bytes()
    except (OSError, UnreadableFile):
        return []
    target = folder / path.name
    if target.exists() and target.read_bytes() != data:
        target = folder / f"{path.stem}-{sha256(data).hexdigest()[:8]}{path.suffix}"
    if not target.exists():
        write_whole(target, data)
    return [target]
