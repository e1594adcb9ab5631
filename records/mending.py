"""Mend a trial: what was written down of it, its files, or whose it is. The former state goes into its history.

Figures are worked out at once, and everything is one transaction: done, or as if it had not been asked for.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import AlreadyThere, NotATrial
from ..ingest.clock_shift import shifts_by_name
from ..ingest.clock_times import on_the_wall, span_told
from ..ingest.column_choices import choices
from ..ingest.recording import Recording, Span
from ..words.message import Message, Quoted
from ..words.plain import printable
from . import guard_messages as say
from . import guards, text_guards
from .entry import NONE, edited
from .intake import readable_files
from .kept_span import refuse_outside
from .marked_phases import with_times
from .measuring import files_of
from .opened import Opened
from .recompute import FigureChange, differences
from .same_heart import refuse_same_heart
from .shared_files import Files, in_its_span
from .store.history import Change, fields_of, give_to, remember
from .store.replacing import replace_trial
from .trial import BY_FILE, KeptFile, Trial
from .wearing import Wearing
from .worn_times import of_worn

if TYPE_CHECKING:
    from .protocol import Protocol
    from .store.logbook import Logbook, Within

MEASURED = frozenset(
    {
        *("on", "protocol", "protocol_version", "rest_phase", "work", "recovery", "columns", "rate_hz", "zone"),
        *(*BY_FILE, "assisted", "floor", "margin_s", "distance_m", "files"),
    }
)
"""What of a trial its figures depend on."""


@dataclass(frozen=True, slots=True)
class Edit:
    """What is to be changed of a trial.

    texts : field to text, as ``entry.edited`` takes them
    results : hand results as ``NAME=VALUE``
    more : fields that are no text (rate_hz, practice)
    offsets : seconds by the bare name of a file
    clock_shifts : each ``SHIFT`` or ``FILE=SHIFT``, ``none`` for a clock that was right (``ingest.clock_shift``)
    columns : each ``WHAT=HEADER`` or ``FILE=WHAT=HEADER``; together they take the place of all that were known
    protocol : the name of another protocol, or of the same one in its latest version
    add, take_out : files to add, and names of kept ones to take out
    worn : when the student wore the strap, and others wore it, by a list of straps; the work is held against it, and
        what is kept ends with it (``worn_times``)
    answers : to what is asked of the edit (``guards``, ``text_guards``); they stay with it. ``none`` empties them
    asked : what was asked of it already: answers to that are given too
    of_row : its answers stand in a row of a class's table, where those to former questions stay
    """

    texts: Mapping[str, str] = field(default_factory=dict[str, str])
    results: Sequence[str] = ()
    more: Mapping[str, object] = field(default_factory=dict[str, object])
    offsets: Mapping[str, float] = field(default_factory=dict[str, float])
    clock_shifts: Sequence[str] = ()
    columns: Sequence[str] = ()
    protocol: str | None = None
    add: Sequence[Path] = ()
    take_out: Sequence[str] = ()
    worn: Sequence[Wearing] = ()
    answers: Sequence[str] = ()
    asked: Sequence[guards.Question] = ()
    of_row: bool = False


@dataclass(frozen=True, slots=True)
class Mended:
    """A trial as it is now.

    fields : names of what was changed of it; empty if it was so already
    figures : the figures that are not what they were
    told : what of its phases the recording did not see, and what is not kept of a recording any more
    """

    trial: Trial
    fields: tuple[str, ...]
    figures: tuple[FigureChange, ...]
    told: tuple[Message, ...] = ()


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
        after, originals = _with_files(inside, before, after, edit)
        files = files_of(after, originals) if originals and MEASURED & set(_changed(before, after)) else None
        heard = list(edit.asked)
        if files is not None:
            after = _settled(inside, before, after, edit, files, today, heard)
        after = after.model_copy(update={"confirmed": _answers(before, after, edit)})
        changed = _changed(before, after)
        texts = text_guards.of_trial(after, changed)
        heard += texts
        if not changed:
            _refuse_idle(edit, heard, number)
            return Mended(before, (), ())
        text_guards.ask(texts, edit.answers)
        kept, told = put_in_place(
            inside, before, after, protocol, originals, anew=bool(MEASURED & set(changed)), worn=edit.worn
        )
        if files is not None:
            of_phases = _of_phases(inside, before, kept, protocol, edit, files)
            guards.ask(_answering(kept, edit), of_phases)
            heard += of_phases
        _refuse_idle(edit, heard, number)
        former = {name: each for name, each in fields_of(before).items() if name in changed}
        remember(inside.connection, Change("trial", str(number), before.code, "edited", why, former))
    figures = differences(before.sheet, kept.sheet) if kept.sheet is not None else ()
    return Mended(kept, changed, figures, told)


def _refuse_idle(edit: Edit, heard: Sequence[guards.Question], number: int) -> None:
    """Refuse an answer to no question, but in a row of a table, where answers to former questions stay."""
    if not edit.of_row and [each.casefold() for each in edit.answers] != [NONE]:
        guards.refuse_unasked(edit.answers, heard, f"trial {number}")


def _of_phases(
    inside: "Within", before: Trial, kept: Trial, protocol: "Protocol", edit: Edit, files: Opened
) -> list[guards.Question]:
    """What an edit brings up of the phases: not what was so before."""
    if kept.sheet is None:
        return []
    known = () if before.sheet is None else guards.of_phases(_protocol_of(inside, before), before.sheet)
    asked = guards.of_sheet(kept, protocol, kept.sheet)
    contradicted = of_worn(kept.sheet, guards.clock_of(files), kept.zone, edit.worn)
    return [*(each for each in asked if each not in known), *contradicted]


def _settled(
    inside: "Within",
    before: Trial,
    after: Trial,
    edit: Edit,
    files: Opened,
    today: date,
    heard: list[guards.Question],
) -> Trial:
    """The trial with its marks as times, its day and its clock times as they were answered.

    Only what the edit brings up is asked: not what was so before, whatever was answered then. ``heard`` takes it.
    """
    after = with_times(after, files)
    old = files_of(before, [(file.path, inside.original(file.sha256)) for file in before.files])
    known = guards.of_times(before, old, today) if old.recordings else ()
    answering = _answering(after, edit)
    heard += guards.before_reading(answering, files, today, day_stated=True, known=known)
    settled = guards.settled(answering, files, today, day_stated=True, known=known)
    return settled.model_copy(update={"confirmed": after.confirmed})


def _answering(trial: Trial, edit: Edit) -> Trial:
    """The trial with the answers of this edit alone: one that was given to another question answers none of now."""
    return trial.model_copy(update={"confirmed": tuple(edit.answers)})


def _answers(before: Trial, after: Trial, edit: Edit) -> tuple[str, ...]:
    """What stays confirmed."""
    if not edit.answers:
        return after.confirmed
    if [each.casefold() for each in edit.answers] == [NONE]:
        return ()
    return tuple(dict.fromkeys((*before.confirmed, *edit.answers)))


def _protocol_of(inside: "Within", trial: Trial) -> "Protocol":
    return inside.protocol(trial.protocol, trial.protocol_version)


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
        kept, told = put_in_place(inside, before, after, protocol, originals, anew=True)
        give_to(inside.connection, number, student.code)
        gone = {"number": number, "on": before.on.isoformat(), "protocol": before.protocol}
        remember(
            inside.connection,
            Change("student", before.code, before.code, "moved away", why, gone),
            Change("trial", str(number), student.code, "moved here", why),
        )
    return Mended(kept, ("code",), differences(before.sheet, kept.sheet) if kept.sheet else (), told)


def _with_files(inside: "Within", before: Trial, after: Trial, edit: Edit) -> tuple[Trial, list[tuple[str, bytes]]]:
    """The trial with what is said of its files, and the name and bytes of each that it has from now on."""
    strange = next((name for name in edit.take_out if name not in {file.path for file in before.files}), None)
    if strange is not None:
        has = ", ".join(file.path for file in before.files)
        raise NotATrial(
            f"it has no file “{strange}”.",
            where=f"trial {before.id}",
            mend=f"It has {has}." if has else "It has none.",
        )
    stay = [each for each in before.files if each.path not in edit.take_out]
    after = said_of_files(after, [*(each.path for each in stay), *(printable(each.name) for each in edit.add)], edit)
    originals = [(file.path, inside.original(file.sha256)) for file in stay]
    added = readable_files(after, edit.add, beside=originals)
    found = files_of(after, [*originals, *added]) if added else None
    new = [each for each in found.recordings if found.place[each.sources[0].path] >= len(stay)] if found else []
    refuse_same_heart(inside, before.code, new)
    given = {each.sources[0].recording for each in new}
    whole = next((each for each in before.files if each.recording in given and each.of is None), None)
    if whole is not None:
        raise AlreadyThere(f"it has {whole.path} already.", where=f"trial {before.id}", mend="Nothing was changed.")
    kept = [pair for pair, file in zip(originals, stay, strict=True) if file.recording not in given]
    _refuse_laid_anew(before, after, kept)
    by_name = {file.path: file for file in before.files}
    files = tuple(by_name.get(name) or _named(name, data) for name, data in (*kept, *added))
    return after.model_copy(update={"files": files}), [*kept, *added]


def said_of_files(after: Trial, names: Sequence[str], edit: Edit) -> Trial:
    """The trial with the offsets, clock shifts and columns of the files that it has from now on."""
    there = dict.fromkeys(names)
    strange = next((name for name in edit.offsets if name not in there), None)
    if strange is not None:
        has = f"It has {', '.join(sorted(there))}." if there else "It has none."
        raise NotATrial(f"it has no file “{strange}” to place.", where=f"trial {after.id}", mend=has)
    shifts = {**after.clock_shifts, **shifts_by_name(edit.clock_shifts, list(there))}
    said = choices(edit.columns, list(there))
    columns, by_file = (said.columns, said.by_file) if edit.columns else (after.columns, after.file_columns)
    changes: dict[str, object] = {
        "offsets": {name: at for name, at in {**after.offsets, **edit.offsets}.items() if name in there},
        "clock_shifts": {name: seconds for name, seconds in shifts.items() if seconds and name in there},
        "columns": columns,
        "file_columns": {name: each for name, each in by_file.items() if name in there},
    }
    return after.model_copy(update=changes)


def _refuse_laid_anew(before: Trial, after: Trial, kept: Files) -> None:
    """Refuse another clock where a file was laid by what several saw, and what they saw is not kept any more.

    Raises
    ------
    NotATrial
        With the files that are to be given again.
    """
    if before.clock_shifts == after.clock_shifts or len(kept) < 2:
        return
    held = [each for each in files_of(after, kept).recordings if each.placings]
    if held:
        again = " ".join(f"--add-file {name}" for name in dict.fromkeys(name for name, _ in kept))
        raise NotATrial(
            "its files were laid beside each other by what they saw, and not all of that is kept.",
            where=f"trial {before.id}",
            mend=f"Give the whole files again beside the clock shift: {again}.",
        )


def _named(name: str, data: bytes) -> KeptFile:
    from hashlib import sha256

    from ..ingest.containers import content_sha256

    content = content_sha256(data)
    return KeptFile(path=name, sha256=sha256(data).hexdigest(), size=len(data), content_sha256=content)


def _changed(before: Trial, after: Trial) -> tuple[str, ...]:
    """Names of the fields that are not what they were."""
    return tuple(name for name in Trial.model_fields if getattr(before, name) != getattr(after, name))


def put_in_place(
    inside: "Within",
    before: Trial,
    after: Trial,
    protocol: "Protocol",
    originals: Files,
    *,
    anew: bool,
    worn: Sequence[Wearing] = (),
) -> tuple[Trial, tuple[Message, ...]]:
    """The trial in the place of what was kept, its figures worked out where they can be others, and what to tell."""
    student = inside.student(after.code)
    student.age_on(after.on)
    if not originals:
        after = _without_recording(before, after, anew=anew)
    if not anew or not originals:
        replace_trial(inside.connection, after)
        return after, ()
    files = files_of(after, originals)
    refuse_outside(after, files)
    sheet, kept, others = in_its_span(inside, after, student, protocol, files, originals, worn=worn)
    names = tuple(file for file, _ in kept)
    after = after.model_copy(update={"sheet": sheet, "files": names, "computed_by": sheet.provenance.ownmark})
    replace_trial(inside.connection, after, [(file.path, data) for file, data in kept])
    for other, given in others:
        replace_trial(inside.connection, other, given)
    told = [*guards.unseen(sheet, guards.clock_of(files), after.zone), *_cut_away(before, after, files)]
    return after, (*told, *(say.guard_other_narrowed(other.id or 0) for other, _ in others))


def _cut_away(before: Trial, after: Trial, files: Opened) -> Iterator[Message]:
    """Of which recordings less is kept than before."""
    old = {file.recording: file for file in before.files}
    by_hash = {each.sources[0].recording: each for each in files.recordings}
    for file in after.files:
        former, recording = old.get(file.recording), by_hash.get(file.recording)
        if former is None or recording is None or file.part_s is None:
            continue
        was, now = (_held(each.part_s, recording) for each in (former, file))
        if was[0] < now[0] or now[1] < was[1]:
            start = None if recording.start is None else on_the_wall(recording.start, after.zone)
            yield say.guard_narrowed(Quoted(file.path), Quoted(span_told(now, start)))


def _held(part_s: Span | None, recording: Recording) -> Span:
    """From when until when a part of a recording holds samples [s]."""
    low, high = part_s or (recording.first_s, recording.last_s)
    return max(low, recording.first_s), min(high, recording.last_s)


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
