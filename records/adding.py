"""Put a trial into the logbook: read its files, work out its sheet, keep both together in one transaction."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, TypeVar

from ..ingest.files import Refused
from ..words.message import Message, Quoted
from . import guards, text_guards
from .address import Place
from .intake import Gathered, ask_of_sheet, gathered, own_names, taken_in
from .messages import share_trial, share_with
from .same_heart import refuse_same_heart
from .shared_files import in_its_span, names_given
from .store.second_look import ChangedMeanwhile, Look, look
from .trial import Trial
from .wearing import Wearing

if TYPE_CHECKING:
    from ..metrics import EffortSheet
    from .store.logbook import Logbook

Found = TypeVar("Found")


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
    files: Sequence[Place] | Gathered,
    *,
    again: bool = False,
    today: date | None = None,
    day_stated: bool = True,
    worn: Sequence[Wearing] = (),
    rests_on: Look | None = None,
) -> Kept:
    """Add a trial with its files.

    files : where they lie, or what was read of them already
    again : it may be a second trial out of the same files
    worn : when the student wore the strap, and others wore it, by the list of straps
    today : the person's day; None: nothing is asked of files of long ago
    day_stated : a person wrote the trial's day down
    rests_on : what was seen before the trial's protocol and zone were read; None: before its student is read here

    A file that cannot be read is left out and told, and the trial goes in with the others; where none can be read and
    nothing was entered by hand, there is no trial.

    Raises
    ------
    NotConfirmed
        If something of it is asked (``guards``) and not answered in ``trial.confirmed``.
    OwnmarkError
        If nothing can be kept, it is there already, or what was written down contradicts itself.
    ChangedMeanwhile
        If another program changed what it rests on while it was measured; ``settled`` does it again.
    """
    seen = rests_on or look(logbook, trial.code, trial.protocol)
    student, protocol = logbook.student(trial.code), logbook.protocol(trial.protocol, trial.protocol_version)
    text_guards.ask(text_guards.of_trial(trial), trial.confirmed)
    given = files if isinstance(files, Gathered) else gathered(files)
    taken = taken_in(trial, given, today=today or trial.on, day_stated=day_stated)
    trial, opened = taken.trial, taken.opened
    if opened is None:
        return Kept(logbook.add_trial(trial, again=again, confirm=seen.confirm), None, taken.refused)
    seen = seen.at(logbook, {name for each in opened.recordings for name in names_given(each)})
    refuse_same_heart(logbook, trial.code, opened.recordings)
    with own_names(opened):
        made, kept, others = in_its_span(logbook, trial, student, protocol, opened, taken.good, again=again, worn=worn)
    ask_of_sheet(trial, protocol, opened, made, worn)
    measured = trial.model_copy(update={"sheet": made, "files": tuple(file for file, _ in kept)})
    originals = [(file.path, data) for file, data in kept]
    added = logbook.add_trial(measured, originals, again=again, narrowed=others, confirm=seen.confirm)
    mine = dict.fromkeys(each for file in added.files for each in logbook.holders(file.recording))
    shared = tuple(each for each in mine if each[1] != trial.code)
    return Kept(added, made, taken.refused, shared, guards.unseen(made, guards.clock_of(opened), trial.zone))


def settled(logbook: "Logbook", add: "Callable[[Logbook], Found]") -> Found:
    """What ``add`` gives, of one state of the logbook.

    It works beside the logbook first. Where what it rests on is another by the time it stores, it works once more, in
    the transaction that stores: others wait then, and nothing changes any more.

    add : from reading the first fact on; it stores by ``keep``
    """
    try:
        return add(logbook)
    except ChangedMeanwhile:
        with logbook.within() as inside:
            return add(inside)
