"""What becomes of a row of a class's table, as far as no logbook is needed to know it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Literal

from ..errors import IngestError, NotConfirmed, NotOneTrial, OwnmarkError, Question, ReaderFault
from ..ingest.files import Refused
from ..words.numbers import clock, rounded
from ..words.plain import printable
from ..words.render import english
from ..words.vocabulary import FIGURES
from .adding import Kept
from .address import Place
from .class_table import Row
from .entry import trial_of
from .intake import Gathered
from .plan.messages import DAY_PLAN_ANSWER
from .protocol import Protocol
from .row_day import Days, day_of
from .row_files import OfFiles, of_files
from .trial import Trial

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
    number : of the trial that it became, or that holds its recording already; None where that is not known
    otherwise : it is there already, and the row says something else of it than what is kept
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
    number: int | None = None
    otherwise: bool = False

    def __post_init__(self) -> None:
        # An outcome is held until all rows are done, and the frames of a refusal hold the bytes of its row's files.
        for each in (self.reason, *(refused.reason for refused in self.refused)):
            _without_frames(each)


def _without_frames(reason: BaseException | None) -> None:
    """Let a refusal, and what led to it, forget where they were raised."""
    left = [reason]
    while left:
        each = left.pop()
        if each is not None:
            each.__traceback__ = None
            left += {each.__cause__, each.__context__}


@dataclass(frozen=True, slots=True)
class Written:
    """A row as a trial, before what its files hold is known.

    texts : by header, the day among them
    stated : a person wrote the day down in the row
    of_files : what the row says of its files
    """

    trial: Trial
    texts: Mapping[str, str]
    stated: bool
    of_files: OfFiles

    def day_stated(self, since: date | None) -> bool:
        """Whether a person said that the day is right: in the row, or of all days that files state since one."""
        return self.stated or (since is not None and self.trial.on >= since)


def at_once(row: Row) -> Outcome | None:
    """What becomes of a row whatever its files hold; None where these are to be looked at."""
    if row.problem:
        return Outcome(row, "refused", row.problem)
    if row.texts.get("check", "") and CHECKED not in row.answers:
        asked = Question(DAY_PLAN_ANSWER, (CHECKED,))
        return Outcome(row, "to confirm", english(DAY_PLAN_ANSWER), questions=(asked,))
    if not row.texts.get("protocol"):
        return Outcome(row, "refused", "The row names no protocol.")
    return None


def written(row: Row, protocol: Protocol, files: Gathered, day: date | None, today: date, days: Days) -> Written:
    """A row's trial.

    Parameters
    ----------
    protocol : the one that the row names
    files : the row's, as they were read: they are looked into only where the row states no day
    day : of a row that states none and whose files state none

    Raises
    ------
    OwnmarkError
        If a cell does not fit, or its day must be asked.
    """
    texts = {name: text for name, text in row.texts.items() if name != "check"}
    stated, more = "on" in texts or bool(row.days), of_files(row)
    if "on" not in texts:
        texts |= {"on": day_of(row, day, today, days, files).isoformat()}
    texts["notes"] = " ".join(part for part in (texts.get("notes", ""), *row.notes) if part)
    return Written(trial_of(texts, protocol, today=today, **more), texts, stated, more)


def refusal(row: Row, reason: OwnmarkError) -> Outcome:
    """A row of which something is asked, or that cannot be added."""
    if isinstance(reason, NotConfirmed):
        return Outcome(row, "to confirm", str(reason), code=reason.code, questions=reason.questions, reason=reason)
    refused = ()
    if isinstance(reason, IngestError) and not isinstance(reason, NotOneTrial):  # each of its files can be read
        refused = tuple(Refused(str(path), _beside(path, reason)) for path in row.files)
    return Outcome(row, "refused", str(reason), refused, code=reason.code, reason=reason)


def _beside(path: Place, reason: IngestError) -> IngestError:
    """The refusal as it stands beside each file of a row that has nothing else."""
    if Path(reason.where).name == path.name:
        return reason
    return type(reason)("its row could not be added.", where=str(path), mend=str(reason))


def failed(row: Row, fault: Exception, *, written: bool) -> Outcome:
    """A row at which ownmark itself failed; it may have failed after the trial was added."""
    told = f"ownmark itself failed at this row ({type(fault).__name__}); the other rows go on."
    mend = "Please report it with the row and its files; OWNMARK_TRACEBACK=1 shows where."
    if written:
        return Outcome(row, "added", f"The trial is in the logbook. Then {told} {mend}", fault=fault)
    refused = tuple(Refused(printable(str(path)), ReaderFault(told, where=path.name, mend=mend)) for path in row.files)
    what = f"{told[0].upper()}{told[1:]} Nothing of it was added. {mend}"
    return Outcome(row, "refused", what, refused, fault=fault)


def answered(row: Row) -> str:
    """What a row had in its column ``check``, where that was answered."""
    check = row.texts.get("check", "")
    return f". Answered by “{CHECKED}”: {check.rstrip('.')}" if check else ""


def told_of(kept: Kept) -> str:
    """What was measured, in a line without the trial's number, for whoever put the class in."""
    if kept.sheet is None:
        count = len(kept.trial.hand_results)
        return f"{count} result{'' if count == 1 else 's'} entered by hand" if count else "a distance"
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
    return f"{', '.join(parts)}{lost}{more}"
