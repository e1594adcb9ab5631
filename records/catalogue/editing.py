"""Adapting a protocol: fields set from typed text."""

import difflib
import re
import types
from collections.abc import Callable, Mapping, Sequence
from typing import Literal, Union, get_args, get_origin

from ...errors import NotAProtocol
from ...words.numbers import typed_number
from ..field_hints import hint_of_protocol, plain
from ..protocol import FIELDS, HandMeasure, Protocol
from ..result_numbers import MOST
from ..rules import Rule

KEPT = ("name", "version", "from_catalogue", "component")
"""What an edit never touches: with another component it would be another protocol."""
_HAND_MEASURE = "NAME | UNIT | KIND | sides or one | ATTEMPTS | HOW, and | MOST where the test ends there"


def edited(protocol: Protocol, changes: Mapping[str, str]) -> Protocol:
    """The protocol with fields set from typed text; its version number is the old one, which the logbook raises.

    Parameters
    ----------
    changes : field to text. Empty text makes a field unknown. Texts of a list are separated by ";". A hand measure
        is written ``NAME | UNIT | KIND | sides or one | ATTEMPTS | HOW``, and ``| MOST`` where the test ends there.

    Raises
    ------
    NotAProtocol
        For a field that there is not (with the nearest), or a value that does not fit it.
    """
    editable = [name for name in Protocol.model_fields if name not in KEPT]
    parsed: dict[str, object] = {}
    for field, text in changes.items():
        name = plain(field)
        if name in KEPT:
            raise NotAProtocol(f"the field “{name}” is not edited.", mend="Copy the protocol under a new name instead.")
        if name not in editable:
            raise NotAProtocol(
                f"a protocol has no field “{field}”.", mend=hint_of_protocol(field, editable) + _ALL_FIELDS
            )
        parsed[name] = _parse(name, text.strip())
    return Protocol.model_validate({**dict(protocol), **parsed})


_ALL_FIELDS = "`ownmark protocol show` lists every field."


def nearest(name: str, names: Sequence[str]) -> str:
    """The names that are most like one that there is not, as the beginning of a way to mend it; empty without any."""
    close = difflib.get_close_matches(name, names, n=3, cutoff=0.5)
    return f"Did you mean {' or '.join(close)}? " if close else ""


def _parse(name: str, text: str) -> object:
    """Typed text to a field's value; empty text is unknown."""
    info = Protocol.model_fields[name]
    if not text:
        if info.is_required():
            raise NotAProtocol(f"the field “{name}” cannot be empty.", mend="Give it a value.")
        return info.get_default()
    kind = kind_of(info.annotation)
    if get_origin(kind) is Literal:
        return _choice(name, text, get_args(kind))
    if kind is int or kind is float:
        return _number(name, text, kind)
    if name == "hand_measures":
        return tuple(_hand_measure(part) for part in text.split(";") if part.strip())
    if get_origin(kind) is tuple:
        return tuple(part.strip() for part in text.split(";") if part.strip())
    return text


def kind_of(annotation: object) -> object:
    """The type of a field, without its None."""
    if get_origin(annotation) in (Union, types.UnionType):
        return next(each for each in get_args(annotation) if each is not type(None))
    return annotation


def _choice(name: str, text: str, allowed: tuple[str, ...]) -> str:
    chosen = " ".join(text.lower().replace("_", " ").split())
    if chosen in allowed:
        return chosen
    raise NotAProtocol(f"“{text}” is not a value for {name}.", mend=f"Use {', '.join(allowed)}.")


def _number(name: str, text: str, kind: Callable[[float], float]) -> float:
    try:
        found = typed_number(text)
        if (kind is int and not found.is_integer()) or abs(found) > MOST:
            raise ValueError(text)
        return kind(found)
    except ValueError:
        whole = "whole number" if kind is int else "number"
        unit = _unit(name)
        raise NotAProtocol(
            f"“{text}” is not a {whole} for {name}.",
            mend=f"Write the number alone{f', in {unit}' if unit else ''}.",
        ) from None


def _unit(name: str) -> str:
    return FIELDS.get(name, Rule("told", name)).unit


def _hand_measure(text: str) -> HandMeasure:
    from ..entry import field_named

    parts = [part.strip() for part in text.split("|")]
    if len(parts) not in (6, 7) or parts[3] not in ("sides", "one") or re.fullmatch("[0-9]{1,3}", parts[4]) is None:
        raise NotAProtocol(f"“{text.strip()}” is not a hand measure.", mend=f"Write {_HAND_MEASURE}.")
    name, unit, kind, sides, attempts, how, *most = parts
    if field_named(name) is not None:
        raise NotAProtocol(
            f"“{name}” is what a trial writes down already.", mend="Name the measure otherwise: reach_notes."
        )
    return HandMeasure(
        name=name,
        unit=unit,
        kind=kind,  # pyright: ignore[reportArgumentType]  # told by the model if it is none
        sides=sides == "sides",
        attempts=int(attempts),
        how=how,
        limit=None if not most else float(_number(name, most[0], float)),
    )
