"""Put a trial into the logbook: read its files, work out its sheet, keep both together in one transaction."""

import os
import re
import stat
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from ..errors import IngestError, NotATrial, OwnmarkError, UnreadableFile
from ..ingest.files import Refused
from ..words.message import Message, Quoted
from ..words.plain import printable
from . import guards, text_guards
from .marked_phases import with_times
from .measuring import files_of, hints_of
from .messages import share_trial, share_with
from .opened import Opened
from .shared_files import in_its_span
from .trial import Trial
from .worn_times import Wearing, of_worn

if TYPE_CHECKING:
    from ..ingest.recording import Hints
    from ..metrics import EffortSheet
    from .store.logbook import Logbook

NO_SHIFTS: Mapping[str, float] = MappingProxyType({})
MOST_BYTES = 512 * 1024 * 1024
"""A larger file is no recording of a trial."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A trial that is in the logbook, its sheet, and the files that could not be read (they are not in it).

    shared : number and code of other students' trials that are in one of its recordings too
    unseen : what of its phases the recording did not see
    """

    trial: Trial
    sheet: "EffortSheet | None"
    refused: tuple[Refused, ...]
    shared: tuple[tuple[int, str], ...] = ()
    unseen: tuple[Message, ...] = ()

    @property
    def remark(self) -> Message | None:
        """That other students' trials are in its recordings too; None if none is."""
        return (
            share_with(tuple(share_trial(number, Quoted(code)) for number, code in self.shared))
            if self.shared
            else None
        )


def keep(
    logbook: "Logbook",
    trial: Trial,
    files: Sequence[Path],
    *,
    again: bool = False,
    today: date | None = None,
    day_stated: bool = True,
    worn: Sequence[Wearing] = (),
) -> Kept:
    """Add a trial with its files.

    again : it may be a second trial out of the same files
    worn : when the student wore the strap, by the list of straps
    today : the person's day; None: nothing is asked of files of long ago
    day_stated : a person wrote the trial's day down

    A file that cannot be read is left out and told, and the trial goes in with the others; where none can be read and
    nothing was entered by hand, there is no trial.

    Raises
    ------
    NotConfirmed
        If something of it is asked (``guards``) and not answered in ``trial.confirmed``.
    OwnmarkError
        If nothing can be kept, it is there already, or what was written down contradicts itself.
    """
    student, protocol = logbook.student(trial.code), logbook.protocol(trial.protocol, trial.protocol_version)
    text_guards.ask(text_guards.of_trial(trial), trial.confirmed)
    unopened, originals = _opened(files)
    good, refused, opened = _read_once(trial, originals)
    refused = (*unopened, *refused)
    if files and not good and not trial.hand_results:
        raise refused[0].reason
    if not good and not trial.hand_results and trial.distance_m is None:
        raise NotATrial("a trial needs a recording, or a result entered by hand.", mend="Give a file or --result.")
    if not good:
        return Kept(logbook.add_trial(trial, again=again), None, refused)
    try:
        trial = with_times(trial, opened)
        trial = guards.settled(trial, opened, today or trial.on, day_stated=day_stated)
        made, kept, others = in_its_span(logbook, trial, student, protocol, opened, good, again=again)
    except OwnmarkError as reason:  # whoever gave the files reads their own names
        reason.where = re.sub(r"[\w-]+", lambda found: opened.given.get(found[0], found[0]), reason.where)
        raise
    asked = guards.of_sheet(trial, protocol, made)
    guards.ask(trial, (*asked, *of_worn(made, guards.clock_of(opened), trial.zone, worn)))
    measured = trial.model_copy(update={"sheet": made, "files": tuple(file for file, _ in kept)})
    given = [(file.path, data) for file, data in kept]
    added = logbook.add_trial(measured, given, again=again, narrowed=others)
    mine = dict.fromkeys(each for file in added.files for each in logbook.holders(file.recording))
    shared = tuple(each for each in mine if each[1] != trial.code)
    return Kept(added, made, refused, shared, guards.unseen(made, guards.clock_of(opened), trial.zone))


def readable_files(
    trial: Trial, files: Sequence[Path], beside: Sequence[tuple[str, bytes]] = ()
) -> list[tuple[str, bytes]]:
    """Bare name and bytes of files that are to be added to a trial.

    beside : name and bytes of the files that it has already

    Raises
    ------
    OwnmarkError
        The first refusal, if any of them cannot be read.
    """
    unopened, originals = _opened(files)
    good, refused = _readable(trial, originals, beside)
    for each in (*unopened, *refused):
        raise each.reason
    return good


def recorded_day(
    files: Sequence[Path], hints: "Hints", zone: str | None = None, shifts: Mapping[str, float] = NO_SHIFTS
) -> date | None:
    """The day that the first file with a date states, in a zone where it states UTC.

    shifts : what is added to a file's clock, by its bare name  [s]
    """
    from ..ingest.clock_shift import shifted
    from ..ingest.clock_times import on_the_wall
    from ..ingest.column_choices import for_files
    from ..ingest.files import parse_each
    from ..ingest.recording import Recording

    _, originals = _opened(files)
    each_by = for_files(originals, hints)
    for name, data in originals:
        for found in parse_each([(name, data)], each_by.of(name)):
            if isinstance(found, Recording) and found.start is not None:
                return on_the_wall(shifted(found, shifts.get(name, 0.0)).start or found.start, zone).date()
    return None


def _opened(files: Sequence[Path]) -> tuple[list[Refused], list[tuple[str, bytes]]]:
    """The bytes of each file under its bare name: folders can carry a name."""
    refused: list[Refused] = []
    originals: list[tuple[str, bytes]] = []
    for path in files:
        try:
            state = path.stat()
            if not (stat.S_ISREG(state.st_mode) or stat.S_ISDIR(state.st_mode)):  # a device may never end
                what = "this is a device or a pipe, not a file."
                raise UnreadableFile(what, where=str(path), mend="Save it as a file first.")
            if state.st_size > MOST_BYTES:
                raise UnreadableFile("the file is too large for a recording.", where=str(path), mend="Look at it.")
            originals.append((printable(path.name), path.read_bytes()))
        except (OSError, ValueError) as failure:
            why = "there is no such file" if isinstance(failure, FileNotFoundError) else "it cannot be opened"
            if os.path.isdir(path):  # noqa: PTH112 as a path, a name that is too long raises
                why = "this is a folder"
            reason = UnreadableFile(f"{why}.", where=str(path), mend="Look at the name and the folder.")
            refused.append(Refused(str(path), reason))
        except IngestError as reason:
            refused.append(Refused(str(path), reason))
    return refused, originals


def _read_once(
    trial: Trial, originals: list[tuple[str, bytes]]
) -> tuple[list[tuple[str, bytes]], tuple[Refused, ...], Opened]:
    """The files that can be read, what is refused, and what they hold; read again only where one is refused."""
    whole = files_of(trial, originals)
    if not whole.refused:
        return originals, (), whole
    good, refused = _readable(trial, originals)
    return good, refused, files_of(trial, good)


def _readable(
    trial: Trial, originals: Sequence[tuple[str, bytes]], beside: Sequence[tuple[str, bytes]] = ()
) -> tuple[list[tuple[str, bytes]], tuple[Refused, ...]]:
    """The files of which at least one recording can be read, and what is refused."""
    from ..ingest.column_choices import for_files
    from ..ingest.files import parse_each

    hints = for_files([*beside, *originals], hints_of(trial))
    good: list[tuple[str, bytes]] = []
    refused: list[Refused] = []
    for name, data in originals:
        found = list(parse_each([(name, data)], hints.of(name)))
        bad = [each for each in found if isinstance(each, Refused)]
        if len(bad) < len(found):
            good.append((name, data))
        refused += [replace(each, path=name) for each in bad]
    return good, tuple(refused)
