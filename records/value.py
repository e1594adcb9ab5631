"""What the logbook's values share: frozen, no unknown field, and every refusal a sentence."""

import re
from collections.abc import Mapping
from typing import ClassVar

from pydantic import BaseModel, ConfigDict, ModelWrapValidatorHandler, ValidationError, ValidationInfo, model_validator

from ..errors import NotATrial, OwnmarkError
from ..words.shapes import is_object
from ..words.vocabulary import HIGHEST_BPM, LOWEST_BPM
from .texts import fault_in

KEPT: Mapping[str, bool] = {"kept": True}
"""The context in which a logbook reads what it holds: it was checked when it was entered, and must stay readable."""


class Value(BaseModel):
    """A frozen value. Whatever is wrong with its fields is told as one of ownmark's own errors, never a traceback."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, use_enum_values=True, defer_build=True)
    refusal: ClassVar[type[OwnmarkError]] = NotATrial
    called: ClassVar[str] = "a value"
    longer: ClassVar[Mapping[str, int]] = {}
    most: ClassVar[Mapping[str, int]] = {}

    @model_validator(mode="wrap")
    @classmethod
    def _told_in_sentences(
        cls, data: object, handler: ModelWrapValidatorHandler["Value"], info: ValidationInfo
    ) -> "Value":
        fault = fault_in(data, cls.longer, cls.most) if is_object(data) and info.context != KEPT else None
        if fault is not None:
            raise cls.refusal(fault.what, mend=fault.mend)
        try:
            return handler(data)
        except ValidationError as wrong:
            raise cls.refusal(_sentence(wrong, cls.called), mend="Look at that field.") from None


def _sentence(wrong: ValidationError, called: str) -> str:
    """The first thing that is wrong, in words."""
    first = wrong.errors(include_url=False, include_context=False)[0]
    field = ".".join(str(part) for part in first["loc"]) or "its content"
    if first["type"] == "extra_forbidden":
        return f"{called} has no field “{field}”."
    if first["type"] == "missing":
        return f"{called} needs the field “{field}”."
    reason = re.sub(r"^(Input should be|Value error,) ?", "", first["msg"])
    reason = re.sub(r"^String should have ", "a text of ", reason)
    if first["type"] == "int_parsing_size":
        reason = "a whole number of that kind"
    return f"“{first['input']!s:.60}” does not fit the field “{field}” of {called}: it should be {reason}."


def check_bpm(bpm: float, what: str, refusal: type[OwnmarkError]) -> float:
    """Refuse a rate that no heart has [/min]."""
    if not LOWEST_BPM <= bpm <= HIGHEST_BPM:
        raise refusal(
            f"{what} of {bpm:g} /min is no heart rate.",
            mend=f"Give it in beats per minute, {LOWEST_BPM:g} to {HIGHEST_BPM:g}.",
        )
    return bpm


def without(found: object, *computed: str) -> object:
    """What a model is made of, without the keys that it works out itself."""
    return {name: each for name, each in found.items() if name not in computed} if is_object(found) else found
