"""The shape of a comparison, for JSON, tables and pages."""

from collections import Counter
from datetime import date
from typing import ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Field, computed_field, field_validator, model_validator

from ...metrics.figure import Figure
from ...words.message import Message
from ...words.render import english, joined
from ...words.shapes import is_object
from ..protocol import Better
from ..value import without
from .detectable import PERCENT
from .differences import Difference
from .messages import LEFT_OUT
from .observation import TrialSeen
from .shared_shift import Shift
from .sides import SideChange, SideGap
from .verdict import ErrorSource, Verdict, Withheld

SCHEMA = "ownmark-comparison-2"
"""In the first, notes and cautions were English sentences."""


class _Frozen(BaseModel):
    model_config: ClassVar[ConfigDict] = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class HandShown(_Frozen):
    """An attempt as it was entered."""

    name: str
    value: float
    unit: str
    side: Literal["left", "right"] | None
    attempt: int


class TrialShown(_Frozen):
    """One trial of the comparison."""

    trial: int | None
    on: str
    protocol: str
    protocol_version: int
    placement: str | None = Field(default=None, description="where the movement sensor sat")
    figures: dict[str, Figure]
    hand_results: tuple[HandShown, ...]
    staff_notes: str = Field(default="", description="notes of the staff, as they were typed")

    @field_validator("figures", mode="before")
    @classmethod
    def _of_messages(cls, found: object) -> object:
        """English beside the messages is not read back."""
        return {name: without(each, "note", "basis") for name, each in found.items()} if is_object(found) else found


class Comparison(_Frozen):
    """A verdict on change, with everything that it rests on. Numbers are in ``unit``."""

    code: str
    protocol: str
    comparable: bool = Field(description="false where something that must match did not")
    differences: tuple[Difference, ...]
    verdict: Verdict
    sentences: tuple[Message, ...] = Field(description="the verdict")
    primary_figure: str
    unit: str
    better: Better = Field(description="as the protocol states it, or “no direction” where nobody may say so")
    for_the_better: bool | None = Field(default=None, description="null without a direction or a change shown")
    baseline_value: float | None = None
    retest_value: float | None = None
    change: float | None = None
    change_low: float | None = Field(default=None, description="least change that unmeasured stretches allow")
    change_high: float | None = Field(default=None, description="greatest change that unmeasured stretches allow")
    interval_low: float | None = Field(
        default=None, description="lower end of the interval of the change, at ``percent``"
    )
    interval_high: float | None = Field(default=None, description="upper end of it")
    detectable_change: float | None = None
    typical_error: float | None = None
    degrees_of_freedom: float | None = None
    repeats: Message | None = Field(default=None, description="whose repeats the error comes from")
    error_source: ErrorSource | None = Field(default=None, description="whose repeats: the student's own, or borrowed")
    error_students: int | None = Field(default=None, description="other students from whom it is borrowed")
    percent: float = Field(default=PERCENT, description="level of the verdict: higher with a borrowed error")
    baseline_drift: float | None = Field(default=None, description="from one baseline to the next, of four or more")
    own_rhythm: bool = Field(
        default=False,
        description="the verdict holds if the heart kept its own rhythm in short gaps, else none could be told",
    )
    withheld: Withheld | None = Field(default=None, description="why a change beyond variation is not called one")
    shared_shift: Shift | None = Field(default=None, description="how those moved who were tested on the same days")
    others_same_days: int | None = Field(default=None, description="how many of them were looked at")
    chance_of_a_change_that_matters: float | None = Field(
        default=None, description="chance, 0 to 1, that the true change is better by more than the protocol's smallest"
    )
    sides: tuple[SideChange, ...] = ()
    side_gaps: tuple[SideGap, ...] = Field(default=(), description="left minus right")
    baselines: tuple[TrialShown, ...]
    retests: tuple[TrialShown, ...]
    damaged: tuple[int, ...] = Field(
        default=(), description="trials of which a kept recording has changed on the disk; their sheets have not"
    )
    beside: "Comparison | None" = Field(
        default=None, description="another figure's comparison, which was asked for and not the one chosen before"
    )
    notes: tuple[Message, ...]
    cautions: tuple[Message, ...]
    schema_: str = Field(default=SCHEMA, alias="schema")

    @computed_field(description="the verdict, in English")
    @property
    def sentence(self) -> str:
        """The verdict, in English."""
        return joined(map(english, self.sentences))

    @computed_field(description="whose repeats the error comes from, in English")
    @property
    def error_from(self) -> str | None:
        """Whose repeats the error comes from, in English."""
        return self.repeats and english(self.repeats)

    @computed_field(description="days from the last baseline to the first re-test")
    @property
    def days_between(self) -> int:
        """Days from the last baseline to the first re-test."""
        last = max(date.fromisoformat(each.on) for each in self.baselines)
        return (min(date.fromisoformat(each.on) for each in self.retests) - last).days

    def counted(self, trials: tuple[TrialShown, ...]) -> tuple[TrialShown, ...]:
        """Those of its trials that its numbers rest on: no day of which every trial was left out."""
        if self.sides or self.baseline_value is None or self.retest_value is None:
            return trials
        left_out = Counter(str(note["on"]) for note in self.notes if note.code == LEFT_OUT)
        of_day = Counter(each.on for each in trials)
        return tuple(each for each in trials if left_out[each.on] < of_day[each.on])

    @model_validator(mode="before")
    @classmethod
    def _of_messages(cls, found: object) -> object:
        """What is worked out from the rest is not read back."""
        return without(found, "sentence", "error_from", "days_between")

    def to_json(self) -> str:
        """The comparison as JSON text."""
        return self.model_dump_json(by_alias=True, indent=2)


def shown(each: TrialSeen) -> TrialShown:
    """A trial side by side with the others."""
    trial = each.trial
    return TrialShown(
        trial=trial.id,
        on=trial.on.isoformat(),
        protocol=each.protocol.name,
        protocol_version=each.protocol.version,
        placement=each.placement,
        figures=dict(each.figures),
        hand_results=tuple(
            HandShown(
                name=one.name,
                value=one.value,
                unit=measure.unit if (measure := each.protocol.hand_measure(one.name)) else "",
                side=one.side,
                attempt=one.attempt,
            )
            for one in trial.hand_results
        ),
        staff_notes=trial.notes,
    )
