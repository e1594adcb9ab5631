"""Set-up differences between trials, field by field, and which of them forbid a comparison.

What must match forbids a comparison only where two different values are written down. A value that is written down
for one trial and missing for another is listed as unknown and leaves a note: it cannot be shown that the set-up
differed, nor that it did not. A fact that no trial has cannot be checked; where much hangs on it, a note says so.
"""

import re
from collections.abc import Sequence
from datetime import time
from typing import Any, ClassVar

from pydantic import BaseModel, ConfigDict

from ..protocol import FIELDS, Protocol
from ..rules import MUST, SHOULD, TOLD, Rule, Strictness
from ..trial import TRIAL_FIELDS
from .seen import TrialSeen

UNKNOWN = "unknown"
WORK_WITHIN_S, WORK_WITHIN_SHARE = 5.0, 0.02
"""Work phases of a fixed length may differ by 5 s or 2 %, whichever is more: hands on a button. Common practice."""
_WORK = Rule(MUST, "length of the work phase as done", "s")


class Difference(BaseModel):
    """One fact that is not the same in all trials, in words."""

    model_config: ClassVar[ConfigDict] = ConfigDict(frozen=True, extra="forbid")

    field: str
    label: str
    baseline: str
    retest: str
    rule: Strictness
    forbids: bool


def differences(
    baselines: Sequence[TrialSeen], retests: Sequence[TrialSeen]
) -> tuple[tuple[Difference, ...], tuple[str, ...]]:
    """Every difference, those that forbid a comparison first, and notes on what could not be checked.

    Baselines are compared among themselves too: repeats with different set-ups do not show day-to-day variation.
    """
    trials = (*baselines, *retests)
    found: list[Difference] = []
    unchecked: list[str] = []
    aerobic = any(each.protocol.component == "aerobic" for each in trials)
    if not _same_protocol(trials):
        for name, rule in FIELDS.items():
            values = [_known(getattr(each.protocol, name)) for each in trials]
            _add(found, name, rule, values, len(baselines))
    protocol = trials[0].protocol
    unchecked += [
        rule.label
        for name, rule in FIELDS.items()
        if rule.asked
        and (aerobic or not rule.aerobic)
        and not (name == "surface" and protocol.place == "stationary")
        and all(_unknown(each.protocol, name) for each in trials)
    ]
    for name, rule in TRIAL_FIELDS.items():
        values = [_known(getattr(each.trial, name)) for each in trials]
        _add(found, name, rule, values, len(baselines))
        if rule.asked and (aerobic or not rule.aerobic) and all(value is None for value in values):
            unchecked.append(rule.label)
    if protocol.duration_s is not None or protocol.work_s is not None:
        longest = max((each.work_s or 0.0 for each in trials), default=0.0)
        rule = Rule(_WORK.rule, _WORK.label, "s", within=max(WORK_WITHIN_S, WORK_WITHIN_SHARE * longest))
        _add(found, "work_done_s", rule, [each.work_s for each in trials], len(baselines))
    found.sort(key=lambda each: (not each.forbids, (MUST, SHOULD, TOLD).index(each.rule)))
    return tuple(found), _notes(found, unchecked)


def _same_protocol(trials: Sequence[TrialSeen]) -> bool:
    first = trials[0].protocol
    return all(each.protocol is first or each.protocol == first for each in trials[1:])


def _unknown(protocol: Protocol, name: str) -> bool:
    return _known(getattr(protocol, name)) is None


def _known(value: object) -> object:
    """A value, or None where nothing is written down."""
    return None if value is None or value in ("", ()) else value


def _add(found: list[Difference], name: str, rule: Rule, values: Sequence[Any], split: int) -> None:
    """Add the difference between ``values``, the first ``split`` of which are baselines, if there is one."""
    known = [value for value in values if value is not None]
    if not known:
        return
    differ = not _all_same(known, rule.within)
    if not differ and len(known) == len(values):
        return
    baseline, retest = (_texts(part, rule.unit) for part in (values[:split], values[split:]))
    if not differ and baseline == retest:
        return  # unknown in the same way on both sides
    found.append(
        Difference(
            field=name,
            label=rule.label,
            baseline=baseline,
            retest=retest,
            rule=rule.rule,
            forbids=differ and rule.rule == MUST,
        )
    )


def _all_same(known: Sequence[Any], within: float) -> bool:
    """Tell whether values are the same: numbers to within ``within``, times of day in hours, texts in plain form."""
    first = known[0]
    if all(value is first or value == first for value in known[1:]):
        return True
    if isinstance(first, str):
        if within and all(re.fullmatch(r"\d\d:\d\d", value) for value in known):
            hours = [time.fromisoformat(value).hour + time.fromisoformat(value).minute / 60 for value in known]
            return max(hours) - min(hours) <= within + 1e-9
        return len({_plain(value) for value in known}) == 1
    if isinstance(first, int | float):
        return max(known) - min(known) <= within + 1e-9
    return False


def _plain(text: str) -> str:
    """Text without what does not change a set-up: capitals, spacing, a full stop at the end."""
    return " ".join(text.lower().split()).rstrip(" .;,")


def _texts(values: Sequence[Any], unit: str) -> str:
    return ", then ".join(dict.fromkeys(_text(value, unit) for value in values))


def _text(value: object, unit: str) -> str:
    if value is None:
        return UNKNOWN
    if isinstance(value, str):
        return value
    if isinstance(value, int | float):
        return f"{value:g} {unit}".strip()
    if isinstance(value, tuple):
        return "; ".join(_text(each, "") for each in value)
    fields = value.model_dump(exclude_none=True).values() if isinstance(value, BaseModel) else (value,)
    return ", ".join(map(str, fields))


def _notes(found: Sequence[Difference], unchecked: Sequence[str]) -> tuple[str, ...]:
    notes = []
    half = [each.label for each in found if each.rule == MUST and not each.forbids]
    if half:
        notes.append(f"Written down for one trial only, so it is not known whether it matched: {', '.join(half)}.")
    changed = [
        f"{each.label} ({each.baseline}; {each.retest})"
        for each in found
        if each.rule == SHOULD and UNKNOWN not in (each.baseline, each.retest)
    ]
    if changed:
        notes.append(f"Should match and did not, so the change may be due to it: {', '.join(changed)}.")
    if unchecked:
        notes.append(f"Never written down, so it could not be checked: {', '.join(unchecked)}.")
    return tuple(notes)
