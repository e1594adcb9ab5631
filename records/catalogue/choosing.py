"""Which tests a student can do, changed as little as possible: by what is seen in class, never by a diagnosis.

A movement that is not named is taken as not there, as soon as any is named. A sense that is not named is unknown: it
rules nothing out, and the answer says what to find out. A need must be met by the test as it is written.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from ...words.message import Message
from ..abilities import MOVEMENTS, NEEDS, SENSES, with_implied
from ..protocol import Component
from .entry import CatalogueEntry, Family
from .messages import (
    CHOOSE_BOTH,
    choose_both_or,
    choose_fits,
    choose_meets,
    choose_sense,
    choose_sense_or,
    choose_takes,
    choose_takes_one,
)

ON_FOOT = frozenset({"walk", "walk-device"})
OFF_FOOT = frozenset({"stay-in-chair", "hand-held"})
"""Needs that do not fit with walking alone: the one at all, the other unless the test is written with a hand held."""
BY_A_SIDE = frozenset({"arms", "legs", "push-chair"})
"""Movements that may take both sides where only one works. Who is said to walk, with a device too, or to drive a chair
does so, and the trunk, the head, the eyes and the breath have no side."""
ABOUT: Mapping[str, frozenset[str]] = {
    "push-chair": frozenset({"arms"}),
    "drive-chair": frozenset({"arms", "head"}),
    **dict.fromkeys(("walk", "walk-device"), frozenset({"legs"})),
}
"""Ways of getting about, each with movements one of which it takes."""
MOST_OPENED = 3
"""So many tests are named of those that one more fact would open."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is known of the student. ``can`` is None where nothing was said; it holds movements and senses."""

    can: frozenset[str] | None = None
    needs: frozenset[str] = frozenset()

    @property
    def movements(self) -> frozenset[str] | None:
        """What the student moves, with what goes without saying; None where no movement was named."""
        stated = None if self.can is None else self.can & set(MOVEMENTS)
        return with_implied(stated) if stated else None

    @property
    def senses(self) -> frozenset[str]:
        """What the student is known to see, hear or follow."""
        return (self.can or frozenset()) & set(SENSES)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A test that fits, why, and which of its senses somebody must find out about."""

    entry: CatalogueEntry
    family: Family
    reasons: tuple[Message, ...]
    to_find_out: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class Opened:
    """Tests that one more fact would open: a movement that the student has, or a need that the student has not."""

    fact: str
    entries: tuple[CatalogueEntry, ...]

    @property
    def is_need(self) -> bool:
        """Whether the fact is a need that would have to go."""
        return self.fact in NEEDS


@dataclass(frozen=True, slots=True)
class Found:
    """The answer: tests that fit, the least changed of each family first, and what one more fact would open."""

    asked: Asked
    fits: tuple[Suggestion, ...]
    nearly: tuple[Opened, ...]
    unfit_components: tuple[str, ...] = ()


def find(
    entries: Iterable[CatalogueEntry],
    families: Mapping[str, Family],
    asked: Asked,
    component: Component | None = None,
) -> Found:
    """The tests that fit a student.

    Parameters
    ----------
    entries, families : the catalogue; families in the order in which equals are shown
    component : only its tests; None for those of every component, each by itself
    """
    among = [each for each in entries if component is None or each.protocol.component == component]
    short = {each.name: missing(each, asked) for each in among}
    fitting = _ordered([each for each in among if not short[each.name]], families, asked)
    suggestions = tuple(
        Suggestion(each, families[each.family], reasons(each, asked), _to_find_out(each, fitting, asked))
        for each in fitting
    )
    nearly = [each for each in among if len(short[each.name]) == 1]
    components = dict.fromkeys(each.protocol.component for each in among)
    served = {each.protocol.component for each in fitting}
    return Found(
        asked,
        suggestions,
        tuple(_opened(nearly, short, asked)),
        tuple(each for each in components if each not in served),
    )


def missing(entry: CatalogueEntry, asked: Asked) -> tuple[frozenset[str], ...]:
    """What the student lacks for a test, or needs and would not have there; each with what would do in its place."""
    found: list[frozenset[str]] = []
    can = asked.movements
    if can is not None:
        found += [frozenset({each}) for each in entry.moves_all if each not in can]
        if entry.moves_any and not can & set(entry.moves_any):
            found.append(frozenset(entry.moves_any))
    return (*found, *(frozenset({each}) for each in asked.needs if not meets(entry, each, asked)))


def meets(entry: CatalogueEntry, need: str, asked: Asked) -> bool:
    """Whether a test meets a need: it is written that way, or the need does not arise in it.

    Who cannot hear needs no visible signal where nothing has to be heard; who needs a guide needs none where nobody
    goes anywhere and nothing has to be seen; who needs a hand to walk needs none where nobody walks. A course that can
    be pushed or walked keeps in the chair only who can push it. Who works with one side walks and lies as anybody does.
    """
    if need in OFF_FOOT and _on_foot(entry, asked):
        return need in entry.helps and need != "stay-in-chair"
    if need in entry.helps:
        return True
    if need == "visible-signal":
        return "hear" not in entry.senses
    if need == "touch-signal":
        return not {"see", "hear"} & set(entry.senses)
    if need == "guide":
        return entry.protocol.place != "overground" and "see" not in entry.senses
    if need == "one-side":
        return not _takes_sides(entry, asked)
    return need == "hand-held"


def _takes_sides(entry: CatalogueEntry, asked: Asked) -> bool:
    """Whether arms or legs work in it by themselves: in every way in which the student can do it, or both at once."""
    used = set(_used(entry, asked.movements or frozenset(entry.moves_any), asked)) - set(entry.moves_all)
    return entry.both_sides or bool(BY_A_SIDE & set(entry.moves_all)) or (bool(used) and used <= BY_A_SIDE)


def _on_foot(entry: CatalogueEntry, asked: Asked) -> bool:
    """Whether the student would walk in it, because no other way is there."""
    ways = set(entry.moves_any) & (asked.movements or set(entry.moves_any))
    return bool(ON_FOOT & set(entry.moves_all)) or (bool(ways) and ways <= ON_FOOT)


def _used(entry: CatalogueEntry, can: frozenset[str], asked: Asked) -> tuple[str, ...]:
    """The movements of a test that the student has, without walking where a need is met only off the feet."""
    off_foot = not OFF_FOOT.isdisjoint(asked.needs - (set(entry.helps) - {"stay-in-chair"}))
    ways = [each for each in entry.moves_any if each in can and not (off_foot and each in ON_FOOT)]
    return (*entry.moves_all, *ways)


def reasons(entry: CatalogueEntry, asked: Asked) -> tuple[Message, ...]:
    """Why a test fits: the movements that it takes and the student has, and the needs that it meets."""
    can = asked.movements
    if can is None:
        found = [choose_takes(entry.moves_all)] if entry.moves_all else []
        found += [choose_takes_one(entry.moves_any)] if entry.moves_any else []
    else:
        found = [choose_fits(_used(entry, can, asked))]
    met = tuple(each for each in NEEDS if each in asked.needs)
    return (*found, choose_meets(met)) if met else tuple(found)


def _to_find_out(entry: CatalogueEntry, fitting: Sequence[CatalogueEntry], asked: Asked) -> tuple[Message, ...]:
    """What nobody has said: senses that a test asks, and both sides; each with the test of the family without it."""
    found: list[Message] = []
    for sense in entry.senses:
        if sense not in asked.senses:
            near = _near(entry, [each for each in fitting if sense not in each.senses])
            found.append(choose_sense(sense) if near is None else choose_sense_or(sense, near.name))
    if entry.both_sides:
        near = _near(entry, [each for each in fitting if not each.both_sides])
        found.append(CHOOSE_BOTH if near is None else choose_both_or(near.name))
    return tuple(found)


def _near(entry: CatalogueEntry, others: Sequence[CatalogueEntry]) -> CatalogueEntry | None:
    """Of other tests the one of the same family that is nearest on the ladder, of equals the less changed."""
    same = [each for each in others if each.family == entry.family]
    return min(same, key=lambda each: (abs(each.step - entry.step), each.step), default=None)


def _ordered(
    fitting: Sequence[CatalogueEntry], families: Mapping[str, Family], asked: Asked
) -> tuple[CatalogueEntry, ...]:
    """By component, then by family, within one by the ladder.

    Steps of two ladders are no measure of each other, so a family in which the student gets about as day to day comes
    before any other, and one that stands in the place of how the student gets about comes last: who walks with a hand
    held is not sent to a scooter board because that is a smaller step on its ladder. Among the rest the family that
    begins with the smaller step comes first, of equals the one with fewer open questions.
    """
    place = {name: number for number, name in enumerate(families)}
    components = list(dict.fromkeys(each.component for each in families.values()))
    first: dict[str, tuple[bool, bool, int, int]] = {}
    for each in fitting:
        replaced = bool((asked.can or frozenset()) & set(families[each.family].in_place_of))
        rank = (not _as_day_to_day(each, asked), replaced, each.step, _open(each, asked))
        first[each.family] = min(first.get(each.family, rank), rank)

    def order(each: CatalogueEntry) -> tuple[object, ...]:
        family = (components.index(families[each.family].component), first[each.family], place[each.family])
        return (*family, each.step, _open(each, asked))

    return tuple(sorted(fitting, key=order))


def _as_day_to_day(entry: CatalogueEntry, asked: Asked) -> bool:
    """Whether the student gets about in a test as said of day to day."""
    return bool((asked.can or frozenset()) & set(ABOUT) & {*entry.moves_all, *entry.moves_any})


def _open(entry: CatalogueEntry, asked: Asked) -> int:
    """How many senses that a test asks nobody has named."""
    return len(set(entry.senses) - asked.senses)


def _opened(
    nearly: Sequence[CatalogueEntry], short: Mapping[str, Sequence[frozenset[str]]], asked: Asked
) -> Iterator[Opened]:
    """What one more fact would open, movements before needs, each with the least changed tests first."""
    for fact in (*filter(partial(_may_be_forgotten, asked), MOVEMENTS), *NEEDS):
        found = sorted((each for each in nearly if fact in short[each.name][0]), key=lambda each: each.step)
        if found:
            yield Opened(fact, tuple(found[:MOST_OPENED]))


def _may_be_forgotten(asked: Asked, movement: str) -> bool:
    """Whether somebody may have left out a movement.

    How a student gets about is left out only where nothing is said of it, and where the limbs that it takes are named.
    """
    can = asked.movements or frozenset()
    if movement not in ABOUT:
        return True
    return not can & set(ABOUT) and bool(can & ABOUT[movement])
