"""Several trials in one recording: each keeps its own span of it, and none reaches into another one's."""

import typing
from collections.abc import Collection, Mapping, Sequence
from typing import TypeAlias

from ..errors import AlreadyThere, NotATrial, OwnmarkError
from ..ingest.clock_times import wall_of, zone_from
from ..ingest.recording import Recording, Span
from ..metrics.figure import EffortSheet
from ..words.render import english_date
from .guards import clock_of
from .measuring import Seen, files_of, sheet_of
from .opened import Opened
from .protocol import Protocol
from .student import Student
from .trial import KeptFile, Trial
from .trial_span import ALL, free_between, kept_files, known_as, on_file, own_span, phases_on_file
from .wearing import Wearing
from .worn_times import margins

Files: TypeAlias = Sequence[tuple[str, bytes]]
Parts: TypeAlias = Sequence[tuple[KeptFile, bytes]]


class Kept(typing.Protocol):
    """What is asked of a logbook here."""

    def holders(self, recording: str) -> tuple[tuple[int, str], ...]:
        """Number and student's code of every trial of a recording."""
        ...

    def trials_numbered(self, numbers: Sequence[int]) -> list[Trial]:
        """These trials with their sheets."""
        ...

    def trial_numbers(self) -> list[int]:
        """The numbers of all trials."""
        ...

    def original(self, sha256: str) -> bytes:
        """The bytes of a kept file."""
        ...

    def student(self, code: str) -> Student:
        """A student."""
        ...

    def protocol(self, name: str, version: int | None = None) -> Protocol:
        """A protocol."""
        ...

    def narrow(self, narrowed: "Sequence[tuple[Trial, Files]]") -> None:
        """Put trials with less of their files in the place of what is kept of them."""
        ...


def in_its_span(
    logbook: Kept,
    trial: Trial,
    student: Student,
    protocol: Protocol,
    files: Opened,
    originals: Files,
    *,
    again: bool = False,
    worn: Sequence[Wearing] = (),
) -> tuple[EffortSheet, Parts, list[tuple[Trial, Files]]]:
    """A trial's sheet, its files as they are kept, and the trials of which less is kept now that this one is known.

    Parameters
    ----------
    trial : without a sheet; one that is in the logbook already is not held against itself
    files : its files, opened; at least one can be read
    originals : name and bytes of each
    again : it may be a second trial of the student out of the same files
    worn : when the student wore the strap, and others wore it, by the list of straps: the margins end there

    Raises
    ------
    AlreadyThere
        If the student has a trial of the same minutes of a recording.
    NotATrial
        If another student's trial is written down for the same minutes, or for all of the recording.
    OwnmarkError
        If its times, rates or files contradict each other.
    """
    named = {each.sources[0].recording: names_given(each) for each in files.recordings}
    others = _others(logbook, trial, named, again=again)
    if not others:
        sheet, parts = alone(trial, student, protocol, files, originals, worn=worn)
        return sheet, parts, []
    sheet, _ = _of(trial, student, protocol, files, {})
    listed = _listed(trial, sheet, files, worn)
    _refuse_whole(trial, sheet, others)
    taken = {sha256: _taken(others, names) for sha256, names in named.items()}
    shared = [sha256 for sha256 in named if taken[sha256]]
    own = {sha256: _phases(trial, sheet, named[sha256]) for sha256 in shared}
    _refuse_same(trial, own, [each for each in others if each.code == trial.code], taken)
    walls = {each.sources[0].recording: wall_of(each, zone_from(trial.zone)) for each in files.recordings}
    here = {each.sources[0].recording: each for each in files.recordings}
    free = {
        sha256: free_between(own[sha256], list(taken[sha256].values()), trial.code, walls[sha256], here[sha256])
        for sha256 in shared
    }
    free = {sha256: _both(free.get(sha256, ALL), listed.get(sha256, ALL)) for sha256 in {*free, *listed}}
    sheet, seen = _of(trial, student, protocol, files, free)
    narrowed = [each for other in others if (each := _narrowed(logbook, other, taken, own, here, named)) is not None]
    return sheet, kept_files(seen, files, originals, free), narrowed


def alone(
    trial: Trial, student: Student, protocol: Protocol, files: Opened, originals: Files, *, worn: Sequence[Wearing]
) -> tuple[EffortSheet, Parts]:
    """As ``in_its_span``, of a trial whose recordings no other trial holds: nothing is asked of a logbook."""
    sheet, seen = _of(trial, student, protocol, files, {})
    listed = _listed(trial, sheet, files, worn)
    if listed:
        sheet, seen = _of(trial, student, protocol, files, listed)
    return sheet, kept_files(seen, files, originals, listed)


def narrow_all(logbook: Kept, numbers: Sequence[int] | None = None) -> None:
    """Keep of trials' files what belongs to them, in a logbook that kept files whole.

    A trial whose files cannot be read, or contradict what is written down, stays as it is.

    numbers : of the trials; None: of all
    """
    for number in logbook.trial_numbers() if numbers is None else numbers:
        (trial,) = logbook.trials_numbered([number])
        if not trial.files or trial.sheet is None:
            continue
        try:
            narrowed = _again(logbook, trial)
        except OwnmarkError:
            continue
        logbook.narrow(narrowed)


def _again(logbook: Kept, trial: Trial) -> list[tuple[Trial, Files]]:
    """A kept trial in its span, and those that keep less beside it; empty where nothing is to be cut away."""
    originals = [(file.path, logbook.original(file.sha256)) for file in trial.files]
    files = files_of(trial, originals)
    student, protocol = logbook.student(trial.code), logbook.protocol(trial.protocol, trial.protocol_version)
    sheet, kept, others = in_its_span(logbook, trial, student, protocol, files, originals)
    named = tuple(file for file, _ in kept)
    if [each.without_keys for each in named] == [each.without_keys for each in trial.files]:
        return others
    after = trial.model_copy(update={"sheet": sheet, "files": named, "computed_by": None})
    return [(after, [(file.path, data) for file, data in kept]), *others]


def _of(
    trial: Trial, student: Student, protocol: Protocol, files: Opened, free: Mapping[str, Span]
) -> tuple[EffortSheet, Seen]:
    found = sheet_of(trial, student, protocol, files, free=free)
    if found is None:
        raise NotATrial("none of its files can be read.", mend="Look at them with `ownmark look`.")
    return found


def _listed(trial: Trial, sheet: EffortSheet, files: Opened, worn: Sequence[Wearing]) -> dict[str, Span]:
    """By the hash of each recording that runs on beyond what the list of straps gives the student: what it gives."""
    own = own_span(sheet)
    if own is None or not worn:
        return {}
    span = margins(own, sheet.provenance.phases.work, clock_of(files), trial.zone, worn)
    found = {each.sources[0].recording: on_file(sheet, names_given(each), span) for each in files.recordings}
    return {
        each.sources[0].recording: free
        for each in files.recordings
        if each.first_s < (free := found[each.sources[0].recording])[0] or free[1] < each.last_s
    }


def _both(one: Span, other: Span) -> Span:
    return max(one[0], other[0]), min(one[1], other[1])


def _refuse_same(
    trial: Trial, own: Mapping[str, Span], others: Sequence[Trial], taken: Mapping[str, Mapping[int, Span]]
) -> None:
    """Refuse a second trial of one student out of the same minutes: one recording counts once."""
    for sha256, (begin, end) in own.items():
        for other in others:
            number = other.id or 0
            if number in taken[sha256] and taken[sha256][number][0] < end and begin < taken[sha256][number][1]:
                raise _there(trial, other)


def _refuse_whole(trial: Trial, sheet: EffortSheet, others: Sequence[Trial]) -> None:
    """Refuse a second trial of one student where one of the two takes all of the recording."""
    for other in others:
        if other.code != trial.code or other.sheet is None:
            continue
        if any(own_span(each) is None for each in (sheet, other.sheet)):
            raise _there(trial, other)


def _there(trial: Trial, other: Trial) -> AlreadyThere:
    """The refusal of a second trial out of the same minutes; it leads to what mends the first."""
    number = other.id or 0
    wrong = f"`ownmark trial edit {number}` mends what is wrong in it, and --add-file gives it a further file"
    mend = f"Nothing was added, and nothing is doubled: {wrong}."
    if trial.id:
        mend = f"Nothing was changed. If trial {number} is the wrong one: `ownmark trial remove {number} --why …`."
    return AlreadyThere(
        f"trial {number} of {trial.code} ({english_date(other.on)}) holds these minutes of the recording.",
        where=f"{trial.code}, {english_date(trial.on)}",
        mend=mend,
    )


def names_given(recording: Recording) -> frozenset[str]:
    """By what logbooks know a recording: what it holds; an excerpt of before that was so, its file as it was given."""
    source = recording.sources[0]
    return frozenset((source.recording, source.sha256))


def _others(logbook: Kept, trial: Trial, named: Mapping[str, Collection[str]], *, again: bool) -> list[Trial]:
    """The other trials that hold one of these recordings, or a part of it.

    A trial of the same student out of the same files is left to the logbook, which knows it for the same.
    """
    numbers = {number for names in named.values() for name in names for number, _ in logbook.holders(name)}
    found = logbook.trials_numbered(sorted(numbers - {trial.id}))
    mine = [each for each in found if each.code == trial.code and _recordings(each) == set(named)]
    twins = [] if again or trial.id else mine
    return [each for each in found if each.sheet is not None and each not in twins]


def _recordings(trial: Trial) -> set[str]:
    return {file.recording for file in trial.files}


def _taken(others: Sequence[Trial], names: Collection[str]) -> dict[int, Span]:
    """What the phases of other trials take of a recording, by their numbers."""
    found: dict[int, Span] = {}
    for other in others:
        held = next((file.recording for file in other.files if file.recording in names), None)
        if other.sheet is not None and held is not None:
            found[other.id or 0] = _phases(other, other.sheet, known_as(held, other.files))
    return found


def _phases(trial: Trial, sheet: EffortSheet, names: Collection[str]) -> Span:
    """From a trial's first phase to its last on a recording's own clock [s]."""
    span = phases_on_file(sheet, names)
    if span is None:
        which = f"trial {trial.id} of {trial.code}" if trial.id else f"this trial of {trial.code}"
        raise NotATrial(
            f"another trial is in the same recording, and {which} takes all of it: no work phase is written down.",
            mend="Say from when until when it worked.",
        )
    return span


def _narrowed(
    logbook: Kept,
    other: Trial,
    taken: Mapping[str, Mapping[int, Span]],
    own: Mapping[str, Span],
    here: Mapping[str, Recording],
    named: Mapping[str, Collection[str]],
) -> tuple[Trial, Files] | None:
    """Another trial with what it keeps beside the new one; None where it keeps what it has."""
    number = other.id or 0
    free: dict[str, Span] = {}
    for sha256, span in own.items():
        if number in taken[sha256]:
            beside = [each for who, each in taken[sha256].items() if who != number]
            its = free_between(taken[sha256][number], [*beside, span], other.code, recording=here[sha256])
            free |= dict.fromkeys(named[sha256], its)
    if all(_within(file, free) for file in other.files):
        return None
    originals = [(file.path, logbook.original(file.sha256)) for file in other.files]
    files = files_of(other, originals)
    student, protocol = logbook.student(other.code), logbook.protocol(other.protocol, other.protocol_version)
    sheet, seen = _of(other, student, protocol, files, free)
    kept = kept_files(seen, files, originals, free)
    after = other.model_copy(update={"sheet": sheet, "files": tuple(file for file, _ in kept), "computed_by": None})
    return after, [(file.path, data) for file, data in kept]


def _within(file: KeptFile, free: Mapping[str, Span]) -> bool:
    """Whether what is kept of a file is free of other trials already."""
    low, high = free.get(file.recording, (float("-inf"), float("inf")))
    if file.part_s is None:
        return file.recording not in free
    return low <= file.part_s[0] and file.part_s[1] <= high
