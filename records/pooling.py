"""Day-to-day error over students on one protocol: whose repeats may speak for another student's.

Only baselines count, never a re-test: a change would pass for noise. Their protocol version must agree with that of the
comparison in all that must match, and a student's repeats with each other, in the protocol and in how the trials were
done. Figures that rest on rest or maximum are put on the student's first basis, as in a comparison.
"""

from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import TYPE_CHECKING

from ..errors import NothingToCompare
from .change.borrowed import LEAST_STUDENTS, Spread, Spreads
from .change.counting import counted_apart
from .change.differences import alike as same_fact
from .change.differences import differences
from .change.observation import TrialSeen, different_bases
from .change.occasions import occasions
from .change.results import spread_of
from .protocol import FIELDS, Protocol
from .rules import MUST

if TYPE_CHECKING:
    from .store.student_overview import Outline

MOST_STUDENTS = 200
"""Repeats of so many students, the first by code, are looked at: their error is known to 4 % and better then."""
Marks = tuple[Hashable, ...]
OnBasis = Callable[[TrialSeen, TrialSeen], TrialSeen]
"""Puts the second trial on the first one's rest and maximum."""


@dataclass(slots=True)
class Known:
    """What was found out already of one protocol version and figure, in one state of a logbook.

    rows : the protocol's trials then
    groups : by code, the baselines that fit of every student who has them on two days; None: not looked up
    spreads : how much a student varies, by the numbers of the baseline trials
    marked : the same with the marks that these trials had, as of any state
    """

    rows: "Sequence[Outline]" = ()
    groups: Mapping[str, tuple[int, ...]] | None = None
    spreads: dict[tuple[int, ...], Spread | None] = field(default_factory=dict[tuple[int, ...], "Spread | None"])
    marked: dict[tuple[int, ...], "tuple[Marks, Spread | None]"] = field(
        default_factory=dict[tuple[int, ...], "tuple[Marks, Spread | None]"]
    )

    @classmethod
    def anew(cls, rows: "Sequence[Outline]", before: "Known | None") -> "Known":
        """What is known after a write: who has which baselines, where the trials are the same as before.

        How much a student varies holds on where none of the baseline trials was touched, which their marks tell.
        """
        if before is None:
            return cls(rows)
        return cls(rows, before.groups if before.rows == rows else None, marked=before.marked)

    def look_up(
        self,
        groups: Collection[tuple[int, ...]],
        marks: "Callable[[Sequence[int]], Mapping[int, Hashable]]",
        found_of: "Callable[[list[tuple[int, ...]]], list[Spread | None]]",
    ) -> None:
        """Take over or find out how much the students of these baselines vary.

        The marks are read before the trials: what is written in between is looked up again the next time.
        """
        unknown = [group for group in groups if group not in self.spreads]
        now = marks([number for group in unknown for number in group])
        of_group = {group: tuple(now.get(number) for number in group) for group in unknown}
        fresh: list[tuple[int, ...]] = []
        for group, own in of_group.items():
            before = self.marked.get(group)
            if before is None or None in own or before[0] != own:
                fresh.append(group)
            else:
                self.spreads[group] = before[1]
        for group, found in zip(fresh, found_of(fresh), strict=True):
            self.spreads[group] = found
            self.marked[group] = (of_group[group], found)


def spreads_of(
    rows: "Sequence[Outline]",
    protocol: Protocol,
    fits: Mapping[int, bool],
    load: Callable[[Sequence[int]], list[TrialSeen]],
    on_basis: OnBasis,
    chosen: Mapping[str, Sequence[int]],
    known: Known | None = None,
    marks: "Callable[[Sequence[int]], Mapping[int, Hashable]]" = lambda _: {},
) -> Spreads | None:
    """Day-to-day spread of the primary figure on a protocol; None if too few have baselines of one set-up on two days.

    Parameters
    ----------
    rows : outlines of the protocol's trials
    protocol : the version that the comparison rests on
    fits : whether a version of it has the same set-up, by number
    load : trials by number
    chosen : by code, the baselines that a comparison was told to use
    known : of these rows; what is found out is added
    marks : by number, what is another once anything of a trial is; without it every trial is read
    """
    known = known or Known()
    if known.groups is None:
        known.groups = {code: numbers for code, own in by_code(rows).items() if (numbers := _repeats(own, None, fits))}
    own = {
        code: _repeats([row for row in rows if row.code == code], list(numbers), fits)
        for code, numbers in chosen.items()
    }
    every = sorted({**known.groups, **own}.items())
    groups = dict(islice(((code, numbers) for code, numbers in every if numbers), MOST_STUDENTS))
    if len(groups) < LEAST_STUDENTS:
        return None
    name = protocol.primary_figure

    def found_of(fresh: list[tuple[int, ...]]) -> list[Spread | None]:
        whole = iter(load([number for group in fresh for number in group]))
        return [spread_of(alike([next(whole) for _ in group], name, on_basis), name) for group in fresh]

    known.look_up(list(groups.values()), marks, found_of)
    found = {code: known.spreads[group] for code, group in groups.items()}
    return Spreads.of({code: each for code, each in found.items() if each is not None})


def same_set_up(one: Protocol, other: Protocol) -> bool:
    """Tell whether two versions agree in all that must match."""
    return all(
        same_fact(getattr(one, name), getattr(other, name), rule) for name, rule in FIELDS.items() if rule.rule == MUST
    )


def by_code(rows: Iterable["Outline"]) -> dict[str, list["Outline"]]:
    """Outlines by their student's code, in the order of the codes."""
    found: dict[str, list[Outline]] = {}
    for row in rows:
        found.setdefault(row.code, []).append(row)
    return dict(sorted(found.items()))


def _repeats(rows: "Sequence[Outline]", chosen: Sequence[int] | None, fits: Mapping[int, bool]) -> tuple[int, ...]:
    """A student's baselines of a set-up that fits; none where they are not on two days."""
    counted = [row for row in rows if not row.practice]
    numbers = set(_baselines(counted) if chosen is None else chosen)
    fitting = [row for row in counted if row.id in numbers and fits[row.protocol_version]]
    return tuple(row.id for row in fitting) if len({row.on for row in fitting}) > 1 else ()


def _baselines(rows: Sequence["Outline"]) -> list[int]:
    """A student's baselines: those of the first four weeks, or all where nothing lies later and they are no pair."""
    try:
        return [each.id for each in occasions(rows)[0]]
    except NothingToCompare:
        return [each.id for each in rows]


def alike(trials: Sequence[TrialSeen], name: str, on_basis: OnBasis) -> list[TrialSeen]:
    """The trials that were set up like the first one and count the same, on its basis."""
    first = trials[0]
    kept = [first]
    for other in trials[1:]:
        if any(each.forbids for each in differences([first], [other])[0]):
            continue
        if counted_apart([*kept, other], name) is None:
            kept.append(on_basis(first, other) if different_bases([first, other], name) else other)
    return [each for each in kept if not different_bases([first, each], name)]
