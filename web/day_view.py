"""A day's files and rows in words: plain values of the worker to what a template shows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from starlette.requests import Request

from ..records.day.answers import inner
from ..records.day.happened import File, Happened
from ..words.message import Message
from ..words.render import Words
from .rendering import parts_of
from .zones import ASKED_BY

DAY_S, HOUR_S = 86_400.0, 3600.0
CONFIRMED = frozenset({"yes", "clock", "start", "utc", "checked", "keep-text"})
"""Words that settle a question and have a label of their own."""


@dataclass(frozen=True, slots=True)
class FileLine:
    """A received file.

    told : what it is, when, how long, how much was measured
    faults : what is odd about it
    """

    sha256: str
    name: str
    told: str
    faults: tuple[str, ...]
    usable: bool
    put_away: bool
    again: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Press:
    """An answer as a button. ``word``: what settles a question that was asked when the row was to be stored."""

    label: str
    place: int = 0
    word: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of a row, with its answers.

    give : students to whom its file can be given instead
    so : it can be right as it stands
    of_zone : the school's time zone answers it
    """

    text: str
    mark: str
    answers: tuple[Press, ...]
    give: tuple[Press, ...] = ()
    so: bool = False
    of_zone: bool = False


@dataclass(frozen=True, slots=True)
class RowLine:
    """A row of the day."""

    key: str
    number: int
    code: str
    state: str
    state_told: str
    facts: tuple[str, ...]
    questions: tuple[Question, ...]
    trials: tuple[int, ...]
    place: str

    @property
    def zone_asked(self) -> bool:
        """Whether the school's time zone answers something of it."""
        return any(each.of_zone for each in self.questions)

    @property
    def acceptable(self) -> bool:
        """Whether all that is asked can be right as it stands."""
        return bool(self.questions) and all(each.so for each in self.questions)


@dataclass(frozen=True, slots=True)
class Rows:
    """All rows.

    ready : how many can go in at once
    zone_asked : something can be answered by the school's time zone
    """

    rows: tuple[RowLine, ...]
    ready: int
    asked: int
    stored: int
    remarks: tuple[str, ...]
    fault: str = ""
    zone_asked: bool = False


def file_line(file: File, looked: Mapping[str, Any], words: Words) -> FileLine:
    """A file in words."""
    checks = [words.message(Message.from_json(each)) for each in looked.get("checks", ())]
    if looked.get("lost"):
        checks.append(words.message(Message.from_json(looked["told"])))
    parts: list[str] = []
    if looked["usable"]:
        parts.append(words.listed([words.get(f"stream.{each}") for each in looked["streams"]]))
        if looked["on"] is not None:
            parts.append(words.date(date.fromisoformat(looked["on"])))
        if looked["begin_s"] is not None:
            parts.append(words.get("web_day.from_to", begin=_hm(looked["begin_s"]), end=_hm(_end(looked))))
        parts.append(words.duration(looked["length_s"]))
        if looked["measured_percent"] is not None:
            parts.append(words.get("web_day.measured", share=looked["measured_percent"]))
    told = " · ".join(parts) or words.get("web_day.unusable")
    again = tuple(each for each in file.again if each != file.name)
    return FileLine(file.sha256, file.name, told, tuple(checks), looked["usable"], file.put_away is not None, again)


def row_lines(found: Mapping[str, Any], day: Happened, request: Request, words: Words) -> Rows:
    """The rows in words: what to look at first, then what is ready, then what is stored."""
    names = {each.sha256: each.name for each in day.files}
    order = {"asked": 0, "ready": 1, "empty": 2, "stored": 3}
    rows = sorted(found["rows"], key=lambda row: order[row["state"]])
    lines = tuple(row_line(row, number, day.day, names, request, words) for number, row in enumerate(rows, start=1))
    states = [each.state for each in lines]
    remarks = tuple(words.message(Message.from_json(each)) for each in found["remarks"])
    ready, asked, stored = (states.count(each) for each in ("ready", "asked", "stored"))
    return Rows(lines, ready, asked, stored, remarks, zone_asked=any(each.zone_asked for each in lines))


def row_line(
    row: Mapping[str, Any], number: int, on: date, names: Mapping[str, str], request: Request, words: Words
) -> RowLine:
    """A row in words.

    number : of the row on its screen
    names : of the received files, by their SHA-256
    """
    parts = parts_of(request)
    more: Sequence[Mapping[str, Any]] = parts.asked.get((on, row["key"]), ())
    state = "asked" if more and row["state"] != "stored" else row["state"]
    asked = (*row["asked"], *more) if state in ("asked", "empty") else ()
    questions = tuple(_question(each, names, words) for each in asked)
    code = row["code"] or ""
    place = f"/day/{on}/row/{parts.ids.of(code)}/{row['turn']}" if code else ""
    return RowLine(
        row["key"],
        number,
        _called(code, row["turn"], words),
        state,
        words.get(f"web_day.state_{state}"),
        tuple(_facts(row, names, words)),
        questions,
        tuple(row["trials"]),
        place,
    )


def _called(code: str, turn: int, words: Words) -> str:
    """Whose row it is, and which test of the day where it is not the first."""
    if not code:
        return words.get("web_day.nobody")
    return code if turn == 1 else words.get("web_row.heading_turn", code=code, number=turn)


def _facts(row: Mapping[str, Any], names: Mapping[str, str], words: Words) -> list[str]:
    """What a row says in short."""
    texts, found = row["texts"], list[str]()
    if texts.get("protocol"):
        found.append(texts["protocol"])
    found += [names.get(each, "") for each in row["files"]]
    if texts.get("on"):
        found.append(words.date(date.fromisoformat(texts["on"])))
    if texts.get("work"):
        found.append(words.get("web_day.work", span=texts["work"].replace("@", "").replace("-", "–", 1)))
    return [each for each in found if each]


def _question(asked: Mapping[str, Any], names: Mapping[str, str], words: Words) -> Question:
    """A question; that it is right is answered for the whole row, and the students are chosen from a list."""
    message = Message.from_json(asked["asked"])
    on = dict(message.values).get("on")
    pairs = [
        (each["kind"], _press(each, place, names, words, on if isinstance(on, date) else None))
        for place, each in enumerate(asked["answers"])
        if each["kind"] not in ("so", "write")  # of these the row has one press for all that is asked
    ]
    return Question(
        words.message(message),
        asked["mark"],
        tuple(press for kind, press in pairs if kind != "give"),
        tuple(press for kind, press in pairs if kind == "give"),
        any(each["kind"] == "so" for each in asked["answers"]),
        inner(message).code in ASKED_BY,
    )


def _press(answer: Mapping[str, Any], place: int, names: Mapping[str, str], words: Words, on: date | None) -> Press:
    kind, value = answer["kind"], answer["value"]
    if kind == "confirm":
        return Press(_word(value, words), place, value)
    file = names.get(answer["file"], "")
    if kind == "day":
        return Press(words.get("web_day.answer_day", on=date.fromisoformat(value)), place)
    if kind == "shift":
        return Press(_shift(float(value), words, on), place)
    label = words.get(f"web_day.answer_{kind}", **_values(kind, value, file))
    return Press(label, place)


def _values(kind: str, value: str, file: str) -> dict[str, str]:
    match kind:
        case "give":
            return {"student": value}
        case "protocol":
            return {"protocol": value}
        case "put_away" | "only_file":
            return {"file": file}
        case _:
            return {}


def _shift(seconds: float, words: Words, on: date | None) -> str:
    """By how much a clock was off, in the largest unit that is whole; of whole days, on which day it was then.

    on : the day that the file states
    """
    if on is not None and seconds % DAY_S == 0:
        return words.get("web_day.answer_shift_to", on=on + timedelta(seconds=seconds))
    if seconds % HOUR_S == 0:
        return words.get("web_day.answer_shift_hours", count=int(seconds // HOUR_S))
    return words.get("web_day.answer_shift", seconds=seconds)


def _word(word: str, words: Words) -> str:
    """The label of a word that settles a question."""
    if word in CONFIRMED:
        return words.get(f"web_day.word_{word.replace('-', '_')}")
    try:
        return words.get("web_day.answer_day", on=date.fromisoformat(word))
    except ValueError:
        return words.get("web_day.word_other", word=word)


def _end(looked: Mapping[str, Any]) -> float:
    return looked["begin_s"] + looked["length_s"]


def _hm(seconds: float) -> str:
    """A time of the day in hours and minutes."""
    minutes = int(seconds // 60)
    return f"{minutes // 60 % 24}:{minutes % 60:02d}"
