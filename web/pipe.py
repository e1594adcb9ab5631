"""How the page and its worker talk: a line of JSON each way. A refusal crosses as its class, code and messages."""

import json
from collections.abc import Mapping
from typing import Any, TypeAlias

from .. import errors
from ..errors import OwnmarkError
from ..words.message import Message

Values: TypeAlias = dict[str, Any]
"""Plain JSON values."""


def line_of(values: Mapping[str, object]) -> bytes:
    """One line of JSON."""
    return json.dumps(values, ensure_ascii=True, separators=(",", ":")).encode() + b"\n"


def refusal_as_json(reason: OwnmarkError) -> Values:
    """A refusal as plain values."""
    return {
        "kind": type(reason).__name__,
        "what": _part(reason.what),
        "where": reason.where,
        "mend": _part(reason.mend),
    }


def refusal_from(values: Mapping[str, Any]) -> OwnmarkError:
    """The refusal that ``refusal_as_json`` wrote."""
    kind = getattr(errors, values["kind"], OwnmarkError)
    if not (isinstance(kind, type) and issubclass(kind, OwnmarkError)):
        kind = OwnmarkError
    return kind(_read(values["what"]), where=values["where"], mend=_read(values["mend"]))


def _part(part: str | Message) -> str | Values:
    return part if isinstance(part, str) else dict(part.to_json())


def _read(part: str | Values) -> str | Message:
    return part if isinstance(part, str) else Message.from_json(part)
