"""How a difference in the set-up is judged: it forbids a comparison, leaves a note, or is only told."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

MUST, SHOULD, TOLD = "must match", "should match", "told"
Strictness: TypeAlias = Literal["must match", "should match", "told"]


@dataclass(frozen=True, slots=True)
class Rule:
    """How one fact of the set-up is compared.

    label : the field in words
    unit : of a number
    within : numbers that differ by no more than this are the same
    asked : say so when neither trial has it written down, because so much hangs on it
    aerobic : only of aerobic tests; its absence elsewhere is not mentioned
    typed : free words of a person, who may write the same thing in two ways
    heart : acts on heart rate by itself
    noted : written down only where there is something to note, so that silence on one side is a difference
    """

    rule: Strictness
    label: str
    unit: str = ""
    within: float = 0.0
    asked: bool = False
    aerobic: bool = False
    typed: bool = False
    heart: bool = False
    noted: bool = False
