"""A message: a stable code and its named values. Code decides by them; nobody reads the sentence.

A value is a number, a date, a key of the vocabulary (a ``str``: ``"pacemaker"``, ``"heart_rate_mean"``), what a person
or a file wrote (``Quoted``), another message, or a tuple of these. As JSON a message is

    {"code": "figure.too_little_measured", "values": {"share": 61.2, "needed": 80}}

with dates as ``{"date": "2026-05-12"}``, quoted text as ``{"text": "…"}`` and messages as themselves.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, TypeAlias, Union

if TYPE_CHECKING:
    from pydantic_core import CoreSchema

Json: TypeAlias = Union[bool, int, float, str, "list[Json]", "dict[str, Json]", None]
Value: TypeAlias = Union[float, int, str, date, "Quoted", "Message", "tuple[Value, ...]"]


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

    def to_json(self) -> dict[str, Json]:
        """The message as plain JSON values."""
        return {"code": self.code, "values": {name: _plain(value) for name, value in self.values}}

    @classmethod
    def from_json(cls, found: Mapping[str, object]) -> "Message":
        """The message that ``to_json`` wrote.

        Raises
        ------
        ValueError
            If it is not of that shape.
        """
        code, values = found.get("code"), found.get("values", {})
        if not isinstance(code, str) or not isinstance(values, Mapping):
            raise ValueError("a message has a code and values")
        return cls(code, tuple((str(name), _value(value)) for name, value in _items(values)))

    @classmethod
    def __get_pydantic_core_schema__(cls, source: object, handler: object) -> "CoreSchema":
        """Let pydantic models hold messages; imported only by those who use pydantic already."""
        from pydantic_core import core_schema

        def read(found: object) -> Message:
            if isinstance(found, Message):
                return found
            if not isinstance(found, Mapping):
                raise ValueError("a message has a code and values")
            return cls.from_json(found)

        return core_schema.no_info_plain_validator_function(
            read, serialization=core_schema.plain_serializer_function_ser_schema(cls.to_json)
        )

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: object, handler: object) -> dict[str, Json]:
        """The message's shape for ``ownmark schema``."""
        return {
            "type": "object",
            "title": "Message",
            "properties": {"code": {"type": "string"}, "values": {"type": "object"}},
            "required": ["code", "values"],
            "additionalProperties": False,
        }


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


def _items(found: Mapping[object, object]) -> tuple[tuple[object, object], ...]:
    return tuple(found.items())


def _value(found: object) -> Value:
    if isinstance(found, Mapping):
        if "code" in found:
            return Message.from_json(found)
        if isinstance(found.get("date"), str):
            return date.fromisoformat(found["date"])
        if isinstance(found.get("text"), str):
            return Quoted(found["text"])
        raise ValueError("a value of a message is a number, a key, a date, a text, a message or a list of these")
    if isinstance(found, list | tuple):
        return tuple(_value(each) for each in found)
    if isinstance(found, str | int | float):
        return found
    raise ValueError("a value of a message is a number, a key, a date, a text, a message or a list of these")
