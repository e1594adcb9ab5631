"""Entries of a class's day: each a moment, a kind, and what was entered. Nothing is changed; a later entry counts.

What an entry means for the day is worked out in ``day.happened``.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType
from typing import ClassVar, Literal, TypeAlias, get_args

from pydantic import Field, field_validator, model_validator

from ..errors import NotATrial, OwnmarkError
from .protocol import Assistance
from .student import check_code, check_note
from .texts import ENTRY, LINE, TEXT
from .trial import EXERTION_RANGES
from .value import KEPT, Value

PressKind: TypeAlias = Literal["rest_begins", "work_begins", "work_ends"]
PRESSES: tuple[PressKind, ...] = get_args(PressKind)
"""In the order in which they happen."""
MOST_TURNS = 9
_SHA256 = r"^[0-9a-f]{64}$"
_ONCE = re.compile(r"[A-Za-z0-9_-]{1,64}")


class _OfDay(Value):
    """What was entered. ``turn``: the student's first, second … test of that day, where the kind has one."""

    refusal: ClassVar[type[OwnmarkError]] = NotATrial
    called: ClassVar[str] = "an entry of the day"


class _OfTest(_OfDay):
    turn: int = Field(default=1, ge=1, le=MOST_TURNS)


class Listed(_OfTest):
    """A student of the class of that day, with protocol and strap; None: nobody says yet."""

    protocol: str | None = Field(default=None, min_length=1, max_length=100)
    strap: str | None = Field(default=None, min_length=1, max_length=60)


class Press(_OfTest):
    """A phase begins or ends at the entry's moment."""

    what: PressKind


class Stopped(_OfTest):
    """The student stopped at the entry's moment; ``why`` may be written later, and is asked before it is stored."""

    longer: ClassVar[Mapping[str, int]] = {"why": ENTRY}

    why: str = ""


class Assisted(_OfTest):
    """Somebody begins or ends to help; ``level``: how much, as in the protocol."""

    what: Literal["begins", "ends"]
    level: Assistance | None = None


class Exertion(_OfTest):
    """Perceived exertion on its scale."""

    value: float
    scale: Literal["6-20", "0-10", "pictures 0-10"]

    @model_validator(mode="after")
    def _on_its_scale(self) -> "Exertion":
        low, high = EXERTION_RANGES[self.scale]
        if not low <= self.value <= high:
            raise NotATrial(f"an exertion of {self.value:g} is not on the scale {self.scale}.")
        return self


class Noted(_OfTest):
    """A note on the student's test of that day."""

    longer: ClassVar[Mapping[str, int]] = {"text": TEXT}

    text: str = Field(min_length=1)

    @field_validator("text")
    @classmethod
    def _no_address(cls, text: str) -> str:
        return check_note(text, NotATrial)


class ClockCheck(_OfDay):
    """A strap's clock against the screen at the entry's moment.

    how : its button was pressed, or it was tapped three times, when the screen flashed; or its display showed a time
    shown_s : what the display showed [s after midnight]; None: it shows none
    """

    strap: str = Field(min_length=1, max_length=60)
    how: Literal["button", "taps", "shown"]
    shown_s: float | None = Field(default=None, ge=0, lt=86_400)

    @model_validator(mode="after")
    def _shown_where_shown(self) -> "ClockCheck":
        if (self.how == "shown") != (self.shown_s is not None):
            raise NotATrial("a time that was shown belongs to a strap with a display.", mend="Write it as in 09:05:30.")
        return self


class Undone(_OfDay):
    """An earlier entry does not count; undoing this one brings it back."""

    entry: int = Field(ge=1)


class FileIn(_OfDay):
    """A file was received. ``name``: as it was given, without folders."""

    longer: ClassVar[Mapping[str, int]] = {"name": LINE}

    sha256: str = Field(pattern=_SHA256)
    name: str = Field(min_length=1)
    size: int = Field(ge=0)


class RowDraft(_OfTest):
    """What somebody typed or answered for a student's row; the whole of it, so that the last one counts.

    texts : by the column of a class's table; an empty one takes away what the plan proposes
    files : SHA-256 of the received files; None: those that the plan finds
    answers : to what was asked, as in a table's column ``confirm``
    checked : marks of what the plan asked to look at, and somebody has looked at
    shifts : what is added to the clock of a file that was wrong [s], by its SHA-256
    """

    longer: ClassVar[Mapping[str, int]] = {"texts": TEXT, "answers": LINE}

    texts: dict[str, str] = Field(default_factory=dict)
    files: tuple[str, ...] | None = None
    answers: tuple[str, ...] = ()
    checked: tuple[str, ...] = ()
    shifts: dict[str, float] = Field(default_factory=dict)

    @field_validator("texts")
    @classmethod
    def _no_address(cls, texts: dict[str, str]) -> dict[str, str]:
        for text in texts.values():
            check_note(text, NotATrial)
        return texts

    @model_validator(mode="after")
    def _hashes(self) -> "RowDraft":
        if any(not re.match(_SHA256, each) for each in (*(self.files or ()), *self.shifts)):
            raise NotATrial("a row names a file that is none.", mend="Choose one of the files that were received.")
        return self


class Stored(_OfTest):
    """The student's row is in the logbook as this trial, with these received files."""

    trial: int = Field(ge=1)
    files: tuple[str, ...] = ()


class PutAway(_OfDay):
    """A received file is not needed: nobody's, or not of that day."""

    sha256: str = Field(pattern=_SHA256)


What: TypeAlias = (
    Listed | Press | Stopped | Assisted | Exertion | Noted | ClockCheck | Undone | FileIn | RowDraft | Stored | PutAway
)
KINDS: Mapping[str, type[What]] = MappingProxyType(
    {
        "listed": Listed,
        "press": Press,
        "stop": Stopped,
        "assisted": Assisted,
        "exertion": Exertion,
        "note": Noted,
        "clock_check": ClockCheck,
        "undone": Undone,
        "file": FileIn,
        "row": RowDraft,
        "stored": Stored,
        "put_away": PutAway,
    }
)
"""Each kind by its name in the logbook, which never changes."""
_NAMES: Mapping[type, str] = {kind: name for name, kind in KINDS.items()}


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a day.

    day : the class's day
    at : when, on the clock of the wall, whole seconds; a row may be typed on a later day
    what : what was entered
    code : the student's; None where it is nobody's
    number : in the logbook; None: not kept yet
    once : of two entries with the same one the first counts, so that a form sent twice enters nothing twice
    """

    day: date
    at: datetime
    what: What
    code: str | None = None
    number: int | None = None
    once: str | None = None

    @property
    def kind(self) -> str:
        """The name of its kind."""
        return _NAMES[type(self.what)]


def entry(day: date, at: datetime, what: What, code: str | None = None, once: str | None = None) -> Entry:
    """A new entry, checked.

    Raises
    ------
    NotACode, NotATrial
    """
    whole = at.replace(microsecond=0)
    if whole.tzinfo is not None or (once is not None and not _ONCE.fullmatch(once)):
        raise NotATrial("an entry of the day has no such time or mark.", mend="Give the time on the clock of the wall.")
    if isinstance(what, _OfTest) and code is None:
        raise NotATrial("this entry is of a student.", mend="Name the student.")
    if not isinstance(what, _OfTest | Undone) and code is not None:
        raise NotATrial("this entry is of no student.", mend="Leave the student out.")
    return Entry(day, whole, what, None if code is None else check_code(code), None, once)


def text_of(what: What) -> str:
    """What was entered as JSON: without fields that say nothing."""
    return what.model_dump_json(exclude_defaults=True)


def what_of(kind: str, text: str, *, kept: bool) -> What:
    """What was entered out of its JSON.

    kept : it comes from the logbook itself, which stays readable whatever is checked later

    Raises
    ------
    NotATrial
    ValueError
        If it is no JSON.
    """
    model = KINDS.get(kind)
    if model is None:
        raise NotATrial("an entry of the day is of no known kind.", mend="Bring ownmark up to date.")
    return model.model_validate_json(text, context=KEPT if kept else None)


def without_file_names(each: Entry) -> Entry | None:
    """An entry as if no file had been received: neither its name nor its hash; None where nothing is left."""
    match each.what:
        case FileIn() | PutAway():
            return None
        case RowDraft() as row:
            texts = {name: text for name, text in row.texts.items() if name not in NAMING_FILES}
            what: What = row.model_copy(update={"texts": texts, "files": None, "shifts": {}})
        case Stored() as stored:
            what = stored.model_copy(update={"files": ()})
        case other:
            what = other
    return Entry(each.day, each.at, what, each.code, each.number, each.once)


NAMING_FILES = frozenset({"files", "offset", "clock_shift", "columns", "strap"})
"""Columns of a row that can name a file."""


def files_of_one(entries: Sequence[Entry], code: str) -> dict[str, str]:
    """Name by SHA-256 of the received files that are one student's alone.

    A file is the student's where a row of the student names it, its name holds the code as a word of its own, or it is
    named after a strap that nobody else wore that day. It is somebody else's too where another student's row names it,
    or another one wore the student's strap that day.
    """
    names = {each.what.sha256: each.what.name for each in entries if isinstance(each.what, FileIn)}
    mine, theirs = set[str](), set[str]()
    straps: dict[str, set[str]] = {}
    for each in entries:
        if isinstance(each.what, RowDraft | Stored) and each.code is not None:
            (mine if each.code == code else theirs).update(each.what.files or ())
        elif isinstance(each.what, Listed) and each.code is not None and each.what.strap:
            straps.setdefault(each.what.strap.casefold(), set()).add(each.code)
    named = re.compile(rf"(?<![A-Za-z0-9]){re.escape(code)}(?![A-Za-z0-9])", re.IGNORECASE)
    mine |= {sha256 for sha256, name in names.items() if named.search(name)}
    own = [_named_after(strap) for strap, wearers in straps.items() if wearers == {code}]
    mine |= {sha256 for sha256, name in names.items() if any(each.search(name) for each in own)}
    if any(code in wearers and len(wearers) > 1 for wearers in straps.values()):
        mine -= {sha256 for sha256, name in names.items() if not named.search(name)}
    return {sha256: names[sha256] for sha256 in names if sha256 in mine - theirs}


def _named_after(strap: str) -> re.Pattern[str]:
    """How a file is clearly named after a strap: by its label as a word; a bare number only behind that very word."""
    before = r"(?<![A-Za-z])strap[ _-]*" if strap.isdecimal() else "(?<![A-Za-z0-9])"
    return re.compile(rf"{before}{re.escape(strap)}(?![A-Za-z0-9])", re.IGNORECASE)
