"""What of a protocol a form asks for: the facts that must or should match, as texts that ``catalogue.edited`` takes."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeAlias, get_args, get_origin

from ..errors import NotAProtocol
from ..words.numbers import typed_number
from .catalogue import edited
from .catalogue.editing import kind_of
from .checklist import GROUPS
from .protocol import FIELDS, Protocol
from .rules import MUST, TOLD
from .texts import TEXT

MADE_WITH_IT = frozenset({"component", "hand_measures"})
"""What a protocol has from the test that it was made from: with another it would be another protocol."""
Kind: TypeAlias = Literal["choice", "number", "whole", "text", "long"]
Fault: TypeAlias = Literal["number", "whole", "above_zero", "limits", "band", "text"]


@dataclass(frozen=True, slots=True)
class FormField:
    """One field.

    unit : UCUM-like, as in ``protocol.FIELDS``; empty where there is none
    choices : what it can be; empty where that is free
    must : a difference in it forbids a comparison
    low, high : the least and the most of a number; None: there is none
    above : what a number has to be more than
    """

    name: str
    kind: Kind
    unit: str
    must: bool
    choices: tuple[str, ...] = ()
    low: float | None = None
    above: float | None = None
    high: float | None = None


@lru_cache
def form_groups() -> tuple[tuple[str, tuple[FormField, ...]], ...]:
    """The fields by the sections of the set-up card, in its order."""
    found = [
        (key, tuple(_field(name) for name in names if FIELDS[name].rule != TOLD and name not in MADE_WITH_IT))
        for key, names in GROUPS
    ]
    return tuple((key, fields) for key, fields in found if fields)


def as_typed(value: object) -> str:
    """A field's value as it would be typed; empty where nobody fixed it."""
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def changed_in(protocol: Protocol, typed: Mapping[str, str]) -> dict[str, str]:
    """What was typed otherwise than the protocol has it, by field; fields that were not sent are as they were."""
    return {
        each.name: _plain(typed[each.name])
        for _, fields in form_groups()
        for each in fields
        if each.name in typed and _plain(typed[each.name]) != as_typed(getattr(protocol, each.name))
    }


def faults_of(protocol: Protocol, changes: Mapping[str, str]) -> dict[str, Fault]:
    """What is wrong with each text that does not fit its field."""
    fields = {each.name: each for _, group in form_groups() for each in group}
    found: dict[str, Fault] = {}
    for name, text in changes.items():
        try:
            edited(protocol, {name: text})
        except NotAProtocol:
            found[name] = _fault(fields[name], text)
    return found


def _plain(text: str) -> str:
    """A text of a form without the space around it, its line ends as everywhere."""
    return "\n".join(text.strip().splitlines())


def _fault(field: FormField, text: str) -> Fault:
    if field.name == "target":
        return "band"
    if field.kind not in ("number", "whole"):
        return "text"
    try:
        value = typed_number(text)
    except ValueError:
        return "number"
    if field.kind == "whole" and not value.is_integer():
        return "whole"
    return "above_zero" if field.above is not None and value <= field.above else "limits"


def _field(name: str) -> FormField:
    rule, info = FIELDS[name], Protocol.model_fields[name]
    kind = kind_of(info.annotation)
    limits = {key: getattr(each, key) for each in info.metadata for key in ("gt", "ge", "le") if hasattr(each, key)}
    if get_origin(kind) is Literal:
        return FormField(name, "choice", "", rule.rule == MUST, get_args(kind))
    if name == "equation":
        from ..metrics.maximum import EQUATIONS

        return FormField(name, "choice", "", rule.rule == MUST, tuple(EQUATIONS))
    if kind is int or kind is float:
        of = "whole" if kind is int else "number"
        low, above, high = (limits.get(key) for key in ("ge", "gt", "le"))
        return FormField(name, of, rule.unit, rule.rule == MUST, (), low, above, high)
    long = Protocol.longer.get(name) == TEXT
    return FormField(name, "long" if long else "text", "", rule.rule == MUST)
