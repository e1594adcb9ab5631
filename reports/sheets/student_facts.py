"""What is kept of a student, as lines: what, how much, who said so, and from when it counts."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from ...records.abilities import MOVEMENTS, NEEDS, SENSES
from ...records.student import Answers, Ceiling, MeasuredRate, Student
from ..words import Words

LISTS = {
    "ceiling": "ceilings",
    "rest": "rests",
    "maximum": "maxima",
    "condition": "conditions",
    "can": "answers",
    "needs": "answers",
}
"""In which of a student's lists an entry of a kind stands."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One line.

    kind : what it is of: ceiling, rest, maximum, condition, can, needs, notes
    place : of an entry in its list, to take it away by; None where it is in no list
    counts : whether it is the one that counts
    """

    kind: str
    text: str
    beside: str = ""
    place: int | None = None
    counts: bool = True


def facts_of(student: Student, words: Words) -> tuple[Fact, ...]:
    """Every line, the ceiling first; of entries of one kind the one that counts last."""
    return (
        *(_ceiling(place, each, student, words) for place, each in enumerate(student.ceilings)),
        *(_rate("rest", place, each, words, each is student.rest) for place, each in enumerate(student.rests)),
        *(_rate("maximum", place, each, words, _counts(each, student)) for place, each in enumerate(student.maxima)),
        *(Fact("condition", words.get(f"condition.{each}"), place=n) for n, each in enumerate(student.conditions)),
        *(each for n, said in enumerate(student.answers) for each in _answers(n, said, student, words)),
        *((Fact("notes", words.typed(student.notes)),) if student.notes else ()),
    )


def _ceiling(place: int, each: Ceiling, student: Student, words: Words) -> Fact:
    role = words.typed(each.set_by) if not words.known(f"role.{each.set_by.replace(' ', '_')}") else ""
    role = role or words.get(f"role.{each.set_by.replace(' ', '_')}")
    beside = _beside([words.get("student_facts.set_by", role=role), *_since(each.set_on, words)])
    return Fact("ceiling", words.beats(each.bpm), beside, place, each is student.ceiling)


def _rate(kind: str, place: int, each: MeasuredRate, words: Words, counts: bool) -> Fact:
    told = [words.get("student_facts.measured_on", date=words.date(each.on))] if each.on else []
    told += [words.typed(text) for text in (each.posture, each.exercise) if text]
    return Fact(kind, words.beats(each.bpm), _beside(told), place, counts)


def _counts(each: MeasuredRate, student: Student) -> bool:
    """Whether a maximum is the one that counts for its kind of exercise."""
    return student.maximum(each.exercise) is each


def _answers(place: int, said: Answers, student: Student, words: Words) -> Iterator[Fact]:
    counts, beside = said is student.answer, _beside(_since(said.on, words))
    can = [words.get(f"movement.{each}") for each in MOVEMENTS if each in said.can]
    can += [words.get(f"sense_said.{each}") for each in SENSES if each in said.can]
    needs = [words.get(f"need.{each}") for each in NEEDS if each in said.needs]
    if can or not needs:
        yield Fact("can", words.listed(can) or words.get("form.dash"), beside, place, counts)
    if needs:
        yield Fact("needs", words.listed(needs), beside, place, counts)


def _since(on: date | None, words: Words) -> list[str]:
    return [words.get("student_facts.from", date=words.date(on))] if on else []


def _beside(parts: list[str]) -> str:
    return ", ".join(parts)
