"""The form of a row that is looked at closer: its fields with what stands in them, and what was changed of them.

A field sends beside its text what it showed (``was:NAME``): only what a person changed is typed over the proposal, and
two windows do not undo each other's work.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..ingest.clock_shift import written_shift
from ..records.entry import field_named
from ..records.protocol import Protocol
from ..reports.words import Words
from .day_view import FileLine
from .forms import Form
from .trace import FIELDS, phase_texts
from .trial_fields import GROUPS, RESULT, SHIFT, WAS, Field, field_of, result_fields

PHASES = tuple(FIELDS.values())
FILE, FILES_WERE = "file", "files_were"


@dataclass(frozen=True, slots=True)
class FileBox:
    """A received file that can be the row's.

    told : what it is, and whose it is now
    shift : what is added to its clock
    """

    sha256: str
    name: str
    told: str
    ticked: bool
    shift: Field


def groups_of(
    texts: Mapping[str, str], protocol: Protocol | None, words: Words, form: Form, *, traced: bool, filed: bool
) -> list[tuple[str, list[Field]]]:
    """Fields in their groups; what a form was sent with stands in them again.

    texts : of the row, by a trial's field or a hand measure
    traced : the phases stand on the trace; without one they are fields where there is a file, or something stands there
    """
    names = dict(GROUPS)
    if not traced and (filed or any(texts.get(name) for name in PHASES)):
        names["when"] = (*PHASES, *names["when"])
    known = {name for each in names.values() for name in each} | {"code", "protocol", "confirmed", *PHASES}
    there = {name: text for name, text in texts.items() if name not in known and field_named(name) is None}
    results = [] if protocol is None else result_fields(protocol, there, words, form)
    shown = {each.name for each in results}
    left = [(RESULT + name, text) for name, text in there.items() if RESULT + name not in shown]
    results += [Field(name, name.removeprefix(RESULT), _sent(form, name, text), text) for name, text in left]
    found = [
        (group, [field_of(name, texts.get(name, ""), words, form) for name in each]) for group, each in names.items()
    ]
    return [*([("results", results)] if results else []), *found]


def boxes_of(lines: list[FileLine], found: Mapping[str, Any], words: Words, form: Form) -> list[FileBox]:
    """The received files of the day, the row's own ones first."""
    mine = list(found["row"]["files"])
    ticked = set(form.all(FILE)) if FILES_WERE in form.fields else set(mine)
    boxes: list[FileBox] = []
    for each in lines:
        shift, name = found["shifts"].get(each.sha256), SHIFT + each.sha256
        was = written_shift(shift) if shift else ""
        owners = found["owners"].get(each.sha256, [])
        told = [each.told, *([words.get("web_row.now_of", students=words.listed(owners))] if owners else [])]
        label = words.get("web_trial.shift_of", file=each.name)
        box = Field(name, label, _sent(form, name, was), was)
        boxes.append(FileBox(each.sha256, each.name, " · ".join(told), each.sha256 in ticked, box))
    return sorted(boxes, key=lambda box: box.sha256 not in mine)


def changes_of(form: Form) -> dict[str, Any]:
    """What a person changed, as the worker's job ``keep_row`` takes it.

    Raises
    ------
    HalfPhase
        If a phase has one end only.
    """
    sent = {name: form.text(name) for name in form.fields}
    changed = {
        name: text
        for name, text in sent.items()
        if f"{WAS}{name}" in sent and _plain(text) != _plain(sent[f"{WAS}{name}"])
    }
    shifts = {name.removeprefix(SHIFT): text for name, text in changed.items() if name.startswith(SHIFT)}
    texts = {name.removeprefix(RESULT): text for name, text in changed.items() if not name.startswith(SHIFT)}
    if "times" in sent:  # the trace says “none” of a phase that was emptied
        texts |= {name: "" if text == "none" else text for name, text in phase_texts(sent).items()}
    ticked = list(form.all(FILE))
    same = FILES_WERE not in sent or set(ticked) == set(sent[FILES_WERE].split())
    return {"texts": texts, "files": None if same else ticked, "shifts": shifts}


def field_of_fault(name: str, form: Form) -> str:
    """The form's field in which something is wrong; "" where it is no single one's."""
    short = next((phase for phase, each in FIELDS.items() if each == name), "")
    tried = (f"{short}_from" if short else name, name, f"{RESULT}{name}", f"{SHIFT}{name}")
    if name == "files":
        return "files"
    return next((each for each in tried if each in form.fields), "")


def _sent(form: Form, name: str, was: str) -> str:
    return form.text(name) if name in form.fields else was


def _plain(text: str) -> str:
    """A browser sends lines of a text with other ends than it was given."""
    return "\n".join(text.split("\r\n")).strip()
