"""What somebody typed for a row, over what the plan proposes: what is wrong with which field, and a draft of the rest.

Each field is checked by what checks the trial itself (``entry.trial_of``), so that a row is refused for nothing else.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, tzinfo

from ...errors import NotATrial, OwnmarkError
from ...ingest.clock_shift import parse_shift
from ...ingest.clock_times import parse_span, resolve_span
from ...ingest.recording import Recording
from ..day_entry import RowDraft
from ..entry import field_named, trial_of
from ..protocol import Protocol
from .as_rows import PHASES, laid_over
from .happened import Happened

FILES = "files"
_ANY = Protocol(name="any", title="any", component="aerobic", primary_figure="reserve_mean", better="higher")
"""What is typed before anybody says by which protocol is checked by this one, which measures nothing by hand."""
_OF_FILES = frozenset({"columns", "offset"})
"""Texts of a row that are of its files, and no field of a trial."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What was changed in the form of a row, and nothing else.

    texts : by a trial's field or a hand measure; empty: it was emptied
    files : SHA-256 of the received files that are the row's; None: they stay as they are
    shifts : what is added to a file's clock as it is written, by its SHA-256; empty: its clock is right
    """

    texts: Mapping[str, str] = field(default_factory=dict[str, str])
    files: tuple[str, ...] | None = None
    shifts: Mapping[str, str] = field(default_factory=dict[str, str])


@dataclass(frozen=True, slots=True)
class Checked:
    """What was typed, checked.

    good : without the fields that are wrong
    faults : what is wrong, by field; a file's clock by its SHA-256; by "" what is no single field's
    """

    good: Typed
    faults: Mapping[str, OwnmarkError]


@dataclass(frozen=True, slots=True)
class Around:
    """What a row is checked against.

    protocols : every one of the logbook, by its name
    recording : all of the row's files on one clock, the right one; None: there is none, or its files are others now
    zone : in which the school's clocks are
    """

    code: str
    today: date
    protocols: Mapping[str, Protocol]
    received: frozenset[str]
    recording: Recording | None = None
    zone: tzinfo | None = None


def checked(typed: Typed, draft: RowDraft, proposed: Mapping[str, str], around: Around) -> Checked:
    """Check every field alone, then all of them together; what is wrong together leaves nothing that is good."""
    faults = _of_files(typed, around)
    merged = laid_over(proposed, {**draft.texts, **typed.texts})
    name = merged.get("protocol", "")
    protocol = around.protocols.get(name)
    if name and protocol is None:
        faults["protocol"] = NotATrial(f"there is no protocol “{name}”.", mend="Choose one of the list.")
    for each in merged:
        if each not in _OF_FILES and (fault := _of_field(each, merged, protocol or _ANY, around)) is not None:
            faults[each] = fault
    if "code" in typed.texts:
        faults["code"] = NotATrial("a row stays with its student.", mend="Give the file to the other one.")
    whole = None if faults else _of_all(merged, protocol, around)
    if whole is not None:
        return Checked(Typed(), {"": whole})
    good = Typed(
        {each: text for each, text in typed.texts.items() if each not in faults},
        None if FILES in faults else typed.files,
        {each: text for each, text in typed.shifts.items() if each not in faults},
    )
    return Checked(good, faults)


def drafted(draft: RowDraft, good: Typed, proposed: Mapping[str, str]) -> RowDraft:
    """The draft with what was typed; what equals the plan's proposal is not typed over it."""
    texts = dict(draft.texts)
    for name, text in good.texts.items():
        if text.strip() == proposed.get(name, ""):
            texts.pop(name, None)
        else:
            texts[name] = text.strip()
    shifts = {**draft.shifts, **{each: _seconds(text) for each, text in good.shifts.items()}}
    files = draft.files if good.files is None else good.files
    return draft.model_copy(update={"texts": texts, "files": files, "shifts": shifts})


def without_shifts(day: Happened, code: str, turn: int, shifted: Sequence[str]) -> dict[tuple[str, int], RowDraft]:
    """Drafts of other rows that said how much the clocks of the same files were off: what was typed last counts."""
    found: dict[tuple[str, int], RowDraft] = {}
    for test in day.tests:
        draft = test.draft
        if draft is None or (test.code, test.turn) == (code, turn) or not set(shifted) & set(draft.shifts):
            continue
        left = {each: seconds for each, seconds in draft.shifts.items() if each not in shifted}
        found[test.code, test.turn] = draft.model_copy(update={"shifts": left})
    return found


def _seconds(text: str) -> float:
    return parse_shift(text) if text.strip() else 0.0


def _of_files(typed: Typed, around: Around) -> dict[str, OwnmarkError]:
    """What is wrong with the files and their clocks."""
    faults: dict[str, OwnmarkError] = {}
    if typed.files is not None and not around.received >= set(typed.files):
        faults[FILES] = NotATrial("a file of the row is not among those that were received.", mend="Look at the list.")
    for sha256, text in typed.shifts.items():
        try:
            RowDraft(shifts={sha256: _seconds(text)})
        except OwnmarkError as fault:
            faults[sha256] = fault
    return faults


def _of_field(name: str, merged: Mapping[str, str], protocol: Protocol, around: Around) -> OwnmarkError | None:
    """What is wrong with one field; a number of exertion means something on its scale alone."""
    text = merged[name]
    beside = {"scale": merged["exertion_scale"]} if name == "exertion" and "exertion_scale" in merged else {}
    if protocol is _ANY and field_named(name) is None:
        return None  # a result waits for its protocol
    try:
        RowDraft(texts={name: text})
        trial_of({**beside, "code": around.code, name: text}, protocol, today=around.today)
        if name in PHASES:
            if around.recording is None:
                parse_span(text)
            else:
                resolve_span(text, around.recording, around.zone)
    except OwnmarkError as fault:
        return fault
    return None


def _of_all(merged: Mapping[str, str], protocol: Protocol | None, around: Around) -> OwnmarkError | None:
    """What is wrong with all fields together."""
    texts = {name: text for name, text in merged.items() if name not in _OF_FILES}
    if protocol is None:
        texts = {name: text for name, text in texts.items() if field_named(name) is not None}
    try:
        RowDraft(texts=dict(merged))
        trial_of(texts, protocol or _ANY, today=around.today)
    except OwnmarkError as fault:
        return fault
    return None
