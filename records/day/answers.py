"""What is asked of a row of the day, with the answers that are possible, as values: a page makes buttons of them."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import Literal, TypeAlias

from ...words.message import Message

Kind: TypeAlias = Literal[
    "so", "confirm", "give", "put_away", "protocol", "day", "shift", "only_file", "off_list", "write"
]
HOUR_S, DAY_S = 3600.0, 86_400.0
PHASE_CHECKS = frozenset(
    {
        *("day_plan.no_clock", "day_plan.no_length", "day_plan.start_after_work", "day_plan.start_differs"),
        *("day_plan.end_differs", "day_plan.other_length", "day_plan.rest_unwritten", "day_plan.work_outside"),
        *("day_plan.work_hours_off", "day_plan.work_unread", "day_plan.start_outside", "day_plan.hours_off"),
        *("day_plan.phase_not_seen", "day_plan.undated", "day_plan.apart"),
    }
)
"""Questions that a person answers by writing, or dragging, the phases."""
PHASE_FAMILIES = ("proposal.", "guard.late", "guard.early_end")
OWNER_CHECKS = frozenset(
    {
        *("day_plan.nobody", "day_plan.several", "day_plan.against_list", "day_plan.shared", "day_plan.other_time"),
        *("day_plan.by_clock", "day_plan.by_clock_alone", "day_plan.by_short_code", "day_plan.by_earlier"),
        *("day_plan.by_number", "day_plan.other_class", "day_plan.worn_hours_off", "day_row.left_over"),
    }
)
"""Questions of whose a file is."""
WORN_BY_MORE = frozenset({"day_plan.shared"})
"""Questions of a file that holds the minutes of another student too: put away, it would be gone for both."""
PROTOCOL_CHECKS = frozenset({"day_plan.no_protocol", "day_plan.unknown_protocol", "day_plan.last_protocol"})
DAY_CHECKS = frozenset(
    {
        *("day_plan.other_day", "day_plan.several_days", "day_plan.no_day", "day_plan.neither_day", "day_plan.future"),
        "day_row.other_day",
    }
)
NEVER_SO = frozenset(
    {
        *("day_plan.no_protocol", "day_plan.unknown_protocol", "day_plan.no_file", "day_plan.neither_day"),
        "day_plan.other_day",
    }
)
"""Questions to which “it is so” would leave nothing that could be stored, or would not say which of two days it was."""
OF_TABLES = frozenset({"day_plan.name", "day_plan.not_in_logbook"})
"""Questions that only a table of rows has: a received file has a name of its own, and a listed student is known."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer that can be given.

    kind : so (it is as it stands there), confirm (a word for ``confirmed``), give (the file to a student), put_away
        (the file), protocol, day, shift (of a file's clock), only_file (of several), off_list (the student was not
        there), write (into a field)
    value : the word, code, protocol, date, seconds, entry or field
    file : SHA-256, where the answer is of a file
    """

    kind: Kind
    value: str = ""
    file: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked.

    mark : names this very question; ``RowDraft.checked`` holds the marks of those that were looked at
    """

    message: Message
    answers: tuple[Answer, ...]
    mark: str

    @property
    def code(self) -> str:
        """Of what is asked, whichever file it is of."""
        return inner(self.message).code


@dataclass(frozen=True, slots=True)
class Around:
    """What answers are made of.

    files : SHA-256 of the row's files; usable : those that hold something that can be used
    candidates : students whose the files may be, the likeliest first
    listed : the entry that put the student on the list
    """

    day: date
    code: str | None
    files: tuple[str, ...] = ()
    usable: tuple[str, ...] = ()
    by_name: Mapping[str, str] | None = None
    candidates: tuple[str, ...] = ()
    protocols: tuple[str, ...] = ()
    listed: int | None = None


def inner(message: Message) -> Message:
    """What is said, without the file that it is said of."""
    what = dict(message.values).get("what")
    return what if message.code == "day_plan.of_file" and isinstance(what, Message) else message


def mark_of(message: Message) -> str:
    """A short name of a question: the same as long as it asks the same."""
    return sha256(json.dumps(message.to_json(), sort_keys=True).encode()).hexdigest()[:16]


def is_of_phases(code: str) -> bool:
    """Whether a question is about the phases."""
    return code in PHASE_CHECKS or code.startswith(PHASE_FAMILIES)


def asked(message: Message, around: Around, file: str = "") -> Asked:
    """A question with its answers; ``file``: that it is of, where it is of one."""
    found = inner(message)
    files = (file,) if file else around.files
    answers = [*_so(found, around), *_special(found, around, files)]
    if found.code in OWNER_CHECKS and files:
        answers += [Answer("give", code, each) for each in files for code in around.candidates if code != around.code]
    if found.code in (OWNER_CHECKS - WORN_BY_MORE) | DAY_CHECKS | {
        "day_plan.unread",
        "day_plan.empty",
        "day_plan.many",
        "day_plan.seen",
    }:
        answers += [Answer("put_away", file=each) for each in files]
    return Asked(message, tuple(dict.fromkeys(answers)), mark_of(message))


def confirmed_by(message: Message, words: Sequence[str]) -> Asked:
    """A question that is asked where the row is stored, with the words that settle it."""
    return Asked(message, tuple(Answer("confirm", each) for each in words), mark_of(message))


def _so(message: Message, around: Around) -> list[Answer]:
    stores = around.code is not None and (bool(around.usable) or not around.files)
    own = message.code.startswith("day_row.") and message.code != "day_row.clock_off"
    return [Answer("so")] if stores and not own and message.code not in NEVER_SO else []


def _special(message: Message, around: Around, files: Sequence[str]) -> list[Answer]:
    """Answers that this question alone has."""
    code = message.code
    if is_of_phases(code):
        return [*_hours(message, around, files), Answer("write", "work")]
    if code in PROTOCOL_CHECKS:
        return [Answer("protocol", each) for each in around.protocols]
    if code in DAY_CHECKS:
        return _days(message, around, files)
    if code == "day_plan.worn_hours_off":
        return _hours(message, around, files)
    if code == "day_plan.two_files":
        return [Answer("only_file", file=each) for each in around.usable]
    if code == "day_plan.no_file":
        off = [Answer("off_list", str(around.listed))] if around.listed is not None else []
        return [*off, Answer("write", "files")]
    if code == "day_row.clock_off":
        return [Answer("shift", f"{message['seconds']:g}", each) for each in files]
    fields = {"day_plan.no_zone": "zone", "day_row.stop_why": "stops", "day_row.help_end": "assisted"}
    return [Answer("write", fields[code])] if code in fields else []


def _hours(message: Message, around: Around, files: Sequence[str]) -> list[Answer]:
    """A clock that is off by whole hours is put right."""
    hours = dict(message.values).get("hours")
    if not isinstance(hours, int) or around.code is None:
        return []
    return [Answer("shift", f"{hours * HOUR_S:g}", each) for each in files]


def _days(message: Message, around: Around, files: Sequence[str]) -> list[Answer]:
    """The days that it may be, and the clock that was wrong by whole days."""
    values = dict(message.values)
    days = values.get("days")
    others = days if isinstance(days, tuple) else (values.get("on"), values.get("most"), values.get("other"))
    on = values.get("on")
    known = [each for each in (*others, values.get("day")) if isinstance(each, date)]
    known = [each for each in dict.fromkeys(known) if message.code != "day_plan.future" or each != on]
    if around.code is None:
        return []
    off = isinstance(on, date) and on != around.day
    found = [Answer("day", each.isoformat()) for each in known if not (off and each == around.day)]
    if isinstance(on, date) and on != around.day:  # it was on the class's day: then its clock was wrong
        seconds = (around.day - on).days * DAY_S
        found += [Answer("shift", f"{seconds:g}", each) for each in files]
    return found
