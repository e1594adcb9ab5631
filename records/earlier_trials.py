"""What an edit of a protocol sets, for earlier trials too: only where it contradicts nothing that was written down.

An earlier trial was done by the version of its day. A fact that nobody had fixed then can be added; one that must match
and was fixed otherwise says that the test was given otherwise, and stays. So does what a change is judged by: that was
agreed before. Whatever cannot be given is told, and left. One transaction, written into the history of each trial and
of the protocol.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

from ..errors import OwnmarkError
from ..words.message import Json
from .change.differences import alike
from .guards import beyond
from .measuring import measure
from .mending import put_in_place
from .protocol import FIELDS, Protocol
from .rules import MUST
from .store.history import Change, remember
from .trial import Trial

if TYPE_CHECKING:
    from .store.logbook import Logbook, Within

AGREED = frozenset({"primary_figure", "better", "smallest_worthwhile_change"})
"""What a change is judged by: chosen when the results are known it finds changes by chance."""
_LENGTHS = {"rest_s": "rest", "work_s": "work", "recovery_s": "recovery"}
Why: TypeAlias = Literal["other value", "agreed before", "other length", "cannot be worked out"]


@dataclass(frozen=True, slots=True)
class Left:
    """A field that a trial is not given, and why; ``there``: what stands there now."""

    trial: int
    code: str
    field: str
    why: Why
    there: object = None


@dataclass(frozen=True, slots=True)
class Given:
    """Fields that a trial is given."""

    trial: int
    code: str
    fields: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Earlier:
    """What an edit gives to earlier trials, and what it leaves."""

    given: tuple[Given, ...] = ()
    left: tuple[Left, ...] = ()


def offered(logbook: "Logbook", after: Protocol, fields: Sequence[str]) -> Earlier:
    """What could be given to earlier trials; nothing is changed.

    after : the edited protocol
    fields : what the edit names
    """
    given, left = list[Given](), list[Left]()
    versions = {each.version: each for each in logbook.versions_of(after.name)}
    for trial in logbook.trials(protocol=after.name):
        may, may_not = _of_trial(trial, versions[trial.protocol_version], after, fields)
        given += [Given(trial.id or 0, trial.code, may)] if may else []
        left += may_not
    return Earlier(tuple(given), tuple(left))


def edit_for_all(
    logbook: "Logbook", before: Protocol, after: Protocol, fields: Sequence[str], *, why: str = ""
) -> tuple[Protocol, Earlier]:
    """Keep the edited protocol and give what it sets to earlier trials, whose figures are worked out at once.

    A trial keeps everything else of its own version: where that differs from the newest, it gets a version of its own,
    made before the newest one.

    Returns
    -------
    The newest version, and what was given and left.
    """
    with logbook.within() as inside:
        plan = offered(inside, after, fields)
        versions = {each.version: each for each in inside.versions_of(after.name)}
        trials = {each.trial: inside.trial(each.trial) for each in plan.given}
        wanted = {
            each.trial: _with(versions[trials[each.trial].protocol_version], after, each.fields) for each in plan.given
        }
        own = _added(inside, wanted.values(), after)
        newest = inside.new_version(after) if own or not _same(before, after) else inside.protocol(after.name)
        own.append(newest)
        given, left = list[Given](), list(plan.left)
        for each in plan.given:
            version = next(one for one in own if _same(one, wanted[each.trial]))
            if _can_be_worked_out(inside, trials[each.trial], version):
                _give(inside, trials[each.trial], version, why)
                given.append(each)
            else:
                left += [Left(each.trial, each.code, name, "cannot be worked out") for name in each.fields]
        if given:
            numbers: list[Json] = [each.trial for each in given]
            told: dict[str, Json] = {"from_version": newest.version, "fields": list(fields), "trials": numbers}
            remember(inside.connection, Change("protocol", after.name, None, "also earlier", why, told))
    return newest, Earlier(tuple(given), tuple(left))


def _of_trial(
    trial: Trial, version: Protocol, after: Protocol, fields: Sequence[str]
) -> tuple[tuple[str, ...], tuple[Left, ...]]:
    """The fields that a trial may be given, and those that it may not."""
    may, left = list[str](), list[Left]()
    for name in fields:
        there = getattr(version, name)
        if there == getattr(after, name):
            continue
        why = _why_not(trial, name, there, getattr(after, name))
        if why is None:
            may.append(name)
        else:
            left.append(Left(trial.id or 0, trial.code, name, why, there))
    return tuple(may), tuple(left)


def _why_not(trial: Trial, name: str, there: object, new: object) -> Why | None:
    """Why a trial keeps what stands there; None if nothing speaks against the new value."""
    if name in AGREED:
        return "agreed before"
    known = there is not None and there not in ("", ())
    if known and FIELDS[name].rule == MUST and not alike(there, new, FIELDS[name]):
        return "other value"
    if name in _LENGTHS and trial.sheet is not None and isinstance(new, int | float):
        span = getattr(trial.sheet.provenance.phases, _LENGTHS[name])
        if span is not None and beyond(span[1] - span[0], float(new)):
            return "other length"
    return None


def _with(version: Protocol, after: Protocol, fields: Sequence[str]) -> Protocol:
    return Protocol.model_validate({**dict(version), **{name: getattr(after, name) for name in fields}})


def _same(one: Protocol, other: Protocol) -> bool:
    """Whether two versions say the same."""
    return one.model_copy(update={"version": 1}) == other.model_copy(update={"version": 1})


def _added(inside: "Within", wanted: Iterable[Protocol], after: Protocol) -> list[Protocol]:
    """A new version for each set of facts that is not the newest one's."""
    made: list[Protocol] = []
    for each in wanted:
        if not _same(each, after) and not any(_same(each, one) for one in made):
            made.append(inside.new_version(each))
    return made


def _can_be_worked_out(inside: "Within", trial: Trial, version: Protocol) -> bool:
    """Whether a trial's figures can be worked out by this version; nothing is written."""
    if not trial.files:
        return True
    originals = {file.sha256: inside.original(file.sha256) for file in trial.files}
    try:
        measure(trial, inside.student(trial.code), version, originals)
    except OwnmarkError:
        return False
    return True


def _give(inside: "Within", before: Trial, version: Protocol, why: str) -> None:
    """A trial done by this version from now on, its figures worked out."""
    after = before.model_copy(update={"protocol_version": version.version})
    originals = [(file.path, inside.original(file.sha256)) for file in before.files]
    put_in_place(inside, before, after, version, originals, anew=bool(originals))
    former: dict[str, Json] = {"protocol_version": before.protocol_version}
    remember(inside.connection, Change("trial", str(before.id), before.code, "also earlier", why, former))
