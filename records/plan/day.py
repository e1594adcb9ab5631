"""The plan: each student's files, protocol, day and phases, and all that somebody has to look at before it goes in."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from ...words.message import Message, Quoted
from . import messages as say
from .names import words_in
from .row import Given, Phases, Planned, row_of, without_file
from .seen import Seen
from .sources import Sources
from .whose import belongs, owners_of_all


@dataclass(frozen=True, slots=True)
class Plan:
    """The rows of a day, sure ones first, and what belongs to no row."""

    rows: tuple[Planned, ...]
    remarks: tuple[Message, ...] = ()
    zone: str | None = None

    @property
    def to_look_at(self) -> bool:
        """Whether somebody must look at something."""
        return bool(self.remarks) or not all(row.sure for row in self.rows)


def plan_day(seen: Sequence[Seen], sources: Sources, before: Phases | None = None) -> Plan:
    """Propose a row for each student, and one for each file of which nobody knows whose it is.

    before : phases that were found in an earlier plan; whoever plans a day again and again hands them on
    """
    seen = _beside_each_other(seen, sources)
    by_code: dict[str, list[Given]] = {}
    alone: list[Given] = []
    for each, owners in zip(seen, owners_of_all(seen, sources), strict=True):
        for owner in owners:
            group = alone if owner.code is None else by_code.setdefault(owner.code, [])
            group.append(Given(each, owner))
    most = _most(seen, sources)
    rows = [row_of(code, group, sources, most, before) for code, group in by_code.items()]
    rows += [row_of(None, [each], sources, most, before) for each in alone]
    rows += [without_file(code, sources) for code in sources.expected if code not in by_code]
    order = {code: place for place, code in enumerate(sources.expected)}
    rows.sort(key=lambda row: (not row.sure, order.get(row.code or "", len(order)), row.code or "~"))
    return Plan(tuple(rows), _straps_without_file(seen, sources), sources.zone)


def _beside_each_other(seen: Sequence[Seen], sources: Sources) -> list[Seen]:
    """The files, each with what shows only beside the others: another day, the same recording twice."""
    days, twins = Counter(on for each in seen if (on := each.on(sources.zone)) is not None), _twins(seen)
    found: list[Seen] = []
    for each in seen:
        checks = (*twins.get(each.path, ()), *_of_day(each.on(sources.zone), days, sources.today))
        found.append(replace(each, checks=(*each.checks, *checks)))
    return found


def _most(seen: Sequence[Seen], sources: Sources) -> date | None:
    """The day of most files; None where two days have as many, or none has one."""
    leading = _leading(Counter(on for each in seen if (on := each.on(sources.zone)) is not None))
    return leading[0] if len(leading) == 1 else None


def _leading(days: Mapping[date, int]) -> list[date]:
    """The days, in order, of which no other has more files."""
    most = max(days.values(), default=0)
    return [each for each in sorted(days) if days[each] == most]


def _of_day(on: date | None, days: Mapping[date, int], today: date | None) -> tuple[Message, ...]:
    """What is said of a file's day: one of the future, or not that of most files."""
    if on is None:
        return ()
    if today is not None and on > today:
        return (say.day_plan_future(on),)
    leading = _leading(days)
    if on not in leading:
        return (say.day_plan_other_day(on, leading[0]),)
    return tuple(say.day_plan_several_days(on, other) for other in leading if other != on)[:1]


def _twins(seen: Sequence[Seen]) -> dict[Path, tuple[Message, ...]]:
    """What is said of recordings that are there under several names: of each, because nobody knows which counts."""
    by_hash: dict[str, list[Seen]] = {}
    for each in seen:
        by_hash.setdefault(each.content or each.sha256, []).append(each)
    return {
        each.path: tuple(say.day_plan_twice(other.shown) for other in group if other is not each)
        for content, group in by_hash.items()
        if content
        for each in group
    }


def _straps_without_file(seen: Sequence[Seen], sources: Sources) -> tuple[Message, ...]:
    """Straps of the list that no file is clearly named after, with who wore them."""
    labels = [each.strap for each in sources.worn]
    named = [(each, set(words_in(each.path.stem, labels))) for each in seen]
    here = {each.strap for each in sources.worn if any(belongs(file, each, words) for file, words in named)}
    missing = sorted({each.strap for each in sources.worn if each.strap} - here)
    wearers = {strap: sorted({each.code for each in sources.worn if each.strap == strap} - {""}) for strap in missing}
    return tuple(
        say.day_plan_strap_without_file(Quoted(strap), tuple(map(Quoted, wearers[strap])))
        if wearers[strap]
        else say.day_plan_strap_missing(Quoted(strap))
        for strap in missing
    )
