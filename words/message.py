"""A message: a stable code and its named values. Code decides by them; nobody reads the sentence.

A value is a number, a date, a key of the vocabulary (a ``str``: ``"pacemaker"``, ``"heart_rate_mean"``), what a person
or a file wrote (``Quoted``), another message, or a tuple of these. As JSON a message is

    {"code": "figure.too_little_measured", "values": {"share": 61.2, "needed": 80}}

with dates as ``{"date": "2026-05-12"}``, quoted text as ``{"text": "…"}`` and messages as themselves. In a sheet each
message carries its English text beside, as ``"text"``: for people who read the JSON, never read back.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, TypeAlias, Union, cast

if TYPE_CHECKING:
    from pydantic_core import CoreSchema
    from pydantic_core.core_schema import SerializationInfo

Json: TypeAlias = Union[bool, int, float, str, "list[Json]", "dict[str, Json]", None]
Value: TypeAlias = Union[float, int, str, date, "Quoted", "Message", "tuple[Value, ...]"]


ENGLISH = "legacy.english"
"""The code of a sentence that was kept in English before messages had codes, or that has none yet."""
CLOCK_AT_ZERO = "clock_at_zero"
"""A value of a message about times of a recording: the clock at the recording's time 0  [s after midnight]. Where it is
there, the times are written by the clock; the values stay seconds of the recording."""


@dataclass(frozen=True, slots=True)
class Quoted:
    """Text as a person typed it or a file holds it: shown, never looked up, never decided by."""

    text: str


@dataclass(frozen=True, slots=True)
class Message:
    """A code of the catalogue and the values that its text names.

    code : as in ``"figure.too_little_measured"``; never changes once a sheet may hold it
    values : (name, value) in the order in which they were given
    """

    code: str
    values: tuple[tuple[str, Value], ...] = ()

    @classmethod
    def of(cls, code: str, /, **values: Value) -> "Message":
        """A message with its values by name."""
        return cls(code, tuple(values.items()))

    def __getitem__(self, name: str) -> Value:
        """The value of a name.

        Raises
        ------
        KeyError
            If the message has none of that name.
        """
        return dict(self.values)[name]

    @classmethod
    def english(cls, text: str) -> "Message":
        """A sentence that is kept in English as it is."""
        return cls(ENGLISH, (("text", Quoted(text)),))

    def to_json(self) -> dict[str, Json]:
        """The message as plain JSON values."""
        return {"code": self.code, "values": {name: _plain(value) for name, value in self.values}}

    def with_text(self) -> dict[str, Json]:
        """The message as plain JSON values, with its English text beside.

        Raises
        ------
        MissingWords
            If English has no such code or value.
        """
        from .render import english

        return {**self.to_json(), "text": english(self)}

    @classmethod
    def from_json(cls, found: Mapping[str, object]) -> "Message":
        """The message that ``to_json`` wrote.

        Raises
        ------
        ValueError
            If it is not of that shape.
        """
        code, values = found.get("code"), found.get("values", {})
        if not isinstance(code, str) or not isinstance(values, dict):
            raise ValueError("a message has a code and values")
        items = cast("dict[str, object]", values).items()
        return cls(code, tuple([(str(name), _value(value)) for name, value in items]))

    @classmethod
    def __get_pydantic_core_schema__(cls, source: object, handler: object) -> "CoreSchema":
        """Let pydantic models hold messages; imported only by those who use pydantic already.

        The English text stands beside, but where the model is written for reading back (``round_trip``).
        """
        from pydantic_core import core_schema

        def read(found: object) -> Message:
            if isinstance(found, Message):
                return found
            page = cast("dict[str, object]", found) if isinstance(found, dict) else {}
            if not isinstance(page.get("code"), str):
                raise ValueError("a message has a code and values")
            return _interned(page)

        def written(message: Message, info: "SerializationInfo") -> dict[str, Json]:
            return message.to_json() if info.round_trip else _with_text(message)

        return core_schema.no_info_plain_validator_function(
            read, serialization=core_schema.plain_serializer_function_ser_schema(written, info_arg=True)
        )

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: object, handler: object) -> dict[str, Json]:
        """The message's shape for ``ownmark schema``."""
        return {
            "type": "object",
            "title": "Message",
            "properties": {"code": {"type": "string"}, "values": {"type": "object"}, "text": {"type": "string"}},
            "required": ["code", "values"],
            "additionalProperties": False,
        }


_read: dict[tuple[object, str], Message] = {}
"""Messages that were read, by what they were read from: a sheet repeats its basis in twenty figures."""
_MOST_READ = 4096


def _interned(found: Mapping[str, object]) -> Message:
    """The message of some JSON values, one object for all that are equal to the last digit."""
    key = (found.get("code"), repr(found.get("values")))
    message = _read.get(key)
    if message is None:
        message = Message.from_json(found)
        if len(_read) >= _MOST_READ:
            _read.clear()
        _read[key] = message
    return message


@lru_cache(_MOST_READ)
def _with_text(message: Message) -> dict[str, Json]:
    """``with_text``, made once: whoever writes a model copies it."""
    return message.with_text()


def english_of_older(message: Message) -> str:
    """The sentence of a message that an older sheet kept in English; empty for every message with a code of its own."""
    text = message["text"] if message.code == ENGLISH else None
    return text.text if isinstance(text, Quoted) else ""


def _plain(value: Value) -> Json:
    if isinstance(value, Message):
        return value.to_json()
    if isinstance(value, Quoted):
        return {"text": value.text}
    if isinstance(value, date):
        return {"date": value.isoformat()}
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value


def _value(found: object) -> Value:
    if isinstance(found, (str, int, float)):
        return found
    if isinstance(found, dict):
        page = cast("dict[str, object]", found)
        if "code" in page:
            return Message.from_json(page)
        text, day = page.get("text"), page.get("date")
        if isinstance(day, str):
            return date.fromisoformat(day)
        if isinstance(text, str):
            return Quoted(text)
    if isinstance(found, (list, tuple)):
        return tuple([_value(each) for each in cast("list[object]", found)])
    raise ValueError("a value of a message is a number, a key, a date, a text, a message or a list of these")
