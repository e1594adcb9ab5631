"""Day-to-day error over students on one protocol: whose repeats may speak for another student's.

Only baselines count, never a re-test: a change would pass for noise. Their protocol version must agree with that of the
comparison in all that must match, and a student's repeats with each other, in the protocol and in how the trials were
done. Figures that rest on rest or maximum are put on the student's first basis, as in a comparison.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from ..errors import NothingToCompare, OwnmarkError
from .change.differences import differences
from .change.occasions import WITHIN, occasions
from .change.results import pooled_error
from .change.seen import TrialSeen, different_bases
from .change.typical_error import PooledError
from .protocol import FIELDS, Protocol
from .rules import MUST

if TYPE_CHECKING:
    from .store.glance import Outline
    from .store.logbook import Logbook

MOST_STUDENTS = 200
"""Repeats of so many students, the first by code, are looked at: their error is known to 4 % and better then."""
OnBasis = Callable[[TrialSeen, TrialSeen], TrialSeen]
"""Puts the second trial on the first one's rest and maximum."""


def pooled_of(
    logbook: "Logbook",
    protocol: Protocol,
    load: Callable[[Sequence[int]], list[TrialSeen]],
    on_basis: OnBasis,
    chosen: Mapping[str, Sequence[int]],
) -> PooledError | None:
    """Typical error of the primary figure over baselines on a protocol; None if nobody has two days of one set-up.

    Parameters
    ----------
    protocol : the version that the comparison rests on
    load : trials by number
    chosen : by code, the baselines that a comparison was told to use
    """
    groups = []
    versions = {(each.name, each.version): same_set_up(each, protocol) for each in logbook.versions_of(protocol.name)}
    for code, rows in by_code(each for each in logbook.outline(protocol.name) if not each.practice).items():
        numbers = list(chosen[code]) if code in chosen else _baselines(rows)
        fitting = [row.id for row in rows if row.id in numbers and versions[row.protocol, row.protocol_version]]
        if len({row.on for row in rows if row.id in fitting}) > 1:
            groups.append(fitting)
        if len(groups) == MOST_STUDENTS:
            break
    if not groups:
        return None
    whole = iter(load([number for group in groups for number in group]))
    loaded = [[next(whole) for _ in group] for group in groups]
    alike = [_alike(each, protocol.primary_figure, on_basis) for each in loaded]
    return pooled_error(alike, protocol.primary_figure)


def same_set_up(one: Protocol, other: Protocol) -> bool:
    """Tell whether two versions agree in all that must match."""
    return all(getattr(one, name) == getattr(other, name) for name, rule in FIELDS.items() if rule.rule == MUST)


def by_code(rows: Iterable["Outline"]) -> dict[str, list["Outline"]]:
    """Outlines by their student's code, in the order of the codes."""
    found: dict[str, list[Outline]] = {}
    for row in rows:
        found.setdefault(row.code, []).append(row)
    return dict(sorted(found.items()))


def _baselines(rows: Sequence["Outline"]) -> list[int]:
    """A student's baselines: those of the first four weeks, or all of more than two days with nothing later."""
    try:
        return [each.id for each in occasions(rows)[0]]
    except NothingToCompare:
        first = min(each.on for each in rows)
        return [each.id for each in rows if each.on - first <= WITHIN]


def _alike(trials: Sequence[TrialSeen], name: str, on_basis: OnBasis) -> list[TrialSeen]:
    """The repeats that were set up like the first one, on its basis."""
    first = trials[0]
    kept = [first]
    for other in trials[1:]:
        try:
            if any(each.forbids for each in differences([first], [other])[0]):
                continue
        except OwnmarkError:
            continue
        kept.append(on_basis(first, other) if different_bases([first, other], name) else other)
    return [each for each in kept if not different_bases([first, each], name)]
