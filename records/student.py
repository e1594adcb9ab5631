"""A student: a code, and what changes the meaning of a heart rate. Never a name."""

import re
from collections.abc import Mapping
from datetime import date
from typing import ClassVar, Literal

from pydantic import field_validator

from ..errors import NotACode, NotAStudent, OwnmarkError
from ..words.message import Message
from ..words.render import english_date
from . import student_messages as say
from .abilities import Movement, Need, Sense
from .texts import TEXT
from .value import Value, check_bpm

ROLES = (
    "therapist",
    "physiotherapist",
    "physician",
    "doctor",
    "cardiologist",
    "paediatrician",
    "pediatrician",
    "neurologist",
    "nurse",
    "teacher",
    "aide",
    "assistant",
    "coach",
    "coordinator",
    "specialist",
    "team",
    "parent",
    "guardian",
    "plan",
)
"""Who may have set a ceiling or run a test, as a role."""

_QUALIFIERS = (
    *("school", "physical", "occupational", "education", "pe", "ape", "adapted", "special", "paediatric", "pediatric"),
    *("care", "cardiology", "health", "head", "lead", "class", "family", "medical", "exercise", "district", "student"),
    *("rehabilitation", "respiratory", "speech", "and", "of", "the"),
)
_LONGEST = 12
_MOST_LETTERS = 4
_MOST_DIGITS = 5


def check_code(text: str) -> str:
    """Check a student's code and give it in capitals.

    A code has up to 12 characters: letters A to Z, digits and single hyphens between them, with at least one digit.
    No list of names is kept. What looks like a name is told by its letters: more than four in all, or three in a row
    with a vowel among them. What looks like a date or a number of a person is told by its digits.

    Raises
    ------
    NotACode
        With the reason: it looks like a name, an e-mail address, a date, or a phone or identity number.
    """
    code = text.strip()
    reason = _why_not(code)
    if reason:
        # The text itself may be what must not be kept, so the sentence does not repeat it.
        raise NotACode(reason, mend=say.STUDENT_CODE_MEND)
    return code.upper()


def _why_not(code: str) -> Message | None:
    """Why this is no code; None if it is one."""
    digits = sum(character.isdigit() for character in code)
    if not code:
        return say.STUDENT_CODE_EMPTY
    if "@" in code:
        return say.STUDENT_CODE_MAIL
    if _looks_like_date(code):
        return say.STUDENT_CODE_DATE
    if digits > _MOST_DIGITS:
        return say.student_code_digits(_MOST_DIGITS)
    if digits == 0:
        return say.STUDENT_CODE_NO_DIGIT
    if _looks_like_name(code):
        return say.STUDENT_CODE_NAME
    if len(code) > _LONGEST:
        return say.student_code_long(_LONGEST)
    if re.fullmatch(r"[A-Za-z0-9]+(-[A-Za-z0-9]+)*", code) is None:
        return say.STUDENT_CODE_SIGNS
    return None


def _looks_like_date(code: str) -> bool:
    """A year of four digits, or three groups of digits as in 03.04.12."""
    if re.search(r"(?<!\d)(19|20)\d\d(?!\d)", code):
        return True
    return re.fullmatch(r"\d{1,2}\D+\d{1,2}\D+\d{1,2}", code) is not None


def _looks_like_name(text: str) -> bool:
    """Too many letters for a code, three in a row with a vowel, or letters beyond A to Z."""
    if sum(character.isalpha() for character in text) > _MOST_LETTERS:
        return True
    if any(character.isalpha() and not character.isascii() for character in text):
        return True
    return any(re.search("[aeiouy]", run) for run in re.findall("[a-z]{3,}", text.lower()))


def check_role(text: str, not_one: Message, refusal: type[OwnmarkError] = NotAStudent) -> str:
    """Check that ``text`` is a role such as “school nurse”, and give it in small letters.

    not_one : what to say where it is none

    Raises
    ------
    OwnmarkError
        Of the kind ``refusal``, if a word in it is none of those that roles are made of.
    """
    words = re.findall(r"[^\W\d_]+", text.lower())
    known = all(word in ROLES or word in _QUALIFIERS for word in words)
    if not (known and any(word in ROLES for word in words)) or re.search(r"\d|@", text):
        # As above: what was written may be a name, and is not repeated.
        raise refusal(not_one, mend=say.STUDENT_ROLE_MEND)
    return " ".join(words)


def check_tester(text: str, refusal: type[OwnmarkError] = NotAStudent) -> str:
    """Check who ran a test: a role, a code, or initials of two or three letters."""
    plain = text.strip()
    if re.fullmatch(r"[A-Za-z]\.?[A-Za-z]\.?[A-Za-z]?\.?", plain) and not _looks_like_name(plain):
        return plain.replace(".", "").upper()
    try:
        return check_code(plain)
    except NotACode:
        return check_role(plain, say.STUDENT_ROLE_TESTER, refusal)


def check_note(text: str, refusal: type[OwnmarkError]) -> str:
    """Refuse an e-mail address in a note; names cannot be told, and the help says that none belongs there.

    Raises
    ------
    OwnmarkError
        Of the kind ``refusal``; what was written is not repeated.
    """
    if re.search(r"\S@\S+\.\w", text):
        raise refusal(say.STUDENT_NOTE_MAIL, mend=say.STUDENT_NOTE_MEND)
    return text


class _OfStudent(Value):
    refusal: ClassVar[type[OwnmarkError]] = NotAStudent
    called: ClassVar[str] = "a student"


class MeasuredRate(_OfStudent):
    """A resting or highest heart rate that was measured [/min], and how."""

    called: ClassVar[str] = "a measured heart rate"

    bpm: float
    on: date | None = None
    posture: str | None = None
    exercise: str | None = None

    @field_validator("bpm")
    @classmethod
    def _a_heart_rate(cls, bpm: float) -> float:
        return check_bpm(bpm, "a measured rate", NotAStudent)


class Ceiling(_OfStudent):
    """The upper limit of heart rate from the student's plan [/min], the role that set it, and when."""

    called: ClassVar[str] = "a ceiling"

    bpm: float
    set_by: str
    set_on: date | None = None

    @field_validator("bpm")
    @classmethod
    def _a_heart_rate(cls, bpm: float) -> float:
        return check_bpm(bpm, "a ceiling", NotAStudent)

    @field_validator("set_by")
    @classmethod
    def _a_role(cls, set_by: str) -> str:
        return check_role(set_by, say.STUDENT_ROLE_CEILING)


class Answers(_OfStudent):
    """What the student can do and needs when a test is chosen, as seen in class, and from when on. No diagnosis."""

    called: ClassVar[str] = "what a student can do"

    can: tuple[Movement | Sense, ...] = ()
    needs: tuple[Need, ...] = ()
    on: date | None = None


class Student(_OfStudent):
    """One student.

    conditions : names of ``metrics.conditions``; an alias is kept under its full name
    born : "YYYY-MM"; the day is never kept
    """

    longer: ClassVar[Mapping[str, int]] = {"notes": TEXT}
    code: str
    born: str | None = None
    sex: Literal["female", "male"] | None = None
    conditions: tuple[str, ...] = ()
    rests: tuple[MeasuredRate, ...] = ()
    maxima: tuple[MeasuredRate, ...] = ()
    ceilings: tuple[Ceiling, ...] = ()
    answers: tuple[Answers, ...] = ()
    notes: str = ""

    @field_validator("code")
    @classmethod
    def _a_code(cls, code: str) -> str:
        return check_code(code)

    @field_validator("born")
    @classmethod
    def _a_month(cls, born: str | None) -> str | None:
        if born is None:
            return None
        found = re.fullmatch(r"((?:19|20)\d\d)-(\d{1,2})", born.strip())
        if found is None or not 1 <= int(found[2]) <= 12:
            day = re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", born.strip())
            reason = "the day of birth is not kept" if day else "that is not a month of birth"
            raise NotAStudent(f"{reason}.", mend="Write the month only, as YYYY-MM: 2012-04.")
        return f"{found[1]}-{int(found[2]):02d}"

    @field_validator("notes")
    @classmethod
    def _no_address(cls, notes: str) -> str:
        return check_note(notes, NotAStudent)

    def model_post_init(self, _context: object, /) -> None:
        """Check that the newest rest lies below every maximum."""
        rest = self.rest
        if rest is not None and any(each.bpm <= rest.bpm for each in self.maxima):
            raise NotAStudent(say.student_rest_above(rest.bpm), mend=say.STUDENT_REST_ABOVE_MEND)

    @field_validator("conditions")
    @classmethod
    def _known_conditions(cls, conditions: tuple[str, ...]) -> tuple[str, ...]:
        if not conditions:
            return ()
        from ..metrics.conditions import find_condition

        return tuple(dict.fromkeys(find_condition(name).name for name in conditions))

    @property
    def ceiling(self) -> Ceiling | None:
        """The ceiling set last; one without a date counts as older than any with one."""
        return max(reversed(self.ceilings), key=lambda each: each.set_on or date.min, default=None)

    @property
    def answer(self) -> Answers | None:
        """What was said last of what the student can do; without a date it counts as older than any with one."""
        return max(reversed(self.answers), key=lambda each: each.on or date.min, default=None)

    @property
    def rest(self) -> MeasuredRate | None:
        """The rest measured last."""
        return _latest(self.rests)

    def maximum(self, exercise: str | None) -> MeasuredRate | None:
        """The maximum measured last in this kind of exercise.

        Failing that, the last one whose kind of exercise was not written down: whoever entered it for this student
        answers for it. One measured in another kind of exercise never counts.
        """
        wanted = _plain(exercise)
        same = [each for each in self.maxima if wanted is not None and _plain(each.exercise) == wanted]
        return _latest(same) or _latest([each for each in self.maxima if each.exercise is None])

    def as_of(self, day: date) -> "Student":
        """The student as known on ``day``: without later rests and maxima.

        An old trial's figures do not move when something new is measured. The ceiling is that of today for every
        trial: it is what a therapist reads a page for, and one that was withdrawn must not be counted against.
        """
        return self.model_copy(
            update={
                "rests": tuple(each for each in self.rests if each.on is None or each.on <= day),
                "maxima": tuple(each for each in self.maxima if each.on is None or each.on <= day),
            }
        )

    def age_on(self, day: date) -> float | None:
        """Age in years on ``day``, counted from month to month; None if the month of birth is unknown.

        Raises
        ------
        NotAStudent
            If that day lies before the month of birth.
        """
        if self.born is None:
            return None
        year, month = (int(part) for part in self.born.split("-"))
        years = (day.year - year) + (day.month - month) / 12
        if not 0 < years < 120:
            raise NotAStudent(
                f"born {self.born} and tested {english_date(day)} gives no age.",
                where=f"student {self.code}",
                mend="Look at both dates.",
            )
        return years


def _latest(measured: "tuple[MeasuredRate, ...] | list[MeasuredRate]") -> MeasuredRate | None:
    """The last by date, and of one day the last in the list."""
    return max(reversed(measured), key=lambda each: each.on or date.min, default=None)


def _plain(exercise: str | None) -> str | None:
    return None if exercise is None else " ".join(exercise.lower().split())
