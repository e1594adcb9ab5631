"""A trial out of its files, as far as it is worked out without a logbook: bytes gathered, read, settled, asked.

What ``adding.keep`` does with one trial, and what a worker does that sees no database, is the same code.
"""

import re
from collections.abc import Generator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import TYPE_CHECKING

from ..errors import IngestError, NotATrial, OwnmarkError, UnreadableFile
from ..ingest.files import Refused
from ..words.plain import printable
from . import guards
from .address import Place, is_folder, is_there
from .file_bytes import file_bytes
from .marked_phases import with_times
from .measuring import files_of, hints_of
from .opened import Opened
from .trial import Trial
from .wearing import Wearing
from .worn_times import of_worn

if TYPE_CHECKING:
    from ..ingest.recording import Hints
    from ..metrics import EffortSheet
    from .protocol import Protocol

NO_SHIFTS: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Gathered:
    """The bytes of files, each under its bare name, because folders can carry a name; and what could not be opened.

    missing : one of them is not there
    """

    originals: tuple[tuple[str, bytes], ...]
    unopened: tuple[Refused, ...] = ()
    missing: bool = False


@dataclass(frozen=True, slots=True)
class Intake:
    """A trial whose files are read, its times, its day and its zone settled by what was written down and answered.

    good : name and bytes of each file of which something can be read
    opened : what they hold; None where nothing can be read, and the trial is one without a recording
    """

    trial: Trial
    good: tuple[tuple[str, bytes], ...]
    refused: tuple[Refused, ...]
    opened: Opened | None


def gathered(files: Sequence[Place]) -> Gathered:
    """Read the bytes of each file; one that cannot be opened is an answer of its own."""
    refused: list[Refused] = []
    originals: list[tuple[str, bytes]] = []
    missing = False
    for path in files:
        try:
            originals.append((printable(path.name), file_bytes(path)))
        except (OSError, ValueError) as failure:
            why = "there is no such file" if isinstance(failure, FileNotFoundError) else "it cannot be opened"
            if is_folder(path):
                why = "this is a folder"
            missing = missing or not is_there(path)
            reason = UnreadableFile(f"{why}.", where=str(path), mend="Look at the name and the folder.")
            refused.append(Refused(str(path), reason))
        except IngestError as reason:
            refused.append(Refused(str(path), reason))
    return Gathered(tuple(originals), tuple(refused), missing)


def taken_in(trial: Trial, files: Gathered, *, today: date, day_stated: bool) -> Intake:
    """Read a trial's files and settle what was written down of it.

    Parameters
    ----------
    today : the person's day, for what is asked of files of long ago
    day_stated : a person wrote the trial's day down

    Raises
    ------
    NotConfirmed
        If its day, its zone, or the reading of its times must be asked.
    OwnmarkError
        If there is nothing to keep, or what was written down contradicts its files.
    """
    good, refused, opened = _read_once(trial, files.originals)
    refused = (*files.unopened, *refused)
    if not good and not trial.hand_results:
        if refused:
            raise refused[0].reason
        if trial.distance_m is None:
            raise NotATrial("a trial needs a recording, or a result entered by hand.", mend="Give a file or --result.")
    if not good:
        return Intake(trial, (), refused, None)
    with own_names(opened):
        trial = with_times(trial, opened)
        trial = guards.settled(trial, opened, today, day_stated=day_stated)
    return Intake(trial, good, refused, opened)


@contextmanager
def own_names(opened: Opened) -> Generator[None, None, None]:
    """Whoever gave the files reads their own names in a refusal."""
    try:
        yield
    except OwnmarkError as reason:
        reason.where = re.sub(r"[\w-]+", lambda found: opened.given.get(found[0], found[0]), reason.where)
        raise


def ask_of_sheet(
    trial: Trial, protocol: "Protocol", opened: Opened, sheet: "EffortSheet", worn: Sequence[Wearing]
) -> None:
    """Refuse a trial of whose sheet something is asked, or whose work lies outside of what the list of straps says.

    Raises
    ------
    NotConfirmed, NotATrial
    """
    asked = guards.of_sheet(trial, protocol, sheet)
    guards.ask(trial, (*asked, *of_worn(sheet, guards.clock_of(opened), trial.zone, worn)))


def readable_files(
    trial: Trial, files: Sequence[Place], beside: Sequence[tuple[str, bytes]] = ()
) -> list[tuple[str, bytes]]:
    """Bare name and bytes of files that are to be added to a trial.

    beside : name and bytes of the files that it has already

    Raises
    ------
    OwnmarkError
        The first refusal, if any of them cannot be read.
    """
    given = gathered(files)
    good, refused = _readable(trial, given.originals, beside)
    for each in (*given.unopened, *refused):
        raise each.reason
    return list(good)


def recorded_day(
    files: Sequence[Place] | Gathered,
    hints: "Hints",
    zone: str | None = None,
    shifts: Mapping[str, float] = NO_SHIFTS,
) -> date | None:
    """The day that the first file with a date states, in a zone where it states UTC.

    shifts : what is added to a file's clock, by its bare name  [s]
    """
    from ..ingest.clock_shift import shifted
    from ..ingest.clock_times import on_the_wall
    from ..ingest.column_choices import for_files
    from ..ingest.files import parse_each
    from ..ingest.recording import Recording

    originals = (files if isinstance(files, Gathered) else gathered(files)).originals
    each_by = for_files(originals, hints)
    for name, data in originals:
        for found in parse_each([(name, data)], each_by.of(name)):
            if isinstance(found, Recording) and found.start is not None:
                return on_the_wall(shifted(found, shifts.get(name, 0.0)).start or found.start, zone).date()
    return None


def _read_once(
    trial: Trial, originals: tuple[tuple[str, bytes], ...]
) -> tuple[tuple[tuple[str, bytes], ...], tuple[Refused, ...], Opened]:
    """The files that can be read, what is refused, and what they hold; read again only where one is refused."""
    whole = files_of(trial, originals)
    if not whole.refused:
        return originals, (), whole
    good, refused = _readable(trial, originals)
    return good, refused, files_of(trial, good)


def _readable(
    trial: Trial, originals: Sequence[tuple[str, bytes]], beside: Sequence[tuple[str, bytes]] = ()
) -> tuple[tuple[tuple[str, bytes], ...], tuple[Refused, ...]]:
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
    return tuple(good), tuple(refused)
