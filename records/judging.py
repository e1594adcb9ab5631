"""From the logbook to a comparison: which trials, on one basis, with the error that the logbook knows."""

from collections.abc import Collection, Hashable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from ..errors import LogbookDamaged, NothingToCompare, OwnmarkError, UnknownTrial, UsageError
from ..words.message import Message, Quoted
from .change import messages as say
from .change.borrowed import Borrowed, Spreads
from .change.comparison import Comparison, compare, with_shared_shift
from .change.observation import TrialSeen, basis_of_baseline, different_bases, seen
from .change.occasions import occasions
from .change.results import resolution
from .change.verdict import BEYOND
from .classmates import Classmates
from .other_figure import figure_named, judged_by
from .pooling import Known, by_code, same_set_up, spreads_of
from .protocol import Protocol
from .trial import Trial

if TYPE_CHECKING:
    from .store.logbook import Logbook
    from .store.student_overview import Outline

_AT_A_TIME = 100


def one_protocol(logbook: "Logbook", code: str, protocol: str | None) -> list[Trial]:
    """The student's trials of one protocol, in order, without sheets; practice trials among them.

    Raises
    ------
    NothingToCompare
        If there is no trial.
    UsageError
        If there are trials of several protocols and none was named.
    """
    found = list(logbook.trials(code, protocol, with_sheets=False))
    names = list(dict.fromkeys(each.protocol for each in found))
    if not found:
        of = f" of {protocol}" if protocol else ""
        raise NothingToCompare(f"{code} has no trial{of} in the logbook.", mend="Add one with `ownmark trial add`.")
    if len(names) > 1:
        raise UsageError(
            f"{code} has trials of several protocols: {', '.join(names)}.", mend="Say which: --protocol NAME."
        )
    return found


def judge_student(
    logbook: "Logbook",
    code: str,
    *,
    protocol: str | None = None,
    retest_from: date | None = None,
    figure: str | None = None,
) -> Comparison:
    """Whether anything changed for one student on one protocol.

    figure : another one than the primary, whose verdict is given beside

    Raises
    ------
    OwnmarkError
        If there are not two occasions, or several protocols and none named.
    UsageError
        If there is no such figure.
    """
    student = logbook.student(code)
    trials = one_protocol(logbook, student.code, protocol)
    before, after, notes = occasions(trials, retest_from)
    wanted = {each.id for each in (*before, *after)}
    whole = {each.id: each for each in logbook.trials(student.code, trials[0].protocol) if each.id in wanted}
    occasion = ([whole[each.id] for each in before], [whole[each.id] for each in after])
    versions = _Versions(logbook)
    if figure is not None:
        figure = figure_named(figure, versions.of(occasion[0][0]))
    found = _of_figure(logbook, occasion, versions, notes)
    if figure is not None:
        beside = _of_figure(logbook, occasion, _Versions(logbook, figure), ())
        beside = beside.model_copy(update={"notes": (say.REMARK_CHOSEN_AFTER, *beside.notes)})
        found = found.model_copy(update={"beside": beside})
    return _with_damage(found, logbook, [whole[each.id] for each in (*before, *after)])


def _outline(logbook: "Logbook", protocol: str) -> "Sequence[Outline]":
    """The trials of a protocol, held while nobody writes."""
    from .store.listing import outline_anew

    return logbook.held.anew(("outline", protocol), lambda before: outline_anew(logbook, protocol, before))[0]


def _of_figure(
    logbook: "Logbook", occasion: tuple[list[Trial], list[Trial]], versions: "_Versions", notes: Sequence[Message]
) -> Comparison:
    """The comparison of two occasions by the primary figure of these versions."""
    before, after = ([_seen(each, versions) for each in side] for side in occasion)
    chosen = {before[0].trial.code: [each.trial.id or 0 for each in before if not each.trial.practice]}
    rows = _outline(logbook, before[0].protocol.name)
    others = _Others(logbook, versions, before[0].protocol, rows, chosen)
    return _compared(logbook, before, after, others, notes, every=True)


def _with_damage(found: Comparison, logbook: "Logbook", trials: Sequence[Trial]) -> Comparison:
    """The comparison with the trials of which a kept recording is no longer what it was: nobody else may look."""
    bad = [each for each in trials if any(_changed(logbook, file.sha256) for file in each.files)]
    if not bad:
        return found
    told = [say.remark_damaged(each.on) for each in bad]
    return found.model_copy(
        update={"damaged": tuple(each.id or 0 for each in bad), "notes": (*dict.fromkeys(told), *found.notes)}
    )


def _changed(logbook: "Logbook", sha256: str) -> bool:
    """Whether a kept file does not agree with its hash."""
    try:
        logbook.original(sha256)
    except LogbookDamaged:
        return True
    return False


def judge_all(
    logbook: "Logbook",
    protocol: str,
    *,
    codes: Collection[str] | None = None,
    since: date | None = None,
    until: date | None = None,
) -> Iterator[tuple[str, Comparison | OwnmarkError]]:
    """Each student's comparison on a protocol, or why there is none, by code; of all or of these ``codes``.

    Sheets are put on the baseline's basis only where the primary figure rests on one; other figures that rest on
    different ones are named in the notes. ``judge_student`` does it for every figure. Some students' sheets are held at
    a time, however many there are.

    since, until : both occasions lie in these days, both included; what others tell of variation is of all days
    """
    from .store.bulk import batches

    versions = _Versions(logbook)
    others: dict[int, _Others] = {}
    outlines = _outline(logbook, protocol)
    inside = [
        each
        for each in outlines
        if (codes is None or each.code in codes)
        and (since is None or since <= each.on)
        and (until is None or each.on <= until)
    ]
    of_these = by_code(inside)
    for some in batches(of_these.items(), _AT_A_TIME):
        wanted = {code: _occasions(rows) for code, rows in some}
        numbers = [row.id for each in wanted.values() if isinstance(each, tuple) for row in (*each[0], *each[1])]
        whole = {each.id: each for each in _still_there(logbook, numbers)}
        for code, found in wanted.items():
            if not isinstance(found, tuple):
                yield code, found
                continue
            if not all(row.id in whole for row in (*found[0], *found[1])):
                continue  # forgotten while this went on
            try:
                sides = [[_seen(whole[row.id], versions) for row in side] for side in found[:2]]
                version = sides[0][0].protocol
                if version.version not in others:
                    others[version.version] = _Others(logbook, versions, version, outlines, {})
                yield code, _compared(logbook, sides[0], sides[1], others[version.version], found[2])
            except OwnmarkError as reason:
                yield code, reason


def _still_there(logbook: "Logbook", numbers: Sequence[int]) -> Iterator[Trial]:
    """The trials of these numbers, without those of a student who was forgotten in between."""
    try:
        yield from logbook.trials_numbered(numbers)
    except UnknownTrial:
        for number in numbers:
            with suppress(UnknownTrial):
                yield logbook.trial(number)


def _occasions(
    rows: "Sequence[Outline]",
) -> "tuple[tuple[Outline, ...], tuple[Outline, ...], tuple[Message, ...]] | OwnmarkError":
    """A student's two occasions, or why there are not two."""
    try:
        return occasions(rows)
    except OwnmarkError as reason:
        return reason


class _Others:
    """What the other students on a protocol version tell of one: how much they vary, and how they moved.

    Both are looked up once, however many students are judged. A student who is forgotten in between is left out.
    """

    def __init__(
        self,
        logbook: "Logbook",
        versions: "_Versions",
        protocol: Protocol,
        rows: "Sequence[Outline]",
        chosen: Mapping[str, Sequence[int]],
    ) -> None:
        self._logbook, self._versions, self._protocol = logbook, versions, protocol
        self._rows, self._chosen = rows, chosen
        self._fits = {each.version: same_set_up(each, protocol) for each in logbook.versions_of(protocol.name)}
        self._mates: Classmates | None = None

    @cached_property
    def _spreads(self) -> Spreads | None:
        try:
            return self._looked_up(self._rows)
        except UnknownTrial:  # a student was forgotten in between: once more, without
            return self._looked_up(self._logbook.outline(self._protocol.name))

    def borrowed_for(self, code: str) -> Borrowed | None:
        """What one student may borrow of the others' day-to-day variation."""
        return None if self._spreads is None else self._spreads.borrowed_for(code)

    def changes(self, before: Sequence[TrialSeen], after: Sequence[TrialSeen]) -> list[float]:
        """How others changed who were tested on the same days."""
        code = before[0].trial.code
        self._mates = self._mates or self._classmates()
        try:
            return self._mates.changes(code, before, after)
        except UnknownTrial:
            self._rows = self._logbook.outline(self._protocol.name)
            self._mates = self._classmates()
            return self._mates.changes(code, before, after)

    def _looked_up(self, rows: "Sequence[Outline]") -> Spreads | None:
        protocol = self._protocol
        key = ("spreads", protocol.name, protocol.version, protocol.primary_figure)
        known = self._logbook.held.anew(key, lambda before: Known.anew(rows, before))
        return spreads_of(rows, protocol, self._fits, self._load, self._on_basis, self._chosen, known, self._marks)

    def _classmates(self) -> Classmates:
        return Classmates(self._rows, self._protocol, self._fits, self._load, self._on_basis)

    def _marks(self, numbers: Sequence[int]) -> "Mapping[int, Hashable]":
        """What is another once anything of these trials is, or of their students."""
        from .store.listing import marks_of

        return marks_of(self._logbook, numbers)

    def _load(self, numbers: Sequence[int]) -> list[TrialSeen]:
        return [_seen(each, self._versions) for each in self._logbook.trials_numbered(numbers)]

    def _on_basis(self, first: TrialSeen, other: TrialSeen) -> TrialSeen:
        return _on_basis_of(first, other, self._logbook, [])


def _compared(
    logbook: "Logbook",
    before: Sequence[TrialSeen],
    after: Sequence[TrialSeen],
    others: _Others,
    notes: Sequence[Message],
    *,
    every: bool = False,
) -> Comparison:
    """Compare on the baseline's basis. ``every``: all figures, not only the primary one."""
    first, *rest = [*before, *after]
    told = list(notes)
    name = first.protocol.primary_figure
    names = list(first.figures) if every else [name]
    if first.trial.sheet is not None and any(different_bases([first, *rest], each) for each in names):
        redone = [_on_basis_of(first, each, logbook, told) for each in rest]
        before, after = [first, *redone[: len(before) - 1]], redone[len(before) - 1 :]
    found = compare(before, after, others.borrowed_for(first.trial.code))
    if found.verdict in BEYOND and found.change is not None:
        found = with_shared_shift(found, others.changes(before, after), resolution([*before, *after], name))
    return found.model_copy(update={"notes": (*told, *found.notes)}) if told else found


def _on_basis_of(first: TrialSeen, other: TrialSeen, logbook: "Logbook", told: list[Message]) -> TrialSeen:
    """The other trial's sheet, worked out again with the first one's rest and maximum."""
    if other.trial.sheet is None or first.trial.sheet is None:
        return other
    from .measuring import measure

    trial = other.trial
    try:
        student = logbook.student(trial.code)
        originals = {file.sha256: logbook.original(file.sha256) for file in trial.files}
        basis = basis_of_baseline(first.trial.sheet)
        sheet = measure(trial, student, other.protocol, originals, basis=basis)
    except OwnmarkError as reason:
        told.append(say.remark_not_on_basis(trial.on, reason.code, Quoted(str(reason))))
        return other
    told.append(say.remark_on_basis(trial.on))
    return seen(trial.model_copy(update={"sheet": sheet}), other.protocol)


class _Versions:
    """Protocol versions, each read once; judged by another ``figure`` than their own, where one is asked for."""

    def __init__(self, logbook: "Logbook", figure: str | None = None) -> None:
        self._logbook, self._figure = logbook, figure
        self._known: dict[tuple[str, int | None], Protocol] = {}

    def of(self, trial: Trial) -> Protocol:
        """The version that a trial was done by."""
        return self._read(trial.protocol, trial.protocol_version)

    def _read(self, name: str, version: int | None) -> Protocol:
        if (name, version) not in self._known:
            found = self._logbook.protocol(name, version)
            self._known[name, version] = found if self._figure is None else judged_by(found, self._figure)
        return self._known[name, version]


def _seen(trial: Trial, versions: _Versions) -> TrialSeen:
    return seen(trial, versions.of(trial))
