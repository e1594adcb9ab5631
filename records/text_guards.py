"""Free texts are asked about before they are kept: a name, a telephone number or a mail address belongs in none.

A mere yes to another question does not answer this one. Only what is new is asked: what a person let stand once stays.
"""

from collections.abc import Collection, Iterable, Mapping

from ..errors import NotConfirmed, Question
from ..words.message import Message, Quoted
from ..words.shapes import is_list
from . import guard_messages as say
from .personal_texts import Personal, personal_in
from .protocol import HandMeasure, Protocol
from .trial import Stop, Trial

KEEP = "keep-text"
"""The answer: it is none, or has to stand."""
OF_TRIAL = (
    *("notes", "health", "medicines", "footwear_orthoses", "device_used", "device_settings", "sensor_used", "stops"),
)
"""Texts of a trial that people write as they like."""
_NOT_FREE = frozenset({"name", "version", "from_catalogue", "component", "primary_figure", "equation", "target"})


def of_texts(texts: Mapping[str, str]) -> tuple[Question, ...]:
    """What is asked of texts, by the field that each stands in."""
    return tuple(Question(_asked(name, each), (KEEP,)) for name, text in texts.items() for each in personal_in(text))


def _asked(name: str, found: Personal) -> Message:
    if found.kind == "name":
        return say.guard_named(name, Quoted(found.begin))
    return (say.guard_phone if found.kind == "phone" else say.guard_mail)(name)


def of_trial(trial: Trial, fields: Collection[str] = OF_TRIAL) -> tuple[Question, ...]:
    """What is asked of the texts of a trial, or of these fields of it."""
    return of_texts({name: _together(getattr(trial, name)) for name in OF_TRIAL if name in fields})


def of_protocol(before: Protocol, after: Protocol) -> tuple[Question, ...]:
    """What is asked of the texts of a protocol that are not as they were."""
    new = [name for name in Protocol.model_fields if getattr(before, name) != getattr(after, name)]
    return of_texts({name: _together(getattr(after, name)) for name in new if name not in _NOT_FREE})


def ask(questions: Iterable[Question], given: Iterable[str]) -> None:
    """Refuse texts of which a question is open.

    Raises
    ------
    NotConfirmed
        With every open question.
    """
    answers = {each.strip().casefold() for each in given}
    still = tuple(each for each in questions if answers.isdisjoint(each.answers))
    if still:
        asked = say.guard_asked(tuple(each.asked for each in still))
        raise NotConfirmed(asked, questions=still, mend=say.GUARD_ANSWER)


def ask_of(texts: Mapping[str, str], given: Iterable[str]) -> None:
    """Refuse texts that may hold something of a person, unless that was answered.

    Raises
    ------
    NotConfirmed
    """
    ask(of_texts(texts), given)


def _together(value: object) -> str:
    """A field's texts as one; what is no text is empty."""
    if isinstance(value, str):
        return value
    if is_list(value):
        return "; ".join(map(_together, value))
    return value.why if isinstance(value, Stop) else value.how if isinstance(value, HandMeasure) else ""
