"""Left and right, each compared with itself, and how far apart they are."""

from collections.abc import Sequence
from typing import ClassVar

from pydantic import BaseModel, ConfigDict, computed_field, model_validator

from ...words.message import Message
from ...words.render import english
from ..value import without
from .borrowed import Borrowed
from .observation import TrialSeen
from .results import SIDES, Side, by_day, resolution
from .sentence import repeats
from .verdict import NOT_GIVEN, Judged, Verdict, Withheld, judge
from .written_mean import written_mean
from .yardstick import Bounded


class SideChange(BaseModel):
    """The change of one side, in the unit of the figure."""

    model_config: ClassVar[ConfigDict] = ConfigDict(frozen=True, extra="forbid")

    figure: str
    side: Side
    baseline: float
    retest: float
    change: float
    detectable_change: float | None
    typical_error: float | None
    degrees_of_freedom: float | None
    percent: float
    verdict: Verdict
    repeats: Message | None = None
    baseline_drift: float | None = None
    withheld: Withheld | None = None

    @computed_field
    @property
    def error_from(self) -> str | None:
        """Whose repeats the error comes from, in English."""
        return self.repeats and english(self.repeats)

    @model_validator(mode="before")
    @classmethod
    def _of_messages(cls, found: object) -> object:
        """English beside the messages is not read back."""
        return without(found, "error_from")


class SideGap(BaseModel):
    """Left minus right, in the unit of the figure, and its change."""

    model_config: ClassVar[ConfigDict] = ConfigDict(frozen=True, extra="forbid")

    figure: str
    baseline: float
    retest: float
    change: float


def judge_sides(
    baselines: Sequence[TrialSeen], retests: Sequence[TrialSeen], name: str, borrowed: Borrowed | None
) -> tuple[dict[Side, Judged], tuple[SideChange, ...], tuple[SideGap, ...], list[Message]]:
    """Judge each side that has a value at baseline and at re-test; notes on what was left out.

    With one side only, that side is judged at the usual level; two share the chance of a false verdict.
    """
    values: dict[Side, tuple[list[Bounded], list[Bounded]]] = {}
    notes: list[Message] = []
    for side in SIDES:
        before, notes_before = by_day(baselines, name, side)
        after, notes_after = by_day(retests, name, side)
        notes += notes_before + notes_after
        if before and after:
            values[side] = (before, after)
    step = resolution([*baselines, *retests], name)
    judged: dict[Side, Judged] = {
        side: judge(before, after, borrowed=borrowed, resolution=step, verdicts=len(values))
        for side, (before, after) in values.items()
    }
    means: dict[Side, tuple[float, ...]] = {
        side: tuple(written_mean([each.value for each in part]) for part in parts) for side, parts in values.items()
    }
    changes = tuple(
        SideChange(
            figure=name,
            side=side,
            baseline=means[side][0],
            retest=means[side][1],
            change=judged[side].change,
            detectable_change=judged[side].detectable,
            typical_error=judged[side].error,
            degrees_of_freedom=judged[side].df,
            percent=judged[side].percent,
            verdict=judged[side].verdict,
            repeats=repeats(judged[side], len(values[side][1])),
            baseline_drift=judged[side].drift,
            withheld=judged[side].withheld,
        )
        for side in judged
    )
    return judged, changes, _gap(name, means), list(dict.fromkeys(notes))


def together(judged: dict[Side, Judged]) -> Verdict:
    """One verdict for both sides: the one that they share; "not given" where they differ, since a side stands apart."""
    verdicts: set[Verdict] = {each.verdict for each in judged.values()}
    return verdicts.pop() if len(verdicts) == 1 else NOT_GIVEN


def _gap(name: str, means: dict[Side, tuple[float, ...]]) -> tuple[SideGap, ...]:
    if len(means) < 2:
        return ()
    before, after = (means["left"][part] - means["right"][part] for part in (0, 1))
    return (SideGap(figure=name, baseline=before, retest=after, change=after - before),)
