"""The shapes that leave the metrics: ``Figure`` and ``EffortSheet``. ``ownmark schema`` prints them as JSON Schema."""

import json
from collections.abc import Sequence
from typing import Literal, TypeAlias

from pydantic import BaseModel, ConfigDict, Field, ValidationError, computed_field, field_validator

from ..words.message import Message
from ..words.render import english, english_row

SCHEMA = "ownmark-effort-sheet-2"
PhaseSpan: TypeAlias = tuple[float, float]
Counting: TypeAlias = Literal["cycle", "pair", "cycle or half"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, allow_inf_nan=False, defer_build=True)


class Figure(_Frozen):
    """One number a person sees, with its bounds, basis and source, or the reason why there is none."""

    name: str
    value: float | None = Field(description="null: not given, and the reason says why")
    unit: str = Field(description="UCUM")
    low: float | None = Field(
        default=None, description="what the same recorder would have given without a loss is not below this"
    )
    high: float | None = Field(
        default=None, description="what the same recorder would have given without a loss is not above this"
    )
    own_rhythm_low: float | None = Field(
        default=None,
        description="of a mean: low if the heart kept its own rhythm in short gaps; null: it says no more",
    )
    own_rhythm_high: float | None = Field(default=None, description="high, likewise")
    coverage: float | None = Field(default=None, description="share of the phase that was measured, in %")
    rests_on: tuple[Message, ...] = Field(default=(), description="rest and maximum used, and their error")
    source: str = Field(description="where the formula comes from")
    reason: Message | None = Field(default=None, description="why the figure is not given")
    notes: tuple[Message, ...] = Field(default=(), description="remarks on a figure that is given")

    @computed_field(description="rest and maximum used, in English")
    @property
    def basis(self) -> str | None:
        """Rest and maximum used, and their error, in English."""
        return english_row(self.rests_on)

    @computed_field(description="the reason or the remarks, in English")
    @property
    def note(self) -> str | None:
        """The reason or the remarks, in English."""
        return english_row(self.notes if self.reason is None else (self.reason,))


def as_messages(found: "str | Message | Sequence[str | Message] | None") -> tuple[Message, ...]:
    """Messages; a sentence that has no code yet as one."""
    if not found:
        return ()
    several = (found,) if isinstance(found, str | Message) else found
    return tuple(Message.english(each) if isinstance(each, str) else each for each in several)


class FileRead(_Frozen):
    """A file that the figures come from."""

    path: str
    sha256: str = Field(description="of the file as it was given")
    format: str
    reader: str
    content_sha256: str | None = Field(default=None, description="of what it unpacks to; null: it was not packed")


class ClockUsed(_Frozen):
    """How the clock of one of several files was laid on the trial's."""

    path: str
    offset_s: float = Field(description="added to the file's times; holds at anchor_s of its clock")
    how: str = Field(description="a clock, a time of day, the first file, given, assumed, or what both files saw")
    within_s: float | None = Field(description="null: nobody can say how good it is")
    confidence: float | None = Field(description="0 to 1; null where nothing was compared")
    drift_ppm: float | None = Field(description="by how much the clock is slow, in millionths; null if not told")
    anchor_s: float
    notes: tuple[Message, ...] = ()

    @computed_field(description="the notes, in English")
    @property
    def note(self) -> str:
        """The notes in English."""
        return english_row(self.notes) or ""


class PhasesUsed(_Frozen):
    """Phases in seconds from the recording's start, and how they were decided."""

    rest: PhaseSpan | None
    work: PhaseSpan
    recovery: PhaseSpan | None
    decided: Message

    @computed_field(description="how they were decided, in English")
    @property
    def how(self) -> str:
        """How they were decided, in English."""
        return english(self.decided)


class SamplingFound(_Frozen):
    """How the recorder wrote heart rate, and for how long a value was taken to stand."""

    step_s: float | None
    regular: bool
    hold_s: float | None
    kind: Literal["regular", "on_change", "uneven", "unclear"] | None = Field(
        default=None,
        description="in equal steps, some of them perhaps lost; when the value changed; in steps that agree with "
        "nothing; or too little is left to tell, and the step is assumed",
    )
    vouches_s: float | None = Field(default=None, description="what a value proves where the next one is missing")
    whole_share: float | None = Field(default=None, description="share of the steps that are the usual one, 0 to 1")


class BasisUsed(_Frozen):
    """Rest and maximum behind the figures."""

    rest_bpm: float | None
    rest_from: Message | None = None
    maximum_bpm: float | None
    maximum_from: Message | None = None
    maximum_see_bpm: float | None
    conditions: tuple[str, ...]

    @computed_field(description="where rest comes from, in English")
    @property
    def rest_how(self) -> str | None:
        """Where rest comes from, in English."""
        return self.rest_from and english(self.rest_from)

    @computed_field(description="where the maximum comes from, in English")
    @property
    def maximum_how(self) -> str | None:
        """Where the maximum comes from, in English."""
        return self.maximum_from and english(self.maximum_from)


class ZoneShift(_Frozen):
    """Zone times if the predicted maximum were one standard error of estimate (SEE) off."""

    maximum_bpm: float
    times_s: dict[str, float]


class PossibleCrossing(_Frozen):
    """Readings above the ceiling that are in no figure: whether the heart was there, nobody knows. In seconds."""

    from_s: float
    until_s: float
    highest_bpm: float
    rules: tuple[str, ...] = Field(
        description="cleaning rules that set them aside; other_sensor: of one that the figures do not use; alone: the "
        "only reading of its recording"
    )


class MovementUsed(_Frozen):
    """What the movement figures were made from. Stretches in seconds from the recording's start."""

    file: str
    placement: str
    rate_hz: float
    threshold_mg: float | None
    floor_mg: float | None
    moving: tuple[PhaseSpan, ...]
    unmeasured: tuple[PhaseSpan, ...]
    assisted: tuple[PhaseSpan, ...]
    doubtful: tuple[PhaseSpan, ...] = Field(default=(), description="may be moving or still: the bounds hold both")
    cadence: tuple[tuple[float, float, float], ...] = Field(description="time in s, cadence in /min, confidence 0 to 1")
    counted: Counting | None = Field(
        default=None,
        description="what the cadence counts: whole cycles; pairs of halves that are alike, as a stride of two steps;"
        " or cycles that may be halves, where nobody can say if one is a stride or a step. null: no cadence",
    )
    turns: tuple[tuple[float, float], ...] = Field(description="time in s, degrees; counter-clockwise is positive")


class Provenance(_Frozen):
    """What the sheet was made from, so that it can be made again."""

    ownmark: str
    files: tuple[FileRead, ...]
    stream: str | None
    start: str | None
    span: PhaseSpan | None = Field(
        default=None,
        description="what of the recording belongs to the trial: its phases with a margin, in s; null: all of it",
    )
    clocks: tuple[ClockUsed, ...] = Field(default=(), description="empty where there was one file")
    phases: PhasesUsed
    basis: BasisUsed
    zones_by: Literal["reserve", "maximum"]
    zones_if_maximum_is_one_see_lower: ZoneShift | None
    zones_if_maximum_is_one_see_higher: ZoneShift | None
    sampling: SamplingFound | None
    unmeasured: tuple[PhaseSpan, ...] = Field(description="stretches of work without heart rate, in s")
    above_ceiling: tuple[PhaseSpan, ...] = Field(
        default=(),
        description="stretches above the ceiling anywhere in the trial's span, in s from the recording's start",
    )
    possible_crossings: tuple[PossibleCrossing, ...] = Field(
        default=(), description="readings above the ceiling anywhere in the trial's span that are in no figure"
    )
    recording_unmeasured: tuple[PhaseSpan, ...] = Field(
        default=(),
        description="stretches of the trial's span without a usable heart rate, where a ceiling is set, in s",
    )
    ceiling_bpm: float | None = None
    refused: tuple[str, ...] = Field(description="figures that were asked for and are not given")
    movement: MovementUsed | None = None
    notes: tuple[Message, ...]


class EffortSheet(_Frozen):
    """All figures of one trial, with the cautions that go with them."""

    figures: dict[str, Figure]
    cautions: tuple[Message, ...]
    flags: dict[str, dict[str, int]] = Field(description="samples that each cleaning rule flagged, by stream")
    provenance: Provenance
    schema_: Literal["ownmark-effort-sheet-2"] = Field(alias="schema")

    @field_validator("figures")
    @classmethod
    def _by_name(cls, found: dict[str, Figure]) -> dict[str, Figure]:
        if any(name != figure.name for name, figure in found.items()):
            raise ValueError("a figure stands under another name")
        return found

    def to_json(self) -> str:
        """The sheet as JSON text."""
        return self.model_dump_json(by_alias=True, indent=2)

    @classmethod
    def from_json(cls, text: str | bytes) -> "EffortSheet":
        """The sheet out of JSON: as the logbook keeps it, as ``to_json`` wrote it, or of the schema before.

        Raises
        ------
        ValueError
            If it is no sheet.
        """
        try:
            return cls.model_validate_json(text)
        except ValidationError:
            return cls.from_page(json.loads(text))

    @classmethod
    def from_page(cls, page: object) -> "EffortSheet":
        """The same out of JSON's values.

        Raises
        ------
        ValueError
            If they are no sheet.
        """
        from .older_sheets import current_form

        return cls.model_validate(current_form(page, SCHEMA))
