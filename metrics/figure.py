"""The shapes that leave the metrics: ``Figure`` and ``EffortSheet``. ``ownmark schema`` prints them as JSON Schema."""

from typing import Literal, TypeAlias

from pydantic import BaseModel, ConfigDict, Field

SCHEMA = "ownmark-effort-sheet-1"
PhaseSpan: TypeAlias = tuple[float, float]
Counting: TypeAlias = Literal["cycle", "pair", "cycle or half"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Figure(_Frozen):
    """One number a person sees, with its bounds, basis and source, or the reason why there is none."""

    name: str
    value: float | None = Field(description="null: not given, and the note says why")
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
    basis: str | None = Field(default=None, description="rest and maximum used, and their error")
    source: str = Field(description="where the formula comes from")
    note: str | None = None


class FileRead(_Frozen):
    """A file that the figures come from."""

    path: str
    sha256: str
    format: str
    reader: str


class ClockUsed(_Frozen):
    """How the clock of one of several files was laid on the trial's."""

    path: str
    offset_s: float = Field(description="added to the file's times; holds at anchor_s of its clock")
    how: str
    within_s: float | None = Field(description="null: nobody can say how good it is")
    confidence: float | None = Field(description="0 to 1; null where nothing was compared")
    drift_ppm: float | None = Field(description="by how much the clock is slow, in millionths; null if not told")
    anchor_s: float
    note: str


class PhasesUsed(_Frozen):
    """Phases in seconds from the recording's start, and how they were decided."""

    rest: PhaseSpan | None
    work: PhaseSpan
    recovery: PhaseSpan | None
    how: str


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
    rest_how: str | None
    maximum_bpm: float | None
    maximum_how: str | None
    maximum_see_bpm: float | None
    conditions: tuple[str, ...]


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
    clocks: tuple[ClockUsed, ...] = Field(default=(), description="empty where there was one file")
    phases: PhasesUsed
    basis: BasisUsed
    zones_by: Literal["reserve", "maximum"]
    zones_if_maximum_is_one_see_lower: ZoneShift | None
    zones_if_maximum_is_one_see_higher: ZoneShift | None
    sampling: SamplingFound | None
    unmeasured: tuple[PhaseSpan, ...] = Field(description="stretches of work without heart rate, in s")
    above_ceiling: tuple[PhaseSpan, ...] = Field(
        default=(), description="stretches above the ceiling anywhere in the recording, in s from its start"
    )
    possible_crossings: tuple[PossibleCrossing, ...] = Field(
        default=(), description="readings above the ceiling anywhere in the recording that are in no figure"
    )
    recording_unmeasured: tuple[PhaseSpan, ...] = Field(
        default=(),
        description="stretches of the whole recording without a usable heart rate, where a ceiling is set, in s",
    )
    ceiling_bpm: float | None = None
    refused: tuple[str, ...] = Field(description="figures that were asked for and are not given")
    movement: MovementUsed | None = None
    notes: tuple[str, ...]


class EffortSheet(_Frozen):
    """All figures of one trial, with the cautions that go with them."""

    figures: dict[str, Figure]
    cautions: tuple[str, ...]
    flags: dict[str, dict[str, int]] = Field(description="samples that each cleaning rule flagged, by stream")
    provenance: Provenance
    schema_: str = Field(default=SCHEMA, alias="schema")

    def to_json(self) -> str:
        """The sheet as JSON text."""
        return self.model_dump_json(by_alias=True, indent=2)
