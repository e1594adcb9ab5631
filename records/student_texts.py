"""A student as people write one down in a row of a list: named texts to what they say, one text after the other.

An empty cell says nothing. Whatever is no text of its column is refused; what a cell holds is not repeated, because in
a list whose columns slipped it may be a name.
"""

import difflib
import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal, TypeVar

from ..errors import BasisError, NotAStudent, NotConfirmed, Question
from ..words.message import Quoted
from ..words.numbers import two_readings, typed_number
from ..words.vocabulary import HIGHEST_BPM, LOWEST_BPM
from . import student_messages as say
from .abilities import MOVEMENTS, NEEDS, SENSES, plain_word
from .guard_messages import GUARD_ANSWER, guard_day_order
from .student import Ceiling, MeasuredRate, check_code
from .written_days import FIRST_DAY
from .written_months import month_of, names_a_day

NONE = "none"
"""What takes something away elsewhere; in a list only “needs” may say it: that is an answer."""
NEEDED_BY: Mapping[str, tuple[str, ...]] = {
    "posture": ("rest",),
    "exercise": ("max",),
    "measured_on": ("rest", "max"),
    "set_on": ("ceiling",),
}
"""Columns that say how something was measured or set, and what has to stand beside them."""
DAYS = ("measured_on", "set_on")
Found = TypeVar("Found")


@dataclass(frozen=True, slots=True)
class Said:
    """What a row says of a student; None and empty: nothing.

    can, needs : None where the row says nothing of them; an empty ``needs`` says that it is nothing
    """

    code: str
    born: str | None = None
    sex: Literal["female", "male"] | None = None
    conditions: tuple[str, ...] = ()
    rest: MeasuredRate | None = None
    maximum: MeasuredRate | None = None
    ceiling: Ceiling | None = None
    can: tuple[str, ...] | None = None
    needs: tuple[str, ...] | None = None
    notes: str = ""


def said_in(
    texts: Mapping[str, str], days: Mapping[str, Sequence[date]], answers: Collection[str], today: date
) -> Said:
    """What the texts of a row say.

    Parameters
    ----------
    texts : column to text, without space around it; no empty ones
    days : of each column of days that holds something, the days that it can mean; none: it is no date
    answers : what the row confirms, in small letters
    today : nothing of a student lies behind it

    Raises
    ------
    NotACode, NotAStudent
        If a text is none of its column.
    NotConfirmed
        If a date can be two days.
    """
    code = check_code(texts.get("code", ""))
    _refuse_none(texts)
    _refuse_alone(texts)
    on = {name: _day(name, found, answers, today) for name, found in days.items()}
    measured = on.get("measured_on")
    can = _one(texts, "can", lambda text: words_in(text, "can", (*MOVEMENTS, *SENSES)))
    needs = _one(texts, "needs", _needs)
    return Said(
        code,
        born=_one(texts, "born", lambda text: _born(text, today)),
        sex=_one(texts, "sex", _sex),
        conditions=_one(texts, "conditions", _conditions) or (),
        rest=_rate(texts, "rest", on=measured, posture=texts.get("posture")),
        maximum=_rate(texts, "max", on=measured, exercise=texts.get("exercise")),
        ceiling=_ceiling(texts, on.get("set_on")),
        can=can,
        needs=needs,
        notes=texts.get("notes", ""),
    )


def _one(texts: Mapping[str, str], column: str, read: Callable[[str], Found]) -> Found | None:
    text = texts.get(column)
    return None if text is None else read(text)


def _refuse_none(texts: Mapping[str, str]) -> None:
    for column, text in texts.items():
        if plain_word(text) == NONE and column not in ("needs", "confirm", "notes"):
            raise NotAStudent(say.student_row_none(Quoted(column)), mend=say.STUDENT_ROW_NONE_MEND)


def _refuse_alone(texts: Mapping[str, str]) -> None:
    """Refuse what would be dropped unseen: a posture without a rest, a day without what was measured on it."""
    if ("ceiling" in texts) != ("set_by" in texts):
        raise NotAStudent(say.STUDENT_ROW_CEILING, mend=say.STUDENT_ROW_CEILING_MEND)
    for column, needed in NEEDED_BY.items():
        if column in texts and not any(each in texts for each in needed):
            names = (Quoted(column), Quoted(needed[0]))
            raise NotAStudent(say.student_row_alone(*names), mend=say.student_row_alone_mend(*names))


def _day(column: str, days: Sequence[date], given: Collection[str], today: date) -> date:
    """The day of a cell."""
    if not days:
        raise NotAStudent(say.student_row_date(Quoted(column)), mend=say.STUDENT_ROW_DATE_MEND)
    possible = [each for each in days if FIRST_DAY <= each <= today] or list(days[:1])
    meant = [each for each in possible if each.isoformat() in given] or possible
    if len(meant) > 1:
        first, second = meant
        answers = (first.isoformat(), second.isoformat())
        asked = guard_day_order(first, second, Quoted(answers[0]), Quoted(answers[1]))
        raise NotConfirmed(asked, questions=(Question(asked, answers),), mend=GUARD_ANSWER)
    (on,) = meant
    if on < FIRST_DAY:
        raise NotAStudent(say.student_row_early(Quoted(column), on), mend=say.STUDENT_ROW_CHECK_YEAR)
    if on > today:
        raise NotAStudent(say.student_row_ahead(Quoted(column), on), mend=say.STUDENT_ROW_CHECK_YEAR)
    return on


def _born(text: str, today: date) -> str:
    month = month_of(text, today)
    if month is None:
        what = say.STUDENT_ROW_BIRTHDAY if names_a_day(text) else say.STUDENT_ROW_BORN
        raise NotAStudent(what, mend=say.STUDENT_ROW_BORN_MEND)
    if month > f"{today:%Y-%m}":
        raise NotAStudent(say.STUDENT_ROW_BORN_AHEAD, mend=say.STUDENT_ROW_CHECK_YEAR)
    return month


def _sex(text: str) -> Literal["female", "male"]:
    plain = text.lower()
    if plain == "female":
        return "female"
    if plain == "male":
        return "male"
    raise NotAStudent(say.STUDENT_ROW_SEX, mend=say.STUDENT_ROW_SEX_MEND)


def _conditions(text: str) -> tuple[str, ...]:
    from ..metrics.conditions import ALIASES, CONDITIONS, find_condition

    found: list[str] = []
    for number, part in _parts(text):
        try:
            found.append(find_condition(part).name)
        except BasisError:
            raise _no_word("conditions", number, part, (*CONDITIONS, *ALIASES), tuple(CONDITIONS)) from None
    return tuple(dict.fromkeys(found))


def words_in(text: str, column: str, allowed: Sequence[str]) -> tuple[str, ...]:
    """Words of a closed list, each once, in the order of the list.

    Raises
    ------
    NotAStudent
        For one that is not in it, with the nearest.
    """
    given: set[str] = set()
    for number, part in _parts(text):
        word = plain_word(part)
        if word not in allowed:
            raise _no_word(column, number, word, allowed, allowed)
        given.add(word)
    return tuple(each for each in allowed if each in given)


def _needs(text: str) -> tuple[str, ...]:
    return () if plain_word(text) == NONE else words_in(text, "needs", NEEDS)


def _parts(text: str) -> list[tuple[int, str]]:
    """What stands between the semicolons, commas or line ends of a cell, counted from 1."""
    parts = [part.strip() for part in re.split(r"[;,\n]", text)]
    return list(enumerate([part for part in parts if part], start=1))


def _no_word(column: str, number: int, word: str, allowed: Sequence[str], known: Sequence[str]) -> NotAStudent:
    close = difflib.get_close_matches(word[:40].lower(), allowed, n=2, cutoff=0.5)
    shown = tuple(map(Quoted, close or known))
    mend = say.student_row_near(shown) if close else say.student_row_words(shown)
    return NotAStudent(say.student_row_word(Quoted(column), number), mend=mend)


def _bpm(texts: Mapping[str, str], column: str) -> float | None:
    """A heart rate [/min]."""
    text = texts.get(column)
    if text is None:
        return None
    try:
        bpm = typed_number(text)
    except ValueError:
        of = say.student_row_two_numbers if two_readings(text) else say.student_row_number
        raise NotAStudent(of(Quoted(column)), mend=say.STUDENT_ROW_NUMBER_MEND) from None
    if not LOWEST_BPM <= bpm <= HIGHEST_BPM:
        mend = say.student_row_rate_mend(LOWEST_BPM, HIGHEST_BPM)
        raise NotAStudent(say.student_row_rate(Quoted(column), bpm), mend=mend)
    return bpm


def _rate(texts: Mapping[str, str], column: str, **how: object) -> MeasuredRate | None:
    bpm = _bpm(texts, column)
    return None if bpm is None else MeasuredRate.model_validate({"bpm": bpm, **how})


def _ceiling(texts: Mapping[str, str], on: date | None) -> Ceiling | None:
    bpm = _bpm(texts, "ceiling")
    return None if bpm is None else Ceiling(bpm=bpm, set_by=texts["set_by"], set_on=on)


def free_texts(said: Said) -> dict[str, str]:
    """The texts of a row that people write as they like, by the field that each is asked about as."""
    how = {
        "rest_posture": said.rest.posture if said.rest else None,
        "movement": said.maximum.exercise if said.maximum else None,
        "notes": said.notes,
    }
    return {name: text for name, text in how.items() if text}
