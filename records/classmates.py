"""The changes of those who were tested by the same protocol on the same days as a student."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from .change.observation import TrialSeen
from .change.results import SIDES, by_day, sided
from .change.yardstick import mean
from .pooling import OnBasis, alike

if TYPE_CHECKING:
    from .protocol import Protocol
    from .store.student_overview import Outline

MOST_OTHERS = 8
"""So many others on the same days, the first by code, are looked at: their sheets are read, some worked out anew."""
Days = tuple[tuple[date, ...], tuple[date, ...]]


class Classmates:
    """Changes of students on one protocol version between days, each pair of days looked up once.

    Parameters
    ----------
    rows : outlines of the protocol's trials
    fits : whether a version of the protocol has the same set-up, by number
    load : trials by number
    """

    def __init__(
        self,
        rows: "Sequence[Outline]",
        protocol: "Protocol",
        fits: Mapping[int, bool],
        load: Callable[[Sequence[int]], list[TrialSeen]],
        on_basis: OnBasis,
    ) -> None:
        self._rows: dict[date, list[Outline]] = {}
        for each in rows:
            if not each.practice and fits[each.protocol_version]:
                self._rows.setdefault(each.on, []).append(each)
        self._name, self._load, self._on_basis = protocol.primary_figure, load, on_basis
        self._known: dict[Days, dict[str, float]] = {}

    def changes(self, code: str, before: Sequence[TrialSeen], after: Sequence[TrialSeen]) -> list[float]:
        """How the others changed between a day of ``before`` and a day of ``after``."""
        days = (_days(before), _days(after))
        if days not in self._known:
            self._known[days] = dict(self._found(days))
        return [change for other, change in self._known[days].items() if other != code][:MOST_OTHERS]

    def _found(self, days: Days) -> "list[tuple[str, float]]":
        """Code and change of the first students by code who were tested on both sides of the gap."""
        found: list[tuple[str, float]] = []
        before, after = (self._numbers(part) for part in days)
        for code in sorted(before.keys() & after.keys()):
            change = self._change([*before[code], *after[code]], set(before[code]))
            if change is not None:
                found.append((code, change))
            if len(found) > MOST_OTHERS:
                break
        return found

    def _numbers(self, days: Sequence[date]) -> dict[str, list[int]]:
        """By code, the trials of these days in their order."""
        found: dict[str, list[int]] = {}
        for row in (each for on in days for each in self._rows.get(on, ())):
            found.setdefault(row.code, []).append(row.id)
        return found

    def _change(self, numbers: list[int], before: set[int]) -> float | None:
        """One student's mean change on these trials; None where they are not of one set-up or a value is missing."""
        trials = alike(self._load(numbers), self._name, self._on_basis)
        first, last = (
            [each for each in trials if (each.trial.id in before) == of_baseline] for of_baseline in (True, False)
        )
        changes: list[float] = []
        for side in SIDES if sided(trials, self._name) else (None,):
            values = [[each.value for each in by_day(part, self._name, side)[0]] for part in (first, last)]
            if all(values):
                changes.append(mean(values[1]) - mean(values[0]))
        return mean(changes) if changes else None


def _days(trials: Sequence[TrialSeen]) -> tuple[date, ...]:
    return tuple(sorted({each.trial.on for each in trials if not each.trial.practice}))
