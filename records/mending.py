"""Mend a trial: what was written down of it, its files, or whose it is. The former state goes into its history.

Figures are worked out at once, and everything is one transaction: done, or as if it had not been asked for.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import AlreadyThere, NotATrial
from . import guards
from .adding import readable_files
from .entry import edited
from .kept_span import refuse_outside
from .measuring import files_of
from .recompute import FigureChange, differences
from .shared_files import Files, in_its_span
from .store.history import Change, fields_of, give_to, remember
from .store.replacing import replace_trial
from .trial import KeptFile, Trial

if TYPE_CHECKING:
    from .protocol import Protocol
    from .store.logbook import Logbook, Within

MEASURED = frozenset(
    {
        *("on", "protocol", "protocol_version", "rest_phase", "work", "recovery", "columns", "rate_hz", "zone"),
        *("offsets", "assisted", "floor", "margin_s", "distance_m", "files"),
    }
)
"""What of a trial its figures depend on."""


@dataclass(frozen=True, slots=True)
class Edit:
    """What is to be changed of a trial.

    texts : field to text, as ``entry.edited`` takes them
    results : hand results as ``NAME=VALUE``
    more : fields that are no text (columns, rate_hz, practice)
    offsets : seconds by the bare name of a file
    protocol : the name of another protocol, or of the same one in its latest version
    add, take_out : files to add, and names of kept ones to take out
    """

    texts: Mapping[str, str] = field(default_factory=dict[str, str])
    results: Sequence[str] = ()
    more: Mapping[str, object] = field(default_factory=dict[str, object])
    offsets: Mapping[str, float] = field(default_factory=dict[str, float])
    protocol: str | None = None
    add: Sequence[Path] = ()
    take_out: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Mended:
    """A trial as it is now.

    fields : names of what was changed of it; empty if it was so already
    figures : the figures that are not what they were
    """

    trial: Trial
    fields: tuple[str, ...]
    figures: tuple[FigureChange, ...]


def edit_trial(logbook: "Logbook", number: int, edit: Edit, *, why: str = "", today: date) -> Mended:
    """Change what was written down of a trial, or its files.

    A file that is taken out leaves the logbook, unless another trial holds it: it may be another student's heart. Its
    name and hash stay in the history.

    Raises
    ------
    OwnmarkError
        If there is no such trial, a value does not fit, a file cannot be read, or the phases lie outside what is kept
        of a recording.
    """
    with logbook.within() as inside:
        before = inside.trial(number)
        version = None if edit.protocol else before.protocol_version
        protocol = inside.protocol(edit.protocol or before.protocol, version)
        after = edited(before, protocol, edit.texts, edit.results, today=today, **edit.more)
        originals = _originals(inside, before, after, edit)
        after = _placed(after, originals, edit)
        changed = _changed(before, after)
        if not changed:
            return Mended(before, (), ())
        stored = _stored(inside, before, after, protocol, originals, anew=bool(MEASURED & set(changed)))
        if stored.sheet is not None and MEASURED & set(changed):
            guards.refuse_absurd(stored, stored.sheet)
        former = {name: each for name, each in fields_of(before).items() if name in changed}
        remember(inside.connection, Change("trial", str(number), before.code, "edited", why, former))
    figures = differences(before.sheet, stored.sheet) if stored.sheet is not None else ()
    return Mended(stored, changed, figures)


def move_trial(logbook: "Logbook", number: int, code: str, *, why: str = "") -> Mended:
    """Give a trial to the student whose it was: with everything written down of it, its files and its history.

    The new student's rest, maximum and ceiling apply. In the record of the one who had it a line stays that says when
    a trial went, of which day and protocol, and why: no heart rate, and neither record names the other student, so
    that disclosing or forgetting one tells nothing of the other.

    Raises
    ------
    OwnmarkError
        If there is no such trial or student, or the new one has a trial of the same minutes.
    """
    with logbook.within() as inside:
        before, student = inside.trial(number), inside.student(code)
        if student.code == before.code:
            raise AlreadyThere(f"trial {number} is {student.code}'s already.", mend="Nothing was changed.")
        protocol = inside.protocol(before.protocol, before.protocol_version)
        after = before.model_copy(update={"code": student.code})
        originals = [(file.path, inside.original(file.sha256)) for file in before.files]
        stored = _stored(inside, before, after, protocol, originals, anew=True)
        give_to(inside.connection, number, student.code)
        gone = {"number": number, "on": before.on.isoformat(), "protocol": before.protocol}
        remember(
            inside.connection,
            Change("student", before.code, before.code, "moved away", why, gone),
            Change("trial", str(number), student.code, "moved here", why),
        )
    return Mended(stored, ("code",), differences(before.sheet, stored.sheet) if stored.sheet else ())


def _originals(inside: "Within", before: Trial, after: Trial, edit: Edit) -> list[tuple[str, bytes]]:
    """Name and bytes of each file that the trial has from now on."""
    strange = next((name for name in edit.take_out if name not in {file.path for file in before.files}), None)
    if strange is not None:
        has = ", ".join(file.path for file in before.files)
        raise NotATrial(
            f"it has no file “{strange}”.",
            where=f"trial {before.id}",
            mend=f"It has {has}." if has else "It has none.",
        )
    added = readable_files(after, edit.add)
    given = {each.sources[0].sha256 for each in files_of(after, added).recordings} if added else set[str]()
    whole = next((each for each in before.files if each.recording in given and each.of is None), None)
    if whole is not None:
        raise AlreadyThere(f"it has {whole.path} already.", where=f"trial {before.id}", mend="Nothing was changed.")
    stay = [each for each in before.files if each.path not in edit.take_out and each.recording not in given]
    return [*((file.path, inside.original(file.sha256)) for file in stay), *added]


def _placed(after: Trial, originals: Files, edit: Edit) -> Trial:
    """The trial with its files' names and their offsets."""
    there = {name for name, _ in originals}
    strange = next((name for name in edit.offsets if name not in there), None)
    if strange is not None:
        has = f"It has {', '.join(sorted(there))}." if there else "It has none."
        raise NotATrial(f"it has no file “{strange}” to place.", where=f"trial {after.id}", mend=has)
    offsets = {name: at for name, at in {**after.offsets, **edit.offsets}.items() if name in there}
    kept = {file.path: file for file in after.files}
    files = tuple(kept.get(name) or _named(name, data) for name, data in originals)
    return after.model_copy(update={"offsets": offsets, "files": files})


def _named(name: str, data: bytes) -> KeptFile:
    from hashlib import sha256

    return KeptFile(path=name, sha256=sha256(data).hexdigest(), size=len(data))


def _changed(before: Trial, after: Trial) -> tuple[str, ...]:
    """Names of the fields that are not what they were."""
    return tuple(name for name in Trial.model_fields if getattr(before, name) != getattr(after, name))


def _stored(
    inside: "Within", before: Trial, after: Trial, protocol: "Protocol", originals: Files, *, anew: bool
) -> Trial:
    """The trial put in the place of what was kept, its figures worked out where they can be others."""
    student = inside.student(after.code)
    student.age_on(after.on)
    if not originals:
        after = _without_recording(before, after, anew=anew)
    if not anew or not originals:
        replace_trial(inside.connection, after)
        return after
    files = files_of(after, originals)
    refuse_outside(after, files)
    sheet, kept, others = in_its_span(inside, after, student, protocol, files, originals)
    names = tuple(file for file, _ in kept)
    after = after.model_copy(update={"sheet": sheet, "files": names, "computed_by": sheet.provenance.ownmark})
    replace_trial(inside.connection, after, [(file.path, data) for file, data in kept])
    for other, given in others:
        replace_trial(inside.connection, other, given)
    return after


def _without_recording(before: Trial, after: Trial, *, anew: bool) -> Trial:
    """A trial that has no file now: what was entered by hand must be left."""
    where = f"trial {before.id}"
    if not before.files and before.sheet is not None:
        if not anew:
            return after
        raise NotATrial(
            "its recordings are not in this logbook, so its figures cannot be worked out again.",
            where=where,
            mend="Add the recording: --add-file.",
        )
    if not after.hand_results and after.distance_m is None:
        raise NotATrial(
            "nothing would be left of it: no recording, and no result by hand.",
            where=where,
            mend=f"Add the right file with --add-file, or `ownmark trial remove {before.id} --why …`.",
        )
    return after.model_copy(update={"sheet": None, "computed_by": None})
